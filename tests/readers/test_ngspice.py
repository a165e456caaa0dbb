# SPDX-License-Identifier: GPL-3.0-or-later
"""ngspice drives the wound ring that `card export --to spice` wrote, by current and by voltage: its
waveforms give back the exported model's own loop, and go back through `lodecard loop`."""
import json
import os
import subprocess
import sys

import numpy as np

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "world"))
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import checks
import steel

NAME = "steel"
TURNS, LENGTH, AREA = 400, 0.11309733552923257, 2.4e-05  # of the sample's ring R-17
FREQUENCY = 20.0
STEPS = 2000  # a cycle

CIRCUIT = """a wound ring
.include steel.lib
%(source)s
X1 in 0 %(name)s
.control
set filetype=ascii
set numdgt=15
tran %(step)g %(end).15g 0 %(step)g
wrdata out.txt %(vectors)s
quit
.endc
.end
"""


def simulate(folder, card, kind, source, vectors, cycles=3):
    """The columns time, vectors... of a run."""
    steel.export(steel.write(card, folder), "spice", os.path.join(folder, "steel.lib"), "name=" + NAME)
    words = {"source": source, "name": NAME + "_" + kind, "step": 1 / FREQUENCY / STEPS,
             "end": cycles / FREQUENCY, "vectors": vectors}
    with open(os.path.join(folder, "run.cir"), "w") as file:
        file.write(CIRCUIT % words)
    done = subprocess.run(["ngspice", "-b", "run.cir"], cwd=folder, capture_output=True, text=True,
                          timeout=100)
    path = os.path.join(folder, "out.txt")
    if not os.path.exists(path):
        raise RuntimeError(done.stdout[-2000:] + done.stderr[-2000:])
    table = np.loadtxt(path)
    return [table[:, 0], *(table[:, 2 * i + 1] for i in range(table.shape[1] // 2))]


def even(time, values, cycles, per_cycle=STEPS):
    """The last cycle, even in time (ngspice chooses its own steps)."""
    at = (cycles - 1 + np.arange(per_cycle) / per_cycle) / FREQUENCY
    return np.interp(at, time, values)


def current_source(peak):
    return "I1 0 in SIN(0 %.15g %g)" % (peak * LENGTH / TURNS, FREQUENCY)


def loop_by_current(folder, card, kind, peak, cycles=3):
    """H from the current; B from the voltage over the winding, as a bench has it."""
    time, volts = simulate(folder, card, kind, current_source(peak), "v(in)", cycles)
    begin = (cycles - 1) / FREQUENCY
    flux = np.concatenate([[0], np.cumsum(np.diff(time) * (volts[1:] + volts[:-1]) / 2)])
    at = begin + np.arange(STEPS) / STEPS / FREQUENCY
    b = np.interp(at, time, flux) / TURNS / AREA
    b -= (b.max() + b.min()) / 2
    return peak * np.sin(2 * np.pi * FREQUENCY * at), b, time, volts


def crossing(x, y):
    """x where y falls through zero."""
    i = next(i for i in range(len(y) - 1) if y[i] > 0 >= y[i + 1])
    return x[i] + y[i] / (y[i] - y[i + 1]) * (x[i + 1] - x[i])


def test_jiles_atherton_by_current(check, folder):
    for name in (steel.FIELD_MODEL, "jiles-atherton-1992"):
        card = steel.with_field_model(steel.read_sample())
        card["models"] = [model for model in card["models"] if model["name"] == name]
        if not check.check(card["models"], "the sample has the model " + name):
            continue
        for peak in (60e3, 15e3):
            h, b, _, _ = loop_by_current(folder, card, "jiles_atherton", peak)
            own_h, own_b = steel.model_loop(card["models"][0], peak, cycles=3, grows=0)  # as the circuit does
            own_b -= (own_b.max() + own_b.min()) / 2  # as the voltage has it: the mean is not in it
            words = "%s, %g A/m: " % (name, peak)
            truth = steel.area(own_h, own_b)
            check.near(steel.area(h, b), truth, 2e-3 * truth, words + "loop area (J/m3)")
            check.near(b.max(), own_b.max(), 2e-3 * own_b.max(), words + "peak B (T)")
            truth = crossing(own_h, own_b)
            check.near(crossing(h, b), truth, 2e-3 * abs(truth), words + "coercivity (A/m)")


def test_branches_by_current(check, folder):
    card = steel.read_sample()
    loop = card["major_loop"]
    peak = loop["rising"]["field_A_per_m"][-1]
    h, b, _, _ = loop_by_current(folder, card, "branches", peak)
    truth = loop["drawn"]["loop_area_J_per_m3"]
    check.near(steel.area(h, b), truth, 1e-2 * truth, "loop area (J/m3)")
    check.near(steel.area(h, b), card["figures"]["loop_area_J_per_m3"], 1e-2 * truth,
               "the measured loop area")
    check.near(-crossing(h, b), card["figures"]["coercivity_A_per_m"], 190, "coercivity (A/m)")
    check.near(crossing(b, h), card["figures"]["remanence_T"], 0.0095, "remanence (T)")


def test_curve_by_current(check, folder):
    """Single-valued: no loss, and the flux of the card's curve."""
    card = steel.read_sample()
    h, b, _, _ = loop_by_current(folder, card, "curve", 40e3)
    truth = steel.curve_flux(card, h)
    check.near(np.max(np.abs(b - truth)), 0, 2e-3 * truth.max(), "B(H) of the curve (T)")
    check.check(steel.area(h, b) < 1e-3 * 4 * 40e3 * b.max(), "no loss in it")


def test_jiles_atherton_by_voltage(check, folder):
    """A voltage behind the winding's resistance: the loop that closes has the model's own area between
    its own tips."""
    card = steel.with_field_model(steel.read_sample())
    card["models"] = [steel.find_model(card)]
    cycles = 12
    volts = 2 * np.pi * FREQUENCY * TURNS * AREA * 1.1
    source = "V1 s 0 SIN(0 %.15g %g)\nRw s in 0.1" % (volts * 1.6, FREQUENCY)
    time, current, inside = simulate(folder, card, "jiles_atherton", source, "i(V1) v(in)", cycles)
    field = even(time, -current * TURNS / LENGTH, cycles)
    flux = np.concatenate([[0], np.cumsum(np.diff(time) * (inside[1:] + inside[:-1]) / 2)])
    b = even(time, flux, cycles) / TURNS / AREA
    peak = (field.max() - field.min()) / 2
    own_h, own_b = steel.model_loop(card["models"][0], peak)
    truth = steel.area(own_h, own_b)
    check.near(steel.area(field, b), truth, 1e-2 * truth, "loop area (J/m3)")
    check.check(own_b.max() > 0.8, "the loop is driven far: %g T" % own_b.max())
    check.near((b.max() - b.min()) / 2, own_b.max(), 5e-3 * own_b.max(), "peak B (T)")


RIG = """name: a simulated bench
inputs:
  excitation: {channel: current (A), quantity: current}
  pickup: {channel: pickup (V)}
winding: {primary_turns: %d, secondary_turns: %d}
""" % (TURNS, TURNS)
SPECIMEN = """name: R-17
ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm}
"""


def go_round(check, folder, card, peak):
    """The figures that `lodecard loop` finds in the waveforms of a ring of that card, or None."""
    cycles = 4
    time, volts = simulate(folder, card, "branches", current_source(peak), "v(in)", cycles)
    at = (1 + np.arange(3 * STEPS) / STEPS) / FREQUENCY
    current = peak * LENGTH / TURNS * np.sin(2 * np.pi * FREQUENCY * at)
    for name, text in (("rig.yaml", RIG), ("specimen.yaml", SPECIMEN)):
        with open(os.path.join(folder, name), "w") as file:
            file.write(text)
    path = os.path.join(folder, "waveforms.csv")
    with open(path, "w") as file:
        file.write("time (s),current (A),pickup (V)\n")
        for row in zip(at, current, np.interp(at, time, volts)):
            file.write("%.12g,%.12g,%.12g\n" % row)
    done = subprocess.run([steel.PROGRAM, "loop", path, "--json", "-"], capture_output=True, text=True,
                          timeout=60)
    if not check.check(done.returncode == 0, "lodecard loop takes the waveforms: " + done.stderr):
        return None
    return json.loads(done.stdout)["figures"]


def test_round_trip(check, folder):
    """Capture, card, program, waveform, capture: the ring's waveforms, as a logger would have them, give
    back the card's figures within 1 %."""
    card = steel.read_sample()
    figures = go_round(check, folder, card, card["major_loop"]["rising"]["field_A_per_m"][-1])
    for key in ("loop_area_J_per_m3", "coercivity_A_per_m", "remanence_T", "flux_density_peak_T",
                "field_peak_A_per_m", "frequency_Hz"):
        truth = card["figures"][key]
        check.near(figures and figures[key], truth, 1e-2 * truth, key)


# Invented steels, J = Js tanh((H -+ Hc)/w) +- d: saturation (T), coercivity, width and peak field (A/m).
STEELS = {"square": (1.1, 20e3, 2.5e3, 60e3), "rounded": (1.2, 4e3, 9e3, 40e3), "soft": (1.6, 60, 90, 1500)}


def test_round_trip_of_other_steels(check, folder):
    for name, (js, hc, width, peak) in STEELS.items():
        field = peak * np.sin(np.linspace(-1, 1, 161) * np.pi / 2)
        field = np.unique(np.concatenate([field, np.linspace(-hc - 3 * width, hc + 3 * width, 161)]))
        field = field[np.abs(field) <= peak]
        d = js * (np.tanh((peak + hc) / width) - np.tanh((peak - hc) / width)) / 2
        card = steel.read_sample()
        for branch, sign in (("rising", -1), ("falling", 1)):
            shape = np.tanh((field + sign * hc) / width)
            graph = {"field_A_per_m": list(field),
                     "flux_density_T": list(js * shape - sign * d + steel.MU0 * field)}
            card["major_loop"][branch] = graph
            card["solver"][branch] = {**graph, "slope_H_per_m":
                                      list(js / width * (1 - shape ** 2) + steel.MU0)}
        figures = go_round(check, folder, card, peak)
        dense = np.linspace(-peak, peak, 200001)
        falling = js * np.tanh((dense + hc) / width) - d
        gap = falling + falling[::-1]  # to the rising branch, its mirror
        b = falling + steel.MU0 * dense
        for key, truth in (("loop_area_J_per_m3", np.mean((gap[1:] + gap[:-1]) / 2) * 2 * peak),
                           ("coercivity_A_per_m", -np.interp(0, b, dense)),
                           ("remanence_T", np.interp(0, dense, b))):
            check.near(figures and figures[key], truth, 1e-2 * truth, "%s: %s" % (name, key))


RING = """model:
  %s
drive: {frequency: 20 Hz, field_peak: 60 kA/m, harmonics: 99}
recording: {name: capture, format: flac, encoding: pcm24, sample_rate: 48 kHz, cycles: 30.3}
rig:
  inputs:
    excitation: {channel: 1, full_scale: 1.550 V, shunt: 50.00 mohm}
    pickup: {channel: 2, full_scale: 1.550 V}
  winding: {primary_turns: 400, secondary_turns: 100}
specimen:
  name: R-17
  ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm}
faults:
  noise: {excitation: 15 uV, pickup: 15 uV}
"""
MODELS = ("tanh: {saturation: 1.05 T, shift: 15 kA/m, width: 17 kA/m}",
          "jiles-atherton-1986: {saturation: 1.2 MA/m, shape: 16 kA/m, pinning: 15 kA/m, "
          "reversibility: 0.1, coupling: 0.015}")


def test_from_capture_to_capture(check, folder):
    """All the way, with a noisy capture of steels that no exporter has seen: capture, card, subcircuit,
    waveforms, and the same figures within 1 % of the truth."""
    for model in MODELS:
        bench = os.path.join(folder, model.split(":")[0])
        ring, card = bench + ".yaml", bench + ".json"
        with open(ring, "w") as file:
            file.write(RING % model)
        for words in (["virtual", ring, "-o", bench],
                      ["card", "make", os.path.join(bench, "capture.flac"), "-o", card]):
            done = subprocess.run([steel.PROGRAM, *words], capture_output=True, text=True, timeout=60)
            check.check(done.returncode == 0, " ".join(words) + done.stderr)
        with open(os.path.join(bench, "truth.json")) as file:
            truth = json.load(file)["figures"]
        with open(card) as file:
            made = json.load(file)
        figures = go_round(check, folder, made, truth["field_peak_A_per_m"])
        for key in ("loop_area_J_per_m3", "coercivity_A_per_m", "remanence_T", "flux_density_peak_T"):
            check.near(figures and figures[key], truth[key], 1e-2 * truth[key], model[:20] + " " + key)


checks.main(globals())
