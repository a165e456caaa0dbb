# SPDX-License-Identifier: GPL-3.0-or-later
"""Captures drawn at random: any steel, any bench, any sampling that the contract allows."""
import math

import numpy as np

import bench
import bound
import checks
import series
import steel
import wav

RATES = (8000, 11025, 16000, 22050, 32000, 44100, 48000, 88200, 96000, 192000, 12345, 51200)
SLOW_RATES = (0.5, 1.0, 2.0, 5.0, 7.0, 10.0, 12.5, 50.0, 100.0, 333.0, 1000.0)
TIGHT = ("frequency_Hz", "loop_area_J_per_m3", "lag_angle_deg", "remanence_T", "field_peak_A_per_m",
         "coercivity_A_per_m", "coercivity_J_A_per_m", "flux_density_peak_T", "form_factor")


def draw_steel(random, K):
    """(name, H, B) with K harmonics."""
    u = random.uniform
    kinds = ["ellipse", "smooth", "smooth", "tilted", "branches", "sine flux", "rayleigh",
             "jiles", "bonded", "square", "narrow"]
    kind = kinds[random.integers(len(kinds))]
    if K < 3 and kind in ("branches", "sine flux", "rayleigh", "jiles", "square"):
        kind = "ellipse"
    if kind == "ellipse":
        H, B = steel.ellipse(10 ** u(1, 4.5), 10 ** u(-3, 0.2), u(0.5, 89.0), 1)
        return kind, H, B
    if kind == "jiles":
        scale = 10 ** u(-1.3, 1.2)
        H, B = steel.jiles_atherton(6000 * scale * u(0.3, 1.5), 1.6e6, 1100 * scale, 400 * scale,
                                    0.2, 1.6e-3 * scale, K)
    elif kind == "rayleigh":
        H, B = steel.rayleigh(10 ** u(-4, -2.5), 10 ** u(-7, -5), 10 ** u(1, 2.5), K)
    elif kind == "sine flux":
        coercivity = 10 ** u(1, 3)
        H, B = steel.sine_flux(u(0.1, 1.7), coercivity * u(0.2, 3), u(0.5, 0.9995), coercivity, K,
                               10 ** u(2.5, 4))
    else:
        coercivity = 10 ** u(0.5, 4.3)
        width = coercivity * u(0.3, 2.5)
        peak = coercivity * u(1.3, 6)
        if kind == "square":
            width, peak = coercivity * u(0.05, 0.3), coercivity * u(1.05, 2)
        if kind == "narrow":
            width, peak = coercivity * u(30, 300), coercivity * u(30, 200)
        saturation, slope = u(0.2, 2.0), u(1, 30)
        if kind == "bonded":
            coercivity = 10 ** u(4.7, 5.3)
            saturation, slope = u(0.05, 0.1), 1.0
            width, peak = coercivity * u(0.1, 0.5), coercivity * u(1.2, 2.5)
        model = steel.branches if kind in ("branches", "square") else steel.smooth
        more = {"tilt": width * u(0.02, 0.3)} if kind == "tilted" else {}
        H, B = model(peak, saturation, coercivity, width, K, slope, **more)
    return kind, H, B


def draw_rig(random, f, spec_area):
    """A bench: each odd thing in a part of the draws."""
    u, chance = random.uniform, lambda p: random.random() < p
    rig = {"N1": int(random.integers(1, 900)), "N2": int(random.integers(1, 900))}
    if chance(0.3):
        rig["transfer"] = float("%.4g" % 10 ** u(-1, 2))
    else:
        rig["shunt"] = float("%.4g" % 10 ** u(-3, 1))
    if chance(0.4):
        rig["divider1"] = float("%.5g" % u(1, 100))
    if chance(0.4):
        rig["divider2"] = float("%.5g" % u(1, 100))
    rig["invert1"] = rig["invert2"] = chance(0.2)
    if chance(0.4):
        rig["corner"] = float("%.4g" % (f * 10 ** u(-2.5, -0.3)))
    if chance(0.15):
        rig["corner1"] = float("%.4g" % (f * 10 ** u(-2.5, -0.3)))
    if chance(0.15):
        rig["corner2"] = float("%.4g" % (f * 10 ** u(-2.5, -0.3)))
    if chance(0.4):
        rig["delay"] = float("%.4g" % min(0.9, max(-0.9, u(-0.01, 0.01) / f)))
    if chance(0.4):
        rig["A2"] = float("%.5g" % (spec_area * u(1.01, 3)))
    kind = random.integers(6)
    if kind == 0:
        rig["resistance"], rig["capacitance"] = 1e5, float("%.4g" % min(0.9, 10 ** u(-1, 1.5) / f / 1e5))
    if kind == 1:
        rig["fluxmeter"] = float("%.4g" % 10 ** u(-4, -1))
    return rig


