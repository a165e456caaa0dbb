# SPDX-License-Identifier: GPL-3.0-or-later
"""The Cramér-Rao bound of every figure: Fisher's information of offsets, frequency and harmonics
1 ... K of both channels under white Gaussian noise, propagated through the gradient of the figures.

The gradients are written out: at a root x0 of a series b, a change db moves x0 by -db(x0)/b'(x0),
and a peak moves by dc(x_peak). tests/world/test_self.py compares them with differences.
"""
import os
import tempfile

import numpy as np

import analyse
import bench
import series

MU0 = series.MU0


class _Form:
    """A linear form on (Re H, Im H, Re B, Im B), each of length K + 1."""

    def __init__(self, K):
        self.k = np.arange(K + 1)

    def point(self, which, x):
        """Change of the series' value at phase x. `which`: H, B, or J = B - mu0 H."""
        c, s, none = np.cos(self.k * x), -np.sin(self.k * x), np.zeros(len(self.k))
        h, b = np.concatenate([c, s, none, none]), np.concatenate([none, none, c, s])
        return {"H": h, "B": b, "J": b - MU0 * h}[which]


def gradients(H, B):
    """Value and gradient of each figure, with respect to (Re H, Im H, Re B, Im B)."""
    H, B = np.asarray(H, complex), np.asarray(B, complex)
    K = len(H) - 1
    form = _Form(K)
    k = form.k
    waves = {"H": H, "B": B, "J": B - MU0 * H}
    result, middle, centred = {}, {}, {}
    for name, key in (("H", "field_peak_A_per_m"), ("B", "flux_density_peak_T"),
                      ("J", "polarization_peak_T")):
        x_low, low, x_high, high = series.extremes(waves[name])
        at_low, at_high = form.point(name, x_low), form.point(name, x_high)
        result[key] = ((high - low) / 2, (at_high - at_low) / 2)
        middle[name] = (at_high + at_low) / 2 if name != "H" else 0.0
        centred[name] = np.array(waves[name])
        if name != "H":
            centred[name][0] -= (high + low) / 2

    def side(base, other, rises):
        c = centred[base]
        x = [x for x, up in series.roots(c) if up == rises][0]
        slope = series.evaluate(series.derivative(c), x)
        other_slope = series.evaluate(series.derivative(waves[other]), x)
        value = series.evaluate(centred[other], x)
        change = form.point(other, x) - (middle[other] if other != "H" else 0.0)
        return value, change - other_slope / slope * (form.point(base, x) - middle[base])

    def both(key, base, other, sign):
        falling, rising = side(base, other, False), side(base, other, True)
        result[key] = (sign * (falling[0] - rising[0]) / 2, sign * (falling[1] - rising[1]) / 2)

    both("remanence_T", "H", "B", 1)
    both("coercivity_A_per_m", "B", "H", -1)
    both("coercivity_J_A_per_m", "J", "H", -1)
    # W = pi sum k Im(H conj B) = pi sum k (ImH ReB - ReH ImB)
    area = np.pi * np.sum(k * np.imag(H * np.conj(B)))
    result["loop_area_J_per_m3"] = (
        area, np.pi * np.concatenate([-k * B.imag, k * B.real, k * H.imag, -k * H.real]))
    lag = np.zeros((4, K + 1))  # the phase of c turns by Im(conj(c) dc)/|c|^2
    lag[:2, 1] = np.array([-H[1].imag, H[1].real]) / abs(H[1]) ** 2
    lag[2:, 1] = np.array([B[1].imag, -B[1].real]) / abs(B[1]) ** 2
    lag = lag.ravel()
    result["lag_angle_deg"] = (np.degrees(np.angle(H[1] * np.conj(B[1]))), np.degrees(lag))
    result.update(_ratios(result))
    result.update(_shape(B, form))
    return result


def _product(terms):
    """Value and gradient of a product of powers of positive figures."""
    value = np.prod([v**p for (v, _), p in terms])
    return value, value * sum(p * g / v for (v, g), p in terms)


def _ratios(r):
    hm, bm = r["field_peak_A_per_m"], r["flux_density_peak_T"]
    area, br = r["loop_area_J_per_m3"], r["remanence_T"]
    result = {"amplitude_permeability": _product([(bm, 1), (hm, -1), ((MU0, 0.0), -1)])}
    if area[0] != 0:
        result["loop_fullness"] = _product([(area, 1), (hm, -1), (bm, -1), ((4.0, 0.0), -1)])
        sine = _product([(area, 1), (hm, -1), (bm, -1), ((np.pi, 0.0), -1)])
        if abs(sine[0]) < 1:
            scale = 1 / np.sqrt(1 - sine[0] ** 2)
            result["lag_angle_area_deg"] = (
                np.degrees(np.arcsin(sine[0])), np.degrees(scale * sine[1]))
    result["squareness"] = _product([(br, 1), (bm, -1)])
    return result


def _shape(B, form):
    k, K = form.k, len(B) - 1
    none = np.zeros(K + 1)
    slope = series.derivative(B)
    at = [x for x, _ in series.roots(slope)]
    values = series.evaluate(B, at)
    signs = np.where(series.evaluate(series.derivative(slope), at) < 0, 1.0, -1.0)
    variation = 2 * np.sum(signs * values)
    dvariation = 2 * sum(s * form.point("B", x) for s, x in zip(signs, at))
    rms = np.sqrt(np.sum(np.abs(slope) ** 2) / 2)
    drms = np.concatenate([none, none, k**2 * B.real, k**2 * B.imag]) / (2 * rms)
    factor = rms / (variation / (2 * np.pi))
    result = {"form_factor": (factor, factor * (drms / rms - dvariation / variation))}
    high = np.where(k >= 2, 1.0, 0.0)
    top, bottom = np.sqrt(np.sum(high * np.abs(B) ** 2)), abs(B[1])
    if top > 0:
        dtop = np.concatenate([none, none, high * B.real, high * B.imag]) / top
        one = np.where(k == 1, 1.0, 0.0)
        dbottom = np.concatenate([none, none, one * B.real, one * B.imag]) / bottom
        result["flux_distortion"] = (
            top / bottom, dtop / bottom - top / bottom**2 * dbottom)
    return result


