# SPDX-License-Identifier: GPL-3.0-or-later
"""No record of the ledger is lost or halved: the program is killed at random moments of `ledger add`,
several of them write at once, the disk is full.

    test_ledger_safety.py        $LODECARD_KILLS: how often it is killed (default 100)
"""
import hashlib
import json
import os
import random
import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time

PROGRAM = os.path.abspath(os.environ.get("LODECARD", os.path.join("build", "release", "lodecard")))
KILLS = int(os.environ.get("LODECARD_KILLS", "100"))
IS_SLOW = os.sep + "san" + os.sep in PROGRAM


class Checks:
    passed = failed = 0

    def check(self, is_right, message):
        self.passed += bool(is_right)
        self.failed += not is_right
        if not is_right:
            print("FAILED  " + message, flush=True)
        return is_right


def make_loop(number):
    """A loop of an invented ring; four loops a ring, three rings a heat."""
    ring = number // 4
    return {
        "schema": "lodecard-loop/1", "version": "0.1.0",
        "capture": {"file": "c%d.wav" % number, "channels": 2, "frames": 96000, "sample_rate_Hz": 48000,
                    "sha256": hashlib.sha256(b"%d" % number).hexdigest(), "start_s": 0, "length_s": 2},
        "rig": {"name": "bench %d" % (number % 3)},
        "specimen": {"name": "R-%d" % ring, "alloy": "RS-36", "heat": "H%d" % (ring // 3),
                     "supplier": ("Northgate Foundry", "Calder & Sons")[ring // 6 % 2]},
        "figures": {"frequency_Hz": 20, "remanence_T": 0.95 + 1e-4 * number,
                    "coercivity_A_per_m": 18000 + number / 3, "u_coercivity_A_per_m": 48},
        "notes": []}


def write_loops(path, numbers):
    with open(path, "w") as file:
        for number in numbers:
            file.write(json.dumps(make_loop(number)) + "\n")


def run(folder, *words, **more):
    return subprocess.run([PROGRAM, "ledger", *words], cwd=folder, capture_output=True, text=True,
                          timeout=600, **more)


def read_hashes(folder):
    """Hashes of the captures that have a whole loop."""
    base = sqlite3.connect(os.path.join(folder, "lodecard.ledger"))
    rows = base.execute("SELECT capture.sha256, coercivity_A_per_m FROM loop JOIN capture "
                        "ON capture.id = loop.capture_id WHERE is_current = 1").fetchall()
    base.close()
    return dict(rows)


def find_told(out):
    """Files of the captures that it said are in the ledger."""
    return set(re.findall(r"^\w+ +loop \d+  (\S+)", out, re.M))


def test_killed_at_any_moment_it_keeps_what_it_told(check, folder):
    """Ever the same 330 loops are added and the program is killed; now and then the ledger begins
    anew, so that its making is met as well."""
    rng = random.Random(1)
    numbers = range(330)
    files = {make_loop(n)["capture"]["file"]: make_loop(n) for n in numbers}
    write_loops(os.path.join(folder, "loops.jsonl"), numbers)
    began = time.monotonic()
    check.check(run(folder, "add", "loops.jsonl").returncode == 0, "add fails")
    whole = time.monotonic() - began
    told, killed, begun, finished = set(), 0, 0, 0
    for turn in range(KILLS):
        if turn % 4 == 0:
            for name in os.listdir(folder):
                if name.startswith("lodecard.ledger"):
                    os.remove(os.path.join(folder, name))
            told, begun = set(), begun + 1
        child = subprocess.Popen([PROGRAM, "ledger", "add", "loops.jsonl"], cwd=folder,
                                 stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        time.sleep(rng.uniform(0, 0.6 * whole))
        child.send_signal(signal.SIGKILL)
        out, _ = child.communicate()
        killed += child.returncode == -signal.SIGKILL
        finished += child.returncode == 0
        lines = out.decode().split("\n")[:-1]  # the last line may be torn
        told |= find_told("\n".join(lines))
        if not os.path.exists(os.path.join(folder, "lodecard.ledger")):
            continue
        state = run(folder, "check")
        if state.returncode == 2 and "is empty" in state.stderr:
            check.check(not told, "turn %d: the ledger is empty, but told %d loops" % (turn, len(told)))
            continue
        check.check(state.returncode == 0, "turn %d: %s%s" % (turn, state.stdout[-300:], state.stderr))
        kept = read_hashes(folder)
        lost = [name for name in told if files[name]["capture"]["sha256"] not in kept]
        check.check(not lost, "turn %d: told but lost: %s" % (turn, lost[:3]))
        wrong = [loop for loop in files.values()
                 if kept.get(loop["capture"]["sha256"], loop["figures"]["coercivity_A_per_m"]) !=
                 loop["figures"]["coercivity_A_per_m"]]
        check.check(not wrong, "turn %d: %d loops are wrong" % (turn, len(wrong)))
    check.check(killed >= KILLS // 3, "%d of %d were killed while they ran" % (killed, KILLS))
    last = run(folder, "add", "loops.jsonl")
    check.check(last.returncode == 0 and len(read_hashes(folder)) == len(files),
                "a last run adds the rest: " + last.stdout[-100:])
    print("killed %d times, %d ledgers, %d runs were through before" % (killed, begun, finished))


def test_several_write_at_once_without_loss(check, folder):
    """Six programs begin the ledger together; half of their loops are the same."""
    writers, each = 6, 150
    for writer in range(writers):
        write_loops(os.path.join(folder, "%d.jsonl" % writer),
                    range(writer * each // 2, writer * each // 2 + each))
    children = [subprocess.Popen([PROGRAM, "ledger", "add", "%d.jsonl" % writer, "-q"], cwd=folder,
                                 stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
                for writer in range(writers)]
    reads = [run(folder, "find", "--limit", "3").returncode for _ in range(5)]
    sums = [child.communicate() for child in children]
    check.check(all(child.returncode == 0 for child in children), "a writer failed: %s" % sums)
    check.check(set(reads) <= {0, 2, 4}, "readers meanwhile: %s" % reads)
    added = sum(int(out.split()[0]) for out, _ in sums)
    total = (writers + 1) * each // 2
    check.check(added == total, "%d added, not %d" % (added, total))
    check.check(len(read_hashes(folder)) == total, "%d are there" % len(read_hashes(folder)))
    state = run(folder, "check")
    check.check(state.returncode == 0, state.stdout + state.stderr)


def limit_files(size):
    """For the child: files may not grow beyond `size` bytes; writing then fails like a full disk."""
    def limit():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    return limit


def test_a_full_disk_is_told_and_loses_nothing(check, folder):
    write_loops(os.path.join(folder, "first.jsonl"), range(50))
    write_loops(os.path.join(folder, "more.jsonl"), range(50, 1500))
    check.check(run(folder, "add", "first.jsonl").returncode == 0, "add fails")
    size = os.path.getsize(os.path.join(folder, "lodecard.ledger"))
    for room in (0, 30000, 200000, 700000):
        before = read_hashes(folder)
        done = run(folder, "add", "more.jsonl", preexec_fn=limit_files(size + room),
                   restore_signals=False)
        check.check(done.returncode == 4, "%d bytes: status %d: %s" % (room, done.returncode, done.stderr))
        check.check("make room" in done.stderr, "%d bytes: %s" % (room, done.stderr))
        after = read_hashes(folder)
        told = find_told(done.stdout)
        check.check(before.items() <= after.items(), "%d bytes: loops are lost" % room)
        check.check(len(told) <= len(after), "%d bytes: %d told, %d there"
                    % (room, len(told), len(after)))
        state = run(folder, "check")
        check.check(state.returncode == 0, "%d bytes: %s" % (room, state.stdout + state.stderr))
    done = run(folder, "add", "more.jsonl", "-q")
    check.check(done.returncode == 0 and len(read_hashes(folder)) == 1500, "with room: " + done.stdout)


def test_a_ledger_that_cannot_be_written_says_so(check, folder):
    write_loops(os.path.join(folder, "first.jsonl"), range(5))
    done = run(folder, "add", "first.jsonl", "--ledger", "none/lodecard.ledger")
    check.check(done.returncode == 4 and "none/lodecard.ledger" in done.stderr, done.stderr)
    done = run(folder, "add", "none.wav")
    check.check(done.returncode == 4 and "1 failed" in done.stdout, done.stdout + done.stderr)


def main():
    global KILLS
    if IS_SLOW:
        KILLS = min(KILLS, 20)
    check = Checks()
    for name, test in list(globals().items()):
        if name.startswith("test_"):
            folder = tempfile.mkdtemp(prefix="lodecard-ledger-")
            try:
                test(check, folder)
            finally:
                shutil.rmtree(folder)
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
