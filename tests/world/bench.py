# SPDX-License-Identifier: GPL-3.0-or-later
"""A bench in software: what a ring, its windings and the inputs make of H(t) and B(t), written as
a capture (WAV or logger table) with rig.yaml and specimen.yaml, and the exact truth.

    case = Case(frequency, H, B, rig, spec, rate=48000, frames=48000)
    case.write(folder)        case.truth()

`rig` and `spec` are flat dictionaries in SI with the keys of RIG and SPEC; what is not given is
absent from the files.
"""
import math
import os
from dataclasses import dataclass, field

import numpy as np

import ring
import series
import table
import wav

MU0 = 4e-7 * math.pi

RIG = {
    "excitation": "voltage",  # voltage | current | field strength
    "shunt": None,  # ohm
    "transfer": None,  # A/V
    "divider1": 1.0,
    "invert1": False,
    "bias": False,  # keep
    "corner1": None,  # Hz
    "pickup": "voltage",  # voltage | flux linkage | flux density | polarization
    "divider2": 1.0,
    "invert2": False,
    "corner2": None,
    "resistance": None,  # passive integrator, ohm and F
    "capacitance": None,
    "fluxmeter": None,  # Wb/V
    "air_flux_removed": False,
    "delay": 0.0,  # s
    "corner": None,  # of both inputs, Hz
    "N1": 200,
    "N2": 100,
    "A2": None,  # m2
}
SPEC = {"outer_diameter": 0.040, "inner_diameter": 0.032, "height": 0.006, "density": 8100.0}


def sensor_signals(H, B, f, rig, spec):
    """The two inputs' Fourier coefficients (V, or the quantity a table column carries)."""
    length, area = ring.geometry(spec)
    k = np.arange(len(H))
    w = 2 * np.pi * f * k
    current = H * length / rig["N1"]
    first = {"voltage": None, "current": current, "field strength": H}[rig["excitation"]]
    if first is None:
        first = current * rig["shunt"] if rig["shunt"] else current / rig["transfer"]
    if rig["air_flux_removed"]:
        flux = area * (B - MU0 * H)
    else:
        flux = area * B + (MU0 * H * (rig["A2"] - area) if rig["A2"] else 0)
    second = {
        "flux linkage": rig["N2"] * flux,
        "flux density": B,
        "polarization": B - MU0 * H,
    }.get(rig["pickup"])
    if second is None and rig["fluxmeter"]:
        second = rig["N2"] * flux / rig["fluxmeter"]
    elif second is None:
        second = 1j * w * rig["N2"] * flux
        if rig["resistance"]:
            second = second / (1 + 1j * w * rig["resistance"] * rig["capacitance"])
    signals = []
    for channel, c in (("1", first), ("2", second)):
        c = np.array(c, dtype=complex) / rig["divider" + channel]
        corner = rig["corner" + channel] or rig["corner"]
        if corner:
            c[1:] *= 1 / (1 - 1j * corner / (f * k[1:]))
            c[0] = 0
        signals.append(-c if rig["invert" + channel] else c)
    signals[1] = signals[1] * np.exp(1j * w * rig["delay"])
    return signals


