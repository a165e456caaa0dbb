# SPDX-License-Identifier: GPL-3.0-or-later
"""Every command and verb of the program, small enough to be run thousands of times.

In the words, {given} is a folder of inputs that nobody changes; the current folder holds what `files`
names (copied from there), and takes the results.
"""
import json
import os
import shutil
import subprocess

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))

TONE = """series: {voltage: '1: 700 mV, 0 deg'}
drive: {frequency: 100 Hz}
recording: {kind: KIND, format: wav, sample_rate: 8 kHz, duration: 0.5 s}
rig:
  inputs:
    excitation: {channel: 1, full_scale: 1.5 V, shunt: 0.1 ohm}
    pickup: {channel: 2, full_scale: 1.5 V}
  winding: {primary_turns: 400, secondary_turns: 100}
specimen:
  ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm, density: 8100 kg/m3}
faults: {noise: {excitation: 20 uV, pickup: 20 uV}}
"""
RING = """model:
  tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}
drive: {frequency: 100 Hz, field_peak: 60 kA/m, harmonics: 9}
recording: {name: ring, format: wav, encoding: pcm24, sample_rate: 8 kHz, cycles: 12.3}
rig:
  inputs:
    excitation: {channel: 1, full_scale: 3 V ± 0.005 V, shunt: 50 mohm ± 0.05 mohm}
    pickup: {channel: 2, full_scale: 10 V ± 0.005 V}
  winding: {primary_turns: 400, secondary_turns: 100}
specimen:
  name: R-17
  alloy: RS-36
  supplier: Northgate Foundry
  heat: H2291
  ring: {outer_diameter: 40 mm ± 0.02 mm, inner_diameter: 32 mm ± 0.02 mm, height: 6 mm ± 0.02 mm, density: 8100 kg/m3}
  resistivity: 0.27 uohm m
faults: {noise: {excitation: 15 uV, pickup: 15 uV}}
"""
LIMITS = """name: RS-36 ring steel
figures:
  coercivity: {lower: 17.5 kA/m, upper: 20.5 kA/m}
  remanence: {lower: 0.9 T}
lot: {share: 0.95, confidence: 0.95}
"""
RIG = """name: bench 2
inputs:
  excitation: {channel: 1, full_scale: 1.5 V ± 5 % rect, shunt: 0.1000 ohm ± 0.0001 ohm}
  pickup: {channel: 2, full_scale: 1.5 V}
winding: {primary_turns: 400, secondary_turns: 100}
"""
EMPTY_COIL = TONE.replace("series: {voltage: '1: 700 mV, 0 deg'}", "series: {field: '1: 3 kA/m, 0 deg'}").replace(
    "drive: {frequency: 100 Hz}", "drive: {frequency: 997 Hz}").replace("secondary_turns: 100}", "secondary_turns: 100, secondary_area: 31.7 mm2}")
SHUNT = TONE.replace("series: {voltage: '1: 700 mV, 0 deg'}", "series: {field: '1: 20 kA/m, 0 deg; 5: 5 kA/m, 20 deg'}").replace(
    "duration: 0.5 s}", "duration: 0.5 s, reference: 0.1 ohm}")

LEDGER = ("lodecard.ledger",)

