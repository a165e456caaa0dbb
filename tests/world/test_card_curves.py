# SPDX-License-Identifier: GPL-3.0-or-later
"""Cards against what others find in the same captures: the independent script's reading of a sample,
rows of loops measured by others, and benches whose H(t) and B(t) are known. Curves are judged by
their definition: nothing here is the program's code."""
import json
import os

import numpy as np

import analyse
import bench
import checks
import polygon
import program
import steel

MU0 = 4e-7 * np.pi
DATA = os.path.join(program.ROOT, "tests", "data")
SAMPLES = os.path.join(program.ROOT, "samples")


def make(check, folder, *words):
    path = os.path.join(folder, "card.json")
    status, _, err = program.run("card", "make", *words, "-o", path)
    if not check.check(status == 0, f"{words}: {err}"):
        return None
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def graph(block):
    return np.array(block["field_A_per_m"]), np.array(block["flux_density_T"])


def hermite(block, at):
    """(B, dB/dH) of the cubics through points with slopes."""
    h, b = graph(block)
    m = np.array(block["slope_H_per_m"])
    i = np.clip(np.searchsorted(h, at, side="right") - 1, 0, len(h) - 2)
    d = h[i + 1] - h[i]
    t = (at - h[i]) / d
    value = ((1 + 2 * t) * (1 - t)**2 * b[i] + t * (1 - t)**2 * d * m[i]
             + t**2 * (3 - 2 * t) * b[i + 1] + t**2 * (t - 1) * d * m[i + 1])
    slope = (6 * t * (t - 1) * (b[i] - b[i + 1]) / d + (1 - t) * (1 - 3 * t) * m[i]
             + t * (3 * t - 2) * m[i + 1])
    return value, slope


# --- the branches --------------------------------------------------------------------------------

def check_branches(check, name, card, h, b, slack=0.0):
    """`h`, `b`: one cycle found without the program. `slack`: how far that may itself be off (T)."""
    loop = card["major_loop"]
    figures, drawn = card["figures"], loop["drawn"]
    allowed = drawn["bound_T"] + drawn["monotone_change_T"] + slack
    for side in ("rising", "falling"):
        field, flux = graph(loop[side])
        check.check(np.all(np.diff(field) > 0) and np.all(np.diff(flux) > 0),
                    f"{name}: {side} does not rise")
        check.check(np.all(np.diff(flux) >= MU0 * np.diff(field) * (1 - 1e-6) - 1e-15),
                    f"{name}: {side} is flatter than mu0")
        check.check(0.0 in field and 0.0 in flux, f"{name}: {side} has no point on an axis")
    up, down = graph(loop["rising"]), graph(loop["falling"])
    check.check(up[0][0] == down[0][0] and up[0][-1] == down[0][-1] and up[1][0] == down[1][0]
                and up[1][-1] == down[1][-1], f"{name}: the branches do not share their ends")
    # every point of the cycle lies on one of the branches
    inside = (h > up[0][0]) & (h < up[0][-1])
    off = np.minimum(np.abs(np.interp(h, *up) - b), np.abs(np.interp(h, *down) - b))[inside]
    check.check(off.max() <= allowed, f"{name}: {off.max():.3g} T off the branches, bound {allowed:.3g}")
    check.check(off.max() >= 0.05 * drawn["bound_T"], f"{name}: thinned less than its bound lets it")
    area = np.trapz(down[1], down[0]) - np.trapz(up[1], up[0])
    check.near(drawn["loop_area_J_per_m3"], area, 1e-9 * area, f"{name}: area as drawn")
    truth = polygon.area(h, b)
    check.near(area, truth, 1e-3 * truth + 4 * slack * h.max(), f"{name}: area drawn, measured")
    check.near(figures["loop_area_J_per_m3"], truth, 1e-5 * truth + 4 * slack * h.max(),
               f"{name}: area figure")
    br = [np.interp(0, *down), -np.interp(0, *up)]
    hc = [np.interp(0, up[1], up[0]), -np.interp(0, down[1], down[0])]
    own = polygon.figures(h, b)
    steep = np.gradient(up[1], up[0])[np.searchsorted(up[1], 0)]
    check.near(np.mean(br), own["remanence_T"], 1e-5 + slack, f"{name}: Br off the branches")
    check.near(np.mean(hc), own["coercivity_A_per_m"], (1e-5 + slack) / steep,
               f"{name}: HcB off the branches")
    check.near(np.mean(br), figures["remanence_T"], 1e-4 * np.mean(br), f"{name}: Br, figure")
    check.near(np.mean(hc), figures["coercivity_A_per_m"], 2e-3 * np.mean(hc), f"{name}: HcB, figure")