def draw_spec(random):
    u = random.uniform
    d = u(0.01, 0.2)
    spec = {"inner_diameter": round(d, 5), "outer_diameter": round(d * u(1.05, 1.5), 5),
            "height": round(u(0.001, 0.05), 5), "density": round(u(4500, 8300), 1),
            "path": ["mean", "logarithmic", "effective"][random.integers(3)]}
    if random.random() < 0.3:
        spec["stacking_factor"] = round(u(0.9, 1), 3)
    elif spec["path"] != "effective" and random.random() < 0.3:
        length, area = bench.ring.geometry(spec)  # a mass that agrees with the dimensions
        spec["mass"] = float("%.5g" % (length * area * spec["density"] * u(0.999, 1.001)))
    return spec


def draw_sampling(random, most_frames):
    """(samples a cycle, cycles)."""
    u = random.uniform
    S = [u(8.05, 14), u(14, 80), 10 ** u(1.9, 3.3), 10 ** u(3.3, 4.5)][
        random.choice(4, p=[0.3, 0.35, 0.3, 0.05])]
    if random.random() < 0.15:
        S = round(S) if S > 8.5 else 9.0
    most = max(3.06, min(4000.0, most_frames / S))
    few = random.random() < 0.4
    cycles = u(3.05, min(6.0, most)) if few else 3.05 * (most / 3.05) ** random.random()
    return S, cycles


def draw(seed, kind="wav", most_frames=60000):
    """One case. kind: "wav" or "table". Draws again until the loop is an ordinary one."""
    for attempt in range(100):
        random = np.random.default_rng([seed, attempt, 1 if kind == "wav" else 2])
        try:
            case = _draw(random, seed, kind, most_frames)
            truth = case.truth()
        except series.Ambiguous:
            continue
        if 0.02 < truth["lag_angle_deg"] < 175 and truth["loop_area_J_per_m3"] > 0:
            case.name += f" (seed {seed})"
            return case
    raise RuntimeError("no ordinary loop from seed %d" % seed)