def _information(times, f, c):
    """Gram matrix of the basis (cos kx, -sin kx; k = 0 ... K, the empty sine left in as zero), its
    products with the derivative by f, and that derivative's own square."""
    k = np.arange(len(c))
    slope = analyse.series_at(times, f, 2j * np.pi * k * c) * times
    sums, cross = analyse.fourier_sums(times, f, 2 * k[-1], [None, slope])
    wave = np.conj(sums)  # sum of e^{imx}, m = 0 ... 2K
    plus = wave[np.add.outer(k, k)]
    minus = wave[np.abs(np.subtract.outer(k, k))]
    minus = np.where(np.subtract.outer(k, k) > 0, np.conj(minus), minus)  # m = column - row
    gram = 0.5 * np.block([[(minus + plus).real, -(plus + minus).imag],
                           [-(plus + minus).imag.T, (minus - plus).real]])
    cross = cross[: len(k)]
    return gram, np.concatenate([cross.real, cross.imag]), slope @ slope


def figure_bounds(case, sigmas):
    """Standard deviation of every figure at the Cramér-Rao bound, for white noise of rms
    sigmas = (first input, second input) in the inputs' own units."""
    f, rig, spec = case.frequency, case.rig, case.spec
    times = case.times if case.times is not None else np.arange(case.frames) / case.rate
    middle = np.mean(times)
    times = np.asarray(times, float) - middle
    H, B = np.array(case.H), np.array(case.B)
    if not rig["bias"]:
        H[0] = 0
    K = len(H) - 1
    turn = np.exp(1j * np.arange(K + 1) * (case.phase + 2 * np.pi * f * middle))
    c = [s * turn for s in bench.sensor_signals(H, B, f, rig, spec)]
    lines = gradients(H * turn, B * turn)
    jacobian, _ = _linear_map(case, f, c)
    by_frequency = (_linear_map(case, f * (1 + 1e-6), c)[1]
                    - _linear_map(case, f * (1 - 1e-6), c)[1]) / (2e-6 * f)
    inverse, absorbed, information = [], [], 0.0
    keep = np.arange(2 * (K + 1)) != K + 1  # the sine of k = 0 is nothing
    for ci, sigma in zip(c, sigmas):
        gram, cross, square = _information(times, f, ci)
        gram, cross = gram[np.ix_(keep, keep)], cross[keep]
        inverse.append(np.linalg.inv(gram) * sigma**2)
        absorbed.append(np.linalg.solve(gram, cross))
        information += (square - cross @ absorbed[-1]) / sigma**2
    variance_f = 1 / information
    bounds = {"frequency_Hz": np.sqrt(variance_f)}
    for key, (value, line) in lines.items():
        total, along = 0.0, line @ by_frequency
        for i in (0, 1):
            q = (line @ jacobian[i])[keep]
            total += q @ inverse[i] @ q
            along -= q @ absorbed[i]
        bounds[key] = np.sqrt(total + variance_f * along**2)
        if key == "loop_area_J_per_m3":
            shifted = along * f + value
            total_loss = total * f**2 + variance_f * shifted**2
            bounds["loss_W_per_m3"] = np.sqrt(total_loss)
    if spec.get("density"):
        bounds["specific_loss_W_per_kg"] = bounds["loss_W_per_m3"] / spec["density"]
    return bounds


def _linear_map(case, f, c):
    """The Jacobian of (Re H, Im H, Re B, Im B) by (Re c, Im c) of each input, and the series at the
    coefficients c. What undoes the bench is linear and diagonal in k."""
    rig, spec = _as_files(case)
    K = len(c[0]) - 1
    unit, none = np.ones(K + 1, complex), np.zeros(K + 1, complex)
    jacobian = []
    for i in (0, 1):
        ones = [unit if j == i else none for j in (0, 1)]
        H, B = analyse.undo_bench(f, *ones, rig, spec)
        block = np.zeros((4 * (K + 1), 2 * (K + 1)))
        k = np.arange(K + 1)
        for row, factor in ((0, H), (2, B)):
            block[row * (K + 1) + k, k] = factor.real
            block[row * (K + 1) + k, K + 1 + k] = -factor.imag
            block[(row + 1) * (K + 1) + k, k] = factor.imag
            block[(row + 1) * (K + 1) + k, K + 1 + k] = factor.real
        jacobian.append(block)
    H, B = analyse.undo_bench(f, *c, rig, spec)
    return jacobian, np.concatenate([H.real, H.imag, B.real, B.imag])


def _as_files(case):
    """Rig and specimen as analyse.py reads them from the files."""
    with tempfile.TemporaryDirectory() as folder:
        for name, words in (("rig", bench.rig_text(case, ("1", "2"), (1.0, 1.0))),
                            ("specimen", bench.specimen_text(case.spec))):
            with open(os.path.join(folder, name + ".yaml"), "w") as out:
                out.write(words)
        return (analyse.read_yaml(os.path.join(folder, "rig.yaml")),
                analyse.read_yaml(os.path.join(folder, "specimen.yaml")))
