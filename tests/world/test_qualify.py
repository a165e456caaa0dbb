# SPDX-License-Identifier: GPL-3.0-or-later
"""Verdicts, lots, comparisons, charts and gauge studies against SciPy and NumPy, from loops whose figures
are drawn here."""
import json
import math
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy import integrate, optimize, stats

sys.path.insert(0, os.path.dirname(__file__))
from checks import Checks

LODECARD = os.environ["LODECARD"]
LIMITS = """name: RS-36 ring steel, incoming lots
figures:
  coercivity: {lower: 17.5 kA/m, upper: 20.5 kA/m}
  remanence: {lower: 0.86 T}
conditions:
  field_peak: {lower: 25 kA/m}
lot: {share: 0.9, confidence: 0.95}
"""


def write_loop(folder, name, supplier, heat, specimen, hc, u_hc, br, u_br, rig="bench 1"):
    """A "lodecard-loop/1" file as other programs may write one."""
    figures = {"frequency_Hz": 20, "field_peak_A_per_m": 30e3, "flux_density_peak_T": 1.3, "remanence_T": br,
               "u_remanence_T": u_br, "coercivity_A_per_m": hc, "u_coercivity_A_per_m": u_hc, "loop_area_J_per_m3": 9e4}
    loop = {"schema": "lodecard-loop/1", "version": "1",
            "capture": {"file": name + ".flac", "sha256": "0" * 64, "channels": 2, "frames": 1, "sample_rate_Hz": 48000,
                        "start_s": 0, "length_s": 1},
            "rig": {"name": rig},
            "specimen": {"name": specimen, "supplier": supplier, "heat": heat, "path_length_m": 0.1, "area_m2": 2e-5},
            "figures": figures, "notes": []}
    path = os.path.join(folder, name + ".json")
    with open(path, "w", encoding="utf-8") as file:
        json.dump(loop, file)
    return path


def run(*words, wanted=0):
    done = subprocess.run([LODECARD, "qualify", *words, "--json", "-"], capture_output=True, text=True)
    if done.returncode != wanted:
        raise SystemExit(f"{words[:3]}: exit {done.returncode}, {done.stderr}")
    return json.loads(done.stdout)


def two_sided_factor(n, share, confidence):
    """ISO 16269-6, by SciPy's quadrature."""
    def reach(off):
        return optimize.brentq(lambda r: stats.norm.cdf(off + r) - stats.norm.cdf(off - r) - share, 0, 50, xtol=1e-14)

    def reached(k):
        def inner(z):
            needed = reach(z / math.sqrt(n)) / k
            return 2 * stats.norm.pdf(z) * stats.chi2.sf((n - 1) * needed ** 2, n - 1)
        return integrate.quad(inner, 0, 9, epsabs=1e-11, limit=200)[0]
    return optimize.brentq(lambda k: reached(k) - confidence, 0.5, 100, xtol=1e-10)


def check_verdict(checks, folder, limits):
    rng = np.random.default_rng(7)
    paths, hc, br = [], [], []
    for i in range(8):
        hc.append(19e3 + 300 * rng.standard_normal())
        br.append(0.9 + 0.01 * rng.standard_normal())
        paths.append(write_loop(folder, f"a{i}", "Northgate Foundry", "H1", f"R-{i}", hc[-1], 60, br[-1], 2e-3))
    got = run("--limits", limits, *paths)
    checks.check(got["verdict"] == "accepted", "verdict of a good lot")
    for i in range(8):
        check = got["checks"][2 * i + 1]
        pc = stats.norm.cdf((20.5e3 - hc[i]) / 60) - stats.norm.cdf((17.5e3 - hc[i]) / 60)
        checks.near(check["probability_conforming"], pc, 1e-12, f"probability of ring {i}")
    by_figure = {f["figure"]: f for f in got["lot"]["figures"]}
    for key, values in (("coercivity_A_per_m", hc), ("remanence_T", br)):
        lot, s = by_figure[key], np.std(values, ddof=1)
        checks.near(lot["mean"], np.mean(values), 1e-12 * abs(np.mean(values)), key + " mean")
        checks.near(lot["deviation"], s, 1e-11 * s, key + " deviation")
        w = stats.shapiro(values)
        checks.near(lot["normality_w"], w.statistic, 2e-6, key + " W")
        checks.near(lot["normality_significance"], w.pvalue, 2e-5, key + " significance")
    k1 = stats.nct.ppf(0.95, 7, stats.norm.ppf(0.9) * math.sqrt(8)) / math.sqrt(8)
    checks.near(by_figure["remanence_T"]["tolerance_factor"], k1, 1e-8, "one-sided factor")
    checks.near(by_figure["coercivity_A_per_m"]["tolerance_factor"], two_sided_factor(8, 0.9, 0.95), 1e-7, "two-sided factor")
    # the share above the limit, with confidence: the non-central t turned about
    k = (np.mean(br) - 0.86) / np.std(br, ddof=1)
    z = optimize.brentq(lambda z: stats.nct.cdf(k * math.sqrt(8), 7, z * math.sqrt(8)) - 0.95, 0, 10)
    checks.near(by_figure["remanence_T"]["share_conforming_confident"], stats.norm.cdf(z), 1e-7, "share with confidence")
    return hc


