# SPDX-License-Identifier: GPL-3.0-or-later
"""What must happen to the figures when the bench or the record changes: over loops drawn at random."""
import json
import os
import subprocess
from dataclasses import replace

import numpy as np

import bench
import cases
import checks
import program
import wav

SEEDS = range(100, 112)
H_FIGURES = ("field_peak_A_per_m", "coercivity_A_per_m", "coercivity_falling_A_per_m",
             "coercivity_rising_A_per_m")
B_FIGURES = ("flux_density_peak_T", "remanence_T", "remanence_falling_T", "remanence_rising_T")
ENERGY = ("loop_area_J_per_m3", "loss_W_per_m3", "specific_loss_W_per_kg")
SAME = ("frequency_Hz", "lag_angle_deg", "squareness", "loop_fullness", "form_factor")


def plain_cases():
    """Loops drawn at random on a bench without air flux, so that B follows v2 alone."""
    made = []
    for seed in SEEDS:
        case = cases.draw(seed, "wav", 20000)
        case.rig["A2"] = None
        case.form = "float64"
        made.append(case)
    return made


def results(folder, made, *options):
    paths = [case.write(os.path.join(folder, "c%d" % i)) for i, case in enumerate(made)]
    return program.loops(paths, *options)


def edit(folder, i, name, old, new):
    """Changes one text of a case's rig or specimen; the record stays as it is."""
    path = os.path.join(folder, "c%d" % i, name)
    with open(path) as source:
        words = source.read()
    assert old in words, (old, words)
    with open(path, "w") as out:
        out.write(words.replace(old, new))


def compare(check, name, case, got, was, factors, relative=1e-12):
    """Each figure is `factor` times what it was."""
    if "failure" in got or "failure" in was:
        check.check(False, f"{name}: {case.name}: {got.get('failure') or was.get('failure')}")
        return
    got, was = got["figures"], was["figures"]
    off = []
    for key, factor in factors.items():
        wanted = was[key] * factor
        limit = relative * (max(1.0, abs(wanted)) if key == "lag_angle_deg" else abs(wanted))
        if not abs(got.get(key, np.inf) - wanted) <= limit:
            off.append("%s %.3g" % (key, got.get(key, np.inf) / wanted - 1))
    check.check(not off, f"{name}: {case.name}: {', '.join(off[:5])}")


def factors(h, b):
    return {**{key: h for key in H_FIGURES}, **{key: b for key in B_FIGURES},
            **{key: h * b for key in ENERGY}, **{key: 1.0 for key in SAME},
            "amplitude_permeability": b / h}


def test_scaling(check, folder):
    """Turns, shunt, area and full scales: the same record, another rig."""
    made = plain_cases()
    for case in made:
        case.rig.update(transfer=None, shunt=0.2, N1=100, N2=50, fluxmeter=None, resistance=None)
        case.spec.update(path="mean", height=0.01)
        case.spec.pop("mass", 0)
    was = results(folder, made)
    for name, file, old, new, h, b in (
            ("primary turns", "rig.yaml", "primary_turns: 100", "primary_turns: 300", 3, 1),
            ("secondary turns", "rig.yaml", "secondary_turns: 50", "secondary_turns: 125", 1, 1 / 2.5),
            ("shunt", "rig.yaml", "shunt: 0.2 ohm", "shunt: 50 mohm", 4, 1),
            ("transfer for shunt", "rig.yaml", "shunt: 0.2 ohm", "transfer: 10 A/V", 2, 1),
            ("height", "specimen.yaml", "height: 0.01 m", "height: 25 mm", 1, 1 / 2.5)):
        for i in range(len(made)):
            edit(folder, i, file, old, new)
        paths = [os.path.join(folder, "c%d" % i, "c%d.wav" % i) for i in range(len(made))]
        for case, got, before in zip(made, program.loops(paths), was):
            compare(check, name, case, got, before, factors(h, b))
        for i in range(len(made)):
            edit(folder, i, file, new, old)


def test_full_scale(check, folder):
    """Half the level at twice the full scale is the same capture, bit for bit."""
    made = plain_cases()
    was = results(folder, made)
    halves = [replace(case, level=tuple(level / 2 for level in case.level)) for case in made]
    for case, got, before in zip(made, results(folder, halves), was):
        compare(check, "full scale", case, got, before, factors(1, 1))


