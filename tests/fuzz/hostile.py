# SPDX-License-Identifier: GPL-3.0-or-later
"""Broken files into the program: good ones of every kind are mutated (bits, cuts, splices, numbers that
are exchanged or huge, words of their own) and given to the commands that read them.

    tests/fuzz/hostile.py --runs 100000 --seed 7 [--jobs 2] [--only KIND] [--keep FOLDER]

Each answer must have an exit status that is documented, a message that names what failed, no word of a
fault of the program or of a sanitizer, no unfinished or half-written file, and must come in bounded time
and memory. What breaks a rule is kept in FOLDER with its command. Captures and loops go many to a
command, so that 100 000 are a matter of minutes; a run is one mutated file. The same seed makes the same
files. Ends in "N passed, N failed"."""
import argparse
import concurrent.futures
import glob
import json
import os
import random
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ.get("LODECARD", os.path.join(ROOT, "build", "release", "lodecard"))
IS_SLOW = os.sep + "san" + os.sep in PROGRAM
SECONDS = 300 if IS_SLOW else 60    # of processor time of one command
PATIENCE = 1800  # seconds by the clock: a busy machine is no fault
MEMORY_MIB = 4096 if IS_SLOW else 700  # of one command
BATCH = 20
SAMPLES = os.path.join(ROOT, "samples")
MACHINE = ["--pole-pairs", "2", "--volume", "10 cm3", "--supply", "50"]
LIMITS = os.path.join(SAMPLES, "qualify", "limits.yaml")
STATUSES = {0, 2, 3, 4, 10, 11}
FAULTY = re.compile(rb"internal|Sanitizer|runtime error|assert|Segmentation|core dumped|fault of the program")
# What is about more than the mutated file: a study of many rings, a number that two files lack. With the
# kinds of captures that lines tell of (in judge), all that need not name it.
ELSEWHERE = (b"in the gauge study", b"neither by the specimen nor by the rig")
STEERING = re.compile(rb"[\x00-\x08\x0b-\x1f\x7f]")

RING = """model: {tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}}
drive: {frequency: 20 Hz, field_peak: 60 kA/m, harmonics: 15}
recording: {name: a, format: %s, encoding: %s, sample_rate: %s, cycles: 5.3}
rig:
  name: bench
  inputs:
    excitation: {channel: %s, %s shunt: 50 mohm ± 0.05 mohm}
    pickup: {channel: %s, %s}
  timing: {%s}
  winding: {primary_turns: 400, secondary_turns: 100, secondary_area: 30 mm2 ± 2 mm2}
specimen:
  name: R-17
  alloy: RS-36
  heat: H2291
  ring: {outer_diameter: 40 mm ± 0.02 mm, inner_diameter: 32 mm, height: 6 mm}
  resistivity: 0.27 uohm m
"""


# --- good files --------------------------------------------------------------------------------------

def run(*words, folder=None, **more):
    return subprocess.run([PROGRAM, *words], cwd=folder, stdin=subprocess.DEVNULL, capture_output=True,
                          timeout=PATIENCE, **more)


def record(folder, name, form, encoding="pcm16"):
    """A short capture by the virtual bench, with its rig and specimen: the folder."""
    is_table = form in ("csv", "tsv", "txt")
    scale = "" if is_table else "full_scale: 1.55 V,"
    columns = ("v1", "v2") if is_table else ("1", "2")
    text = RING % (form, encoding, "2 kHz" if is_table else "8 kHz", columns[0], scale, columns[1],
                   scale.rstrip(",") or "quantity: voltage", "" if is_table else "pickup_delay: 2.1 us")
    bench = os.path.join(folder, name)
    os.makedirs(bench)
    with open(os.path.join(bench, "ring.yaml"), "w") as file:
        file.write(text if not is_table else text.replace("channel: v1", "channel: 2").replace("channel: v2", "channel: 3")
                   .replace("encoding: pcm16, ", ""))
    made = run("virtual", "ring.yaml", "-o", ".", folder=bench)
    if made.returncode:
        sys.exit("no sample %s: %s" % (name, made.stderr.decode()))
    return bench


def read(path):
    with open(path, "rb") as file:
        return file.read()


