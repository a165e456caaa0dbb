#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The command `series` against what others printed or measured: textbook problems, published loss
tables, two measured rings, and SciPy as a second opinion; and against a virtual ring of known losses."""
import csv
import json
import math
import os

import numpy as np
from scipy.optimize import nnls

import checks
import program

RINGS = os.path.join(program.ROOT, "tests", "data", "rings")


def series(folder, name, text, *options):
    """The JSON of a series from a table given as text."""
    path = os.path.join(folder, name + ".csv")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return read(path, *options)


def read(path, *options):
    status, out, err = program.run("series", path, "--json", "-", *options)
    return json.loads(out) if status == 0 else {"failure": err}


def table(head, rows):
    return head + "\n" + "".join(",".join("%.17g" % cell for cell in row) + "\n" for row in rows)


def parts(result, frequency):
    """Hysteresis and eddy-current loss (W/m3) at a frequency, by the only separation there is."""
    separation = result["separation"][0]
    linear = separation.get("linear_J_s_per_m3", separation.get("classical_J_s_per_m3"))
    return separation["hysteresis_J_per_m3"] * frequency, linear * frequency ** 2


# --- textbook problems -----------------------------------------------------------------------------
# As reworked in the Python Textbook Companions (FOSSEE, IIT Bombay). A total loss in watts is taken
# as W/m3 of a core of 1 m3 at 1 T: only the frequency matters. "printed" is what the book prints.

TWO_FREQUENCIES = (
    # book, problem; (frequency, loss) twice; at frequency: hysteresis, eddy (W), tolerance of rounding
    ("Theraja, A Textbook of Electrical Technology, 32.29", (40, 52), (60, 90), 50, 45, 25, 1e-9),
    ("Theraja, 32.31", (50, 2500), (25, 850), 50, 900, 1600, 1e-9),
    ("Shinghal, Elements of Electrical Engineering, 5.12", (20, 132), (50, 425), 50, 266.67, 158.33, 0.005),
    ("McPherson and Laramore, Electrical Machines and Transformers, 1.4",
     (60, 400), (30, 169), 60, 276, 124, 1e-9),
    ("Srivastava, Basic Electrical Engineering, 3.13", (50, 55), (40, 40), 50, 30, 25, 1e-9),
    # the book prints 25 W for the hysteresis loss at 40 Hz: a misprint, 40 W - 16 W = 24 W
    ("Srivastava, 3.13 at 40 Hz", (50, 55), (40, 40), 40, 24, 16, 1e-9),
    ("Bird, Electrical Circuit Theory and Technology, 38, example 10", (50, 400), (60, 498), 50, 325, 75, 1e-9),
    # after 0.5^2 A2 * 0.66 ohm of copper loss is taken off
    ("Srivastava, 3.12", (50, 230 - 0.165), (45, 200 - 0.165), 50, 151.874, 77.96, 0.005),
)


def test_two_frequencies_part_the_losses_as_printed(check, folder):
    head = "frequency (Hz),flux density peak (T),loss (W/m3)"
    for index, (book, low, high, at, hysteresis, eddy, rounding) in enumerate(TWO_FREQUENCIES):
        result = series(folder, "book%d" % index, table(head, [(low[0], 1, low[1]), (high[0], 1, high[1])]))
        got = parts(result, at)
        check.near(got[0], hysteresis, max(rounding, 1e-9 * hysteresis), book + ", hysteresis")
        check.near(got[1], eddy, max(rounding, 1e-9 * eddy), book + ", eddy currents")


def test_many_frequencies_are_a_least_squares_line(check, folder):
    # Bird, chapter 38, example 9: Pc/f = 1.5, 2.1, 2.7, 3.4 at 30, 50, 70, 90 Hz. The book reads 0.5 and
    # 0.032 off its graph; the least-squares line of these four is 0.535 and 0.0315.
    rows = [(f, 1, f * y, f * 0.05) for f, y in ((30, 1.5), (50, 2.1), (70, 2.7), (90, 3.4))]
    head = "frequency (Hz),flux density peak (T),loss (W/m3),u loss (W/m3)"
    result = series(folder, "bird", table(head, rows), "--terms", "2")
    check.near(result["separation"][0]["hysteresis_J_per_m3"], 0.535, 1e-9, "Bird, example 9, intercept")
    check.near(result["separation"][0]["linear_J_s_per_m3"], 0.0315, 1e-10, "Bird, example 9, slope")


def test_guru_and_langsdorf_over_amplitude(check, folder):
    # Guru and Hiziroglu, Electric Machinery and Transformers, example 2.13: W/kg
    rows = [(25, 1.1, 0.4), (25, 1.5, 0.8), (60, 1.1, 1.2)]
    result = series(folder, "guru", table("frequency (Hz),flux density peak (T),specific loss (W/kg)", rows),
                    "--separate-at", "1.1 T")
    separation = result["separation"][0]
    check.near(separation["hysteresis_J_per_kg"] * 25, 0.329, 5e-4, "Guru, hysteresis at 25 Hz, 1.1 T")
    check.near(separation["linear_J_s_per_kg"] * 625, 0.071, 5e-4, "Guru, eddy at 25 Hz, 1.1 T")
    check.near(separation["hysteresis_J_per_kg"] * 60, 0.789, 6e-4, "Guru, hysteresis at 60 Hz, 1.1 T")
    eddy = separation["linear_J_s_per_kg"] * 625 * (1.5 / 1.1) ** 2  # goes with B squared
    check.near(eddy, 0.133, 5e-4, "Guru, eddy at 25 Hz, 1.5 T")
    # Langsdorf, Theory of Alternating-Current Machinery, p. 37: W/lb at 8 and 12 kG
    rows = [(30, 8, 0.135), (30, 12, 0.31), (60, 12, 0.75)]
    result = series(folder, "langsdorf",
                    table("frequency (Hz),flux density peak (kG),specific loss (W/lb)", rows),
                    "--separate-at", "1.2 T")
    pound = 0.45359237
    separation = result["separation"][0]
    check.near(separation["hysteresis_J_per_kg"] * 30 * pound, 0.245, 5e-4, "Langsdorf, hysteresis at 12 kG")
    eddy = separation["linear_J_s_per_kg"] * 900 * pound
    check.near(eddy, 0.065, 5e-4, "Langsdorf, eddy at 12 kG")
    low = 0.135 - eddy * (8 / 12) ** 2
    exponent = math.log(separation["hysteresis_J_per_kg"] * 30 * pound / low) / math.log(1.5)
    check.near(exponent, 2.0637323, 1e-6, "Langsdorf, exponent")


# --- published tables ------------------------------------------------------------------------------

def test_bertotti_terms_come_back_exactly(check, folder):
    # W = 300 + 0.8 f + 12 sqrt f: values computed to the last digit
    energies = {10: 345.94733192202057, 20: 369.665631459995, 50: 424.8528137423857, 100: 500.0,
                200: 629.7056274847714}
    head = "frequency_Hz,flux_density_peak_T,loop_area_J_per_m3"
    result = series(folder, "bertotti", table(head, [(f, 1.5, w) for f, w in energies.items()]))
    separation = result["separation"][0]
    for key, truth in (("hysteresis_J_per_m3", 300), ("linear_J_s_per_m3", 0.8), ("excess_J_per_m3_per_sqrt_Hz", 12)):
        check.near(separation[key], truth, 1e-9 * truth, "three terms, " + key)
    check.check(separation["residual_most"] < 1e-12, "three terms leave nothing")


CAST_IRON = ((1475, 466, .300), (2545, 1288, .829), (3865, 2997, 1.934), (5972, 7397, 4.765), (8930, 13423, 8.658))


def test_a_cast_iron_ring_of_1911_does_not_obey_the_historical_exponent(check, folder):
    # Encyclopaedia Britannica, 11th edition (1911), "Electromagnetism", table VII: peak B (gauss), erg per
    # cm3 and cycle, W per pound at 100 Hz. The slope of the logarithms is 1.90268, eta 4.3966e-4.
    head = "frequency (Hz),flux density peak (G),loop area (erg/cm3)"
    result = series(folder, "iron", table(head, [(100, b, w) for b, w, _ in CAST_IRON]))
    law, fixed = result["power_law"], result["power_law_fixed"]
    check.near(law["exponent"], 1.90268, 5e-6, "cast iron, exponent")
    eta = law["coefficient_J_per_m3"] * 10 / 1e4 ** law["exponent"]
    check.near(eta, 4.3966e-4, 5e-9, "cast iron, Steinmetz's coefficient in erg and gauss")
    check.check(law["of"] == "loss", "one frequency: the law is of the whole loss")
    check.check(fixed["residual_relative"] > 3 * law["residual_relative"], "1.6 fits far worse")
    check.check(law["u_exponent"] < (1.90268 - 1.6) / 3, "1.6 is outside the interval")
    # the third column per pound implies the density: a check of all unit conversions
    head = "frequency (Hz),flux density peak (G),specific loss (W/lb)"
    heavy = series(folder, "iron_lb", table(head, [(100, b, p) for b, _, p in CAST_IRON]))
    for a, b in zip(result["loops"], heavy["loops"]):
        density = a["loop_area_J_per_m3"] * 100 / b["specific_loss_W_per_kg"]
        check.check(7025 < density < 7055, "cast iron, density implied: %.1f kg/m3" % density)


def test_soft_iron_wire_obeys_it(check, folder):
    # the same article, table V (Ewing), ring X, soft iron wire: slope 1.6046; ring VII, Swedish iron: 1.7457
    head = "frequency (Hz),flux density peak (G),loop area (erg/cm3)"
    for name, energies, slope in (("wire", (600, 1150, 1780, 2640), 1.6046), ("swedish", (240, 520, 830, 1190), 1.7457)):
        rows = [(1, b, w) for b, w in zip((2000, 3000, 4000, 5000), energies)]
        law = series(folder, name, table(head, rows))["power_law"]
        check.near(law["exponent"], slope, 5e-5, name + ", exponent")


def test_steinmetz_coefficient_in_si(check, folder):
    # eta = 0.002 at 10 kG: 5023.772863 erg/cm3, 502.3773 J/m3
    rows = [(50, b, 251188.64315095823 * 0.002 * b ** 1.6) for b in (0.3, 0.5, 0.8, 1.0, 1.2)]
    law = series(folder, "eta", table("frequency_Hz,flux_density_peak_T,loop_area_J_per_m3", rows))["power_law_fixed"]
    check.near(law["coefficient_J_per_m3"], 502.3772863, 1e-6, "0.002 in SI")
    check.check(law["residual_most"] < 1e-12, "and no residual")


# --- measured rings --------------------------------------------------------------------------------

def test_the_measured_rings_are_separated_within_their_limits(check, folder):
    # tests/data/rings: sine-flux losses measured by others, 97 working points each
    for ring in (1, 2):
        path = os.path.join(RINGS, "ring%d_sine_loss.csv" % ring)
        narrow = read(path, "--separate-at", "1 T", "--up-to", "400 Hz")["separation"][0]
        wide = read(path, "--separate-at", "1 T")["separation"][0]
        name = "ring %d: " % ring
        check.check(narrow["residual_most"] <= 0.005, name + "to 400 Hz %.2g" % narrow["residual_most"])
        check.check(wide["residual_most"] <= 0.011, name + "to 2 kHz %.2g" % wide["residual_most"])
        check.check(narrow["frequency_Hz"] == [20, 50, 200, 400], name + "range %r" % narrow["frequency_Hz"])
        check.check(wide["frequency_Hz"][-1] == 2000, name + "range")
        for separation in (narrow, wide):
            covariance = np.array(separation["covariance"])
            check.check((np.linalg.eigvalsh(covariance) > 0).all(), name + "a covariance is positive")
            check.near(math.sqrt(covariance[0, 0]), separation["u_hysteresis_J_per_kg"], 1e-15, name + "u(Wh)")
        # the two ranges agree on the quasi-static limit within what they claim
        gap = abs(narrow["hysteresis_J_per_kg"] - wide["hysteresis_J_per_kg"])
        u = math.hypot(narrow["u_hysteresis_J_per_kg"], wide["u_hysteresis_J_per_kg"])
        check.check(gap < 3 * u, name + "limits of two ranges differ by %.2g u" % (gap / u))


def interpolate(points, at):
    """Lagrange's cubic through the four nearest in logarithms: two on either side."""
    points = sorted(points)
    x, y = np.log([p[0] for p in points]), np.log([p[1] for p in points])
    first = min(max(int(np.searchsorted(x, math.log(at), side="right")) - 2, 0), len(x) - 4)
    x, y = x[first:first + 4], y[first:first + 4]
    return math.exp(sum(y[i] * np.prod([(math.log(at) - x[j]) / (x[i] - x[j]) for j in range(4) if j != i])
                        for i in range(4)))


