# SPDX-License-Identifier: GPL-3.0-or-later
"""Round trips: benches whose gains, delay, couplings, shunt and coil area nobody knows are calibrated
from their own recordings, and then measure a ring. Every value found, and every figure measured, must lie
within its stated uncertainty of the truth."""
import json
import os
import random
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(os.environ.get("LODECARD", "build/release/lodecard"))
BENCHES = 4
METER, RESISTOR = 0.002, 0.0004  # expanded uncertainties of what is known, relative
# 4 standard uncertainties: among some 60 comparisons one is beyond by chance in 250 runs
LIMIT = 4.0
FIGURES = ("frequency_Hz", "field_peak_A_per_m", "flux_density_peak_T", "remanence_T", "coercivity_A_per_m",
           "coercivity_J_A_per_m", "loop_area_J_per_m3", "loss_W_per_m3", "lag_angle_deg",
           "amplitude_permeability")
TONES = "; ".join("%d: 90 mV, %d deg" % tone for tone in zip(
    (1, 2, 3, 5, 9, 17, 33, 65, 129, 257, 513, 900),
    (0, 71, 133, 20, 200, 300, 111, 333, 17, 220, 92, 55)))
SOURCES = {
    "tone": "series: {voltage: '1: 500 mV, 0 deg'}\ndrive: {frequency: 397 Hz}\n",
    "loopback": "series: {voltage: '%s'}\ndrive: {frequency: 20 Hz}\n" % TONES,
    "shunt comparison": "series: {field: '%s'}\ndrive: {frequency: 40 Hz}\n" % "; ".join(
        "%d: %g kA/m, %d deg" % tone for tone in ((1, 20, 0), (5, 5, 20), (25, 3, 90), (125, 2, 30))),
    "empty coil": "series: {field: '1: 2 kA/m, 0 deg'}\ndrive: {frequency: 800 Hz}\n",
    "loop": "model: {tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}}\n"
            "drive: {frequency: 20 Hz, field_peak: 50 kA/m}\n",
}
RIG = """inputs:
  excitation: {{channel: 1, full_scale: {scale1!r} V, shunt: {shunt!r} mohm,
    inductance: {inductance!r} nH, corner: {corner1!r} Hz}}
  pickup: {{channel: 2, full_scale: {scale2!r} V, corner: {corner2!r} Hz}}
timing: {{pickup_delay: {delay!r} us}}
winding: {{primary_turns: 400, secondary_turns: 100, secondary_area: {area!r} mm2}}
"""
NOMINAL = """# what is known before: nothing but the connections
inputs:
  same_calibrator: yes
  excitation: {channel: 1, shunt: 50 mohm}   # a wire
  pickup:
    channel: 2       # the coil
winding:
  primary_turns: 400
  secondary_turns: 100
"""
SPECIMEN = "ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm, density: 8100 kg/m3}\n"


def run(folder, *words):
    done = subprocess.run((PROGRAM,) + words, cwd=folder, stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE)
    if done.returncode:
        raise RuntimeError("%s: %s" % (" ".join(words), done.stderr.decode()))
    return done.stdout.decode()


def indent(text):
    return "".join("  " + line + "\n" for line in text.splitlines())


def record(folder, kind, truth, seed, more=""):
    name = kind.replace(" ", "-")
    with open(os.path.join(folder, name + ".yaml"), "w", encoding="utf-8") as file:
        file.write(SOURCES[kind])
        file.write("recording: {kind: %s, format: wav, sample_rate: 48 kHz, duration: 3 s%s}\n"
                   % (kind, more))
        file.write("rig:\n" + indent(RIG.format(**truth)) + "specimen:\n" + indent(SPECIMEN))
        file.write("faults: {noise: {excitation: 30 uV, pickup: 30 uV}}\n")
    run(folder, "virtual", name + ".yaml", "-o", name, "--seed", str(seed))
    return os.path.join(name, "capture.wav")


