# SPDX-License-Identifier: GPL-3.0-or-later
"""White noise: the figures scatter by no more than 1.15 of the Cramér-Rao bound.

    test_bound.py                 300 recordings of each configuration
    test_bound.py --trials N      more

What is judged is the root of the mean squared error (bias and the choice of K included) over the
bound. A configuration fails where the ratio passes 1.15 beyond chance (chi-square, one in a million),
and all configurations together where the pooled ratio passes 1.15. No estimator beats the bound: a
ratio below chance means that the test itself is wrong.
"""
import math
import os

import numpy as np
from scipy.stats import chi2

import checks
import scatter

LIMIT = 1.15
# Of a flat top the largest of many bends is taken: noise can only raise it, which the bound, linear in
# the noise, does not know.
PEAK_LIMIT = 1.4
CHANCE = 1e-6


def limit_of(key):
    return PEAK_LIMIT if "peak" in key else LIMIT


def test_scatter(check, folder):
    trials = checks.option("--trials", 20 if checks.is_slow_build() else 300)
    high = math.sqrt(chi2.ppf(1 - CHANCE, trials) / trials)
    low = math.sqrt(chi2.ppf(CHANCE, trials) / trials)
    pooled = {key: [] for key in scatter.FIGURES}
    for case in scatter.configurations():
        stands_out = scatter.signal_to_noise(case)
        check.check(stands_out > 8, f"{case.name}: the highest harmonic is {stands_out:.3g} sigma")
        errors, bounds, harmonics, failures, _ = scatter.measure(
            case, trials, os.path.join(folder, "trials"))
        K = len(case.H) - 1
        check.check(not failures, f"{case.name}: {len(failures)} failed: {failures[:1]}")
        if failures:
            continue
        right = np.mean(harmonics == K)
        # a choice that misses or adds a harmonic now and then is judged by the scatter it makes
        check.check(right > 0.7, f"{case.name}: K = {K} chosen in {100 * right:.0f} % only")
        for key in scatter.FIGURES:
            r = scatter.ratio(errors[key], bounds[key])
            pooled[key].append(r**2)
            most = limit_of(key) * high
            check.check(low <= r <= most, f"{case.name}: {key} scatters by {r:.3f} of the bound, "
                                          f"not {low:.3f} ... {most:.3f}")
    for key, squares in pooled.items():
        r = math.sqrt(np.mean(squares)) if squares else math.inf
        check.check(r <= limit_of(key), f"all configurations: {key} scatters by {r:.3f} of the bound")


if __name__ == "__main__":
    checks.main(globals(), 60.0)