def test_time_shift(check, folder):
    """Where a record starts in the cycle says nothing about the loop."""
    made = plain_cases()
    was = results(folder, made)
    for shift in (0.3, 2.1, 4.0):
        shifted = [replace(case, phase=case.phase + shift) for case in made]
        for case, got, before in zip(made, results(folder, shifted), was):
            compare(check, "time shift", case, got, before, factors(1, 1), 1e-7)


def test_offset(check, folder):
    """A constant voltage at either input is no field."""
    made = plain_cases()
    was = results(folder, made)
    moved = [replace(case, offset=(case.offset[0] + 0.2, case.offset[1] - 0.15)) for case in made]
    for case, got, before in zip(made, results(folder, moved), was):
        compare(check, "offset", case, got, before, factors(1, 1), 1e-7)


def test_channels(check, folder):
    """Where the inputs stand in the file does not matter."""
    made = plain_cases()
    was = results(folder, made)
    moved = [replace(case, channel_count=5, channels=(4, 2)) for case in made]
    for case, got, before in zip(made, results(folder, moved), was):
        compare(check, "channels", case, got, before, factors(1, 1))


def test_swapped_inputs(check, folder):
    """Excitation and pickup exchanged in the rig: the lag becomes 180 degrees less the true one, or
    the loop gives out energy. Never an answer without a word."""
    made = [case for case in plain_cases() if not (case.rig["resistance"] or case.rig["fluxmeter"])]
    for case in made:
        case.channel_count, case.channels = 2, (1, 2)
        case.rig.update(corner1=None, corner2=None, delay=0.0)  # would turn the wrong input
    results(folder, made)
    for i in range(len(made)):
        edit(folder, i, "rig.yaml", 'channel: "1"', 'channel: "x"')
        edit(folder, i, "rig.yaml", 'channel: "2"', 'channel: "1"')
        edit(folder, i, "rig.yaml", 'channel: "x"', 'channel: "2"')
        path = os.path.join(folder, "c%d" % i, "c%d.wav" % i)
        got = program.loop(path)
        notes = program.codes(got, "warning", "fatal")
        check.check("swapped" in notes or "delay-sensitive" in notes,
                    f"swapped inputs: {made[i].name}: status {got.get('status', 0)}, notes {notes}, "
                    f"lag {got['figures'].get('lag_angle_deg')}")


def test_sign(check, folder):
    """Both inputs turned: the two sides change places. One turned: set right, with a note."""
    sides = {"remanence_falling_T": "remanence_rising_T",
             "coercivity_falling_A_per_m": "coercivity_rising_A_per_m",
             "coercivity_J_falling_A_per_m": "coercivity_J_rising_A_per_m"}
    made = plain_cases()
    was = results(folder, made)
    for i, (case, before) in enumerate(zip(made, was)):
        turned = replace(case, H=-np.array(case.H), B=-np.array(case.B))
        got = program.loop(turned.write(os.path.join(folder, "c%d" % i)))
        keep = {k: v for k, v in factors(1, 1).items() if "falling" not in k and "rising" not in k}
        compare(check, "both turned", case, got, before, keep)
        for a, b in sides.items():
            if "failure" not in before and "failure" not in got:
                check.near(got["figures"][a], before["figures"][b],
                           1e-11 * abs(before["figures"][b]), f"both turned: {case.name}: {a}")
        rig = {**case.rig, "invert2": not case.rig["invert2"]}
        words = replace(case, rig=rig)
        path = case.write(os.path.join(folder, "c%d" % i))
        with open(os.path.join(folder, "c%d" % i, "rig.yaml"), "w") as out:
            _, peaks = case.signals()
            out.write(bench.rig_text(words, [str(n) for n in case.channels],
                                     [p / level for p, level in zip(peaks, case.level)]))
        got = program.loop(path)
        if case.truth()["lag_angle_deg"] < 85:
            compare(check, "pickup turned", case, got, before, factors(1, 1))
            check.check("reversed" in program.codes(got), f"pickup turned: {case.name}: no note")