def thin(value, most):
    """JSON with fewer points: small files are mutated where it matters."""
    if isinstance(value, list):
        if len(value) > most and all(isinstance(item, (int, float)) for item in value):
            value = [value[round(i * (len(value) - 1) / (most - 1))] for i in range(most)]
        return [thin(item, most) for item in value]
    return {key: thin(item, most) for key, item in value.items()} if isinstance(value, dict) else value


class Kind:
    """Files of one kind: good ones, and the commands that read them. '@' in a command stands for the
    mutated file, '@*' for many of them. `others` is a folder whose files stand in the folder "whole" beside
    it; there the mutated one takes the place of its own."""

    def __init__(self, name, good, commands, ending="", bench=None, may_be_usage=False, others=None):
        self.name, self.good, self.commands, self.ending, self.bench = name, good, commands, ending, bench
        self.may_be_usage, self.others = may_be_usage, others


def make_kinds(folder):
    """All kinds, with small good files made for the purpose."""
    kinds = []
    captures = ["loop", "@*", "--json-lines", "o.jsonl", "--csv", "o.csv"]
    for name, form, encoding in (("wav", "wav", "pcm16"), ("wav-float", "wav", "float"), ("rf64", "rf64", "pcm24"),
                                 ("w64", "w64", "pcm16"), ("aiff", "aiff", "pcm16"), ("caf", "caf", "pcm24"),
                                 ("flac", "flac", "pcm16"), ("au", "au", "pcm16"), ("csv", "csv", "pcm16")):
        bench = record(folder, name, form, encoding)
        path = [path for path in glob.glob(os.path.join(bench, "a.*"))][0]
        kinds.append(Kind(name, [read(path)], [captures, ["look", "@*", "--json-lines", "o.jsonl"]],
                          os.path.splitext(path)[1], bench))
    kinds[-1].good += [read(path) for path in sorted(glob.glob(os.path.join(ROOT, "tests", "data", "table", "*")))]
    trace = read(os.path.join(SAMPLES, "trace", "r17-60kam-slow.csv"))
    kinds.append(Kind("trace", [b"\n".join(trace.split(b"\n")[::9]) + b"\n"], [captures], ".csv", os.path.join(SAMPLES, "trace")))
    capture = os.path.join(kinds[0].bench, "a.wav")
    benches = [read(os.path.join(SAMPLES, name, "rig.yaml")) for name in ("sound-card", "logger", "trace", "measured-ring")]
    rings = [read(os.path.join(SAMPLES, name, "specimen.yaml")) for name in ("sound-card", "logger", "trace", "measured-ring")]
    kinds.append(Kind("rig", [read(os.path.join(kinds[0].bench, "rig.yaml"))] * 4 + benches, [["loop", capture, "--rig", "@", "--json", "o.json"]], ".yaml"))
    kinds.append(Kind("specimen", rings, [["loop", capture, "--specimen", "@", "--plot", "o.svg"]], ".yaml"))
    kinds.append(Kind("limits", [read(LIMITS)], [["qualify", "--limits", "@", os.path.join(SAMPLES, "series", "loops.jsonl"), "--json", "o.json"]], ".yaml"))
    kinds.append(Kind("ring", [read(os.path.join(kinds[0].bench, "ring.yaml")), read(os.path.join(kinds[8].bench, "ring.yaml")),
                               read(os.path.join(ROOT, "tests", "data", "calibrate", "coil.yaml"))],
                      [["virtual", "@", "-o", "v"]], ".yaml"))
    with open(os.path.join(SAMPLES, "series", "loops.jsonl")) as file:
        loops = [thin(json.loads(line), 9) for line in file]
    lines = "\n".join(json.dumps(loop) for loop in loops[::7]).encode() + b"\n"
    kinds.append(Kind("loops", [lines], [["series", "@", "--json", "o.json", "--csv", "o.csv"], ["qualify", "--limits", LIMITS, "@", "--json", "o.json"],
                                         ["card", "make", "@", "-o", "o.json"], ["series", "@", "--plot", "o.svg"]], ".jsonl"))
    card_path = os.path.join(SAMPLES, "card", "rs36-h2291.json")
    series = os.path.join(folder, "series.json")
    run("series", os.path.join(SAMPLES, "series", "loops.jsonl"), "--json", series)
    kinds.append(Kind("series", [json.dumps(thin(json.loads(read(series)), 9)).encode()],
                      [["motor", "@", *MACHINE, "--json", "o.json"], ["series", "@", "--json", "o.json"], ["card", "make", "@", "-o", "o.json"],
                       ["report", "series", "@", "-o", "o.html"]], ".json"))
    with open(os.path.join(SAMPLES, "gauge", "loops.jsonl")) as file:
        rings = [thin(json.loads(line), 5) for line in file]
    sides = [dict(ring, specimen=dict(ring["specimen"], heat="H%d" % (i % 3), supplier="S%d" % (i % 2))) for i, ring in enumerate(rings)]
    kinds.append(Kind("rings", ["\n".join(json.dumps(ring) for ring in list_).encode() + b"\n" for list_ in (rings[:12], sides[:12])],
                      [["qualify", "gauge", "--figure", "coercivity", "--limits", LIMITS, "@", "--json", "o.json"],
                       ["qualify", "compare", "--figure", "coercivity", "--margin", "0.5 kA/m", "@", "--json", "o.json"],
                       ["qualify", "chart", "--figure", "remanence", "@", "--json", "o.json"],
                       ["report", "lot", "--limits", LIMITS, "@", "-o", "o.html"]], ".jsonl"))
    tones = [["calibrate", "full-scale", "@", "--channel", "1", "--voltage", "1 V ± 1 %", "--json", "o.json"],
             ["calibrate", "loopback", "@", "--fundamental", "20 Hz", "--json", "o.json"],
             ["calibrate", "shunt", "@", "--rig", "rig.yaml", "-n", "--reference", "0.1 ohm ± 1 %"],
             ["calibrate", "empty-coil", "@", "--rig", "rig.yaml", "--specimen", "specimen.yaml", "-n"]]
    kinds.append(Kind("tones", [read(capture)], tones, ".wav", kinds[0].bench))
    kinds.append(Kind("kept-rig", benches, [["calibrate", "full-scale", capture, "--channel", "1", "--voltage", "1 V ± 1 %", "--rig", "@"],
                                            ["calibrate", "loopback", capture, "--fundamental", "20 Hz", "--rig", "@", "-n"]], ".yaml"))
    kinds.append(Kind("ledger-loop", [json.dumps(loop).encode() for loop in loops[:3]], [["ledger", "add", "@*", "--ledger", "l", "-q"]], ".json"))
    card = thin(json.loads(read(os.path.join(SAMPLES, "card", "rs36-h2291.json"))), 7)
    card.pop("solver", None)
    whole = json.loads(read(os.path.join(SAMPLES, "card", "rs36-h2291.json")))
    other_card = os.path.join(folder, "other.json")
    with open(other_card, "w") as file:
        file.write(json.dumps(whole).replace("R-17", "R-18"))
    kinds.append(Kind("card", [json.dumps(card).encode(), json.dumps(thin(whole, 60)).encode()],
                      [["card", "check", "@"], ["card", "show", "@"], ["card", "export", "@", "--to", "csv", "-o", "o.out"],
                       ["card", "export", "@", "--to", "octave", "-o", "o.out"], ["motor", "@", *MACHINE, "--json", "o.json"],
                       ["card", "diff", "@", card_path], ["card", "merge", "@", other_card, "-o", "o.json"]], ".json"))
    table = b"frequency (Hz),flux density peak (T),field strength peak (A/m),loss (W/m3)\n" + b"".join(
        b"%g,%g,%g,%g\n" % (f, b, 500 * b + f, f * (100 * b ** 1.6) + f * f * b * b / 10) for f in (10, 50, 100) for b in (.5, 1, 1.5))
    kinds.append(Kind("series-table", [table, read(os.path.join(ROOT, "tests", "data", "rings", "ring1_sine_loss.csv"))],
                      [["series", "@", "--json", "o.json"]], ".csv"))
    kinds.append(Kind("initial-curve", [read(os.path.join(ROOT, "tests", "data", "rings", "ring1_initial_curve.csv"))],
                      [["series", os.path.join(SAMPLES, "series", "loops.jsonl"), "--initial", "@"]], ".csv"))
    scripts = [read(path) for path in sorted(glob.glob(os.path.join(ROOT, "src", "card", "exporters", "*.lua")))]
    kinds.append(Kind("exporter", [text for text in scripts if len(text) < 9000],
                      [["card", "export", os.path.join(SAMPLES, "card", "rs36-h2291.json"), "--exporters", ".", "--to", "own", "-o", "o.out"]],
                      ".lua", may_be_usage=True))
    ledger = os.path.join(folder, "good.ledger")
    made = run("ledger", "add", capture, "--ledger", ledger)
    if made.returncode:
        sys.exit("no ledger: %s" % made.stderr.decode())
    lines = b"".join(b'{"capture": "%s"}\n' % capture.encode() for _ in range(4))
    kinds.append(Kind("list", [lines], [["loop", "--list", "@", "--json-lines", "o.jsonl"]], ".jsonl"))
    manifest = os.path.join(folder, "good.manifest")
    run("loop", capture, os.path.join(kinds[8].bench, "a.csv"), "--manifest", manifest)
    kinds.append(Kind("manifest", [read(manifest)], [["loop", capture, "--done", "@", "--json-lines", "o.jsonl"]], ".manifest"))
    reports = [os.path.join(folder, "r" + ending) for ending in (".html", ".pdf")]
    run("report", "loop", capture, "-o", reports[0], "-o", reports[1])
    for path in reports:
        kinds.append(Kind("report" + os.path.splitext(path)[1], [read(path)], [["report", "verify", "@", "--ledger", ledger]],
                          os.path.splitext(path)[1]))
    archive = os.path.join(folder, "archive")
    made = run("ledger", "export", "--folder", archive, "--ledger", ledger)
    if made.returncode:
        sys.exit("no folder of a ledger: %s" % made.stderr.decode())
    for name in sorted(os.listdir(archive)):
        kinds.append(Kind("folder/" + name, [read(os.path.join(archive, name))], [["ledger", "import", "whole", "--ledger", "l"]], name, others=archive))
    kinds.append(Kind("ledger", [read(ledger)], [["ledger", "check", "--ledger", "@"], ["ledger", "find", "--ledger", "@"], ["ledger", "show", "loop", "1", "--ledger", "@"]], ".ledger"))
    return kinds