def check_solver(check, name, card):
    """What any Newton solver relies on."""
    solver = card["solver"]
    field, flux = graph(solver["curve"])
    check.check(field[0] == 0 and flux[0] == 0, f"{name}: the curve does not begin at the origin")
    dense = np.unique(np.concatenate([np.linspace(a, b, 21) for a, b in zip(field, field[1:])]))
    value, slope = hermite(solver["curve"], dense)
    check.check(np.all(np.diff(value) > 0) and slope.min() >= MU0 * (1 - 1e-9),
                f"{name}: slope down to {slope.min() / MU0} mu0")
    before, _ = hermite(solver["curve"], field[1:-1] * (1 - 1e-9))
    check.check(np.all(np.abs(before - flux[1:-1]) < 1e-6), f"{name}: the curve jumps")
    last = solver["curve"]["slope_H_per_m"][-1] / MU0
    check.check(1 <= last < 1.02, f"{name}: the last slope is {last} mu0")
    squared = np.array(solver["reluctivity"]["flux_density_squared_T2"])
    nu = np.array(solver["reluctivity"]["reluctivity_m_per_H"])
    check.check(squared[0] == 0 and np.all(np.diff(squared) > 0), f"{name}: B2 does not rise")
    line = np.interp(value[1:]**2, squared, nu)
    worst = np.abs(line * value[1:] / dense[1:] - 1).max()
    check.check(worst <= 1.5 * solver["reluctivity"]["bound_relative"],
                f"{name}: reluctivity {worst:.3g} off the curve")
    h = np.concatenate([[0], line * value[1:]])
    check.check(np.all(np.diff(h) > 0), f"{name}: H = nu B falls somewhere")
    for side in ("rising", "falling"):
        at = np.linspace(card["major_loop"][side]["field_A_per_m"][0],
                         card["major_loop"][side]["field_A_per_m"][-1], 4001)
        value, slope = hermite(solver[side], at)
        check.check(np.all(np.diff(value) > 0) and slope.min() >= MU0 * (1 - 1e-9),
                    f"{name}: the {side} branch for solvers is flatter than mu0")


def check_centre(check, name, card, h, b):
    """The centre line at some B from the cycle's own crossings of +-B."""
    curve = card["solver"]["curve"]
    check.check(curve["kind"] == "centre", f"{name}: not a centre line")
    top = b.max() * 0.9
    for level in np.linspace(0.1 * top, top, 7):
        sides = [np.array(polygon.crossings(b - s, h)) for s in (level, -level)]
        want = (sides[0].mean() - sides[1].mean()) / 2
        got, slope = hermite(curve, np.array([want]))
        check.near(got[0], level, 4 * card["major_loop"]["drawn"]["bound_T"], f"{name}: at {level:.3g} T")


def test_a_sample_against_the_script(check, folder):
    """The sample of the sound card, ordered anew as WAV, which the script reads."""
    with open(os.path.join(SAMPLES, "sound-card", "ring.yaml"), encoding="utf-8") as file:
        order = file.read().replace("format: flac", "format: wav")
    with open(os.path.join(folder, "ring.yaml"), "w", encoding="utf-8") as file:
        file.write(order)
    out = os.path.join(folder, "out")
    status, _, err = program.run("virtual", os.path.join(folder, "ring.yaml"), "-o", out, "--seed", "17")
    check.check(status == 0, err)
    path = os.path.join(out, "r17-60kam-20hz.wav")
    rig = analyse.read_yaml(os.path.join(out, "rig.yaml"))
    specimen = analyse.read_yaml(os.path.join(out, "specimen.yaml"))
    times, columns = analyse.read_capture(path, rig)
    harmonics = program.loop(path)["figures"]["harmonics"]
    f, (c1, c2), _ = analyse.fit_capture(times, columns, int(harmonics))
    H, B = analyse.undo_bench(f, c1, c2, rig, specimen)
    x = 2 * np.pi * np.arange(20000) / 20000
    waves = np.exp(1j * np.outer(x, np.arange(len(H))))
    h, b = np.real(waves @ H), np.real(waves @ B)
    b -= (b.max() + b.min()) / 2
    card = make(check, folder, path)
    if card:
        check_branches(check, "sample", card, h, b, slack=2e-6)
        check_solver(check, "sample", card)
        check_centre(check, "sample", card, h, b)
        check.check(card["major_loop"]["is_saturating"], "sample: 60 kA/m do not saturate")


