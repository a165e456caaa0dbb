# SPDX-License-Identifier: GPL-3.0-or-later
"""Does the stated 95 % interval hold the truth? Benches whose true values are drawn from what their
files state: the capture is made with the true ones, the program reads it with the nominal ones.

    coverage.py [BENCHES] [--seed N]      the table; exit 1 when a line leaves 93 to 97 % by more than
                                          chance explains
"""
import math
import os
import sys
import tempfile

import numpy as np

import bench
import checks
import program
import steel

FIGURES = ("frequency_Hz", "loop_area_J_per_m3", "loss_W_per_m3", "lag_angle_deg", "remanence_T",
           "coercivity_A_per_m", "coercivity_J_A_per_m", "field_peak_A_per_m", "flux_density_peak_T",
           "amplitude_permeability")
OTHERS = ("form_factor", "flux_distortion", "lag_angle_area_deg", "squareness", "loop_fullness")
GROUPS = ("all", "small noise", "large noise", "small lag", "large lag", "few cycles", "many cycles")
BATCH = 100


class Stated:
    """Values with what a file says of them; the truth is drawn around the nominal value."""

    def __init__(self, random):
        self.random = random
        self.true, self.text = {}, {}

    def add(self, name, nominal, relative, unit, may_be_rectangular=True, deviate=None):
        """`relative`: u as a share of the nominal value. A deviate of 1 is one u."""
        is_rectangular = may_be_rectangular and deviate is None and self.random.random() < 0.2
        if deviate is None:
            deviate = (self.random.uniform(-1, 1) * math.sqrt(3) if is_rectangular
                       else self.random.standard_normal())
        half = nominal * relative * (math.sqrt(3) if is_rectangular else 2)
        self.true[name] = nominal * (1 + relative * deviate)
        self.text[name] = "%.17g %s ± %.17g %s%s" % (nominal, unit, abs(half), unit,
                                                     " rect" if is_rectangular else "")


def draw_steel(random):
    """(H, B) from nearly elliptic to nearly square, lag angles of 1 to 80 degrees."""
    u, kind = random.uniform, random.integers(4)
    K = int(random.choice([5, 9, 15, 25]))
    if kind == 0:
        return steel.ellipse(10 ** u(1, 4), 10 ** u(-2, 0), 10 ** u(0, 1.9), 1)
    if kind == 1:
        return steel.sine_flux(u(0.2, 1.5), 100.0, u(0.5, 0.98), 10 ** u(0.5, 2.3), K,
                               10 ** u(2.5, 4))
    coercivity = 10 ** u(1, 4.2)
    width, peak = coercivity * u(0.5, 2.5), coercivity * u(1.5, 5)
    model = steel.branches if kind == 2 else steel.smooth
    return model(peak, u(0.3, 1.5), coercivity, width, K, u(1, 30))


class Drawn(bench.Case):
    """One bench: `true_clock` is its true sample rate over the nominal one."""

    true_clock = 1.0

    def phases(self):
        turns = np.arange(self.frames, dtype=np.longdouble) * self.frequency
        turns /= np.longdouble(self.rate) * self.true_clock
        return 2 * np.pi * (turns - np.floor(turns)).astype(float) + self.phase


def draw(seed):
    """(case, rig.yaml, specimen.yaml)."""
    random = np.random.default_rng([seed, 4711])
    u, stated = random.uniform, Stated(random)
    H, B = draw_steel(random)
    f, rate = 10 ** u(1.2, 2.7), 20000
    cycles = 10 ** u(math.log10(3.3), 1.8)
    frames = int(max(cycles * rate / f, 600))
    ruler = random.standard_normal() if random.random() < 0.3 else None
    for name, value in (("outer_diameter", 0.040), ("inner_diameter", 0.032), ("height", 0.006)):
        size = 5e-6 if ruler is not None else 10 ** u(-5.7, -4.7)
        stated.add(name, value, size / value, "m", deviate=ruler)
    stated.add("density", 8100.0, 10 ** u(-4, -2.5), "kg/m3")
    has_mass = random.random() < 0.3
    if has_mass:
        stated.add("mass", 21.9e-3, 10 ** u(-4, -2.5), "kg")
    stated.add("shunt", 0.1, 10 ** u(-4, -2.3), "ohm")
    has_divider, has_air, has_corner = random.random(3) < (0.5, 0.4, 0.6)
    if has_divider:
        stated.add("divider", 11.0, 10 ** u(-4, -2.3), "")
    stated.add("delay", 2.1e-6, 10 ** u(-2, 0), "s")
    corners = random.random() < 0.5
    for name in ("corner1", "corner2") if corners else ("corner",):
        if has_corner:
            stated.add(name, 3.4, 10 ** u(-2.5, -0.8), "Hz")
    stated.add("clock", 1.0, 10 ** u(-6, -4), "")
    calibrator = random.standard_normal() if random.random() < 0.4 else None
    size = 10 ** u(-4, -2.3)
    for name in ("scale1", "scale2"):
        stated.add(name, 1.0, size if calibrator is not None else 10 ** u(-4, -2.3), "",
                   deviate=calibrator)
    true = stated.true
    spec = {key: true[key] for key in ("outer_diameter", "inner_diameter", "height", "density")}
    if has_mass:
        spec["mass"] = true["mass"]
    if has_air:
        stated.add("A2", 40e-6, 10 ** u(-3, -1.5), "m2")
    rig = dict(shunt=true["shunt"], divider2=true.get("divider", 1.0), delay=true["delay"],
               corner=true.get("corner"), corner1=true.get("corner1"), corner2=true.get("corner2"),
               A2=true.get("A2"))
    noise = 10 ** u(-5, -1.7)
    case = Drawn(f, H, B, rig, spec, rate=rate, frames=frames, phase=u(0, 6), seed=seed,
                 form="float32", noise=(noise, noise * 10 ** u(-0.5, 0.5)))
    case.true_clock = true["clock"]
    return case, stated, dict(calibrator=calibrator is not None, ruler=ruler is not None,
                              noise=noise)