def calibrate(folder, truth, seed, meter, resistor):
    voltage = 0.5 / 2 ** 0.5 * meter
    rig = ("--rig", "rig.yaml", "--date", "2026-11-25")
    both = record(folder, "loopback", truth, seed)
    # the coupling first: the full scale is then that of the input without it
    run(folder, "calibrate", "loopback", both, "--fundamental", "20 Hz", "--flat", *rig)
    run(folder, "calibrate", "full-scale", record(folder, "tone", truth, seed + 1), "--channel", "1",
        "--voltage", "%.9f V ± %g %%" % (voltage, 100 * METER), *rig)
    run(folder, "calibrate", "loopback", both, "--fundamental", "20 Hz", "--flat", *rig)
    run(folder, "calibrate", "shunt",
        record(folder, "shunt comparison", truth, seed + 3, ", reference: %.9f ohm" % resistor),
        "--reference", "0.1 ohm ± %g %%" % (100 * RESISTOR), "--time-constant", "0 s ± 5 ns", *rig)
    run(folder, "calibrate", "empty-coil", record(folder, "empty coil", truth, seed + 2),
        "--specimen", "specimen.yaml", *rig)


def compare(rig, truth):
    """(name, error over standard uncertainty) of every value that was found."""
    inputs = rig["inputs"]
    for name, group, key, true in (
            ("full scale 1", inputs["excitation"], "full_scale_V", truth["scale1"]),
            ("full scale 2", inputs["pickup"], "full_scale_V", truth["scale2"]),
            ("shunt", inputs["excitation"], "shunt_ohm", truth["shunt"] * 1e-3),
            ("inductance", inputs["excitation"], "inductance_H", truth["inductance"] * 1e-9),
            ("corner 1", inputs["excitation"], "corner_Hz", truth["corner1"]),
            ("corner 2", inputs["pickup"], "corner_Hz", truth["corner2"]),
            ("delay", rig["timing"], "pickup_delay_s", truth["delay"] * 1e-6),
            ("area", rig["winding"], "secondary_area_m2", truth["area"] * 1e-6)):
        yield name, abs(group[key] - true) / group["u_" + key]


def measure_one(number):
    draw = random.Random(number)
    truth = {"scale1": draw.uniform(1.4, 1.7), "scale2": draw.uniform(1.4, 1.7),
             "corner1": draw.uniform(1, 4), "corner2": draw.uniform(1, 4),
             "delay": draw.uniform(-12, 12), "area": draw.uniform(30, 60),
             "shunt": draw.uniform(47, 53), "inductance": draw.uniform(30, 90)}
    with tempfile.TemporaryDirectory() as folder:
        for name, text in (("rig.yaml", NOMINAL), ("specimen.yaml", SPECIMEN)):
            with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
                file.write(text)
        calibrate(folder, truth, 10 * number, 1 + draw.gauss(0, METER / 2),
                  0.1 * (1 + draw.gauss(0, RESISTOR / 2)))
        capture = record(folder, "loop", truth, 10 * number + 5)
        result = json.loads(run(folder, "loop", capture, "--rig", "rig.yaml", "--specimen",
                                "specimen.yaml", "--json", "-"))
        with open(os.path.join(folder, "loop", "truth.json"), encoding="utf-8") as file:
            true = json.load(file)["figures"]
        with open(os.path.join(folder, "rig.yaml"), encoding="utf-8") as file:
            text = file.read()
    yield "comments are kept", 0.0 if "# a wire" in text and "# the coil" in text else 99.0
    yield from compare(result["rig"], truth)
    for key in FIGURES:
        yield key, abs(result["figures"][key] - true[key]) / result["figures"]["u_" + key]


def main():
    passed = failed = 0
    for number in range(1, BENCHES + 1):
        for name, deviation in measure_one(number):
            passed += deviation <= LIMIT
            failed += not deviation <= LIMIT
            if not deviation <= LIMIT:
                print("FAILED  bench %d: %s is %.1f standard uncertainties off"
                      % (number, name, deviation))
    print("%d passed, %d failed" % (passed, failed))
    return failed > 0


if __name__ == "__main__":
    sys.exit(main())
