# SPDX-License-Identifier: GPL-3.0-or-later
"""Many noisy recordings of one loop through the program: scatter of its figures over the bound."""
import os
from dataclasses import replace

import numpy as np

import bench
import bound
import program
import steel
import wav

FIGURES = ("frequency_Hz", "loop_area_J_per_m3", "lag_angle_deg", "remanence_T",
           "coercivity_A_per_m", "coercivity_J_A_per_m", "field_peak_A_per_m",
           "flux_density_peak_T")
SMOOTH = dict(field=20e3, saturation=1.1, coercivity=6e3, width=7e3)
SQUARE = dict(field=9e3, saturation=1.2, coercivity=6e3, width=1500)
PEAKY = dict(flux=1.5, knee=300, sharpness=0.99, coercivity=100)


def configuration(name, model, settings, K, S, cycles, noise, rate=48000, rig=None):
    """`noise`: rms of either input over its peak."""
    H, B = model(harmonics=K, **settings)
    return bench.Case(rate / S, H, B, {"corner": 2.0, "A2": 40e-6, **(rig or {})}, {}, rate=rate,
                      frames=int(round(S * cycles)), phase=0.7, noise=(noise, noise),
                      form="float32", level=(0.5, 0.5), name=name)


def configurations():
    """From short to long and from clean to noisy; the highest harmonic always stands out of the
    noise, so that K is what a good criterion must find."""
    ellipse = dict(field=8000, flux=1.2, lag_deg=30)
    return [
        configuration("ellipse, 20 dB", steel.ellipse, ellipse, 1, 60.7, 30.3, 0.1),
        configuration("ellipse, 3.05 cycles, 40 dB", steel.ellipse, ellipse, 1, 41.3, 3.05, 0.01),
        configuration("5 cycles, 60 dB", steel.smooth, SMOOTH, 17, 97.3, 5.0, 1e-3),
        configuration("5 cycles, 80 dB", steel.smooth, SMOOTH, 23, 97.3, 5.3, 1e-4),
        configuration("5 cycles, to Nyquist, 46 dB", steel.branches, SQUARE, 9, 19.7, 5.2, 5e-3),
        configuration("40 cycles, square, 50 dB", steel.branches, SQUARE, 25, 80.3, 40.4, 3e-3),
        configuration("40 cycles, peaky current, 60 dB", steel.sine_flux, PEAKY, 27, 80.9, 40.7, 1e-3),
        configuration("220 cycles, 40 dB", steel.smooth, SMOOTH, 17, 61.8, 220.3, 1e-2),
        configuration("300 cycles, tight, 26 dB", steel.branches, SQUARE, 5, 12.34, 300.7, 0.05),
        configuration("250 cycles, 60 dB", steel.smooth, SMOOTH, 23, 140.7, 250.1, 1e-3),
    ]


def signal_to_noise(case):
    """How far the highest harmonic stands out of its own scatter, best channel."""
    signals = bench.sensor_signals(case.H, case.B, case.frequency, case.rig, case.spec)
    _, peaks = case.signals()
    return max(abs(c[-1]) / (noise * peak) * np.sqrt(case.frames / 2)
               for c, noise, peak in zip(signals, case.noise, peaks))


def sigmas(case):
    _, peaks = replace(case, noise=(0.0, 0.0)).signals()
    return [noise * peak for noise, peak in zip(case.noise, peaks)]


def measure(case, trials, folder, seed=1, options=()):
    """Runs `trials` recordings; gives {figure: array of errors}, the bounds, the harmonics chosen and
    the program's own stated uncertainties."""
    clean, peaks = replace(case, noise=(0.0, 0.0)).signals()
    scales = [peak / level for peak, level in zip(peaks, case.level)]
    os.makedirs(folder, exist_ok=True)
    rig, specimen = os.path.join(folder, "rig.yaml"), os.path.join(folder, "specimen.yaml")
    with open(rig, "w") as out:
        out.write(bench.rig_text(case, ("1", "2"), scales))
    with open(specimen, "w") as out:
        out.write(bench.specimen_text(case.spec))
    random = np.random.default_rng(seed)
    sigma = sigmas(case)
    paths = []
    for trial in range(trials):
        samples = np.stack([(v + s * random.standard_normal(len(v))) / scale
                            for v, s, scale in zip(clean, sigma, scales)], axis=1)
        paths.append(os.path.join(folder, "trial%05d.wav" % trial))
        wav.write(paths[-1], samples, int(case.rate), case.form)
    results = program.loops(paths, "--rig", rig, "--specimen", specimen, *options)
    for path in paths:
        os.remove(path)
    truth = case.truth()
    errors = {key: [] for key in FIGURES}
    stated = {key: [] for key in FIGURES}
    harmonics, failures = [], []
    for result in results:
        got = result["figures"]
        if "failure" in result or any(key not in got for key in FIGURES):
            failures.append(result.get("failure", "a figure is missing"))
            continue
        harmonics.append(int(got["harmonics"]))
        for key in FIGURES:
            errors[key].append(got[key] - truth[key])
            stated[key].append(got.get("u_" + key, np.nan))
    return ({key: np.array(e) for key, e in errors.items()}, bound.figure_bounds(case, sigma),
            np.array(harmonics), failures, {key: np.array(u) for key, u in stated.items()})


def ratio(errors, limit):
    """Root of the mean squared error over the bound."""
    return float(np.sqrt(np.mean(errors**2)) / limit)
