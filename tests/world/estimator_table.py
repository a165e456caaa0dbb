#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Prints the tables of docs/estimator.md: accuracy of noise-free captures, and scatter over the
Cramér-Rao bound of noisy ones.

    tests/world/estimator_table.py [--trials N]      N recordings a row (400)
"""
import os
import tempfile

import numpy as np

import checks
import program
import scatter
import test_accuracy

ACCURACY = (  # rate (Hz), samples a cycle, cycles, harmonics
    (8000, 8.28, 3.05, 3), (8000, 8.28, 3000.7, 3), (48000, 8.28, 60.3, 4), (44100, 17.3, 4.5, 8),
    (48000, 960.0, 4.0, 40), (44100, 161.80339887, 37.7, 60), (96000, 240.003, 400.01, 60),
    (48000, 960.37, 600.3, 35), (192000, 3840.7, 3.05, 200), (192000, 100000.3, 3.07, 30))
HEADINGS = ("f", "W", "δ", "Br", "HcB", "HcJ", "Hm", "Bm")


def row(*cells):
    print("| " + " | ".join(str(cell) for cell in cells) + " |")


def print_accuracy(folder):
    row("samples a cycle", "cycles", "K", "f", "δ (°)", "W", "Br", "HcB", "Bm", "worst other")
    row(*["---:"] * 10)
    made = [test_accuracy.plain("", *entry) for entry in ACCURACY]
    paths = [case.write(os.path.join(folder, "a%d" % i)) for i, case in enumerate(made)]
    for case, entry, result in zip(made, ACCURACY, program.loops(paths)):
        truth, got = case.truth(), result["figures"]
        shown = ("frequency_Hz", "lag_angle_deg", "loop_area_J_per_m3", "remanence_T",
                 "coercivity_A_per_m", "flux_density_peak_T")

        def error(key):
            scale = 1.0 if key == "lag_angle_deg" or abs(truth[key]) < 1e-9 else abs(truth[key])
            return abs(got[key] - truth[key]) / scale

        other = max(error(key) for key in truth
                    if key not in shown and key in got and "asymmetry" not in key)
        row("%g" % entry[1], "%g" % entry[2], got["harmonics"],
            *("%.1e" % error(key) for key in shown), "%.1e" % other)


def print_scatter(folder, trials):
    row("recording", "K", "K found", *HEADINGS, "bias/bound, worst")
    row("---", "---:", "---:", *["---:"] * (len(HEADINGS) + 1))
    for case in scatter.configurations():
        errors, bounds, harmonics, failures, _ = scatter.measure(
            case, trials, os.path.join(folder, "trials"), seed=7)
        if failures:
            row(case.name, "failed: " + failures[0])
            continue
        bias = max(abs(np.mean(errors[key])) / bounds[key] for key in scatter.FIGURES)
        row(case.name, len(case.H) - 1, "%.0f %%" % (100 * np.mean(harmonics == len(case.H) - 1)),
            *("%.2f" % scatter.ratio(errors[key], bounds[key]) for key in scatter.FIGURES),
            "%.2f" % bias)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        print("Error of noise-free captures, 24 bit (relative; δ in degrees):\n")
        print_accuracy(scratch)
        print("\nRoot of the mean squared error over the Cramér-Rao bound, %d recordings a row:\n"
              % checks.option("--trials", 400))
        print_scatter(scratch, checks.option("--trials", 400))
