# SPDX-License-Identifier: GPL-3.0-or-later
"""A bench driven from the mains: the frequency wanders while B and H keep their shape in phase.

H(t) = H(x(t)), B(t) = B(x(t)) with x = 2 pi (f t + wander); the coil sees dB/dx dx/dt. The truth is
the loop itself, at the mean frequency. Taken for a steady frequency, a drift of 1e-4 of it over a
minute would smear the harmonics and cost half a percent of the area; with the phase followed along
the record, what is left is what the wander does within a block of it."""
import os
from dataclasses import replace

import numpy as np

import bench
import checks
import program
import series
import steel
import wav

RATE, SECONDS = 16000, 60


def record(folder, name, wander, slope, noise=0.0):
    """`wander`(t) in cycles, `slope` its derivative in Hz. Gives the case and the capture's path."""
    H, B = steel.smooth(20e3, 1.1, 6e3, 7e3, 19)
    case = bench.Case(49.97, H, B, {}, {}, rate=RATE, frames=RATE * SECONDS, form="pcm24")
    first, second = bench.sensor_signals(H, B, case.frequency, case.rig, case.spec)
    t = np.arange(case.frames) / RATE
    x = 2 * np.pi * np.modf(case.frequency * t + wander(t))[0]
    v1 = series.evaluate(first, x)
    v2 = series.evaluate(second, x) * (1 + slope(t) / case.frequency)
    random = np.random.default_rng(3)
    peaks = [np.max(np.abs(v)) for v in (v1, v2)]
    samples = np.stack([v / p * 0.7 + noise * random.standard_normal(len(v))
                        for v, p in zip((v1, v2), peaks)], axis=1)
    path = os.path.join(folder, name + ".wav")
    wav.write(path, samples, RATE, "pcm24")
    with open(os.path.join(folder, "rig.yaml"), "w") as out:
        out.write(bench.rig_text(case, ("1", "2"), [p / 0.7 for p in peaks]))
    with open(os.path.join(folder, "specimen.yaml"), "w") as out:
        out.write(bench.specimen_text(case.spec))
    return case, path


def judge(check, case, result, name, relative, frequency):
    if "failure" in result:
        check.check(False, f"{name}: {result['failure']}")
        return
    truth = case.truth()
    for key in ("frequency_Hz", "loss_W_per_m3", "specific_loss_W_per_kg"):
        truth[key] *= frequency / case.frequency
    for key, value in truth.items():
        if key.endswith("asymmetry"):
            continue
        limit = relative * (abs(value) or 1.0)
        if key == "frequency_Hz":
            limit = 1e-7 * frequency
        if key == "lag_angle_deg":
            limit = relative * 60
        check.near(result["figures"].get(key), value, limit, name + ": " + key)


def test_a_steady_drift(check, folder):
    """The frequency climbs evenly by 1e-5 and by 1e-4 of itself over the minute."""
    for relative in (1e-5, 1e-4):
        rate = relative * 49.97 / SECONDS  # Hz a second
        case, path = record(folder, "drift%g" % relative, lambda t: rate / 2 * t**2,
                            lambda t: rate * t)
        mean = 49.97 + rate * SECONDS / 2
        result = program.loop(path)
        judge(check, case, result, "drift of %g" % relative, 1.5e-5, mean)


def test_a_wandering_mains(check, folder):
    """+-10 mHz in 20 s and +-3 mHz in 4.3 s: an ordinary minute of the mains."""
    depth, slow, quick = 0.010, 2 * np.pi / 20, 2 * np.pi / 4.3

    def wander(t):
        return depth / slow * (1 - np.cos(slow * t)) + 0.3 * depth / quick * (1 - np.cos(quick * t))

    def slope(t):
        return depth * np.sin(slow * t) + 0.3 * depth * np.sin(quick * t)

    case, path = record(folder, "mains", wander, slope)
    t = np.arange(RATE * SECONDS) / RATE
    result = program.loop(path)
    judge(check, case, result, "wandering mains", 5e-4, 49.97 + np.mean(slope(t)))
    check.check("unsteady" in program.codes(result), "wandering mains: no note")
    case, path = record(folder, "noisy", wander, slope, noise=1e-3)
    judge(check, case, program.loop(path), "wandering mains with noise", 5e-4,
          49.97 + np.mean(slope(t)))


if __name__ == "__main__":
    checks.main(globals())