def write(seed, folder):
    """The capture and its files; gives path, truth and groups."""
    case, stated, drawn = draw(seed)
    path = case.write(folder)
    text, (_, peaks) = stated.text, case.signals()
    scales = []
    for name, peak, level in zip(("scale1", "scale2"), peaks, case.level):
        nominal = peak / level / stated.true[name]
        words = text[name].split("±")  # relative to 1: times the nominal value
        half = float(words[1].split()[0]) * nominal
        scales.append("%.17g V ± %.17g V%s" % (nominal, half, " rect" * ("rect" in words[1])))
    lines = ["inputs:", "  same_calibrator: " + ("yes" if drawn["calibrator"] else "no"),
             "  excitation:", "    channel: 1", "    full_scale: " + scales[0],
             "    shunt: " + text["shunt"]]
    lines += ["    corner: " + text.get("corner1", "")] * ("corner1" in text)
    lines += ["  pickup:", "    channel: 2", "    full_scale: " + scales[1]]
    lines += ["    divider: " + text.get("divider", "")] * ("divider" in text)
    lines += ["    corner: " + text.get("corner2", "")] * ("corner2" in text)
    lines += ["timing:", "  pickup_delay: " + text["delay"], "  clock: " + text["clock"]]
    lines += ["coupling:", "  corner: " + text.get("corner", "")] * ("corner" in text)
    lines += ["winding:", "  primary_turns: 200", "  secondary_turns: 100"]
    lines += ["  secondary_area: " + text.get("A2", "")] * ("A2" in text)
    with open(os.path.join(folder, "rig.yaml"), "w") as out:
        out.write("\n".join(lines) + "\n")
    keys = ["outer_diameter", "inner_diameter", "height", "density"] + ["mass"] * ("mass" in text)
    lines = ["name: ring in software", "ring:"] + ["  %s: %s" % (key, text[key]) for key in keys]
    lines += ["  same_ruler: yes"] * drawn["ruler"]
    with open(os.path.join(folder, "specimen.yaml"), "w") as out:
        out.write("\n".join(lines) + "\n")
    truth = case.truth()
    groups = ["all", "small noise" if drawn["noise"] < 1e-3 else "large noise",
              "small lag" if truth["lag_angle_deg"] < 15 else "large lag",
              "few cycles" if case.cycles < 12 else "many cycles"]
    return path, truth, groups


def judge(result, truth):
    """{figure: how many expanded uncertainties the result is off the truth}."""
    off = {}
    for key in FIGURES + OTHERS:
        found = result.get("budget", {}).get("figures", {}).get(key)
        if found and key in truth:
            off[key] = (result["figures"][key] - truth[key]) / found["expanded"]
        elif key in FIGURES:
            off[key] = math.inf
    return off


def run(first, count, folder, options=()):
    """[(seed, off, groups)] of so many benches; those the program refuses are told and left out."""
    judged = []
    for start in range(first, first + count, BATCH):
        made = [(seed, *write(seed, os.path.join(folder, "b%d" % seed)))
                for seed in range(start, min(start + BATCH, first + count))]
        results = program.loops([path for _, path, _, _ in made], "--budget", *options)
        for (seed, path, truth, groups), result in zip(made, results):
            os.remove(path)
            if "failure" in result:
                print("bench %d: %s" % (seed, result["failure"]))
                judged.append((seed, None, groups))
            else:
                judged.append((seed, judge(result, truth), groups))
    return judged


def limits(count, share=0.95, deviations=3.0):
    """How many of `count` may be inside, so that chance stays within it but once in some 300."""
    middle, width = count * share, deviations * math.sqrt(count * share * (1 - share)) + 1
    return middle - width, middle + width


def print_table(judged):
    """Share of the intervals that hold the truth, %; gives the lines that are not 95 % by chance."""
    failures = []
    print("%-28s" % "figure" + "".join("%12s" % group for group in GROUPS))
    for key in FIGURES + OTHERS:
        line = "%-28s" % key
        for group in GROUPS:
            off = [one[key] for _, one, groups in judged
                   if one is not None and group in groups and key in one]
            inside = sum(abs(x) <= 1 for x in off)
            line += "%12s" % ("%.1f" % (100 * inside / len(off)) if off else "-")
            if key in FIGURES and off:
                least, most = 0.93 * len(off), 0.97 * len(off)
                chance = limits(len(off))
                if not min(least, chance[0]) <= inside <= max(most, chance[1]):
                    failures.append((key, group, inside, len(off)))
        print(line)
    print("%-28s" % "benches" + "".join(
        "%12d" % sum(group in groups and one is not None for _, one, groups in judged)
        for group in GROUPS))
    return failures


if __name__ == "__main__":
    benches = int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1].isdigit() else 2000
    with tempfile.TemporaryDirectory() as place:
        found = run(checks.option("--seed", 1), benches, place)
    wrong = print_table(found)
    refused = sum(one is None for _, one, _ in found)
    for key, group, inside, count in wrong:
        print("%s, %s: %d of %d inside" % (key, group, inside, count))
    print("%d of %d benches without a result" % (refused, len(found)))
    sys.exit(1 if wrong or refused > 0.01 * len(found) else 0)