# (name, words, files that are there before)
COMMANDS = [
    ("help", "help", ()),
    ("help loop", "help loop", ()),
    ("manual", "help --manual", ()),
    ("help for programs", "help --json", ()),
    ("version", "--version", ()),
    ("look", "look {given}/ring/ring.wav --json look.json", ()),
    ("loop", "loop {given}/ring/ring.wav --json loop.json --csv loop.csv", ("loop.json",)),
    ("loop to standard output", "loop {given}/ring/ring.wav --json -", ()),
    ("loop of a table", "loop {given}/trace.csv --rig {given}/trace-rig.yaml --specimen {given}/trace-specimen.yaml --json t.json", ()),
    ("loop with a picture", "loop {given}/ring/ring.wav --plot loop.svg --waveforms", ()),
    ("loop with trials", "loop {given}/ring/ring.wav --budget --trials 2000 --plot-budget budget.pdf", ()),
    ("loop of several", "loop {given}/ring/ring.wav {given}/two/ring.wav --json-lines loops.jsonl", ()),
    ("loop of a long capture", "loop {given}/long/ring.wav --json long.json", ()),
    ("loop explained", "loop {given}/ring/ring.wav --explain", ()),
    ("series", "series {given}/loops.jsonl --json series.json --csv series.csv --plot series.png", ()),
    ("series of a capture", "series {given}/ring/ring.wav", ()),
    ("series with a model", "series {given}/loops.jsonl --model tellinen --json model.json", ()),
    ("motor", "motor {given}/card.json --pole-pairs 2 --supply 50 --volume 3cm3 --json motor.json --plot motor.svg", ()),
    ("card make", "card make {given}/loops.jsonl -o card.json", ("card.json",)),
    ("card show", "card show {given}/card.json", ()),
    ("card check", "card check {given}/card.json --captures {given}/ring", ()),
    ("card diff", "card diff {given}/card.json {given}/card.json", ()),
    ("card merge", "card merge {given}/one.json {given}/other.json -o merged.json", ()),
    ("card export", "card export {given}/card.json --to octave -o card.m", ()),
    ("card export, listed", "card export --list", ()),
    ("calibrate full-scale", "calibrate full-scale {given}/tone/capture.wav --channel 1 --voltage 0.495V±0.3% --rig rig.yaml --json c.json", ("rig.yaml",)),
    ("calibrate loopback", "calibrate loopback {given}/loopback/capture.wav --fundamental 100Hz --rig rig.yaml", ("rig.yaml",)),
    ("calibrate empty-coil", "calibrate empty-coil {given}/coil/capture.wav --rig rig.yaml --specimen {given}/coil/specimen.yaml", ("rig.yaml",)),
    ("calibrate shunt", "calibrate shunt {given}/shunt/capture.wav --reference 0.1ohm±0.1% --rig rig.yaml", ("rig.yaml",)),
    ("qualify", "qualify --limits {given}/limits.yaml {given}/loops.jsonl --json verdict.json --plot verdict.svg", ()),
    ("qualify compare", "qualify compare --figure coercivity --by heat --margin 0.5kA/m {given}/lots.jsonl --json compare.json", ()),
    ("qualify chart", "qualify chart --figure coercivity {given}/lots.jsonl --plot chart.pdf", ()),
    ("qualify gauge", "qualify gauge --figure coercivity {given}/study.jsonl --json gauge.json", ()),
    ("qualify parts", "qualify parts --figure coercivity {given}/lots.jsonl", ()),
    ("qualify plan", "qualify plan --good 1% --bad 10%", ()),
    ("report lot", "report lot --limits {given}/limits.yaml {given}/loops.jsonl -o lot.pdf -o lot.html", ()),
    ("report loop", "report loop {given}/ring/ring.wav -o loop.html -o loop.pdf", ()),
    ("report series", "report series {given}/loops.jsonl -o series.html", ()),
    ("report compare", "report compare --figure coercivity --by heat --margin 0.5kA/m {given}/lots.jsonl -o compare.pdf", ()),
    ("report gauge", "report gauge --figure coercivity {given}/study.jsonl -o gauge.html", ()),
    ("report verify", "report verify {given}/kept.html --ledger lodecard.ledger", LEDGER),
    ("virtual", "virtual {given}/ring.yaml -o bench", ()),
    ("virtual table", "virtual {given}/table.yaml -o bench", ()),
    ("ledger add, first", "ledger add {given}/ring/ring.wav", ()),
    ("ledger add", "ledger add {given}/two --bytes", LEDGER),
    ("ledger add from lines", "ledger add {given}/lots.jsonl", LEDGER),
    ("ledger list", "ledger list heats", LEDGER),
    ("ledger find", "ledger find --statistics --columns coercivity", LEDGER),
    ("ledger show", "ledger show loop 1", LEDGER),
    ("ledger history", "ledger history loop 1", LEDGER),
    ("ledger remark", "ledger remark loop 1 looked_at_again", LEDGER),
    ("ledger tag", "ledger tag loop 1 good", LEDGER),
    ("ledger undo", "ledger undo", LEDGER),
    ("ledger recompute", "ledger recompute", LEDGER),
    ("ledger export", "ledger export --csv out.csv --json-lines out.jsonl", LEDGER),
    ("ledger export, folder", "ledger export --folder out", LEDGER),
    ("ledger import", "ledger import {given}/export --ledger new.ledger", ()),
    ("ledger backup", "ledger backup copy.ledger", LEDGER),
    ("ledger check", "ledger check --captures", LEDGER),
]


