# SPDX-License-Identifier: GPL-3.0-or-later
"""Steels: H(x) and B(x) of one closed cycle as finite Fourier series.

Each function returns (H, B), complex arrays of length K + 1. The model is only the source of a
shape: once its harmonics are cut at K, the series itself is the truth.
"""
import numpy as np
from scipy.integrate import solve_ivp

MU0 = 4e-7 * np.pi
POINTS = 8192


def project(h, b, harmonics):
    """The first harmonics of two waveforms sampled evenly over one cycle; B without its mean."""
    H = 2 * np.fft.rfft(h)[: harmonics + 1] / len(h)
    B = 2 * np.fft.rfft(b)[: harmonics + 1] / len(b)
    H[0] = H[0].real / 2
    B[0] = 0
    small = 1e-15
    H[np.abs(H) < small * np.max(np.abs(H))] = 0
    B[np.abs(B) < small * np.max(np.abs(B))] = 0
    return H, B


def _phase(points=POINTS):
    return 2 * np.pi * np.arange(points) / points


def ellipse(field, flux, lag_deg, harmonics=1):
    H = np.zeros(harmonics + 1, dtype=complex)
    B = np.zeros(harmonics + 1, dtype=complex)
    H[1], B[1] = field, flux * np.exp(-1j * np.radians(lag_deg))
    return H, B


def smooth(field, saturation, coercivity, width, harmonics, slope=0.0, tilt=0.0):
    """Sinusoidal H; an analytic loop, whose harmonics die away exponentially. `tilt` shifts the
    knee of one side and so makes even harmonics."""
    x = _phase()
    h = field * np.cos(x)
    lead = (h + coercivity * np.sin(x) + tilt * np.cos(2 * x)) / width
    return project(h, saturation * np.tanh(lead) + slope * MU0 * h, harmonics)


def branches(field, saturation, coercivity, width, harmonics, slope=0.0):
    """Sinusoidal H; two tanh branches that meet at the tips, where B has a corner."""
    x = _phase()
    h = field * np.cos(x)
    side = np.where(x < np.pi, 1.0, -1.0)
    gap = (np.tanh((field + coercivity) / width) - np.tanh((field - coercivity) / width)) / 2
    b = saturation * (np.tanh((h + side * coercivity) / width) - side * gap)
    return project(h, b + slope * MU0 * h, harmonics)


def sine_flux(flux, knee, sharpness, coercivity, harmonics, slope=1000.0):
    """Sinusoidal B, peaky H: knee * atanh(sharpness * b) and a share in phase with dB/dt."""
    x = _phase()
    b = flux * np.cos(x)
    h = knee * np.arctanh(sharpness * np.cos(x)) - coercivity * np.sin(x)
    h += b / (MU0 * slope)
    return project(h, b, harmonics)


def rayleigh(initial, rise, field, harmonics):
    """B = (m + v Hm) H +- v/2 (Hm^2 - H^2) with sinusoidal H (Rayleigh's law)."""
    x = _phase()
    h = field * np.cos(x)
    side = np.where(x < np.pi, 1.0, -1.0)
    b = (initial + rise * field) * h + side * rise / 2 * (field**2 - h**2)
    return project(h, b, harmonics)


def _langevin(y):
    if abs(y) < 1e-3:
        return y / 3 - y**3 / 45, 1 / 3 - y**2 / 15
    return 1 / np.tanh(y) - 1 / y, 1 / y**2 - 1 / np.sinh(y) ** 2


def jiles_atherton(field, Ms, a, k, c, alpha, harmonics, cycles=3):
    """Sinusoidal H through the equations of Jiles, Thoelke and Devine, IEEE Trans. Magn. 28 (1992)
    27: M = (1 - c) Mirr + c Man, dMirr/dH = (Man - Mirr)/(k delta - alpha (Man - Mirr)), no
    irreversible change against the field's direction. Solved in phase from the virgin state."""

    def rate(x, m):
        h, dh = field * np.cos(x), -field * np.sin(x)
        delta = 1.0 if dh >= 0 else -1.0
        man, slope = _langevin((h + alpha * m[0]) / a)
        man, slope = Ms * man, Ms * slope / a
        irreversible = (man - m[0]) / (1 - c)  # Man - Mirr
        chi = 0.0
        if delta * irreversible > 0:
            chi = irreversible / (k * delta - alpha * irreversible)
        numerator = (1 - c) * chi + c * slope
        return [numerator / (1 - c * alpha * slope) * dh]

    m, points = np.array([0.0]), 2048
    x = -np.pi / 2
    half = [(x, 0.0)] + [(n * np.pi, (n + 1) * np.pi) for n in range(2 * cycles)]
    wave = []
    for start, stop in half:
        at = np.linspace(start, stop, points // 2 + 1)
        done = solve_ivp(rate, (start, stop), m, "LSODA", t_eval=at, rtol=1e-9, atol=1e-3)
        m = done.y[:, -1]
        wave.append(done.y[0][:-1])
    magnetization = np.concatenate(wave[-2:])
    h = field * np.cos(_phase(points))
    return project(h, MU0 * (h + magnetization), harmonics)
