#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent reading of a capture: numpy and scipy only, nothing of the program's code.

    analyse.py CAPTURE [HARMONICS]      rig.yaml and specimen.yaml stand beside the capture

The waveform's frequency, offsets and harmonics are found by separable nonlinear least squares on
all samples at once; figures come from a dense sampling of the fitted series, refined by Newton's
method.
"""
import json
import math
import os
import re
import struct
import sys

import numpy as np
from scipy.linalg import solve_toeplitz

MU0 = 4e-7 * math.pi
UNITS = {"V": 1, "mV": 1e-3, "uV": 1e-6, "ohm": 1, "A/V": 1, "Hz": 1, "kHz": 1e3, "s": 1, "us": 1e-6,
         "ms": 1e-3, "m": 1, "mm": 1e-3, "kg": 1, "g": 1e-3, "kg/m3": 1, "m2": 1, "mm2": 1e-6,
         "Wb/V": 1, "mWb/V": 1e-3, "F": 1, "uF": 1e-6, "kohm": 1e3, "mohm": 1e-3, "ohm m": 1, "uohm m": 1e-6,
         "A": 1, "mA": 1e-3, "A/m": 1, "kA/m": 1e3, "T": 1, "mT": 1e-3, "Wb": 1, "mWb": 1e-3,
         "degC": 1, "g/cm3": 1e3, "": 1}


# ------------------------------------------------------------------------------- reading

def read_yaml(path):
    """The subset of YAML that rigs and specimens use, as nested dictionaries of texts."""
    root = {}
    stack = [(-1, root)]
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            line = line.split("#")[0].rstrip()
            if not line.strip():
                continue
            indent = len(line) - len(line.lstrip())
            key, _, value = line.strip().partition(":")
            while stack[-1][0] >= indent:
                stack.pop()
            value = value.strip().strip('"')
            if value.startswith("{"):
                pairs = (p.partition(":") for p in value.strip("{}").split(","))
                value = {k.strip(): v.strip() for k, _, v in pairs}
            elif not value:
                value = {}
            stack[-1][1][key] = value
            if isinstance(value, dict):
                stack.append((indent, value))
    return root


def amount(words, default=None):
    """'1.55 V ± 5 mV' in SI, without its half-width."""
    if words is None:
        return default
    number, unit = re.match(r"([-+0-9.eE]+)\s*(.*)", re.split("±|\\+/-", words)[0].strip()).groups()
    return float(number) * UNITS[unit.strip()]


def read_wav(path):
    """(frames, channels) as fractions of full scale, and the rate."""
    with open(path, "rb") as file:
        data = file.read()
    place, form = 12, None
    while place + 8 <= len(data):
        name, size = data[place:place + 4], struct.unpack("<I", data[place + 4:place + 8])[0]
        body = data[place + 8:place + 8 + size]
        if name == b"fmt ":
            tag, channels, rate, _, _, bits = struct.unpack("<HHIIHH", body[:16])
            if tag == 0xFFFE:
                tag = struct.unpack("<H", body[24:26])[0]
            form = (tag, bits)
        if name == b"data":
            break
        place += 8 + size + size % 2
    if form[0] == 3:
        values = np.frombuffer(body, "<f%d" % (form[1] // 8)).astype(float)
    elif form[1] == 24:
        raw = np.frombuffer(body, "u1").reshape(-1, 3).astype(np.int64)
        whole = raw[:, 0] + (raw[:, 1] << 8) + (raw[:, 2] << 16)
        values = (whole - ((whole >> 23) << 24)) / 2.0**23
    else:
        values = np.frombuffer(body, "<i%d" % (form[1] // 8)) / 2.0 ** (form[1] - 1)
    return values.reshape(-1, channels), float(rate)


def split_header(cell):
    match = re.match(r"\s*(.*?)\s*[\(\[](.*?)[\)\]]\s*$", cell)
    return match.groups() if match else (cell.strip(), "")


def read_table(path):
    """Header cells as (name, unit) and the numbers (NaN where there is none)."""
    with open(path, "rb") as file:
        data = file.read()
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text = data.decode("utf-16")
    else:
        text = data.decode("utf-8-sig", "replace")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    separator = max(";\t", key=lines[-1].count)
    if not lines[-1].count(separator):
        separator = "," if "," in lines[-1] else " "
    rows = [line.split(separator) for line in lines]
    width = len(rows[-1])
    rows = [row for row in rows if len(row) == width]
    head = [split_header(cell) for cell in rows[0]]
    body = rows[1:]
    if not re.search(r"\d", "".join(body[0])):
        head = [(name, unit.strip()) for (name, _), unit in zip(head, body.pop(0))]

    def number(cell):
        try:
            return float(cell.replace(",", "."))
        except ValueError:
            return math.nan

    return head, np.array([[number(cell) for cell in row] for row in body])


def quantum_of(path, head, timing):
    """The step of the last printed digit of the time column, s."""
    name = timing.get("time", "time")
    i = int(name) - 1 if name.isdigit() else [n for n, _ in head].index(name)
    with open(path, "rb") as file:
        data = file.read()
    text = data.decode("utf-16" if data[:2] == b"\xff\xfe" else "latin-1").splitlines()
    decimals = 0
    for line in text[-200:]:
        cell = re.split(r"[;\t]" if re.search(r"[;\t]", line) else ",", line)[i]
        if "e" in cell:
            return 1e-300
        decimals = max(decimals, len(re.split("[.,]", cell + ".")[1]))
    return 10.0**-decimals * UNITS[head[i][1]]


def settle_times(times, quantum):
    """Printed times freed of their rounding: when one even grid passes within half a printed step of
    all, the grid with the fewest digits that does (as a rate or as an interval)."""
    known = np.isfinite(times)
    t = times[known]
    steps = np.rint(np.diff(t) / np.median(np.diff(t)))
    n = np.concatenate([[0], np.cumsum(steps)])
    step = np.polyfit(n, t, 1)[0]
    for digits in range(1, 12):
        for trial in (float("%.*g" % (digits, step)), 1 / float("%.*g" % (digits, 1 / step))):
            late = t - n * trial
            if np.max(late) - np.min(late) <= quantum * 1.000001 + 1e-15 * np.max(np.abs(t)):
                grid = np.full(len(times), np.nan, np.longdouble)
                if abs(trial - 1 / round(1 / trial, 6)) < 1e-12 * trial:
                    grid[known] = n.astype(np.longdouble) / round(1 / trial, 6)
                else:
                    grid[known] = n * np.longdouble(trial)
                return grid
    return times


def read_capture(path, rig):
    """Times (s) and the two inputs (V, or the column's quantity in SI); rows with gaps left out."""
    inputs = [rig["inputs"]["excitation"], rig["inputs"]["pickup"]]
    if path.endswith(".wav"):
        values, rate = read_wav(path)
        columns = [values[:, int(i["channel"]) - 1] * amount(i["full_scale"]) for i in inputs]
        times = np.arange(len(values), dtype=np.longdouble) / rate
    else:
        head, values = read_table(path)
        names = [name for name, _ in head]

        def column(reference):
            i = int(reference) - 1 if reference.isdigit() else names.index(reference)
            return values[:, i] * UNITS[head[i][1]]

        columns = [column(i["channel"]) for i in inputs]
        timing = rig.get("timing", {})
        if timing.get("trace") == "yes":
            times = None
        elif "sample_rate" in timing:
            times = np.arange(len(values), dtype=np.longdouble) / amount(timing["sample_rate"])
        else:
            times = settle_times(column(timing.get("time", "time")), quantum_of(path, head, timing))
    known = np.isfinite(columns[0]) & np.isfinite(columns[1])
    columns = [c[known] for c in columns]
    return (times[known] if times is not None else None), columns


# ------------------------------------------------------------------------------- fitting

def fourier_sums(times, f, harmonics, weights):
    """For each weight w: sum_n w_n e^{-i 2 pi k f t_n}, k = 0 ... harmonics; chunk by chunk."""
    result = [np.zeros(harmonics + 1, dtype=complex) for _ in weights]
    for start in range(0, len(times), 65536):
        part = slice(start, start + 65536)
        turns = times[part] * f
        z = np.exp(-2j * np.pi * (turns - np.rint(turns)).astype(float))
        power = np.ones(len(z), dtype=complex)
        for k in range(harmonics + 1):
            for total, w in zip(result, weights):
                total[k] += np.sum(power) if w is None else np.dot(power, w[part])
            power = power * z
    return result


def series_at(times, f, c):
    """Re sum c e^{i 2 pi k f t} at the times."""
    turns = times * f
    z = np.exp(2j * np.pi * (turns - np.rint(turns)).astype(float))
    value = np.full(len(z), c[-1], dtype=complex)
    for coefficient in c[-2::-1]:
        value = value * z + coefficient
    return value.real


def solve(gram, sides):
    """Coefficients of Re sum c e^{ikx} from the sums over the samples: the normal equations of
    the basis e^{ikx}, k = -K ... K, are Hermitian Toeplitz."""
    K = (len(gram) - 1) // 2
    column = gram[: 2 * K + 1]
    right = np.array([np.concatenate([np.conj(s[K:0:-1]), s[: K + 1]]) for s in sides]).T
    c = solve_toeplitz((column, np.conj(column)), right)
    if not np.all(np.isfinite(c)):
        raise ValueError("singular")
    c = 2 * c[K:]
    c[0] = c[0].real / 2
    return c.T


def fit(times, columns, harmonics, f, steps=30):
    """Frequency and coefficients of all channels, weighted by their own residuals."""
    times = np.asarray(times, np.longdouble)
    middle = (times[0] + times[-1]) / 2
    t = times - middle
    tf = t.astype(float)
    k = np.arange(harmonics + 1)
    last = math.inf
    for _ in range(steps):
        sums = fourier_sums(t, f, 2 * harmonics, [None] + list(columns))
        gram, sides = sums[0], [s[: harmonics + 1] for s in sums[1:]]
        c = solve(gram, sides)
        residuals = [y - series_at(t, f, ci) for y, ci in zip(columns, c)]
        # the derivative by frequency, freed of what the coefficients can take up
        slopes = [series_at(t, f, 2j * np.pi * k * ci) * tf for ci in c]
        slope_sums = fourier_sums(t, f, harmonics, slopes)
        absorbed = solve(gram, slope_sums)
        top = bottom = 0.0
        scale = [max(np.sqrt(np.mean(r**2)), 1e-12 * np.max(np.abs(y)))
                 for r, y in zip(residuals, columns)]
        for r, s, a, sigma in zip(residuals, slopes, absorbed, scale):
            free = s - series_at(t, f, a)
            top += np.dot(free, r) / sigma**2
            bottom += np.dot(free, free) / sigma**2
        step = top / bottom
        limit = 0.3 / float(times[-1] - times[0]) / harmonics**0.5
        f += max(-limit, min(limit, step))
        if abs(step) < 1e-15 * f or (abs(step) < 1e-11 * f and abs(step) >= last):
            break
        last = abs(step)
    sums = fourier_sums(t, f, 2 * harmonics, [None] + list(columns))
    c = solve(sums[0], [s[: harmonics + 1] for s in sums[1:]])
    free = max(1, len(t) - 2 * harmonics - 2)
    noise = [float(np.sqrt(np.sum((y - series_at(t, f, ci)) ** 2) / free))
             for y, ci in zip(columns, c)]
    return f, [ci for ci in c], noise


def guess_frequency(times, columns):
    """The lowest strong line of either channel's spectrum, on an even grid of the median step."""
    t = (times - times[0]).astype(float)
    step = np.median(np.diff(t))
    even = np.arange(0, t[-1] + step / 2, step)
    best = []
    for y in columns:
        y = np.interp(even, t, y - np.mean(y)) * np.hanning(len(even))
        n = 1 << (4 * len(even) - 1).bit_length()
        power = np.abs(np.fft.rfft(y, n))
        low = int(1.5 * n / len(even))
        peak = low + int(np.argmax(power[low:]))
        best.append(peak / n / step)
    return min(best)


def fit_capture(times, columns, harmonics):
    """Starts with one harmonic on a fan of frequencies, then adds harmonics step by step."""
    start = guess_frequency(times, columns)
    span = float(times[-1] - times[0])
    few = slice(0, max(20000, int(4 / start / span * len(times))))
    best = None
    low = min(harmonics, 3)
    for shift in np.linspace(-0.45, 0.45, 7):
        try:
            got = fit(times[few], [c[few] for c in columns], low, start + shift / span)
        except (ValueError, np.linalg.LinAlgError):
            continue
        cost = sum(math.log(n + 1e-300) for n in got[2])
        if best is None or cost < best[0]:
            best = (cost, got[0])
    f = best[1]
    while low < harmonics:
        f = fit(times, columns, low, f, 8)[0]
        low = min(harmonics, 3 * low)
    return fit(times, columns, harmonics, f)


# ------------------------------------------------------------------------------- the ring

def geometry(ring):
    D, d = amount(ring["outer_diameter"]), amount(ring["inner_diameter"])
    ratio = math.log(D / d)
    rule = ring.get("path", "mean")
    length = {"mean": math.pi * (D + d) / 2, "logarithmic": math.pi * (D - d) / ratio,
              "effective": math.pi * ratio / (1 / d - 1 / D)}[rule]
    h = amount(ring.get("height"), 0.0) * amount(ring.get("stacking_factor"), 1.0)
    if rule == "effective":  # Ae = C1 / C2 of IEC 60205
        return length, h * ratio**2 / (2 * (1 / d - 1 / D))
    if "mass" in ring:
        return length, amount(ring["mass"]) / amount(ring["density"]) / length
    return length, h * (D - d) / 2


def undo_bench(f, c1, c2, rig, specimen):
    """H and B coefficients from those of the inputs."""
    first, second = rig["inputs"]["excitation"], rig["inputs"]["pickup"]
    winding = {**rig.get("winding", {}), **specimen.get("winding", {})}
    winding = {key: amount(value) for key, value in winding.items()}
    length, area = geometry(specimen["ring"])
    jw = 2j * np.pi * f * np.arange(len(c1))
    common = rig.get("coupling", {}).get("corner")
    channels = []
    for side, c in ((first, c1), (second, c2)):
        c = np.array(c)
        corner = amount(side.get("corner", common))
        if corner:
            c[1:] = c[1:] * (jw[1:] + 2 * np.pi * corner) / jw[1:]
        sign = -1 if side.get("invert") in ("yes", "true") else 1
        channels.append(sign * amount(side.get("divider"), 1.0) * c)
    H, y = channels
    kind = first.get("quantity", "voltage")
    if kind == "voltage":
        H = H / amount(first["shunt"]) if "shunt" in first else H * amount(first["transfer"])
    if kind != "field strength":
        H = H * winding["primary_turns"] / length
    if first.get("bias") != "keep":
        H[0] = 0
    y = y * np.exp(-jw * amount(rig.get("timing", {}).get("pickup_delay"), 0.0))
    y[0] = 0
    kind = second.get("quantity", "voltage")
    if kind == "flux density":
        return H, y
    if kind == "polarization":
        return H, y + MU0 * np.where(np.arange(len(H)) > 0, H, 0)
    if "fluxmeter" in second:
        y = y * amount(second["fluxmeter"])
    elif kind == "voltage":
        if "integrator" in second:
            parts = second["integrator"]
            y = y * (1 + jw * amount(parts["resistance"]) * amount(parts["capacitance"]))
        y[1:] = y[1:] / jw[1:]
    B = y / winding["secondary_turns"] / area
    if second.get("air_flux") == "removed":
        B = B + MU0 * H
    elif "secondary_area" in winding:
        B = B - MU0 * H * (winding["secondary_area"] - area) / area
    B[0] = 0
    return H, B


# ------------------------------------------------------------------------------- figures

def _sample(c, n):
    spectrum = np.zeros(n // 2 + 1, dtype=complex)
    spectrum[: len(c)] = c
    spectrum[0] *= 2
    return np.fft.irfft(spectrum * n / 2, n)


def _at(c, x):
    return float(np.real(np.sum(c * np.exp(1j * np.arange(len(c)) * x))))


def _polish(c, x):
    slope = 1j * np.arange(len(c)) * c
    for _ in range(20):
        step = _at(c, x) / _at(slope, x)
        x -= step
        if abs(step) < 1e-15:
            break
    return x


def _peaks(c, n):
    """Extreme values by Newton's method on the slope from the best grid points."""
    values = _sample(c, n)
    slope = 1j * np.arange(len(c)) * c
    result = []
    for sign in (1, -1):
        near = np.argsort(sign * values)[:4]
        result.append(sign * min(sign * _at(c, _polish(slope, i * 2 * np.pi / n)) for i in near))
    return result


def _zeros(c, n):
    """(falling, rising) zero."""
    sign = np.sign(_sample(c, n))
    falling = np.nonzero((sign >= 0) & (np.roll(sign, -1) < 0))[0]
    rising = np.nonzero((sign < 0) & (np.roll(sign, -1) >= 0))[0]
    if len(falling) != 1 or len(rising) != 1:
        raise ValueError("more than two crossings")
    return [_polish(c, (i[0] + 0.5) * 2 * np.pi / n) for i in (falling, rising)]


def figures(H, B, f, density=None):
    n = 1 << (64 * len(H) - 1).bit_length()
    n = max(n, 8192)
    B = np.array(B)
    low, high = _peaks(H, n)
    Hm = (high - low) / 2
    low, high = _peaks(B, n)
    Bm = (high - low) / 2
    B[0] = B[0].real - (high + low) / 2
    J = B - MU0 * H
    low, high = _peaks(J, n)
    Jm = (high - low) / 2
    J[0] = J[0].real - (high + low) / 2
    br = [_at(B, x) for x in _zeros(H, n)]
    hb = [_at(H, x) for x in _zeros(B, n)]
    hj = [_at(H, x) for x in _zeros(J, n)]
    W = float(np.pi * np.sum(np.arange(len(H)) * np.imag(H * np.conj(B))))
    k = np.arange(len(B))
    # mean |dB/dt| from the extremes of B: its total variation over one cycle
    slope = 1j * k * B
    grid = _sample(slope, n)
    turns = np.nonzero(np.sign(grid) * np.sign(np.roll(grid, -1)) < 0)[0]
    at = [_at(B, _polish(slope, (i + 0.5) * 2 * np.pi / n)) for i in turns]
    variation = float(np.sum(np.abs(np.diff(at + at[:1]))))
    result = {
        "frequency_Hz": f, "field_peak_A_per_m": Hm, "flux_density_peak_T": Bm,
        "polarization_peak_T": Jm, "remanence_T": (br[0] - br[1]) / 2,
        "coercivity_A_per_m": (hb[1] - hb[0]) / 2, "coercivity_J_A_per_m": (hj[1] - hj[0]) / 2,
        "loop_area_J_per_m3": W, "loss_W_per_m3": W * f,
        "lag_angle_deg": math.degrees(np.angle(H[1] / B[1])),
        "amplitude_permeability": Bm / MU0 / Hm, "squareness": (br[0] - br[1]) / 2 / Bm,
        "loop_fullness": W / 4 / Hm / Bm,
        "form_factor": math.sqrt(np.sum(np.abs(k * B) ** 2) / 2) / (variation / (2 * np.pi)),
        "flux_distortion": math.sqrt(np.sum(np.abs(B[2:]) ** 2)) / abs(B[1]),
        "remanence_falling_T": br[0], "remanence_rising_T": -br[1],
        "coercivity_falling_A_per_m": -hb[0], "coercivity_rising_A_per_m": hb[1],
        "coercivity_J_falling_A_per_m": -hj[0], "coercivity_J_rising_A_per_m": hj[1],
    }
    if abs(W / (math.pi * Hm * Bm)) <= 1:
        result["lag_angle_area_deg"] = math.degrees(math.asin(W / (math.pi * Hm * Bm)))
    if density:
        result["specific_loss_W_per_kg"] = W * f / density
    return result


def analyse(path, harmonics):
    """All figures of a periodic capture, fitted with the given number of harmonics."""
    folder = os.path.dirname(path)
    rig = read_yaml(os.path.join(folder, "rig.yaml"))
    specimen = read_yaml(os.path.join(folder, "specimen.yaml"))
    times, columns = read_capture(path, rig)
    f, (c1, c2), noise = fit_capture(times, columns, harmonics)
    H, B = undo_bench(f, c1, c2, rig, specimen)
    area = np.sum(np.arange(len(H)) * np.imag(H * np.conj(B)))
    if np.real(H[1] * np.conj(B[1])) < 0 and area < 0:  # the pickup coil is turned
        B = -B
    return {**figures(H, B, f, amount(specimen["ring"].get("density"))), "noise": noise}


if __name__ == "__main__":
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 10
    print(json.dumps(analyse(sys.argv[1], count), indent=2))
