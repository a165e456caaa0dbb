# SPDX-License-Identifier: GPL-3.0-or-later
"""Figures of a closed polygon of (H, B) points: straight lines between the rows, the last joined
to the first. An independent reading for traces."""
import numpy as np

MU0 = 4e-7 * np.pi


def area(h, b):
    """Closed integral of H dB; positive when the loop is walked as hysteresis walks it."""
    return 0.5 * float(np.sum((h + np.roll(h, -1)) * (np.roll(b, -1) - b)))


def crossings(base, other):
    """(mean of `other` where base falls through zero, the same where it rises). H on one branch,
    B on the other: an edge that ends on zero counts once."""
    falling, rising = [], []
    following, other_following = np.roll(base, -1), np.roll(other, -1)
    for a, b, p, q in zip(base, following, other, other_following):
        if (a > 0) != (b > 0):
            value = p + (q - p) * a / (a - b)
            (falling if a > 0 else rising).append(value)
    return float(np.mean(falling)), float(np.mean(rising))


def centred(y):
    return y - (np.max(y) + np.min(y)) / 2


def figures(h, b):
    """The figures of a trace, keyed as in the program's JSON."""
    h = np.asarray(h, float)
    j = centred(np.asarray(b, float) - MU0 * h)
    b = centred(np.asarray(b, float))
    br_fall, br_rise = crossings(h, b)
    hc_fall, hc_rise = crossings(b, h)
    hj_fall, hj_rise = crossings(j, h)
    peaks = [(np.max(y) - np.min(y)) / 2 for y in (h, b, j)]
    w = area(h, b)
    return {
        "field_peak_A_per_m": peaks[0], "flux_density_peak_T": peaks[1],
        "polarization_peak_T": peaks[2], "remanence_T": (br_fall - br_rise) / 2,
        "coercivity_A_per_m": (hc_rise - hc_fall) / 2,
        "coercivity_J_A_per_m": (hj_rise - hj_fall) / 2, "loop_area_J_per_m3": w,
        "amplitude_permeability": peaks[1] / (MU0 * peaks[0]),
        "squareness": (br_fall - br_rise) / 2 / peaks[1],
        "loop_fullness": w / (4 * peaks[0] * peaks[1]),
        "remanence_falling_T": br_fall, "remanence_rising_T": -br_rise,
        "coercivity_falling_A_per_m": -hc_fall, "coercivity_rising_A_per_m": hc_rise,
        "coercivity_J_falling_A_per_m": -hj_fall, "coercivity_J_rising_A_per_m": hj_rise,
    }
