#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Hysteresis models against integrations that share no line with the program: SciPy's DOP853 on the
published differential equations, split at their kinks, figures by root finding on the dense output."""
import json
import math
import os

import numpy as np
from numpy.polynomial.legendre import leggauss
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

import checks
import program

MU0 = 4e-7 * math.pi
FORMS = ("1986", "1992", "field")
SETS = {  # Ms, a, k, c, alpha and the peak field; the first is quoted from the paper of 1986
    "soft": ((1.6e6, 1100.0, 400.0, 0.2, 1.6e-3), 6000.0),
    "semi-hard": ((1.2e6, 9000.0, 8000.0, 0.1, 0.015), 40000.0),
}


def langevin(x):
    return x / 3 - x**3 / 45 if abs(x) < 1e-3 else 1 / math.tanh(x) - 1 / x


def langevin_slope(x):
    return 1 / 3 - x * x / 15 if abs(x) < 1e-3 else 1 / x**2 - 1 / math.sinh(x)**2


def slope(form, H, M, parameters, d):
    """dM/dH as each publication writes it."""
    Ms, a, k, c, alpha = parameters
    He = H + alpha * M
    Man, rise = Ms * langevin(He / a), Ms / a * langevin_slope(He / a)  # dMan/dHe
    lag = Man - M
    moves = lag * d > 0
    if form == "field":
        s = c * rise + (lag / (k * d) if moves else 0.0)
        return s / (1 - alpha * s)
    if form == "1986":
        s = lag / (k * d - alpha * lag) / (1 + c) if moves else 0.0
        return (s + c / (1 + c) * rise) / (1 - alpha * c / (1 + c) * rise)
    lag /= 1 - c  # Man - Mi
    s = lag / (k * d - alpha * lag) if moves else 0.0
    return ((1 - c) * s + c * rise) / (1 - c * alpha * rise)


def closed_loop(form, parameters, peak, cycles=6):
    """The last rising branch as a list of dense solutions."""
    Ms, a, _, _, alpha = parameters
    M, parts = 0.0, []
    for i in range(2 * cycles + 1):
        d = 1 if i % 2 == 0 else -1
        begin, parts = (-d * peak if i else 0.0), []
        release = lambda h, m: Ms * langevin((h + alpha * m[0]) / a) - m[0]
        release.terminal, release.direction = True, d
        for events in ([release, None] if i else [None]):
            if begin == d * peak:
                break
            parts.append(solve_ivp(lambda h, m: [slope(form, h, m[0], parameters, d)], (begin, d * peak), [M],
                method="DOP853", rtol=1e-10, atol=1e-6, events=events, dense_output=True))
            begin, M = parts[-1].t[-1], parts[-1].y[0, -1]
    return parts


def figures_of(form, parameters, peak):
    parts = closed_loop(form, parameters, peak)

    def magnetization(h):
        part = next(p for p in parts if p.t[0] <= h <= p.t[-1])
        return part.sol(h)[0]

    flux = lambda h: MU0 * (h + magnetization(h))
    nodes, weights = leggauss(8)
    edges = np.unique(np.concatenate([[p.t[0] for p in parts], np.linspace(-peak, peak, 200)]))
    area = 0.0
    for low, high in zip(edges[:-1], edges[1:]):
        middle, half = (low + high) / 2, (high - low) / 2
        area -= 2 * half * sum(w * flux(middle + half * x) for x, w in zip(nodes, weights))
    return {
        "flux_density_peak_T": flux(peak),
        "remanence_T": -flux(0.0),
        "coercivity_A_per_m": brentq(flux, 0.0, 0.9 * peak, xtol=1e-9),
        "coercivity_J_A_per_m": brentq(magnetization, 0.0, 0.9 * peak, xtol=1e-9),
        "loop_area_J_per_m3": area,
    }


RING = """\
model:
  jiles-atherton-%s: {saturation: %r A/m, shape: %r A/m, pinning: %r A/m, reversibility: %r, coupling: %r}
drive: {frequency: 20 Hz, field_peak: %r A/m, harmonics: 1999}
recording: {format: csv, sample_rate: 100 kHz, rows: 5010}
rig:
  name: table
  inputs:
    excitation: {channel: 2, quantity: field strength}
    pickup: {channel: 3, quantity: flux density}
specimen: {name: R, ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm}}
"""


def test_jiles_atherton_forms(check, folder):
    # 1999 harmonics leave out some 1e-6 of a loop with kinks in its tips.
    for form in FORMS:
        for name, (parameters, peak) in SETS.items():
            path = os.path.join(folder, "ring.yaml")
            with open(path, "w", encoding="utf-8") as file:
                file.write(RING % (form, *parameters, peak))
            out = os.path.join(folder, form + name)
            status, _, err = program.run("virtual", path, "-o", out)
            if not check.check(status == 0, err):
                continue
            with open(os.path.join(out, "truth.json"), encoding="utf-8") as file:
                truth = json.load(file)["figures"]
            for key, value in figures_of(form, parameters, peak).items():
                check.near(truth[key], value, 1e-5 * value, f"{form}, {name}, {key}")


def test_fit_to_captures(check, folder):
    """Captures of a ring of known parameters, through loop and series, give the parameters again."""
    Ms, a, k, c, alpha = (1.25e6, 10000.0, 12000.0, 0.1, 0.015)
    paths = []
    for peak in (20e3, 60e3):
        with open(os.path.join(folder, "ring.yaml"), "w", encoding="utf-8") as file:
            file.write(RING.replace("1999", "499").replace("5010", "25100") % ("field", Ms, a, k, c, alpha, peak))
        out = os.path.join(folder, "bench%g" % peak)
        status, _, err = program.run("virtual", os.path.join(folder, "ring.yaml"), "-o", out)
        check.check(status == 0, err)
        paths.append(os.path.join(folder, "loop%g.json" % peak))
        status, _, err = program.run("loop", os.path.join(out, "capture.csv"), "--json", paths[-1], "--points", "512")
        check.check(status == 0, err)
    names = ("saturation_A_per_m", "shape_A_per_m", "pinning_A_per_m", "reversibility", "coupling")
    picture = os.path.join(folder, "model.svg")
    status, out, err = program.run("series", *paths, "--model", "jiles-atherton-field", "--json", "-", "--plot", picture)
    if check.check(status == 0, err):
        model = json.loads(out)["models"][0]
        # the program finds the harmonics that carry figures, not all 499
        for key, truth in zip(names, (Ms, a, k, c, alpha)):
            check.near(model["parameters"][key], truth, 0.02 * truth, key)
        check.check(model["residual_relative"] < 1e-3, "residual %g" % model["residual_relative"])
        check.check(len(model["residuals"]) == 2, "a residual for each loop")
        check.check(os.path.getsize(picture) > 2000, "a picture")
    status, _, err = program.run("series", *paths, "--model", "preisach")
    check.check(status == 2 and "needs loops of at least 3 amplitudes, and there are 2" in err, err)
    status, _, err = program.run("series", *paths, "--model", "preisac")
    check.check(status == 1 and "did you mean 'preisach'" in err, err)


if __name__ == "__main__":
    checks.main(globals())