# --- mutations ------------------------------------------------------------------------------------------

NUMBER = re.compile(rb"-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")
NUMBERS = [b"0", b"-1", b"1", b"1e308", b"-1e308", b"1e309", b"1e-320", b"nan", b"inf", b"4294967296", b"9223372036854775808",
           b"2147483647", b"1e12", b"65000", b"0.1", b"-0", b"", b"1e999", b"0x10", b"1,5", b"9" * 60, b"1e-9"]
WORDS = [b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\n", b"\r\n", b",", b";", b'"', b"'", b"{", b"}", b"[", b"]" * 70, b"[" * 70, b": ",
         b"&a ", b"*a", b"!!x", b"null", b"\xc2\x9b31m", b"\x1b[31m", b"%s%n", b"\\u0000", b"A" * 5000, b"- ", b"\t", b"#", b"\xe2\x88\x9e",
         b"RIFF", b"data\xff\xff\xff\xff", b"fmt ", b"\x7f\xff\xff\xff", b"\0\0\0\0", b"while true do end "]


def place(rng, data):
    """Half of the places are at the head, where the headers are."""
    return rng.randrange(min(len(data), 200) + 1) if rng.random() < 0.5 else rng.randrange(len(data) + 1)


def mutate(rng, data, other):
    way = rng.randrange(9)
    at = place(rng, data)
    if way == 0 and data:  # bits
        changed = bytearray(data)
        for _ in range(rng.choice((1, 1, 2, 8, 64))):
            changed[min(place(rng, data), len(data) - 1)] ^= 1 << rng.randrange(8)
        return bytes(changed)
    if way == 1:
        return data[:at]
    if way == 2:  # a splice
        return data[:at] + other[place(rng, other):]
    if way == 3:  # a part is missing
        return data[:at] + data[at + rng.choice((1, 2, 4, 40, 400)):]
    if way == 4:  # a part comes twice, or often
        return data[:at] + data[at:at + rng.choice((1, 8, 80, 800))] * rng.choice((2, 3, 30)) + data[at:]
    if way == 5:
        return data[:at] + rng.choice(WORDS) + data[at:]
    if way == 6 and data:  # bytes of a header: whole words of it
        word = rng.choice((b"\xff\xff\xff\xff", b"\0\0\0\0", b"\x7f\xff\xff\xff", b"\0\0\0\x80", b"\xff\xff", b"\0\0", os.urandom(0) + rng.randbytes(4)))
        return data[:at] + word + data[at + len(word):]
    found = list(NUMBER.finditer(data))
    if not found:
        return data[:at] + rng.randbytes(rng.choice((1, 4, 16))) + data[at + 1:]
    hit = rng.choice(found)
    if way == 7:  # two numbers change places
        return data[:hit.start()] + rng.choice(found).group() + data[hit.end():]
    return data[:hit.start()] + rng.choice(NUMBERS) + data[hit.end():]


# --- judging --------------------------------------------------------------------------------------------

def measure(words, folder):
    """(status or signal, standard output, standard error, processor seconds, MiB)."""
    began = time.monotonic()
    with open(os.path.join(folder, ".out"), "w+b") as out, open(os.path.join(folder, ".err"), "w+b") as err:
        child = subprocess.Popen([PROGRAM, *words], cwd=folder, stdin=subprocess.DEVNULL, stdout=out, stderr=err)
        resource.prlimit(child.pid, resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
        killer = None
        deadline = began + PATIENCE
        while True:
            pid, end, usage = os.wait4(child.pid, os.WNOHANG)
            if pid:
                break
            if time.monotonic() > deadline and not killer:
                killer = "late"
                child.kill()
            time.sleep(0.003)
        child.returncode = os.waitstatus_to_exitcode(end)
        out.seek(0)
        err.seek(0)
        return (killer or child.returncode, out.read(1 << 22), err.read(1 << 22), usage.ru_utime + usage.ru_stime,
                usage.ru_maxrss / 1024)


def judge_files(folder, before):
    """What the program left: whole files only."""
    faults = []
    for name in sorted(set(os.listdir(folder)) - before):
        path = os.path.join(folder, name)
        if name in ("o.json", "o.jsonl"):
            for line in [read(path)] if name == "o.json" else read(path).splitlines():
                try:
                    json.loads(line)
                except ValueError:
                    faults.append("%s is no JSON" % name)
        elif name == "o.svg" and not read(path).rstrip().endswith(b"</svg>"):
            faults.append("o.svg is not whole")
        elif name == "o.html" and not read(path).rstrip().endswith(b"</html>"):
            faults.append("o.html is not whole")
        elif name not in ("o.csv", "o.svg", "o.html", "o.out", "v", ".out", ".err") and not re.fullmatch(r"(?:l|m\d+\.ledger)(?:-wal|-shm)?", name):
            faults.append("left behind: %s" % name)
    return faults


def judge(kind, answer, names):
    status, _, err, seconds, memory = answer
    statuses = STATUSES | ({1} if kind.may_be_usage else set())
    faults = [] if status in statuses else ["status %s" % status]
    lines = err.splitlines()
    if status in (1, 2, 4) and not any(line.startswith(b"lodecard: ") for line in lines):
        faults.append("no message")
    if status in (2,) and len(names) == 1 and kind.name not in ("exporter",) and not any(
            name.encode() in err for name in names + ["a.wav"] + (["whole/", "'whole'"] if kind.others else [])) and not (
                kind.name in ("loops", "rings", "series") and (b".flac" in err or b" heat" in err)) and not any(
            words in err for words in ELSEWHERE):
        faults.append("the message does not name the file")
    if FAULTY.search(err):
        faults.append("the words of a fault: %r" % FAULTY.search(err).group())
    if STEERING.search(err):
        faults.append("a terminal is steered")
    if memory > MEMORY_MIB:
        faults.append("%d MiB" % memory)
    return faults


def try_batch(job):
    """One command with its mutated files: (runs, statuses, faults, seconds, MiB)."""
    kind, command, seed, count, keep = job
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory(prefix="hostile-") as folder:
        names = []
        for i in range(count):
            good = rng.choice(kind.good)
            data = good
            for _ in range(rng.choice((1, 1, 1, 2, 4))):
                data = mutate(rng, data, rng.choice(kind.good))
            name = "own.lua" if kind.name == "exporter" else "m%d%s" % (i, kind.ending)
            if kind.others:
                shutil.copytree(kind.others, os.path.join(folder, "whole"))
                name = os.path.join("whole", kind.ending)
            names.append(name)
            with open(os.path.join(folder, name), "wb") as file:
                file.write(data)
        for name in ("rig.yaml", "specimen.yaml"):
            if kind.bench:
                shutil.copy(os.path.join(kind.bench, name), folder)
        before = set(os.listdir(folder)) | {".out", ".err"}
        words = [word for part in command for word in (names if part == "@*" else [names[0]] if part == "@" else [part])]
        answer = measure(words, folder)
        faults = judge(kind, answer, names) + judge_files(folder, before)
        if faults and keep:
            kept = os.path.join(keep, "%s-%d" % (kind.name, seed))
            shutil.rmtree(kept, ignore_errors=True)
            shutil.copytree(folder, kept)
            with open(os.path.join(kept, "command.txt"), "w") as file:
                file.write("%s\n%s\n" % (" ".join(words), "; ".join(faults)))
        return count, answer[0], ["%s, seed %d: %s: %s" % (kind.name, seed, " ".join(words)[:160], "; ".join(faults) + " " + repr(answer[2][-200:]))] if faults else [], answer[3], answer[4]


# Runs of a kind: captures and loops are many, those that need a process of their own are fewer.
WEIGHTS = {"csv": 12, "wav": 10, "trace": 4, "ledger-loop": 10, "exporter": 0.5, "limits": 1.5, "ring": 2, "ledger": 1, "report.pdf": 1, "report.html": 1}
LEAST = 0.2  # files of a folder: many


def make_jobs(kinds, runs, seed, keep):
    weights = [LEAST if kind.others else WEIGHTS.get(kind.name, 3) for kind in kinds]
    jobs = []
    for k, kind in enumerate(kinds):
        left = max(1, round(runs * weights[k] / sum(weights)))
        number = 0
        while left > 0:
            command = kind.commands[number % len(kind.commands)]
            count = min(left, BATCH) if "@*" in command else 1
            jobs.append((kind, command, seed * 1000003 + k * 10007919 + number, count, keep))
            left -= count
            number += 1
    return jobs


def main(runs, seed, workers, only=None, keep=None):
    """(mutated files, faults)."""
    if keep:
        os.makedirs(keep, exist_ok=True)
    if not IS_SLOW:
        resource.setrlimit(resource.RLIMIT_AS, (3 << 30, 3 << 30))
    resource.setrlimit(resource.RLIMIT_FSIZE, (1 << 28, 1 << 28))
    with tempfile.TemporaryDirectory(prefix="hostile-good-") as folder:
        kinds = [kind for kind in make_kinds(folder) if not only or kind.name == only]
        jobs = make_jobs(kinds, runs, seed, keep)
        table = {kind.name: [0, {}, 0, 0.0, 0.0] for kind in kinds}
        with concurrent.futures.ThreadPoolExecutor(workers) as pool:
            for job, (count, status, faults, seconds, memory) in zip(jobs, pool.map(try_batch, jobs)):
                row = table[job[0].name]
                row[0] += count
                row[1][status] = row[1].get(status, 0) + 1
                row[2] += len(faults)
                row[3], row[4] = max(row[3], seconds), max(row[4], memory)
                for fault in faults:
                    print("FAILED  " + fault, flush=True)
    print("%-14s %8s %8s %10s %7s  commands by exit status" % ("kind", "files", "failed", "most CPU s", "MiB"))
    for name, (count, statuses, failed, seconds, memory) in table.items():
        print("%-14s %8d %8d %10.1f %7.0f  %s" % (name, count, failed, seconds, memory,
              ", ".join("%s: %d" % (status, number) for status, number in sorted(statuses.items(), key=str))))
    return sum(row[0] for row in table.values()), sum(row[2] for row in table.values())


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=float, default=1e5)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--only")
    parser.add_argument("--keep")
    asked = parser.parse_args()
    done, failed = main(int(asked.runs), asked.seed, asked.jobs, asked.only, asked.keep)
    print("%d passed, %d failed" % (done - failed, failed))
    sys.exit(failed > 0)