def _draw(random, seed, kind, most_frames):
    S, cycles = draw_sampling(random, most_frames if kind == "wav" else most_frames / 8)
    top = math.ceil(S / 2 - 0.05) - 1
    frames = math.ceil(S * cycles)
    # dense enough that the equations have an answer: 4K + 3 unknowns in two channels of frames
    top = min(top, (frames - 4) // 3, 400)
    if kind == "table" and cycles < 10:  # a phase that all cycles may lack
        top = max(1, int(0.8 * top))
    K = max(1, int(random.choice([top, top // 2, top // 3, 15, 30, 7])))
    K = min(K, top)
    steel_name, H, B = draw_steel(random, K)
    spec = draw_spec(random)
    if kind == "wav":
        rate = int(random.choice(RATES))
        f = rate / S
        form = "pcm24"
    else:
        rate = float(random.choice(SLOW_RATES))
        f = rate / S
        form = "table"
    rig = draw_rig(random, f, bench.ring.geometry(spec)[1])
    case = dict(frequency=f, H=H, B=B, rig=rig, spec=spec, rate=rate, frames=frames,
                phase=random.uniform(0, 2 * np.pi), form=form, seed=seed,
                level=(random.uniform(0.3, 0.98), random.uniform(0.3, 0.98)),
                offset=tuple(random.choice([0.0, 0.01, -0.3], 2)))
    case["level"] = tuple(level / (1 + abs(o)) for level, o in zip(case["level"], case["offset"]))
    if kind == "wav":
        count = int(random.choice([2, 2, 2, 3, 4, 8]))
        channels = random.permutation(count)[:2] + 1
        case.update(channel_count=count, channels=tuple(int(n) for n in channels))
    else:
        _draw_table(random, case)
    made = bench.Case(**case)
    made.name = f"{steel_name}, K {len(H) - 1}, {S:.5g} samples a cycle, {cycles:.5g} cycles"
    if kind == "wav":
        worst = max(rounding_shares(made).values())
        if worst > 1 / 8:
            made.form = "pcm32" if worst / 256 <= 1 / 8 else "float64"
        made.name += ", " + made.form
    return made


def _draw_table(random, case):
    rig, table = case["rig"], {}
    if random.random() < 0.4:
        rig["excitation"] = "current"
    elif random.random() < 0.2:
        rig["excitation"] = "field strength"
    if random.random() < 0.4 and "fluxmeter" not in rig and "resistance" not in rig:
        rig["pickup"] = str(random.choice(["flux linkage", "flux density", "polarization"]))
    if rig.get("excitation", "voltage") != "voltage":
        rig.pop("shunt", 0), rig.pop("transfer", 0)
    if rig.get("pickup") == "flux linkage" and random.random() < 0.5:
        rig["air_flux_removed"] = True
        rig.pop("A2", 0)
    table["digits"] = int(random.choice([10, 12, 17]))
    style = random.integers(4)
    if style == 1:
        table.update(separator=";", decimal=",", newline="\r\n")
    if style == 2:
        table.update(separator="\t", units="row", encoding="utf-16")
    if style == 3:
        table.update(separator=";", units="bracket", encoding="utf-8-sig", order="21t")
    frames, rate = case["frames"], case["rate"]
    manner = random.integers(5)
    if manner == 0 and frames > 60:
        table["blank"] = tuple(random.choice(frames, frames // 20, replace=False))
    if manner == 1 and frames > 60:
        inner = 1 + random.choice(frames - 2, frames // 20, replace=False)
        table["drop"] = tuple(inner)
    if manner == 2:  # an uneven clock, told exactly by what is printed
        times = (np.arange(frames) + random.uniform(-0.3, 0.3, frames)) / rate + random.uniform(0, 9)
        case["times"] = np.array([float("%.9f" % t) for t in times])
        table["time_format"] = "%.9f"
    if manner == 3:
        table.update(time="none", timing=["sample_rate: %r Hz" % rate])
    case["dialect"] = table


def rounding_sigmas(case):
    """rms of the rounding that writing the capture adds to each input. A record whose samples
    repeat after q cycles repeats its rounding too: it counts as if only q cycles were there."""
    _, peaks = case.signals()
    if case.form == "table":
        steps = [peak * 10.0 ** (1 - case.dialect.get("digits", 17)) for peak in peaks]
    else:
        steps = [peak / level * wav.STEP[case.form] for peak, level in zip(peaks, case.level)]
    repeats = 1.0
    S = case.rate / case.frequency
    for q in range(1, max(2, int(min(50, case.cycles)))):
        if case.times is None and abs(S * q - round(S * q)) < 0.02 / case.cycles:
            repeats = max(1.0, case.cycles / q)
            break
    return [step / math.sqrt(12) * math.sqrt(repeats) for step in steps]


def rounding_floor(case, factor=6.0):
    """What the written digits themselves allow: `factor` standard deviations of every figure at
    the Cramér-Rao bound of the rounding."""
    bounds = bound.figure_bounds(case, rounding_sigmas(case))
    return {key: factor * u for key, u in bounds.items()}


def rounding_shares(case):
    """Standard deviation of the tight figures from rounding alone, over their limits."""
    truth = case.truth()
    bounds = bound.figure_bounds(case, rounding_sigmas(case))
    return {key: bounds[key] / checks.limit_of(key, truth[key]) for key in TIGHT if key in truth}