@dataclass
class Case:
    """One capture. Times are n / rate, or `times` when given (tables only)."""

    frequency: float
    H: np.ndarray
    B: np.ndarray
    rig: dict
    spec: dict
    rate: float = 48000
    frames: int = 48000
    phase: float = 0.0  # of the record's first sample, radian
    form: str = "pcm24"  # a format of wav.BITS, or "table"
    level: tuple = (0.8, 0.7)  # peak of each input as a fraction of full scale
    offset: tuple = (0.0, 0.0)  # of each input, as a fraction of its peak
    noise: tuple = (0.0, 0.0)  # rms of each input, as a fraction of its peak
    channels: tuple = (1, 2)  # where the two inputs stand in the file
    channel_count: int = 2
    times: np.ndarray = None
    seed: int = 0
    dialect: dict = field(default_factory=dict)  # of a table, see table.py
    name: str = ""

    def __post_init__(self):
        self.rig = {**RIG, **self.rig}
        self.spec = {**SPEC, **self.spec}
        if not (self.rig["shunt"] or self.rig["transfer"]) and self.rig["excitation"] == "voltage":
            self.rig["shunt"] = 0.1
        if self.times is not None:
            self.frames = len(self.times)

    @property
    def cycles(self):
        return self.frames / self.rate * self.frequency

    def truth(self):
        H = np.array(self.H)
        if not self.rig["bias"]:
            H[0] = 0
        return series.figures(H, self.B, self.frequency, self.spec.get("density", 0.0))

    def phases(self):
        """Phase of every sample, radian, its whole turns taken out in extended precision."""
        if self.times is not None:
            turns = np.asarray(self.times, np.longdouble) * self.frequency
        else:
            turns = np.arange(self.frames, dtype=np.longdouble) * self.frequency / self.rate
        return 2 * np.pi * (turns - np.floor(turns)).astype(float) + self.phase

    def signals(self):
        """The two inputs in volts (or the column's unit), and their peaks without noise."""
        x = self.phases()
        random = np.random.default_rng([self.seed, 77])
        values, peaks = [], []
        for i, c in enumerate(sensor_signals(self.H, self.B, self.frequency, self.rig, self.spec)):
            v = series.evaluate(c, x)
            peak = np.max(np.abs(v)) or 1.0
            v = v + self.offset[i] * peak
            if self.noise[i]:
                v = v + self.noise[i] * peak * random.standard_normal(len(v))
            values.append(v)
            peaks.append(peak)
        return values, peaks

    def write(self, folder):
        """Writes the capture, rig.yaml and specimen.yaml; gives the capture's path. The capture is
        named like its folder."""
        os.makedirs(folder, exist_ok=True)
        values, peaks = self.signals()
        if self.form == "table":
            path = os.path.join(folder, os.path.basename(folder) + ".csv")
            references = table.write(path, self, values)
            scales = (None, None)
        else:
            path = os.path.join(folder, os.path.basename(folder) + ".wav")
            if int(self.rate) != self.rate:
                raise ValueError("an audio file needs a whole sample rate")
            scales = [peak / level for peak, level in zip(peaks, self.level)]
            random = np.random.default_rng([self.seed, 78])
            samples = 0.1 * random.standard_normal((self.frames, self.channel_count))
            samples = np.clip(samples, -0.9, 0.9)
            for number, scale, v in zip(self.channels, scales, values):
                samples[:, number - 1] = v / scale
            wav.write(path, samples, int(self.rate), self.form)
            references = [str(number) for number in self.channels]
        with open(os.path.join(folder, "rig.yaml"), "w") as out:
            out.write(rig_text(self, references, scales))
        with open(os.path.join(folder, "specimen.yaml"), "w") as out:
            out.write(specimen_text(self.spec))
        return path


def rig_text(case, references, scales):
    rig, lines = case.rig, ["name: bench in software", "inputs:"]

    def add(key, value, unit="", indent=4):
        if value is not None and value is not False:
            lines.append(f"{' ' * indent}{key}: {value!r} {unit}".rstrip().replace("'", ""))

    for i, side in enumerate(("excitation", "pickup")):
        n = str(i + 1)
        lines.append(f"  {side}:")
        lines.append(f"    channel: \"{references[i]}\"")
        if rig[side] != "voltage":
            add("quantity", rig[side])
        add("full_scale", scales[i], "V")
        add("divider", rig["divider" + n] if rig["divider" + n] != 1 else None)
        add("corner", rig["corner" + n], "Hz")
        if rig["invert" + n]:
            lines.append("    invert: yes")
        if i == 0 and rig["excitation"] == "voltage":
            add("shunt", rig["shunt"], "ohm")
            add("transfer", rig["transfer"], "A/V")
        if i == 0 and rig["bias"]:
            lines.append("    bias: keep")
        if i == 1:
            add("fluxmeter", rig["fluxmeter"], "Wb/V")
            if rig["resistance"]:
                lines.append("    integrator: {resistance: %r ohm, capacitance: %r F}"
                    % (rig["resistance"], rig["capacitance"]))
            if rig["air_flux_removed"]:
                lines.append("    air_flux: removed")
    timing = list(case.dialect.get("timing", []))
    if rig["delay"]:
        timing.append("pickup_delay: %r s" % rig["delay"])
    if timing:
        lines += ["timing:"] + ["  " + line for line in timing]
    if rig["corner"]:
        lines += ["coupling:", "  corner: %r Hz" % rig["corner"]]
    lines += ["winding:", f"  primary_turns: {rig['N1']}", f"  secondary_turns: {rig['N2']}"]
    if rig["A2"]:
        lines.append(f"  secondary_area: {rig['A2']!r} m2")
    return "\n".join(lines) + "\n"


def specimen_text(spec):
    lines = ["name: ring in software", "alloy: RS-36", "ring:"]
    units = {"outer_diameter": "m", "inner_diameter": "m", "height": "m", "mass": "kg",
             "density": "kg/m3", "stacking_factor": "", "path": ""}
    for key, unit in units.items():
        if key in spec:
            value = spec[key] if isinstance(spec[key], str) else repr(spec[key])
            lines.append(f"  {key}: {value} {unit}".rstrip())
    if "resistivity" in spec:
        lines.append(f"resistivity: {spec['resistivity']!r} ohm m")
    return "\n".join(lines) + "\n"