def test_a_major_loop_beyond_the_normal_curve(check, folder):
    """Series at 5 Hz up to 1.2 T, major loop at 20 Hz up to 60 kA/m: its tip is measured, and stays."""
    path = os.path.join(SAMPLES, "sound-card", "r17-60kam-20hz.flac")
    figures = program.loop(path)["figures"]
    card = make(check, folder, os.path.join(SAMPLES, "series", "loops.jsonl"), path)
    if not card:
        return
    check_solver(check, "series and major loop", card)
    curve, tips = card["solver"]["curve"], card["normal_curve"]["field_peak_A_per_m"]
    check.check(tips[-1] < 0.7 * figures["field_peak_A_per_m"], "the series reaches as far as the loop")
    check.check(curve["measured_points"] == len(tips) + 2, "measured points")
    last = curve["measured_points"] - 1
    check.near(curve["field_A_per_m"][last], figures["field_peak_A_per_m"], 1e-6 * 60e3, "field of the tip")
    check.near(curve["flux_density_T"][last], figures["flux_density_peak_T"],
               card["major_loop"]["drawn"]["monotone_change_T"] + 1e-6, "flux density of the tip")
    check.check("of another frequency" in curve["method"], "the method does not tell")


def test_loops_measured_by_others(check, folder):
    for grade in ("M270-50A", "M400-50A", "M800-65A"):
        path = os.path.join(DATA, "sheets", grade + ".csv")
        field, flux = np.genfromtxt(path, delimiter=",", skip_header=1).T
        card = make(check, folder, path)
        if card:
            flux = flux - (flux.max() + flux.min()) / 2
            check_branches(check, grade, card, field, flux)
            check_solver(check, grade, card)
            check_centre(check, grade, card, field, flux)
            check.check(card["validity"]["frequency_most_Hz"] == 0, f"{grade}: a frequency")


# --- a series ------------------------------------------------------------------------------------

FIELDS = (2e3, 4e3, 7e3, 10e3, 15e3, 24e3)


def write_series(folder, **more):
    cases = [bench.Case(50.0, *steel.branches(field, 1.1, 5e3, 7e3, 60), {"shunt": 0.1}, {},
                        rate=48000, frames=24100, phase=0.3, **more) for field in FIELDS]
    return [(case, case.write(os.path.join(folder, "ring%d" % i))) for i, case in enumerate(cases)]


def test_a_series_of_known_loops(check, folder):
    pairs = write_series(folder)
    words = [path for _, path in pairs]
    card = make(check, folder, *words)
    if not card:
        return
    check_solver(check, "series", card)
    curve = card["normal_curve"]
    truths = [case.truth() for case, _ in pairs]
    for i, truth in enumerate(truths):
        check.near(curve["field_peak_A_per_m"][i], truth["field_peak_A_per_m"], 1e-6 * FIELDS[i], "tip")
        check.near(curve["flux_density_peak_T"][i], truth["flux_density_peak_T"], 1e-6, "tip")
    field, flux = graph(card["solver"]["curve"])
    count = card["solver"]["curve"]["measured_points"]
    check.check(count == len(FIELDS) + 1 and card["solver"]["curve"]["kind"] == "normal", "kind")
    check.check(np.allclose(flux[1:count], curve["flux_density_peak_T"], rtol=0, atol=1e-12), "tips moved")
    # the law of approach, from its definition: J = Js - a/H through the last two tips
    h, j = field[count - 2:count], (flux - MU0 * field)[count - 2:count]
    a = (j[1] - j[0]) / (1 / h[0] - 1 / h[1])
    tail = field[count:]
    check.check(np.allclose(flux[count:], MU0 * tail + j[1] + a / h[1] - a / tail, rtol=0, atol=1e-9),
                "the tail leaves the law of approach")
    # all captures are named with the hash of their bytes, the largest loop is the card's
    for (case, path), capture in zip(pairs, card["provenance"]["captures"]):
        check.check(capture["file"] == os.path.basename(path), "a capture's name")
    check.check(card["provenance"]["sources"]["figures"] == [len(FIELDS) - 1], "source of the figures")
    check.check(len(card["loops"]) == len(FIELDS) - 1, "loops")
    check.near(card["figures"]["coercivity_A_per_m"], truths[-1]["coercivity_A_per_m"],
               1e-6 * truths[-1]["coercivity_A_per_m"], "HcB")


def test_the_same_input_gives_the_same_bytes(check, folder):
    words = [path for _, path in write_series(folder)]
    texts = []
    for jobs, order in (("1", 1), ("2", -1)):
        path = os.path.join(folder, "card%s.json" % jobs)
        check.check(program.run("card", "make", *words[::order], "-o", path, "--jobs", jobs)[0] == 0,
                    "card make")
        with open(path, "rb") as file:
            texts.append(file.read())
    check.check(texts[0] == texts[1], "two runs differ")
    check.check(folder.encode() not in texts[0], "the card holds a path")


if __name__ == "__main__":
    checks.main(globals())