def check_states(checks, folder, limits):
    near = write_loop(folder, "near", "Calder & Sons", "C1", "Q-1", 20.45e3, 60, 0.9, 2e-3)
    beyond = write_loop(folder, "beyond", "Calder & Sons", "C1", "Q-2", 20.8e3, 60, 0.9, 2e-3)
    checks.check(run("--limits", limits, near, wanted=11)["verdict"] == "undecided", "near a limit")
    checks.check(run("--limits", limits, beyond, wanted=10)["verdict"] == "rejected", "beyond a limit")


def check_comparison(checks, folder):
    rng = np.random.default_rng(8)
    sides = {"Northgate Foundry": 19e3 + 200 * rng.standard_normal(7), "Calder & Sons": 19.3e3 + 500 * rng.standard_normal(9)}
    paths = []
    for s, (supplier, values) in enumerate(sides.items()):
        for i, hc in enumerate(values):
            paths.append(write_loop(folder, f"c{s}-{i}", supplier, f"H{s}", f"{s}-{i}", hc, 60, 0.9, 2e-3))
    a, b = sides.values()
    got = run("compare", "--figure", "coercivity", "--margin", "0.8 kA/m", *paths)
    test = stats.ttest_ind(b, a, equal_var=False)
    interval = test.confidence_interval(0.95) if hasattr(test, "confidence_interval") else None
    checks.near(got["significance"], test.pvalue, 1e-10, "Welch")
    u, freedom = got["u_difference"], got["degrees_of_freedom"]
    checks.near(u, math.sqrt(a.var(ddof=1) / 7 + b.var(ddof=1) / 9), 1e-9 * u, "standard error")
    checks.near(got["upper"], got["difference"] + u * stats.t.ppf(0.975, freedom), 1e-6, "upper end")
    if interval is not None:
        checks.near(got["lower"], interval.low, 1e-6, "lower end")
    both = max(stats.t.cdf((got["difference"] - 800) / u, freedom), stats.t.cdf((-got["difference"] - 800) / u, freedom))
    checks.near(got["significance_equivalence"], both, 1e-10, "two one-sided tests")


def check_parts_and_gauge(checks, folder):
    rng = np.random.default_rng(9)
    box = np.empty((5, 3, 2))
    paths = []
    for s in range(5):
        ring = 19e3 + 400 * rng.standard_normal()
        for c in range(3):
            bench = 100 * rng.standard_normal()
            for r in range(2):
                box[s, c, r] = ring + bench + 30 * rng.standard_normal()
                paths.append(write_loop(folder, f"g{s}-{c}-{r}", "Northgate Foundry", "H9", f"G-{s}", box[s, c, r], 60, 0.9,
                                        2e-3, f"bench {c}"))
    got = run("gauge", "--figure", "coercivity", *paths)
    middle, cells = box.mean(), box.mean(axis=2)
    ms_s = 6 * ((cells.mean(axis=1) - middle) ** 2).sum() / 4
    ms_c = 10 * ((cells.mean(axis=0) - middle) ** 2).sum() / 2
    rest = cells - cells.mean(axis=1)[:, None] - cells.mean(axis=0)[None, :] + middle
    ms_i = 2 * (rest ** 2).sum() / 8
    ms_e = ((box - cells[:, :, None]) ** 2).sum() / 15
    for name, mean_square in (("by_specimen", ms_s), ("by_condition", ms_c), ("by_interaction", ms_i), ("by_repeat", ms_e)):
        checks.near(got[name]["mean_square"], mean_square, 1e-9 * mean_square, name)
    checks.near(got["repeatability"], math.sqrt(ms_e), 1e-9 * math.sqrt(ms_e), "repeatability")
    inter = max((ms_i - ms_e) / 2, 0)
    reproducibility = math.sqrt(max((ms_c - ms_i) / 10, 0) + inter)
    checks.near(got["reproducibility"], reproducibility, 1e-9 * reproducibility, "reproducibility")
    parts = run("parts", "--figure", "coercivity", *paths)
    f = stats.f_oneway(*[box[s].ravel() for s in range(5)])
    checks.near(parts["levels"][0]["ratio"], f.statistic, 1e-9 * f.statistic, "F of rings")
    checks.near(parts["levels"][0]["significance"], f.pvalue, 1e-9 * f.pvalue, "its significance")


def check_plan(checks):
    got = run("plan", "--good", "2 %", "--bad", "12 %")
    n, k = got["specimens"], got["factor"]
    curve = got["operating_characteristic"]
    for p, accepted in zip(curve["nonconforming"], curve["probability_accepted"]):
        truth = stats.nct.sf(k * math.sqrt(n), n - 1, stats.norm.ppf(1 - p) * math.sqrt(n))
        checks.near(accepted, truth, 1e-8, f"acceptance at {p}")


def main():
    checks = Checks()
    with tempfile.TemporaryDirectory() as folder:
        limits = os.path.join(folder, "limits.yaml")
        with open(limits, "w", encoding="utf-8") as file:
            file.write(LIMITS)
        check_verdict(checks, folder, limits)
        check_states(checks, folder, limits)
        check_comparison(checks, folder)
        check_parts_and_gauge(checks, folder)
    check_plan(checks)
    print(f"{checks.passed} passed, {checks.failed} failed")
    return checks.failed > 0


if __name__ == "__main__":
    sys.exit(main())
