# SPDX-License-Identifier: GPL-3.0-or-later
"""Long work that is stopped by SIGTERM, SIGINT or SIGHUP at any moment: it ends at once and by that signal, says so,
and leaves no unfinished file, no other file than it was asked for, no process, and a ledger and a manifest that
can be taken up again.

    test_stopped.py              each job is stopped twice
    test_stopped.py --times 50   so often each, a capture of ten minutes among them (`make deep`)
"""
import os
import random
import shutil
import signal
import struct
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "world"))
import checks
import program

TIMES = checks.option("--times", 2)
IS_LONG = TIMES > 2
SIGNS = (signal.SIGTERM, signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
SAMPLES = os.path.join(program.ROOT, "samples")
WORDS = "lodecard: stopped by a signal; no unfinished file is left\n"
# From the signal to the end, on a machine that does other things, too.
SOON = 60.0 if checks.is_slow_build() else 10.0

RING = """model:
  tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}
drive: {frequency: 50 Hz, field_peak: 60 kA/m, harmonics: 9}
recording: {name: c, format: wav, encoding: pcm24, sample_rate: 96 kHz, duration: SECONDS s}
rig:
  inputs:
    excitation: {channel: 1, full_scale: 3 V, shunt: 50 mohm}
    pickup: {channel: 2, full_scale: 10 V}
  winding: {primary_turns: 400, secondary_turns: 100}
specimen:
  name: R-17
  ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm}
faults: {noise: {excitation: 15 uV, pickup: 15 uV}}
"""
# An exporter that takes until its limit; its process must not outlive the program.
ENDLESS = """-- counts and counts
local n = 0
while true do n = n + 1 end
"""


def read_files(folder):
    """Files and their bytes; folders, whose names end in a slash, have none."""
    files = {}
    for path, folders, names in os.walk(folder):
        files.update((os.path.relpath(os.path.join(path, name), folder) + "/", b"") for name in folders)
        for name in names:
            with open(os.path.join(path, name), "rb") as file:
                files[os.path.relpath(os.path.join(path, name), folder)] = file.read()
    return files


def is_running(group):
    """Whether a process of the group is left; those that are only waiting to be collected are not."""
    for pid in filter(str.isdigit, os.listdir("/proc")):
        try:
            with open(f"/proc/{pid}/stat", encoding="utf-8", errors="replace") as file:
                state, _, its_group = file.read().rsplit(")", 1)[1].split()[:3]
        except OSError:
            continue
        if int(its_group) == group and state not in "ZX":
            return True
    return False


def listen():
    """Who started this script may have told it to ignore some of them (nohup, &), and that is inherited."""
    for sign in SIGNS:
        signal.signal(sign, signal.SIG_DFL)


def start(folder, words, feed):
    environment = dict(os.environ, OMP_NUM_THREADS="2", TMPDIR=folder)
    return subprocess.Popen([program.PROGRAM, *words], cwd=folder, env=environment, start_new_session=True,
                            stdin=subprocess.PIPE if feed else subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                            stderr=subprocess.PIPE, bufsize=0, preexec_fn=listen)


class Job:
    """A command, stopped again and again. `grows`: names of files that keep what is done, a ledger or a
    manifest, which `keeps(folder)` looks at. `feed(pipe)`: writes to its standard input, then it is stopped."""

    def __init__(self, check, folder, words, grows=(), keeps=None, feed=None):
        self.check, self.folder, self.words = check, folder, words
        self.grows, self.keeps, self.feed = grows, keeps, feed
        self.given = read_files(folder)
        self.random = random.Random(" ".join(words))

    def reset(self):
        for name in sorted(read_files(self.folder), reverse=True):  # what is in a folder comes before it
            if name not in self.given:
                path = os.path.join(self.folder, name)
                os.rmdir(path) if name.endswith("/") else os.remove(path)
        for name, content in self.given.items():
            path = os.path.join(self.folder, name)
            if not name.endswith("/") and len(content) < 1 << 20:  # what is longer is only read
                with open(path, "wb") as file:
                    file.write(content)

    def run_whole(self):
        began = time.monotonic()
        process = start(self.folder, self.words, None)
        _, err = process.communicate(timeout=1200)
        self.seconds = time.monotonic() - began
        self.status, self.files = process.returncode, read_files(self.folder)
        self.check.check(self.status in (0, 10, 11), f"{self.words}: {err}")
        self.reset()

    def stop(self, sign):
        process = start(self.folder, self.words, self.feed)
        if self.feed:
            self.feed(process.stdin)
        else:
            time.sleep(self.seconds * self.random.uniform(0.02, 0.95))
        os.kill(process.pid, sign)
        began = time.monotonic()
        _, err = process.communicate(timeout=1200)
        took = time.monotonic() - began
        self.judge(sign, process, err.decode("utf-8", "replace"), took)
        self.reset()

    def judge(self, sign, process, err, took):
        where = f"{' '.join(self.words)[:90]}, stopped by {sign.name}: "
        is_done = not self.feed and process.returncode == self.status
        # Before main() has begun the system ends it, without words.
        is_stopped = process.returncode == -sign and (err.endswith(WORDS) or not err)
        self.check.check(is_done or is_stopped, where + f"status {process.returncode}, {err!r}")
        self.check.check(took < SOON, where + f"it took {took:.1f} s to end")
        end = time.monotonic() + SOON
        while is_running(process.pid) and time.monotonic() < end:
            time.sleep(0.01)
        self.check.check(not is_running(process.pid), where + "a process is left")
        for name, content in read_files(self.folder).items():
            good = [files[name] for files in ({} if self.feed else self.files, self.given) if name in files]
            is_grown = name.startswith(self.grows) if self.grows else False
            self.check.check(content in good or is_grown, where + f"'{name}' is left, of {len(content)} bytes")
        if self.keeps:
            self.keeps(where)

    def run(self):
        if not self.feed:
            self.run_whole()
        for i in range(TIMES):
            self.stop(SIGNS[i % len(SIGNS)])


def write(folder, name, text):
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(text)


def copy_captures(folder, count):
    """Captures of the samples with their setups, each in a folder of its own; their paths."""
    names = []
    rings = sorted(os.path.join(SAMPLES, "qualify", heat, ring) for heat in ("C7", "H2291", "H2305")
                   for ring in os.listdir(os.path.join(SAMPLES, "qualify", heat)))
    shutil.copy(os.path.join(SAMPLES, "qualify", "limits.yaml"), folder)
    for i in range(count):
        ring = rings[i % len(rings)]
        shutil.copytree(ring, os.path.join(folder, f"rings/{i}"))
        for above in ("rig.yaml", "specimen.yaml"):
            beside = os.path.join(os.path.dirname(ring), above)
            if os.path.exists(beside) and not os.path.exists(os.path.join(folder, f"rings/{i}", above)):
                shutil.copy(beside, os.path.join(folder, f"rings/{i}"))
        names.append(f"rings/{i}/{os.path.basename(ring)}.flac")
    return names


def test_a_capture_that_still_comes(check, folder):
    """A recording through a pipe, stopped in its middle; one output is there before, the others are not."""
    write(folder, "ring.yaml", RING.replace("SECONDS", "0.5"))
    program.run("virtual", "ring.yaml", "-o", "bench", folder=folder)
    with open(os.path.join(folder, "bench/c.wav"), "rb") as file:
        content = file.read()
    at = content.index(b"data") + 8
    head = bytearray(content[:at])
    struct.pack_into("<I", head, at - 4, 0xFFFFFFF0)
    body = content[at:]

    def feed(pipe):
        pipe.write(head)
        for _ in range(8):
            pipe.write(body)

    write(folder, "c.json", "what was there before\n")
    words = ("loop", "-", "--rig", "bench/rig.yaml", "--specimen", "bench/specimen.yaml", "--json", "c.json", "--csv", "c.csv",
             "--plot", "c.pdf")
    Job(check, folder, words, feed=feed).run()


def test_a_long_capture(check, folder):
    """Ten minutes of two channels of 24 bits at 96 kHz; when it is made, too."""
    write(folder, "ring.yaml", RING.replace("SECONDS", "600" if IS_LONG else "15"))
    words = ("virtual", "ring.yaml", "-o", "bench")
    job = Job(check, folder, words)
    job.run()
    subprocess.run([program.PROGRAM, *words], cwd=folder, check=True, stdout=subprocess.DEVNULL)
    Job(check, folder, ("loop", "bench/c.wav", "--json", "c.json", "--plot", "c.svg")).run()


def test_a_survey(check, folder):
    """With --jobs; its manifest is taken up again, and then the results are those of a run in one piece."""
    names = copy_captures(folder, 60 if IS_LONG else 18)
    words = ("loop", *names, "--jobs", "2", "--manifest", "m", "--json-lines=all.jsonl", "--csv=all.csv")
    job = Job(check, folder, words, grows=("m",))

    def keeps(where):
        status, _, err = program.run(*words, folder=folder)
        files = read_files(folder)
        check.check(status == job.status, where + f"taken up again: {status}, {err}")
        for name in ("all.jsonl", "all.csv"):
            check.check(files.get(name) == job.files[name], where + f"taken up again, '{name}' is another")

    job.keeps = keeps
    job.run()


def test_trials(check, folder):
    trace = os.path.join(SAMPLES, "trace/r17-60kam-slow.csv")
    Job(check, folder, ("loop", trace, "--trials", "20000", "--json", "t.json", "--plot-budget", "t.svg")).run()


def test_a_model(check, folder):
    capture = os.path.join(SAMPLES, "sound-card/r17-60kam-20hz.flac")
    Job(check, folder, ("series", capture, "--model", "tellinen", "--json", "m.json", "--csv", "m.csv")).run()


def test_the_ledger(check, folder):
    copy_captures(folder, 36 if IS_LONG else 12)

    def keeps(where):
        if os.path.exists(os.path.join(folder, "lab.ledger")):
            status, out, err = program.run("ledger", "check", "--ledger", "lab.ledger", folder=folder)
            is_new = status == 2 and "is empty" in err
            check.check(status == 0 or is_new, where + f"the ledger: {out}{err}")
        status, _, err = program.run("ledger", "add", "rings", "--ledger", "lab.ledger", folder=folder)
        check.check(status == 0, where + f"added again: {err}")

    Job(check, folder, ("ledger", "add", "rings", "--jobs", "2", "--bytes", "--ledger", "lab.ledger"), ("lab.ledger",), keeps).run()
    program.run("ledger", "add", "rings", "--bytes", "--ledger", "lab.ledger", folder=folder)
    job = Job(check, folder, ("ledger", "backup", "copy.ledger", "--ledger", "lab.ledger"), ("lab.ledger",))
    job.run()
    Job(check, folder, ("ledger", "export", "--folder", "out", "--ledger", "lab.ledger"), ("lab.ledger",)).run()
    Job(check, folder, ("ledger", "recompute", "--ledger", "lab.ledger"), ("lab.ledger",)).run()


def test_reports_and_verdicts(check, folder):
    names = copy_captures(folder, 18)
    write(folder, "lot.html", "what was there before\n")
    for words in (("report", "lot", "-o", "lot.pdf", "-o", "lot.html"),
                  ("qualify", "--json", "v.json", "--plot", "v.png")):
        Job(check, folder, (*words, "--limits", "limits.yaml", *names)).run()


def test_an_exporter(check, folder):
    write(folder, "endless.lua", ENDLESS)
    card = os.path.join(SAMPLES, "card/rs36-h2291.json")
    job = Job(check, folder, ("card", "export", card, "--exporters", ".", "--to", "endless", "-o", "out.txt"))
    job.seconds, job.status, job.files = 0.2, None, {}  # before its share of instructions is used up
    for i in range(TIMES):
        job.stop(SIGNS[i % len(SIGNS)])


if __name__ == "__main__":
    checks.main(globals(), seconds=600.0)
