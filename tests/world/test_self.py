# SPDX-License-Identifier: GPL-3.0-or-later
"""The references of these tests against each other and against published values, without the program:
generator against analyser, gradients against differences, models against their reference solutions."""
import os

import numpy as np

import analyse
import bench
import bound
import cases
import checks
import scatter
import series
import steel


def test_generator_against_analyser(check, folder):
    for kind in ("wav", "table"):
        for seed in range(900, 912):
            case = cases.draw(seed, kind, 8000)
            path = case.write(os.path.join(folder, kind + str(seed)))
            got = analyse.analyse(path, len(case.H) - 1)
            truth = {key: value for key, value in case.truth().items() if "asymmetry" not in key}
            error, key = checks.errors_of(truth, got, floor=cases.rounding_floor(case))[0]
            check.check(error < 1, f"{case.name}: {key} off by {error:.3g} of its limit")


def test_gradients_against_differences(check, folder):
    random = np.random.default_rng(3)
    for H, B in (steel.smooth(8000, 1.1, 1500, 2500, 9, tilt=300),
                 steel.sine_flux(1.2, 200, 0.9, 50, 15)):
        n = len(H)
        at = np.concatenate([H.real, H.imag, B.real, B.imag])
        scale = np.repeat([np.max(np.abs(H)), np.max(np.abs(B))], 2 * n)

        def values(v):
            return series.figures(v[:n] + 1j * v[n:2 * n], v[2 * n:3 * n] + 1j * v[3 * n:])

        for _ in range(3):
            step = 1e-5 * scale * random.standard_normal(4 * n)
            step[[0, n, 2 * n, 3 * n]] = 0
            plus, minus, here = values(at + step), values(at - step), values(at)
            for key, (value, gradient) in bound.gradients(H, B).items():
                check.near(value, here[key], 1e-9 * abs(here[key]), "value of " + key)
                size = np.linalg.norm(gradient * step)
                check.near(gradient @ step, (plus[key] - minus[key]) / 2, 1e-3 * size,
                           "gradient of " + key)


def test_bound_of_a_sine(check, folder):
    """N 4800, amplitude 1, sigma 1e-3, 50 Hz at 48 kHz, phase 0.3: exact Fisher information of amplitude,
    phase, frequency and offset gives sd 1.1428530715e-4 Hz for the frequency (four-parameter sine
    fit, IEEE Std 1057; asymptotically sqrt(24 s2 / (A2 N3)) rad a sample). Two equal channels halve
    the variance."""
    H, B = steel.ellipse(1.0, 1.0, 40.0)
    case = bench.Case(50.0, H, B, dict(excitation="field strength", pickup="flux density"), {},
                      rate=48000, frames=4800, phase=0.3)
    sd = bound.figure_bounds(case, (1e-3, 1e9))["frequency_Hz"]
    check.near(sd, 1.1428530715e-4, 1e-12, "bound of the frequency, one channel")
    case.B = steel.ellipse(1.0, 1.0, 0.0)[1]
    both = bound.figure_bounds(case, (1e-3, 1e-3))["frequency_Hz"]
    check.near(both, 1.1428530715e-4 / np.sqrt(2), 1e-12, "bound of the frequency, two channels")


def test_jiles_atherton_reference(check, folder):
    """Jiles, Thoelke, Devine (1992) form, Ms 1.6e6, a 1100, k 400, c 0.2, alpha 1.6e-3, +-6000 A/m; the
    values are an integration to 1e-12 (order-8 Runge-Kutta), five cycles from the virgin state."""
    H, B = steel.jiles_atherton(6000, 1.6e6, 1100, 400, 0.2, 1.6e-3, 900)
    got = series.figures(H, B)
    for key, value in (("flux_density_peak_T", 1.736782), ("remanence_T", 0.630241),
                       ("coercivity_A_per_m", 315.987749), ("coercivity_J_A_per_m", 316.145420),
                       ("loop_area_J_per_m3", 2204.683402)):
        check.near(got[key], value, 1e-6 * value, "Jiles-Atherton: " + key)


def test_the_analyser_reaches_the_bound(check, folder):
    """Least squares is efficient: 150 noisy records scatter as the bound says."""
    case = scatter.configurations()[2]
    bounds = bound.figure_bounds(case, scatter.sigmas(case))
    errors = {key: [] for key in scatter.FIGURES}
    truth = case.truth()
    for case.seed in range(150):
        got = analyse.analyse(case.write(os.path.join(folder, "noisy")), len(case.H) - 1)
        for key in errors:
            errors[key].append(got[key] - truth[key])
    for key, values in errors.items():
        r = scatter.ratio(np.array(values), bounds[key])
        # chi-square region of 150 trials, one in a million
        check.check(0.71 < r < 1.31, f"the script's {key} scatters by {r:.3f} of the bound")


if __name__ == "__main__":
    checks.main(globals())
