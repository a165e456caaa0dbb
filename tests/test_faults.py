# SPDX-License-Identifier: GPL-3.0-or-later
"""Lets one allocation or one call of the system fail, in every command, and looks at what is left.

    test_faults.py              a sample of the places, a different share of each command
    test_faults.py --all [N]    N places (default: 400) of each command and each kind of fault (long), and a
                                table of what libraries make of a lack of memory
    ... --only TEXT --kinds LIST  commands with TEXT in their name, some kinds of faults

Under the sanitizers only allocations fail, refused by the program itself.

Whatever fails: the exit status is the documented one and a message says so, or all results are as
without the fault; no file is there in part, none under a temporary name; the ledger passes its check.
"""
import argparse
import collections
import errno
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "faults"))
sys.path.insert(0, os.path.join(HERE, "world"))
import commands
from checks import Checks

PROGRAM = os.environ.get("LODECARD", os.path.join(commands.TOP, "build/release/lodecard"))
BUILT = os.environ.get("BUILT", "build/release")
LIBRARY = os.path.abspath(os.path.join(BUILT, "tests", "faults.so"))
MEMORY = "out of memory"
PART_COMPANIONS = (".part-journal", ".part-wal", ".part-shm")  # of a backup
PICTURES = (".svg", ".png", ".pdf", ".html")
LEDGER_ENDINGS = (".ledger", ".ledger-wal", ".ledger-shm", ".ledger-journal")
ABORTS = (-signal.SIGABRT, -signal.SIGTRAP, -signal.SIGSEGV)
# Statuses that a fault may end in: out of memory; reading or writing failed.
NO_MEMORY, IO = 5, 4

# The sanitizers have allocators of their own: the program itself refuses there, and nothing else fails.
IS_SANITIZED = os.path.basename(os.path.dirname(PROGRAM)) == "san"

# class -> actions; those in RETRIED must not change the result.
CALLS = {
    "create": (errno.ENOSPC, errno.EACCES, errno.EMFILE),
    "read": (errno.EIO,),
    "write": (errno.ENOSPC, errno.EIO),
    "sync": (errno.EIO, errno.ENOSPC),
    "cut": (errno.EIO,),
    "close": (errno.EIO,),
    "rename": (errno.EIO, errno.ENOSPC),
    "link": (errno.EIO, errno.EPERM, errno.ENOSPC),
    "folder": (errno.ENOSPC, errno.EACCES),
    "thread": (errno.EAGAIN,),
    "fork": (errno.EAGAIN,),
    "pipe": (errno.EMFILE,),
}
RETRIED = {"read": (errno.EINTR, "short"), "write": (errno.EINTR, "short"), "sync": (errno.EINTR,), "create": (errno.EINTR,)}
SIGNALS = (signal.SIGTERM, signal.SIGINT, signal.SIGKILL)


class Run:
    """One run of a command in a folder of its own: status, output, files."""

    def __init__(self, bench, command, fault=None, named=False):
        _, words, files = command
        self.folder = tempfile.mkdtemp(dir=bench.work)
        report = self.folder + ".report"
        for name in files:
            shutil.copy(os.path.join(bench.given, name), self.folder)
        env = dict(os.environ, OMP_NUM_THREADS="1")
        if IS_SANITIZED:
            env["LODECARD_REFUSE"] = fault.split(":")[1] if fault else "0"
        else:
            env.update(LD_PRELOAD=LIBRARY, FAULTS_REPORT=report)
            if fault:
                env["FAULTS"] = fault
        if named:
            env["FAULTS_NAMED"] = "1"
        done = subprocess.run([PROGRAM, *commands.get_words(words, bench.given)], cwd=self.folder, env=env,
                              stdin=subprocess.DEVNULL, capture_output=True, timeout=300)
        self.status, self.out = done.returncode, done.stdout
        self.err = done.stderr.decode("utf-8", "replace")
        self.counts, self.hit = {}, None
        if os.path.exists(report):
            with open(report, encoding="utf-8") as file:
                for line in file:
                    word, rest = line.split(maxsplit=1)
                    if word == "hit":
                        self.hit = self.hit or rest.strip()
                    else:
                        self.counts[word] = int(rest)
            os.remove(report)
        self.files = {}
        for path, _, names in os.walk(self.folder):
            for name in names:
                if not name.endswith(LEDGER_ENDINGS):
                    with open(os.path.join(path, name), "rb") as file:
                        self.files[os.path.relpath(os.path.join(path, name), self.folder)] = file.read()
        self.ledger = next((name for name in os.listdir(self.folder) if name.endswith(".ledger")), None)

    def check_ledger(self):
        """What is wrong with the ledger, or None. A new one of no byte is none yet."""
        if not self.ledger or not os.path.getsize(os.path.join(self.folder, self.ledger)):
            return None
        done = subprocess.run([PROGRAM, "ledger", "check", "--ledger", self.ledger], cwd=self.folder,
                              capture_output=True, text=True, timeout=300)
        if done.returncode == 2 and "is empty" in done.stderr:
            return None
        return None if done.returncode == 0 else done.stdout + done.stderr

    def clear(self):
        shutil.rmtree(self.folder, ignore_errors=True)