def test_scipy_finds_the_same_terms(check, folder):
    path = os.path.join(RINGS, "ring1_sine_loss.csv")
    with open(path, encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    curves = {}
    for row in rows:
        frequency = float(row["frequency (Hz)"])
        curves.setdefault(frequency, []).append(
            (float(row["flux density peak (T)"]), float(row["specific total loss (W/kg)"]) / frequency))
    for peak in (0.3, 0.7, 1.0):
        energies = {f: interpolate(points, peak) for f, points in curves.items()}
        matrix = np.array([[1, f, math.sqrt(f)] for f in energies])
        values = np.array(list(energies.values()))
        terms, _ = nnls(matrix / values[:, None], np.ones(len(values)))
        separation = read(path, "--separate-at", "%g T" % peak)["separation"][0]
        for key, truth in zip(("hysteresis_J_per_kg", "linear_J_s_per_kg", "excess_J_per_kg_per_sqrt_Hz"), terms):
            check.near(separation[key], truth, 1e-8 * truth, "SciPy at %g T, %s" % (peak, key))
        fitted = matrix @ terms
        residual = (values - fitted) / values
        variance = (residual ** 2).sum() / (len(values) - 3)
        covariance = np.linalg.inv((matrix / values[:, None]).T @ (matrix / values[:, None])) * variance
        for i in range(3):
            check.near(separation["covariance"][i][i], covariance[i, i], 1e-6 * covariance[i, i],
                       "SciPy at %g T, variance %d" % (peak, i))


def test_leaving_a_loop_out_shows_the_interpolation(check, folder):
    """Each inner loop of ring 1 against the cubic through its neighbours, and against the stated u."""
    path = os.path.join(RINGS, "ring1_sine_loss.csv")
    with open(path, encoding="utf-8") as file:
        head, *rows = file.read().splitlines()
    rows = [row for row in rows if row.startswith(("50,", "400,"))]
    errors = []
    for index, row in enumerate(rows):
        cells = row.split(",")
        if not 0.15 < float(cells[1]) < 1.15:
            continue
        rest = [other for n, other in enumerate(rows) if n != index]
        result = series(folder, "rest", head + "\n" + "\n".join(rest) + "\n", "--at", cells[6] + " T")
        at = [a for a in result["at"] if a["figures"]["frequency_Hz"] == float(cells[0])][0]
        errors.append(abs(at["figures"]["specific_loss_W_per_kg"] / float(cells[3]) - 1))
    check.check(len(errors) > 15 and max(errors) < 0.008 and np.median(errors) < 0.0015,
                "left-out loops: median %.2g, largest %.2g" % (np.median(errors), max(errors)))


# --- a series whose terms are known ----------------------------------------------------------------

SAMPLE = os.path.join(program.ROOT, "samples", "series")


def test_the_sample_has_the_terms_that_were_ordered(check, folder):
    for peak, name in ((0.5, "r17-500mT-80000mHz"), (1.0, "r17-1000mT-80000mHz")):
        with open(os.path.join(SAMPLE, name + ".truth.json"), encoding="utf-8") as file:
            truth = json.load(file)["separation"]
        got = read(os.path.join(SAMPLE, "loops.jsonl"), "--separate-at", "%g T" % peak)["separation"][0]
        for key, limit in (("hysteresis_J_per_m3", 1e-4), ("classical_J_s_per_m3", 1e-4),
                           ("excess_J_per_m3_per_sqrt_Hz", 0.02)):
            check.near(got[key], truth[key], limit * truth[key], "%g T, %s" % (peak, key))
            check.check(abs(got[key] - truth[key]) < 2 * got["u_" + key], "%g T: %s is within 2 u" % (peak, key))
        free = read(os.path.join(SAMPLE, "loops.jsonl"), "--separate-at", "%g T" % peak, "--fit-linear")["separation"][0]
        check.near(free["linear_J_s_per_m3"], truth["classical_J_s_per_m3"],
                   3 * free["u_linear_J_s_per_m3"], "%g T, kc fitted" % peak)


def test_captures_and_their_json_are_the_same_series(check, folder):
    captures = [os.path.join(SAMPLE, name) for name in sorted(os.listdir(SAMPLE)) if name.endswith(".flac")]
    status, out, err = program.run("series", *captures, "--json", "-")
    check.check(status == 0, err)
    lines = {}
    with open(os.path.join(SAMPLE, "loops.jsonl"), encoding="utf-8") as file:
        for line in file:
            result = json.loads(line)
            lines[result["capture"]["sha256"]] = result
    for loop in json.loads(out)["loops"]:
        known = lines[loop["sha256"]]
        for key in ("loop_area_J_per_m3", "u_loop_area_J_per_m3", "coercivity_A_per_m"):
            check.near(loop[key], known["figures"][key], 1e-9 * known["figures"][key], key)
    # what a series writes can be read again, its CSV as well
    for option in ("--json", "--csv"):
        path = os.path.join(folder, "series." + option[2:])
        program.run("series", os.path.join(SAMPLE, "loops.jsonl"), option, path)
        again = read(path, *(["--specimen", os.path.join(SAMPLE, "specimen.yaml")] if option == "--csv" else []))
        first = read(os.path.join(SAMPLE, "loops.jsonl"))
        check.check(len(again["loops"]) == 60, "60 loops come back from " + option)
        for a, b in zip(again["separation"], first["separation"]):
            check.near(a["hysteresis_J_per_m3"], b["hysteresis_J_per_m3"], 1e-9 * b["hysteresis_J_per_m3"], option)


def test_a_loop_that_turned_back_early_is_no_saturation(check, folder):
    # the ring saturates at 1.30 T; the loops' flat tops end at 1.15 T
    result = read(os.path.join(SAMPLE, "loops.jsonl"))
    check.check(result["saturation"].get("reason") == "the largest loop is no major loop", "no saturation is claimed")
    check.check(result["largest_loop"]["is_major"] is False, "no major loop")


if __name__ == "__main__":
    checks.main(globals())
