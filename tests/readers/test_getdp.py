# SPDX-License-Identifier: GPL-3.0-or-later
"""GetDP solves a ring with what `card export --to getdp` wrote: the flux that it finds for given
ampere-turns is the card's curve, and its loop is the exported model's own."""
import os
import shutil
import subprocess
import sys

import numpy as np

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "world"))
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import checks
import steel

RADII = (0.016, 0.020)  # of the sector in samples/load/ring.msh, m


def solve(folder, card, peak, hysteresis, steps):
    """Mean flux density in the section (T) at every time step, from the start."""
    steel.export(steel.write(card, folder), "getdp", os.path.join(folder, "steel.pro"), "name=steel")
    for name in ("ring.pro", "ring.msh"):
        shutil.copy(os.path.join(steel.TOP, "samples", "load", name), folder)
    words = ["getdp", "ring.pro", "-msh", "ring.msh", "-solve", "Run", "-pos", "Flux", "-v", "3",
             "-setnumber", "Hysteresis", str(hysteresis), "-setnumber", "Peak", "%.17g" % peak,
             "-setnumber", "Steps", str(steps)]
    done = subprocess.run(words, cwd=folder, capture_output=True, text=True, timeout=100)
    if done.returncode or "rror" in done.stderr + done.stdout:
        raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
    return np.loadtxt(os.path.join(folder, "b.txt"))[:, -1]


def mean_over_section(function, field):
    """Of B(r) with H = field * mean radius / r: Gauss's rule with 12 points."""
    points, weights = np.polynomial.legendre.leggauss(12)
    radii = np.mean(RADII) + points * (RADII[1] - RADII[0]) / 2
    return sum(w / 2 * function(field * np.mean(RADII) / r) for r, w in zip(radii, weights))


def test_flux_for_ampere_turns(check, folder):
    """0.2 %; the chords make 4e-5, linear interpolation of nu 2e-4, eight elements 2e-4."""
    card = steel.read_sample()
    steps, peak = 19, 900e3
    fields = peak * 10 ** ((np.arange(1, steps + 1) - steps) / 5)
    found = solve(folder, card, peak, 0, steps)
    check.check(len(found) == steps + 1, "a flux for every field")
    for field, flux in zip(fields, found[1:]):
        truth = mean_over_section(lambda h: steel.curve_flux(card, h)[0], field)
        check.near(flux, truth, 2e-3 * truth, "mean B at %g A/m" % field)


def test_loop_of_the_model(check, folder):
    """1 %: GetDP goes along B in ten steps of Euler's method a time step."""
    card = steel.with_field_model(steel.read_sample())
    peak, steps = 60e3, 200
    found = solve(folder, card, peak, 1, steps)
    time = np.arange(len(found)) / steps
    field = peak * np.sin(2 * np.pi * time)
    own, model = [], steel.find_model(card)
    truth_area = mean_over_section(lambda p: steel.area(*steel.model_loop(model, p)) *
                                   peak / p, peak)  # W = H(mean) dB(r) over the section
    got = steel.area(field[-steps:], found[-steps:])
    check.near(got, truth_area, 1e-2 * truth_area, "loop area (J/m3)")
    truth_peak = mean_over_section(lambda p: steel.model_loop(model, p)[1].max(), peak)
    check.near(found[-steps:].max(), truth_peak, 2e-3 * truth_peak, "peak B (T)")
    falling = [i for i in range(len(found) - steps, len(found) - 1) if found[i] > 0 >= found[i + 1]]
    check.check(len(falling) == 1, "one falling zero of B in a cycle")
    for i in falling:
        share = found[i] / (found[i] - found[i + 1])
        own.append(field[i] + share * (field[i + 1] - field[i]))
    h, b = steel.model_loop(model, peak)
    i = next(i for i in range(len(b) - 1) if b[i] > 0 >= b[i + 1])
    truth = h[i] + b[i] / (b[i] - b[i + 1]) * (h[i + 1] - h[i])
    check.check(truth < 0, "the sign: B passes zero at a negative field")
    check.near(own[0], truth, 1e-2 * abs(truth), "coercivity (A/m)")


def test_card_without_the_model(check, folder):
    card = steel.read_sample()
    card["models"] = [m for m in card["models"] if m["name"] != steel.FIELD_MODEL]
    path = steel.export(steel.write(card, folder), "getdp", os.path.join(folder, "steel.pro"))
    with open(path) as file:
        text = file.read()
    check.check("left out: hysteresis: the card has no model 'jiles-atherton-field'" in text,
                "says that there is no hysteresis")
    check.check("jiles()" not in text and "_Jiles" not in text, "writes none of another form")


checks.main(globals())
