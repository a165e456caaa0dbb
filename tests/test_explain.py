# SPDX-License-Identifier: GPL-3.0-or-later
"""The page of `loop --explain` is right: the numbers in each of its formulae give the result that
stands behind it, and the figures are those of the JSON. Done with the samples, and with rigs and
rings that take other ways from the record to the loop."""
import glob
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.environ.get("LODECARD", os.path.join("build", "release", "lodecard"))
SOUND = "samples/sound-card/r17-60kam-20hz.flac"
LOGGER = "samples/logger/r17-40kam-10hz.csv"
TRACE = "samples/trace/r17-60kam-slow.csv"
MEASURED = "samples/measured-ring/ring1_quasi_static_loop.csv"

# capture, its changes (pattern, replacement) to rig and specimen, words that the page must have
CASES = (
    (SOUND, (), ("AC-coupled", "in step with H", "Lag angle", "Scatter")),
    (LOGGER, (), ("what the current sensor says",)),
    (TRACE, (), ("by the fluxmeter", "Between two rows", "the ends do not meet")),
    (MEASURED, (), ("IEC 60205", "B = J + µ₀ H", "do not say how well")),
    (SOUND, ((r"(pickup:\n +channel: 2)", r"\1\n    divider: 11.3\n    invert: yes"),
             (r"(excitation:\n +channel: 1)", r"\1\n    invert: yes")), ("11.3 (divider)", "turned")),
    (SOUND, ((r"(pickup:\n +channel: 2)", r"\1\n    invert: yes"),), ("is inverted", "ran backwards")),
    (SOUND, ((r"(excitation:\n +channel: 1)", r"\1\n    corner: 2.3 Hz"),), ("2.3 Hz",)),
    (SOUND, ((r"(pickup:\n +channel: 2)", r"\1\n    integrator: {resistance: 100 ohm, capacitance: 1 uF}"),),
     ("passive integrator", "R C = 100 µs")),
    (SOUND, ((r"height: 6 mm ± 0.02 mm", "mass: 21.9 g\n  density: 8100 kg/m3"),),
     ("from mass and density", "Ps = P / ρ")),
    (SOUND, ((r"height: 6 mm", "path: logarithmic\n  height: 6 mm"),), ("path: logarithmic",)),
    (SOUND, ((r"height: 6 mm", "path: effective\n  stacking_factor: 0.95\n  height: 6 mm"),),
     ("path: effective", "share of the height")),
    (SOUND, ((r"shunt: 50 mohm ± 0.05 mohm", "transfer: 20 A/V"), (r"  secondary_area.*\n", "")),
     ("current sensor", "No area of the pickup turns is given")),
    (SOUND, ((r"(shunt: 50 mohm ± 0.05 mohm)", r"\1\n    inductance: 900 nH ± 50 nH"),),
     ("The shunt's inductance", "L/R = 18 µs")),
    (SOUND, ((r"(shunt: 50 mohm ± 0.05 mohm)",
              r"\1\n    shunt_temperature: {coefficient: 300 ppm/K, reference: 23 degC, actual: 63 degC}"),),
     ("at the 63 °C that it has",)),
    (SOUND, ((r"(pickup:\n +channel: 2)", r"\1\n    input_resistance: 10 kohm\n    source_resistance: 65 ohm"),),
     ("loads what feeds it", "1.0065 times")),
    (SOUND, ((r"(pickup_delay: .*)", r"\1\n  clock: 1.00012 ± 10 ppm\nreproducibility: {field: 1 ± 0.4 %, flux_density: 1 ± 0.6 %}"),),
     ("120 ppm off", "changes H by 0.2 %", "changes B by 0.3 %")),
    (SOUND, ((r"height: 6 mm", "expansion: {coefficient: 11 ppm/K, reference: 20 degC}\n  height: 6 mm"),),
     ("those of the warm ring",)),
    (TRACE, ((r"trace: yes", "trace: yes\n  drift: linear"),
             (r"(fluxmeter \(V\))", r"\1\n    divider: 1.5")), ("asks for the second", "by the divider, 1.5 V")),
)