class Bench:
    def __init__(self, folder, places, seed=7):
        self.checks = Checks()
        self.given = os.path.join(folder, "given")
        self.work = os.path.join(folder, "work")
        self.places, self.random = places, random.Random(seed)
        self.runs = 0
        self.library_ends = collections.Counter()
        self.misshapen = 0
        os.mkdir(self.given)
        os.mkdir(self.work)
        commands.prepare(PROGRAM, self.given)
        self.before = {}
        for name in os.listdir(self.given):
            if os.path.isfile(os.path.join(self.given, name)):
                with open(os.path.join(self.given, name), "rb") as file:
                    self.before[name] = file.read()

    def choose(self, count):
        """Places from 1 to count: all, or one of each of some equal parts."""
        if count <= self.places:
            return range(1, count + 1)
        part = count / self.places
        return sorted({1 + int((i + self.random.random()) * part) for i in range(self.places)})

    def excuse_words(self, run, whole):
        """HarfBuzz shapes a word without memory as if it had no font, and tells nobody."""
        if run.status == whole.status and (run.hit or "").startswith("libharfbuzz"):
            for name in set(run.files) & set(whole.files):
                if name.endswith(PICTURES) and run.files[name] != whole.files[name]:
                    self.misshapen += 1
                    run.files[name] = whole.files[name]

    def look(self, command, whole, fault, allowed, named=False):
        """One run with a fault; `allowed` tells whether its end is a documented one."""
        run = Run(self, command, fault, named)
        self.runs += 1
        where = f"{command[0]}, {fault}{' named' if named else ''}: "
        if fault.startswith("any"):
            self.excuse_words(run, whole)
        is_same = run.status == whole.status and run.out == whole.out and run.files == whole.files
        is_same = is_same or (whole.status == run.status and whole.err and run.err == whole.err)
        self.checks.check(is_same or allowed(run), where + f"status {run.status}, {run.err.strip()[-300:]!r}")
        for name, content in run.files.items():
            good = [files[name] for files in (whole.files, self.before) if name in files]
            needs_name = named or fault.startswith("rename") or command[0] == "ledger backup"
            is_window = needs_name and fault.endswith("sig9") and name.endswith((".part", *PART_COMPANIONS))
            is_good = content in good or is_window or is_shorter_list(name, content, good)
            self.checks.check(is_good, where + f"'{name}' is there in part or under a temporary name")
        fault_of_ledger = run.check_ledger()
        self.checks.check(fault_of_ledger is None, where + f"the ledger: {fault_of_ledger}")
        run.clear()
        return run


def is_shorter_list(name, content, good):
    """Of several captures, those that failed have a line that says so; each other line is whole."""
    told = (b'"error": {', b"Input/output error", MEMORY.encode())
    lines = [line for line in content.splitlines() if not any(words in line for words in told)]
    return name.endswith((".csv", ".jsonl")) and content.endswith(b"\n") and any(
        [line for line in whole.splitlines() if line in lines] == lines for whole in good)


def is_told(run, *statuses):
    """Ended with one of the statuses, and said so."""
    return run.status in statuses and run.err.startswith("lodecard: ") and len(run.err) > 12