def test_resampling(check, folder):
    """The same waveforms at another rate, over the same time."""
    made = plain_cases()
    was = results(folder, made)
    faster = []
    for case in made:
        rate = int(case.rate * 2.37) + 1
        faster.append(replace(case, rate=rate, frames=int(case.frames / case.rate * rate)))
    for case, got, before in zip(made, results(folder, faster), was):
        compare(check, "resampling", case, got, before, factors(1, 1), 1e-7)


def test_time_scale(check, folder):
    """The same samples declared at twice the rate: the coil then saw half the flux."""
    made = plain_cases()
    for case in made:
        case.rig.update(corner=None, corner1=None, corner2=None, delay=0.0, resistance=None,
                        fluxmeter=None)
    was = results(folder, made)
    for i, case in enumerate(made):
        path = os.path.join(folder, "c%d" % i, "c%d.wav" % i)
        with open(path, "r+b") as file:
            head = bytearray(file.read(36))
            rate, speed = np.frombuffer(bytes(head[24:32]), "<u4").astype(np.int64) * 2
            file.seek(24)
            file.write(np.array([rate, speed], "<u4").tobytes())
    paths = [os.path.join(folder, "c%d" % i, "c%d.wav" % i) for i in range(len(made))]
    doubled = {**factors(1, 0.5), "frequency_Hz": 2.0, "loss_W_per_m3": 1.0,
               "specific_loss_W_per_kg": 1.0}
    for case, got, before in zip(made, program.loops(paths), was):
        compare(check, "time scale", case, got, before, doubled, 1e-10)


def test_repeating(check, folder):
    """A record of whole cycles, written twice in a row, is the same loop."""
    made = []
    for case in plain_cases():
        whole = max(8, round(case.rate / case.frequency))
        made.append(replace(case, frequency=case.rate / whole, frames=whole * max(4, round(case.cycles))))
    was = results(folder, made)
    twice = [replace(case, frames=2 * case.frames) for case in made]
    for case, got, before in zip(made, results(folder, twice), was):
        compare(check, "repeating", case, got, before, factors(1, 1), 1e-7)


def test_cutting(check, folder):
    """--start and --length read what a file cut there holds: the same figures, digit for digit; and
    any part of a steady record gives the same loop."""
    for i, case in enumerate(plain_cases()):
        long = replace(case, frames=int(case.frames * 2 + 10))
        values, peaks = long.signals()
        path = long.write(os.path.join(folder, "c%d" % i))
        first, count = case.frames // 3, case.frames
        got = program.loop(path, "--start", repr(first / case.rate), "--length", repr(count / case.rate))
        scales = [peak / level for peak, level in zip(peaks, long.level)]
        samples = np.zeros((count, long.channel_count))
        for number, v, scale in zip(long.channels, values, scales):
            samples[:, number - 1] = v[first:first + count] / scale
        other = os.path.join(folder, "c%d" % i, "cut.wav")
        wav.write(other, samples, int(case.rate), "float64")
        cut = program.loop(other)
        check.check(got["figures"] == cut["figures"] and got["figures"],
                    f"cutting: {case.name}: {got.get('failure', '')} {cut.get('failure', '')}")
        compare(check, "a part of the record", case, got, program.loop(path), factors(1, 1), 1e-7)


def test_standard_input(check, folder):
    """A pipe carries the same figures as the file."""
    for i, case in enumerate(plain_cases()[:4]):
        path = case.write(os.path.join(folder, "c%d" % i))
        place = os.path.dirname(path)
        was = program.loop(path)
        with open(path, "rb") as capture:
            done = subprocess.run(
                [program.PROGRAM, "loop", "-", "--json", "-", "--rig", place + "/rig.yaml",
                 "--specimen", place + "/specimen.yaml"], input=capture.read(), capture_output=True)
        got = json.loads(done.stdout or b"{}")
        check.check(got.get("figures") == was["figures"] and was["figures"],
                    f"standard input: {case.name}: {done.stderr[:200]}")
        check.check(got.get("capture", {}).get("sha256") == was["capture"]["sha256"],
                    f"standard input: {case.name}: digest")


if __name__ == "__main__":
    checks.main(globals())