PREFIX = {"n": 1e-9, "µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}
UNITS = ("Hz", "A/m", "A/V", "Wb/V", "Wb", "T/s", "T", "V", "A", "ohm", "J/m³", "W/m³", "W/kg", "s", "m", "g")
NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
VALUE = re.compile(r"(%s)(?:\((\d+)\))?(?: ?(mm²|kg/m³|g(?!\w)|°|(?:(?:%s)?(?:%s)))(?![\w/²³]))?"
                   % (NUMBER, "|".join(filter(None, PREFIX)), "|".join(UNITS)))


class Checks:
    passed = failed = 0

    def check(self, is_right, message):
        self.passed += bool(is_right)
        self.failed += not is_right
        if not is_right:
            print("FAILED  " + message)


def get_scale(unit):
    """What one such unit is in SI; angles stay in degree."""
    special = {None: 1.0, "": 1.0, "°": 1.0, "mm²": 1e-6, "kg/m³": 1.0, "g": 1e-3}
    if unit in special:
        return special[unit]
    for name in UNITS:
        if unit.endswith(name) and unit[:len(unit) - len(name)] in PREFIX:
            return PREFIX[unit[:len(unit) - len(name)]]
    raise ValueError(unit)


def evaluate(words):
    """The number that an expression with units gives, or None for one with symbols in it."""
    words = words.replace("4π·10⁻⁷ T m/A", "(4 * π * 1e-7)").replace("(divider)", "").replace("of full scale", "")
    words = VALUE.sub(lambda match: "(%r)" % (float(match[1]) * get_scale(match[3])), words)
    for mark, code in (("·", "*"), ("−", "-"), ("√(", "sqrt("), ("arcsin(", "asin("), ("π", "pi"), ("²", "**2"),
                       ("ln ", "log")):
        words = words.replace(mark, code)
    words = re.sub(r"(\d\)?|pi) (?=\()", r"\1 * ", words)
    names = {"sqrt": math.sqrt, "pi": math.pi, "log": math.log, "asin": lambda x: math.degrees(math.asin(x))}
    if set(re.findall(r"[^\W\d]\w*", re.sub(r"\d+\.?\d*e-?\d+", "", words))) - set(names):
        return None
    try:
        return float(eval(words, {"__builtins__": {}}, names))  # our own program's text
    except (SyntaxError, TypeError):
        return None


def find_paragraphs(page):
    """The page's lines with what wrapping parted put together again."""
    return [" ".join(part.split()) for part in re.split(r"\n(?!    +\S)|\n\n", page)]


def find_results(page):
    """(paragraph, expression, value, half a last digit) of each formula with numbers."""
    for paragraph in find_paragraphs(page):
        parts = paragraph.split(" = ")
        for before, after in zip(parts[1:], parts[2:]):
            match = VALUE.match(after)
            value = evaluate(before)
            if match and value is not None and re.search(r"[·/+−√n]", before):
                places = len(match[1].split("e")[0].partition(".")[2])
                scale = get_scale(match[3])
                yield paragraph, before, value, float(match[1]) * scale, 0.5 * 10.0 ** -places * scale


def check_formulae(check, name, page):
    count = 0
    for paragraph, before, value, result, half in find_results(page):
        # both sides are rounded: inputs to six digits, the result to its last one
        near = abs(value - result) <= 1.001 * half + 1.5e-5 * abs(result)
        check.check(near, "%s: '%s' is %.8g, the page says %.8g" % (name, before, value, result))
        count += 1
    check.check(count >= 9, "%s: only %d formulae were found" % (name, count))


FIGURES = {"f": "frequency_Hz", "Hm": "field_peak_A_per_m", "Bm": "flux_density_peak_T", "Jm": "polarization_peak_T",
           "Br": "remanence_T", "HcB": "coercivity_A_per_m", "HcJ": "coercivity_J_A_per_m", "W": "loop_area_J_per_m3",
           "P": "loss_W_per_m3", "Ps": "specific_loss_W_per_kg", "δ": "lag_angle_deg", "δW": "lag_angle_area_deg",
           "µa": "amplitude_permeability", "Br / Bm": "squareness", "W / (4 Hm Bm)": "loop_fullness",
           "FF": "form_factor", "THD": "flux_distortion", "ΔB": "closure_gap_T"}


def find_figure(page, symbol):
    """What the page ends that symbol's chain of equations with: value, u or None, half a last digit."""
    for paragraph in find_paragraphs(page):
        parts = paragraph.split(" = ")
        if parts[0] == symbol or parts[0].startswith(symbol + ": "):
            match = [VALUE.match(part) for part in parts[1:] if VALUE.match(part)]
            last = match[0] if symbol in ("f", "W", "δ", "Jm") and len(parts[0]) < 3 and symbol != "Jm" else None
            last = last or ([m for m in match if m[2]] or match)[0 if symbol == "Jm" else -1]
            places = len(last[1].partition(".")[2])
            scale = get_scale(last[3])
            u = float(last[2]) * 10.0 ** -places * scale if last[2] else None
            return float(last[1]) * scale, u, 0.5 * 10.0 ** -places * scale
    return None


def check_figures(check, name, page, figures):
    for symbol, key in FIGURES.items():
        found = find_figure(page, symbol)
        if key not in figures:
            check.check(found is None, "%s: there is no %s, but the page has one" % (name, key))
            continue
        check.check(found is not None, "%s: the page lacks %s" % (name, key))
        if found is None:
            continue
        value, u, half = found
        check.check(abs(value - figures[key]) <= 1.001 * half,
                    "%s: %s is %.8g, the page says %.8g" % (name, key, figures[key], value))
        if u is not None:
            real = figures["u_" + key]
            check.check(abs(u - real) <= 0.051 * real, "%s: u of %s is %.3g, not %.3g" % (name, key, real, u))


def check_lag(check, name, page, figures):
    """The steps of the phase add up to the lag, and the harmonics' areas to W."""
    ledger = re.search(r"^  Of the fundamentals.*?\n(.*?)^  δ", page, re.M | re.S)
    if "lag_angle_deg" not in figures:
        check.check(ledger is None, "%s: a lag without time" % name)
        return
    steps = [float(angle) for angle in re.findall(r"(-?[\d.]+)°$", ledger[1], re.M)]
    rest = (sum(steps[:-1]) - steps[-1] + 180.0) % 360.0 - 180.0
    check.check(len(steps) >= 2 and abs(rest) < 1e-4 * len(steps), "%s: the phases %s" % (name, steps))
    check.check(abs(steps[-1] + figures["lag_angle_deg"]) <= 0.51e-4, "%s: the lag %s" % (name, steps[-1]))
    rows = re.findall(r"^ +(?:\d+|others) .*?(%s) (\S*J/m³)$" % NUMBER, page, re.M)
    area = sum(float(value) * get_scale(unit) for value, unit in rows)
    check.check(len(rows) >= 2 and abs(area / figures["loop_area_J_per_m3"] - 1) < 1e-5,
                "%s: the harmonics' areas add up to %.8g" % (name, area))


def run(*words, **options):
    return subprocess.run([os.path.abspath(PROGRAM), "loop", *words], stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE, **options)


def prepare(folder, capture, changes):
    """The capture's setup with its changes, in a folder of its own."""
    texts = {}
    for name in ("rig.yaml", "specimen.yaml"):
        with open(os.path.join(os.path.dirname(capture), name), encoding="utf-8") as file:
            texts[name] = file.read()
    for pattern, replacement in changes:
        before = dict(texts)
        texts = {name: re.sub(pattern, replacement, text) for name, text in texts.items()}
        assert texts != before, pattern
    for name, text in texts.items():
        with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
            file.write(text)
    return shutil.copy(capture, folder)


def check_case(check, capture, changes, words):
    name = os.path.basename(capture) + "".join(" %r" % change[1] for change in changes)
    with tempfile.TemporaryDirectory() as folder:
        path = prepare(folder, capture, changes)
        done = run(path, "--explain", "--json", os.path.join(folder, "loop.json"))
        if done.returncode:
            check.check(False, "%s: %s" % (name, done.stderr.decode()))
            return
        with open(os.path.join(folder, "loop.json"), encoding="utf-8") as file:
            result = json.load(file)
    page = done.stdout.decode()
    wide = [line for line in page.splitlines() if len(line) > 80 or line != line.rstrip()]
    check.check(not wide, "%s: too wide, or blanks at the end: %s" % (name, wide))
    whole = " ".join(page.split())
    for word in words:
        check.check(word in whole, "%s: the page does not say '%s'" % (name, word))
    for note in result["notes"]:
        check.check("%s, %s: " % (note["level"], note["code"]) in whole, "%s: no %s" % (name, note["code"]))
    check_formulae(check, name, page)
    check_figures(check, name, page, result["figures"])
    check_lag(check, name, page, result["figures"])


def check_meanings(check):
    """Every note of docs/notes.md has its plain sentence."""
    with open("src/cli/loop_explain_notes.c", encoding="utf-8") as file:
        told = re.findall(r'^    \{"([a-z-]+)",', file.read(), re.M)
    with open("docs/notes.md", encoding="utf-8") as file:
        codes = re.findall(r"^## ([a-z-]+)$", file.read(), re.M)
    check.check(codes and sorted(told) == sorted(codes),
                "the notes %s are told or documented, not both" % sorted(set(told) ^ set(codes)))


def main():
    os.chdir(os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
    check = Checks()
    for case in CASES:
        check_case(check, *case)
    check_meanings(check)
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