def test_allocations(bench, command, whole):
    for place in bench.choose(whole.counts.get("own", 0)):
        bench.look(command, whole, f"own:{place}:12", lambda run: is_told(run, NO_MEMORY) and MEMORY in run.err)
    for place in bench.choose(whole.counts.get("own", 0))[:1 + bench.places // 8]:
        bench.look(command, whole, f"own:{place}+:12", lambda run: is_told(run, NO_MEMORY) and MEMORY in run.err)


def test_sanitized_allocations(bench, command, whole):
    """Nobody counts: places grow until nothing fails any more. What is freed twice or forgotten on the
    way out of an error shows only here."""
    place, step = 1.0 + 4 * bench.random.random(), 1 + 3 / (bench.places + 1)
    while True:
        run = bench.look(command, whole, f"own:{int(place)}:12", lambda run: is_told(run, NO_MEMORY) and MEMORY in run.err)
        bench.checks.check("Sanitizer" not in run.err and "runtime error" not in run.err,
                           f"{command[0]}, own:{int(place)}: {run.err[-2000:]}")
        if run.status == whole.status and run.status != NO_MEMORY:
            return
        place = max(place + 1, place * (step + 0.2 * bench.random.random()))


def test_library_allocations(bench, command, whole):
    """A library may end the program; what it leaves behind is ours."""
    for place in bench.choose(whole.counts.get("any", 0)):
        run = bench.look(command, whole, f"any:{place}:12",
                         lambda run: is_told(run, NO_MEMORY, IO, 2, 3) or run.status in ABORTS or run.status == 1)
        if run.hit:
            end = "as without" if run.status == whole.status else f"status {run.status}"
            bench.library_ends[run.hit, end] += 1


def is_call_told(command, kind, action):
    """What SQLite makes of a fault is its own: a file that cannot be read counts as damaged, an
    interrupted fsync as failed. A picture needs threads of the library that finds the fonts, which
    ends the program without."""
    is_ledger = command[0].startswith("ledger") or "--ledger" in command[1]

    def judge(run):
        if kind == "thread" and run.status in ABORTS:
            return True
        if is_ledger and kind == "read" and action == errno.EIO and is_told(run, 2):
            return True
        if action in RETRIED.get(kind, ()):
            return is_ledger and kind == "sync" and is_told(run, IO)
        return is_told(run, IO, NO_MEMORY)
    return judge


def test_calls(bench, command, whole):
    for kind in CALLS:
        for action in CALLS[kind] + RETRIED.get(kind, ()):
            for place in bench.choose(whole.counts.get(kind, 0)):
                bench.look(command, whole, f"{kind}:{place}:{action}", is_call_told(command, kind, action))


def test_signals(bench, command, whole):
    for sign in SIGNALS:
        for kind in ("write", "sync", "link", "rename", "create", "own"):
            for place in bench.choose(whole.counts.get(kind, 0))[:None if kind != "own" else 1 + bench.places // 4]:
                bench.look(command, whole, f"{kind}:{place}:sig{int(sign)}", lambda run: run.status == -sign)


def test_named(bench, command, _):
    """The same where files have a name from the beginning; only SIGKILL leaves it."""
    whole = Run(bench, command, named=True)
    for kind in ("create", "write", "sync", "rename"):
        for place in bench.choose(whole.counts.get(kind, 0)):
            bench.look(command, whole, f"{kind}:{place}:{errno.ENOSPC}", lambda run: is_told(run, IO), True)
            bench.look(command, whole, f"{kind}:{place}:sig15", lambda run: run.status == -signal.SIGTERM, True)
    whole.clear()


def test_outputs(bench, command, whole):
    """Standard output that is full, closed, or read by nobody; files that may not grow."""
    words = commands.get_words(command[1], bench.given)
    line = 'exec "$0" "$@"'
    for end, statuses in ((" >/dev/full", (4,)), (" >&-", (4,)), (" | head -c 1 >/dev/null; exit ${PIPESTATUS[0]}", (4, whole.status))):
        folder = tempfile.mkdtemp(dir=bench.work)
        for name in command[2]:
            shutil.copy(os.path.join(bench.given, name), folder)
        script = (line if "|" not in end else '"$0" "$@"') + end
        done = subprocess.run(["bash", "-c", script, PROGRAM, *words], cwd=folder, capture_output=True, text=True, timeout=300)
        bench.runs += 1
        is_silent = not whole.out
        has_failed = 0 < whole.status <= 5 and whole.err
        good = done.returncode in statuses or ((is_silent or has_failed) and done.returncode == whole.status)
        bench.checks.check(good, f"{command[0]}{end}: status {done.returncode}, {done.stderr!r}")
        if "|" not in end and not is_silent:
            bench.checks.check("cannot write to standard output" in done.stderr or whole.status, f"{command[0]}{end}: {done.stderr!r}")
        shutil.rmtree(folder)


PARTS = {"own": test_allocations, "calls": test_calls, "signals": test_signals, "libraries": test_library_allocations,
         "outputs": test_outputs, "named": test_named}


def main():
    words = argparse.ArgumentParser()
    words.add_argument("--all", nargs="?", type=int, const=400, metavar="N")
    words.add_argument("--only", default="", metavar="TEXT")
    words.add_argument("--share", default="1/1", metavar="K/N", help="every N-th command, from the K-th")
    words.add_argument("--kinds", default=",".join(PARTS), help="of " + ", ".join(PARTS))
    asked = words.parse_args()
    with tempfile.TemporaryDirectory(prefix="faults-") as folder:
        bench = Bench(folder, asked.all or 1)
        share, shares = map(int, asked.share.split("/"))
        for i, command in enumerate(commands.COMMANDS):
            if asked.only not in command[0] or i % shares != share - 1:
                continue
            whole = Run(bench, command)
            bench.checks.check(whole.status in (0, 2, 10, 11), f"{command[0]}: {whole.err}")
            if IS_SANITIZED:
                test_sanitized_allocations(bench, command, whole)
            for k, (kind, part) in enumerate(() if IS_SANITIZED else PARTS.items()):
                every = {"own": 1, "named": 9}.get(kind, 3)
                if kind in asked.kinds.split(",") and (asked.all or (i + k) % every == 0):
                    part(bench, command, whole)
            whole.clear()
            if asked.all:
                print(f"{command[0]}: {bench.runs} runs so far, {bench.checks.failed} failed", flush=True)
    if asked.all:
        for (library, end), count in sorted(bench.library_ends.items()):
            print(f"allocation refused to {library}: {end}: {count}")
    if asked.all and bench.misshapen:
        print(f"pictures with a word that is shaped otherwise: {bench.misshapen}")
    print(f"{bench.runs} runs with a fault")
    print(f"{bench.checks.passed} passed, {bench.checks.failed} failed")
    return bench.checks.failed > 0


if __name__ == "__main__":
    sys.exit(main())