def run(program, folder, *words):
    done = subprocess.run([program, *words], cwd=folder, capture_output=True, text=True)
    if done.returncode not in (0, 10, 11):
        raise RuntimeError(f"lodecard {' '.join(words)}: {done.stderr}")
    return done.stdout


def write(folder, name, text):
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(text)


def prepare(program, folder):
    """Makes the inputs in `folder`."""
    texts = {"tone.yaml": TONE.replace("KIND", "tone"), "loopback.yaml": TONE.replace("KIND", "loopback"),
             "coil.yaml": EMPTY_COIL.replace("KIND", "empty coil"), "shunt.yaml": SHUNT.replace("KIND", "shunt comparison"),
             "ring.yaml": RING, "table.yaml": RING.replace("format: wav, encoding: pcm24, ", "format: csv, ").replace(
                 "channel: 2, full_scale: 10 V ± 0.005 V", "channel: 3").replace("channel: 1, full_scale: 3 V ± 0.005 V", "channel: 2"),
             "two.yaml": RING.replace("R-17", "R-18").replace("15 uV", "16 uV"),
             "long.yaml": RING.replace("cycles: 12.3", "cycles: 4100"),  # long enough to be decoded by a thread
             "limits.yaml": LIMITS, "rig.yaml": RIG}
    for name, text in texts.items():
        write(folder, name, text)
    for name in ("tone", "loopback", "coil", "shunt", "ring", "two", "long"):
        run(program, folder, "virtual", name + ".yaml", "-o", name)
    shutil.copy(os.path.join(TOP, "samples/trace/r17-60kam-slow.csv"), os.path.join(folder, "trace.csv"))
    for name in ("rig", "specimen"):
        shutil.copy(os.path.join(TOP, f"samples/trace/{name}.yaml"), os.path.join(folder, f"trace-{name}.yaml"))
    loop = json.loads(run(program, folder, "loop", "ring/ring.wav", "--json", "-", "--points", "64"))
    lines, lots = [], []
    for peak in range(6):
        for key, value in loop["figures"].items():
            if isinstance(value, float) and "peak" in key:
                loop["figures"][key] = value * (1 + 0.01 * peak)
        loop["capture"]["sha256"] = f"{peak:064x}"
        lines.append(json.dumps(loop))
    for i in range(12):
        loop["figures"]["coercivity_A_per_m"] = 18500 + 37 * (i * 7 % 5)
        loop["capture"]["sha256"] = f"{i + 100:064x}"
        loop["specimen"].update(name=f"Q-{i // 2}", heat=f"H{i // 6}")
        lots.append(json.dumps(loop))
    study = []
    for i in range(12):  # two rings, three times, on each of two benches
        loop["figures"]["coercivity_A_per_m"] = 18500 + 37 * (i * 7 % 5)
        loop["capture"]["sha256"] = f"{i + 200:064x}"
        loop["specimen"]["name"] = f"Q-{i % 2}"
        loop["rig"]["name"] = f"bench {i // 6}"
        study.append(json.dumps(loop))
    write(folder, "study.jsonl", "\n".join(study) + "\n")
    write(folder, "loops.jsonl", "\n".join(lines) + "\n")
    write(folder, "lots.jsonl", "\n".join(lots) + "\n")
    run(program, folder, "card", "make", "loops.jsonl", "-o", "card.json")
    run(program, folder, "card", "make", "ring/ring.wav", "-o", "one.json")
    run(program, folder, "card", "make", "two/ring.wav", "-o", "other.json")
    run(program, folder, "ledger", "add", "ring/ring.wav", "--bytes")
    run(program, folder, "ledger", "tag", "loop", "1", "first")
    run(program, folder, "report", "loop", "ring/ring.wav", "-o", "kept.html")
    run(program, folder, "ledger", "export", "--folder", "export")
    write(folder, "loop.json", "what was there before\n")
    for name in ("-wal", "-shm"):
        if os.path.exists(os.path.join(folder, "lodecard.ledger" + name)):
            os.remove(os.path.join(folder, "lodecard.ledger" + name))


def get_words(words, given):
    return [word.replace("{given}", given).replace("±", " ± ") for word in words.split()]
