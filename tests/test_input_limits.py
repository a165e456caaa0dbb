# SPDX-License-Identifier: GPL-3.0-or-later
"""What is too much of anything ends in a clear error, in bounded time and memory: endless input, cells,
columns, channels, depth, headers that promise what no disk holds. docs/robustness.md has the table."""
import math
import os
import shutil
import struct
import subprocess
import sys
import tempfile
import time

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
sys.path.insert(0, os.path.join(ROOT, "tests", "world"))
import checks
import program

SECONDS = 240 if checks.is_slow_build() else 60
MIB = 2000 if checks.is_slow_build() else 700
BENCH = os.path.join(ROOT, "samples", "sound-card")
CARD = os.path.join(ROOT, "samples", "card", "rs36-h2291.json")
LOOPS = os.path.join(ROOT, "samples", "series", "loops.jsonl")
MOTOR = ["motor", "--pole-pairs", "2", "--volume", "10 cm3", "--supply", "50"]


def measure(folder, words, feed=None):
    """(exit status, output, error, MiB) of the program with `feed` (an iterator of bytes) as standard input."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        child = subprocess.Popen([program.PROGRAM, *words], cwd=folder, stdout=out, stderr=err,
                                 stdin=subprocess.PIPE if feed else subprocess.DEVNULL)
        deadline = time.monotonic() + SECONDS
        try:
            for block in feed or ():
                child.stdin.write(block)
                if time.monotonic() > deadline:
                    child.kill()
            if feed:
                child.stdin.close()
        except BrokenPipeError:
            pass
        _, end, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(end)
        if feed:
            try:
                child.stdin.close()
            except BrokenPipeError:
                pass
        out.seek(0)
        err.seek(0)
        return child.returncode, out.read(1 << 20).decode(), err.read(1 << 20).decode(), usage.ru_maxrss / 1024


def refused(check, folder, words, said, feed=None, status=2, mib=MIB):
    got, _, err, memory = measure(folder, words, feed)
    what = " ".join(words)[:80]
    check.check(got == status and said in err, "%s: exit status %d, not %d with %r: %s" % (what, got, status, said, err[-400:]))
    check.check(memory < mib, "%s: %d MiB" % (what, memory))


def endless(block):
    block *= max(1, (1 << 16) // len(block))
    while True:
        yield block


def lay(folder, name, data):
    path = os.path.join(folder, name)
    with open(path, "wb") as file:
        file.write(data if isinstance(data, bytes) else data.encode())
    return name


def lay_bench(folder):
    for name in ("rig.yaml", "specimen.yaml"):
        shutil.copy(os.path.join(BENCH, name), folder)


def test_endless_input(check, folder):
    lay_bench(folder)
    for words in (["look", "-"], ["loop", "-"]):
        refused(check, folder, words, "neither a recording nor a table", endless(b"y\n"), mib=200 if MIB < 1000 else MIB)
    refused(check, folder, ["look", "-"], "longer than 1048576 bytes", endless(b"1"))
    refused(check, folder, ["look", "-"], "byte 1 of its text", endless(b"\0"))
    for words, limit in ((["series", "-"], 1 << 28), (["card", "show", "-"], 64 << 20), ([*MOTOR, "-"], 1 << 28),
                         (["qualify", "--limits", "-"], 1 << 20), (["virtual", "-", "-o", "v"], 1 << 20)):
        refused(check, folder, words, "larger than %d bytes" % limit, endless(b"[\n"))
    refused(check, folder, ["ledger", "add", "-", "--ledger", "l"], "none of the first 1000 lines", endless(b"y\n"))
    refused(check, folder, ["ledger", "add", "-", "--ledger", "l"], "more than 67108864 bytes", endless(b"y"))


def test_a_line_of_a_gigabyte(check, folder):
    lay_bench(folder)

    def line():
        yield b"time (s),u\n0,1\n1,2\n"
        for _ in range(1 << 10):
            yield b"9" * (1 << 20)
        yield b"\n"
    refused(check, folder, ["look", "-"], "longer than 1048576 bytes", line(), mib=200 if MIB < 1000 else MIB)
    with open(os.path.join(folder, "sparse.csv"), "wb") as file:  # a hole of zeros
        file.write(b"time (s),u\n0,1\n1,2\n")
        file.truncate(1 << 30)
    refused(check, folder, ["look", "sparse.csv"], "'sparse.csv'", mib=200 if MIB < 1000 else MIB)
    for words in (["card", "show"], ["series"], ["ledger", "add", "--ledger", "l"], ["qualify", "--limits"]):
        got, _, err, memory = measure(folder, [*words, "sparse.csv"])
        check.check(got in (2, 4) and "sparse.csv" in err and memory < MIB, "%s: %d, %d MiB: %s" % (words, got, memory, err))


def test_folders_and_devices(check, folder):
    lay_bench(folder)
    os.mkdir(os.path.join(folder, "d"))
    commands = (["look"], ["loop"], ["series"], ["card", "show"], ["card", "check"], ["card", "export", "--to", "csv", "-o", "x.out"],
                MOTOR, ["qualify", "--limits"], ["virtual", "-o", "v"], ["loop", "x.wav", "--rig"])
    lay(folder, "x.wav", wav())
    for path in ("d", "/dev/null", "/dev/zero", "/dev/full"):
        for words in commands:
            got, _, err, memory = measure(folder, [*words, path])
            check.check(got in (2, 4) and err.startswith("lodecard: ") and (path in err or "/dev/rig.yaml" in err) and memory < MIB,
                        "%s %s: %d, %d MiB: %s" % (words, path, got, memory, err))
    for words in (["loop", "x.wav", "--json", "/dev/full", "--harmonics", "3"], ["card", "export", CARD, "--to", "csv", "-o", "d"]):
        got, _, err, _ = measure(folder, words)
        check.check(got in (3, 4), "%s: %d: %s" % (words, got, err))


def wav(form=1, channels=2, rate=48000, bits=16, data=b"\1\2" * 4000, length=None):
    align = channels * bits // 8 & 0xFFFF
    head = struct.pack("<HHIIHH", form, channels, rate, rate * align & 0xFFFFFFFF, align, bits)
    body = b"WAVEfmt " + struct.pack("<I", 16) + head + b"data" + struct.pack("<I", len(data) if length is None else length) + data
    return b"RIFF" + struct.pack("<I", len(body)) + body


def test_headers_of_recordings(check, folder):
    lay_bench(folder)
    for name, data, said in (("a.wav", wav(channels=0), "channels"), ("b.wav", wav(channels=65), "64"), ("c.wav", wav(channels=65000), "64"),
                             ("d.wav", wav(rate=0), "sample rate"), ("e.wav", wav(bits=0), "'e.wav'"),
                             ("f.wav", wav(form=7, bits=8), "lossy"), ("g.wav", wav(data=b""), "'g.wav'")):
        lay(folder, name, data)
        for words in (["look", name], ["loop", name]):
            refused(check, folder, words, said)
    frames = struct.pack("<IQQQI", 28, 4 * 10 ** 12 + 100, 4 * 10 ** 12, 10 ** 12, 0)
    sine = b"".join(struct.pack("<hh", round(9000 * math.sin(i / 9)), round(9000 * math.cos(i / 9))) for i in range(9000))
    body = b"WAVEds64" + frames + b"fmt " + struct.pack("<IHHIIHH", 16, 1, 2, 48000, 192000, 4, 16) + b"data\xff\xff\xff\xff" + sine
    lay(folder, "h.rf64", b"RF64\xff\xff\xff\xff" + body)
    got, out, err, memory = measure(folder, ["look", "h.rf64"])
    check.check(got == 0 and "9000" in out.replace(" ", "").replace("\u202f", "") and memory < 200 + MIB // 2, "a promise of 1e12 frames: %d: %s %s" % (got, out[:300], err))


def test_samples_that_are_no_numbers(check, folder):
    lay_bench(folder)
    values = [math.sin(i / 9) / 2 for i in range(12000)]
    for bad, name in ((math.nan, "nan"), (math.inf, "inf"), (-math.inf, "minus-inf"), (3e38, "huge")):
        some = list(values)
        some[500:520:2] = [bad] * 10
        lay(folder, name + ".wav", wav(3, bits=32, data=struct.pack("<%df" % len(some), *some)))
        lay(folder, name + "-all.wav", wav(3, bits=32, data=struct.pack("<f", bad) * 8000))
        for words in (["look", name + ".wav"], ["loop", name + ".wav", "--json", "-"], ["look", name + "-all.wav"], ["loop", name + "-all.wav"]):
            got, out, err, _ = measure(folder, words)
            check.check(got in (0, 2, 3) and "nan" not in out.replace(name, "") and (got == 0 or err.startswith("lodecard: ")),
                        "%s: %d: %s %s" % (words, got, out[:200], err[:200]))


def test_tables(check, folder):
    lay_bench(folder)
    rows = "".join("%g,%g,%g\n" % (i / 1000, math.sin(i / 9), math.cos(i / 9)) for i in range(300))
    long_cell = "time (s),u,v\n" + rows + '0.3,1,"' + "x" * 4097 + '"\n0.301,1,1\n'
    refused(check, folder, ["look", lay(folder, "cell.csv", long_cell)], "4096")
    lay(folder, "columns.csv", ",".join("c%d" % i for i in range(1025)) + "\n" + (",".join(["1"] * 1025) + "\n") * 3)
    refused(check, folder, ["look", "columns.csv"], "1024")
    lay(folder, "head.csv", "text\n" * 300 + rows)
    refused(check, folder, ["look", "head.csv"], "200 lines")
    lay(folder, "series.csv", ",".join(["flux density peak (T)"] + ["x%d" % i for i in range(256)]) + "\n" + ",".join(["1"] * 257) + "\n")
    refused(check, folder, ["series", "series.csv"], "'series.csv'")


def test_yaml(check, folder):
    capture = lay(folder, "x.wav", wav())
    laughs = "a: &a [x,x,x,x,x,x,x,x]\n" + "".join("%s: &%s [*%s,*%s,*%s,*%s,*%s,*%s,*%s,*%s]\n" % ((b, b) + (a,) * 8)
                                                  for a, b in zip("abcdefgh", "bcdefghi"))
    for name, text, said in (("laughs", laughs, "anchor"), ("deep", "".join(" " * i + "a:\n" for i in range(40)), "16"),
                             ("brackets", "[" * 100000, "16"), ("tag", "a: !!int 1\n", "tag"), ("two", "a: 1\n---\nb: 2\n", "document"),
                             ("big", "#" * ((1 << 20) + 1), "larger than 1048576 bytes"), ("control", "a: \x07\n", "control")):
        lay(folder, name + ".yaml", text)
        for words in (["loop", capture, "--rig"], ["loop", capture, "--rig", os.path.join(BENCH, "rig.yaml"), "--specimen"],
                      ["qualify", LOOPS, "--limits"], ["virtual", "-o", "v"]):
            refused(check, folder, [*words, name + ".yaml"], said)


def test_json(check, folder):
    for name, text, said in (("deep", "[" * 65 + "]" * 65, "nested more than 64 deep"), ("open", "[" * (1 << 20), "nested more than 64 deep"),
                             ("number", '{"schema": 1e999}', "'number.json'"), ("twice", '{"a": 1, "a": 2}', "duplicate")):
        lay(folder, name + ".json", text)
        for words in (["card", "show"], ["series"], [*MOTOR], ["ledger", "add", "--ledger", "l"]):
            refused(check, folder, [*words, name + ".json"], said)
    refused(check, folder, ["card", "show", lay(folder, "list.json", '{"schema": "lodecard-card/1", "version": "1", "name": "x", "loops": ['
                                                + ",".join(["{}"] * 100001) + "]}")], "list.json")


def test_what_is_asked(check, folder):
    lay_bench(folder)
    capture = lay(folder, "x.wav", wav())
    for words in (["loop", capture, "--harmonics", "1e9"], ["loop", capture, "--harmonics", "1000000000"], ["loop", capture, "--harmonics", "0"],
                  ["loop", capture, "--points", "1e12"], ["loop", capture, "--points", "1000000000000"], ["loop", capture, "--trials", "1e15"],
                  ["loop", capture, "--jobs", "100000000"], ["loop", capture, "--start", "nan"], ["loop", capture, "--length", "-1"]):
        got, _, err, memory = measure(folder, words)
        check.check(got in (1, 2, 3) and err.startswith("lodecard: ") and memory < MIB, "%s: %d, %d MiB: %s" % (words, got, memory, err))
    with open(os.path.join(BENCH, "ring.yaml")) as file:
        ring = file.read()
    for old, new in (("cycles: 40.3", "cycles: 1e12"), ("harmonics: 99", "harmonics: 1e9"), ("sample_rate: 48 kHz", "sample_rate: 1 THz")):
        refused(check, folder, ["virtual", lay(folder, "r.yaml", ring.replace(old, new)), "-o", "v"], "r.yaml")
    check.check(not os.path.exists(os.path.join(folder, "v")) or not os.listdir(os.path.join(folder, "v")), "nothing was recorded")


checks.main(globals())
