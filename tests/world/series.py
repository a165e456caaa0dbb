# SPDX-License-Identifier: GPL-3.0-or-later
"""A loop as two finite Fourier series, and its figures from the series themselves.

    H(x) = Re sum_{k=0..K} H[k] e^{ikx}   A/m      B(x) = Re sum_{k=0..K} B[k] e^{ikx}   T

The figures are found by bracketing and Brent's method on the series, so that they are exact to
rounding. Nothing here is shared with the program under test.
"""
import numpy as np
from scipy.optimize import brentq

MU0 = 4e-7 * np.pi


class Ambiguous(ValueError):
    """The loop crosses an axis more than twice: its figures are not defined."""


def evaluate(c, x):
    """Re sum c[k] e^{ikx} by Horner's rule."""
    z = np.exp(1j * np.asarray(x, dtype=float))
    total = np.full(z.shape, c[-1], dtype=complex)
    for coefficient in c[-2::-1]:
        total *= z
        total += coefficient
    return total.real


def _value(c, x):
    """The same at one phase, as one product: quicker."""
    return np.dot(c, np.exp(1j * x * np.arange(len(c)))).real


def derivative(c):
    return 1j * np.arange(len(c)) * c


def _grid(c):
    """The series on an even grid fine enough to separate its roots."""
    n = 4096
    while n < 32 * len(c):
        n *= 2
    spectrum = np.zeros(n // 2 + 1, dtype=complex)
    spectrum[: len(c)] = c
    spectrum *= n / 2
    spectrum[0] *= 2
    return np.fft.irfft(spectrum, n)


def roots(c):
    """All sign changes of the series in [0, 2 pi), as (phase, is_rising)."""
    values = _grid(c)
    n = len(values)
    step = 2 * np.pi / n
    found = []
    positive = values >= 0
    for i in np.nonzero(positive != np.roll(positive, -1))[0]:
        a, b = i * step, (i + 1) * step
        fa, fb = _value(c, a), _value(c, b)
        if fa == 0 or fa * fb > 0:  # the grid point is the root, to rounding
            x = a if abs(fa) < abs(fb) else b
        else:
            x = b if fb == 0 else brentq(lambda p: _value(c, p), a, b, xtol=1e-15, rtol=1e-15)
        found.append((x, not positive[i]))
    return found


def extremes(c):
    """(phase of the minimum, minimum, phase of the maximum, maximum)."""
    slope = derivative(c)
    candidates = np.array([x for x, _ in roots(slope)])
    values = evaluate(c, candidates)
    low, high = np.argmin(values), np.argmax(values)
    return candidates[low], values[low], candidates[high], values[high]


def centred(c):
    """The series moved so that its two peaks are equal."""
    _, low, _, high = extremes(c)
    moved = np.array(c, dtype=complex)
    moved[0] = moved[0].real - (low + high) / 2
    return moved, (high - low) / 2


def _crossings(series):
    """(falling root, rising root) of a series that crosses zero twice."""
    found = roots(series)
    falling = [x for x, rises in found if not rises]
    rising = [x for x, rises in found if rises]
    if len(falling) != 1 or len(rising) != 1:
        raise Ambiguous("the waveform crosses zero %d times" % len(found))
    return falling[0], rising[0]


def _asymmetry(falling, rising):
    total = abs(falling) + abs(rising)
    return (abs(falling) - abs(rising)) / total if total else 0.0


def figures(H, B, frequency=0.0, density=0.0):
    """Every figure of the contract that follows from the series, keyed as in the program's JSON.
    Those of one side (falling, rising) are half-axes, positive on an ordinary loop."""
    H, B = np.asarray(H, dtype=complex), np.asarray(B, dtype=complex)
    k = np.arange(len(H))
    _, low, _, high = extremes(H)
    field_peak = (high - low) / 2
    B, flux_peak = centred(B)
    J, polarization_peak = centred(B - MU0 * H)
    x_fall, x_rise = _crossings(H)
    br_fall, br_rise = evaluate(B, x_fall), -evaluate(B, x_rise)
    x_fall, x_rise = _crossings(B)
    hc_fall, hc_rise = -evaluate(H, x_fall), evaluate(H, x_rise)
    x_fall, x_rise = _crossings(J)
    hj_fall, hj_rise = -evaluate(H, x_fall), evaluate(H, x_rise)
    area = np.pi * np.sum(k * np.imag(H * np.conj(B)))
    ratio = area / (np.pi * field_peak * flux_peak)
    slope = derivative(B)
    turning = evaluate(B, np.sort([x for x, _ in roots(slope)]))
    mean_slope = np.sum(np.abs(np.diff(np.append(turning, turning[0])))) / (2 * np.pi)
    remanence = (br_fall + br_rise) / 2
    result = {
        "field_peak_A_per_m": field_peak,
        "flux_density_peak_T": flux_peak,
        "polarization_peak_T": polarization_peak,
        "remanence_T": remanence,
        "coercivity_A_per_m": (hc_rise + hc_fall) / 2,
        "coercivity_J_A_per_m": (hj_rise + hj_fall) / 2,
        "loop_area_J_per_m3": area,
        "lag_angle_deg": np.degrees(np.angle(H[1] * np.conj(B[1]))),
        "amplitude_permeability": flux_peak / (MU0 * field_peak),
        "squareness": remanence / flux_peak,
        "loop_fullness": area / (4 * field_peak * flux_peak),
        "form_factor": np.sqrt(np.sum(np.abs(slope) ** 2) / 2) / mean_slope,
        "flux_distortion": np.sqrt(np.sum(np.abs(B[2:]) ** 2)) / abs(B[1]),
        "remanence_falling_T": br_fall,
        "remanence_rising_T": br_rise,
        "remanence_asymmetry": _asymmetry(br_fall, br_rise),
        "coercivity_falling_A_per_m": hc_fall,
        "coercivity_rising_A_per_m": hc_rise,
        "coercivity_asymmetry": _asymmetry(hc_fall, hc_rise),
        "coercivity_J_falling_A_per_m": hj_fall,
        "coercivity_J_rising_A_per_m": hj_rise,
        "coercivity_J_asymmetry": _asymmetry(hj_fall, hj_rise),
    }
    if abs(ratio) <= 1:
        result["lag_angle_area_deg"] = np.degrees(np.arcsin(ratio))
    if frequency:
        result["frequency_Hz"] = frequency
        result["loss_W_per_m3"] = area * frequency
        if density:
            result["specific_loss_W_per_kg"] = area * frequency / density
    return {key: float(value) for key, value in result.items()}
