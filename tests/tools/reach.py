# SPDX-License-Identifier: GPL-3.0-or-later
"""Which test runs which lines of some modules, for mutate.py: a change of a line that a test does
not run is none that it could notice.

The modules are compiled once more, each block of instructions calling tests/tools/reach.c, and every
test runs once with them: suites of the runner, files of examples, scripts. FOLDER/mutants/reach.json
keeps the lines and the processor time of each; a test runs again when its file or one of the modules
changed. A test that fails like this, with no mutant, is left out and told.
"""
import bisect
import collections
import glob
import hashlib
import json
import os
import re
import resource
import signal
import subprocess
import sys
import threading

INSTRUMENT = ["-Og", "-g1", "-fsanitize-coverage=trace-pc", "-fno-optimize-sibling-calls"]
FAILED = re.compile(r"not ok|FAILED|\S+:\d+: \$ |Traceback")
PLACE = re.compile(r".*/(src/\w+/\w+\.c):(\d+)")
SITE = re.compile(r"\s*([0-9a-f]+):\tcall +[0-9a-f]+ <__sanitizer_cov_trace_pc")
Outcome = collections.namedtuple("Outcome", "passed seconds")


def limit_process(seconds, memory):
    os.setsid()
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 2))
    if memory:
        resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))


def run(command, seconds, memory=True, **extra):
    """Runs a test until its end or its first failure; no process of it may take longer."""
    process = subprocess.Popen(
        command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        env={**os.environ, "PYTHONUNBUFFERED": "1", "PYTHONDONTWRITEBYTECODE": "1", **extra},
        preexec_fn=lambda: limit_process(int(seconds) + 1, memory))
    kill = lambda: os.killpg(process.pid, signal.SIGKILL)
    timer = threading.Timer(40 * seconds + 300, kill)
    timer.start()
    failed = False
    for line in process.stdout:
        if FAILED.match(line.decode("utf-8", "replace")):
            failed = True
            kill()
            break
    process.stdout.close()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = status
    timer.cancel()
    return Outcome(not failed and status == 0, used.ru_utime + used.ru_stime)


def run_test(name, folder, seconds, memory=True, **extra):
    """A suite, a text with examples or a script, with the programs in a folder."""
    folder = os.path.abspath(folder)
    if name.endswith((".txt", ".md")):
        command = [sys.executable, "tests/tools/examples.py", "check", name]
    elif name.endswith(".py"):
        command = [sys.executable, name]
    else:
        command = [f"{folder}/run", name]
    return run(command, seconds, memory, CK_TAP_LOG_FILE_NAME="-", CK_VERBOSITY="silent",
               CK_TIMEOUT_MULTIPLIER="50", LODECARD=f"{folder}/lodecard", BUILT=folder,
               PYTHON=sys.executable, PATH=f"{folder}:{os.environ['PATH']}", LC_ALL="C.UTF-8", **extra)


def find_texts_and_scripts():
    return sorted(glob.glob("tests/golden/*.txt") + glob.glob("*.md") + glob.glob("docs/*.md")
                  + glob.glob("docs/manual/*.md") + glob.glob("tests/test_*.py")
                  + glob.glob("tests/world/test_*.py"))


def get_file(test):
    return test if "." in test else f"tests/test_{test}.c"


def digest(names):
    sums = hashlib.sha256()
    for name in sorted(names):
        with open(name, "rb") as file:
            sums.update(file.read())
    return sums.hexdigest()


def read_sites(program):
    """([address behind a call of the trace function], [lines of that block])."""
    addresses, blocks, place, block = [], [], None, None
    with subprocess.Popen(["objdump", "-d", "-l", "--no-show-raw-insn", program],
                          stdout=subprocess.PIPE, text=True) as listing:
        for line in listing.stdout:
            if line.endswith(">:\n"):
                block, waiting = None, []
                place = None
            elif line.startswith("/"):
                match = PLACE.match(line)
                place = (match.group(1), int(match.group(2))) if match else None
                if place:
                    (waiting if block is None else block).append(place)
            elif SITE.match(line):
                fresh = block is None
                block = list(waiting) if fresh else []
                if place:
                    block.append(place)
                blocks.append(block)
                addresses.append(int(SITE.match(line).group(1), 16) + 5)
    return addresses, blocks


def find_lines(blocks):
    """{file: [line]}"""
    lines = collections.defaultdict(set)
    for block in blocks:
        for source, line in block:
            lines[source].add(line)
    return {source: sorted(each) for source, each in lines.items()}


def is_newer(path, folder):
    """Whether the file is newer than all sources and headers."""
    return os.path.exists(path) and os.path.getmtime(path) > max(
        os.path.getmtime(each) for each in glob.glob(f"{folder}/*/*.[ch]"))


class Reach:
    """`tests`: {name: {"seconds", "lines": {file: [line]}}}; lines count from 1."""

    def __init__(self, folder, modules, compiler, link, skip):
        self.folder = folder
        self.path = f"{folder}/mutants/reach.json"
        self.sources = [path for each in modules for path in sorted(glob.glob(f"src/{each}/*.c"))]
        self.tests, self.known = {}, {}
        self.read()
        suites = subprocess.run([f"{folder}/tests/run", "--list"], capture_output=True, text=True,
                                check=True).stdout.split()
        names = [each for each in suites + find_texts_and_scripts() if each not in skip]
        self.tests = {each: self.tests[each] for each in names if each in self.tests}
        state = {each: digest([get_file(each)]) for each in names}
        missing = [each for each in names
                   if self.tests.get(each, {}).get("digest") != state[each]]
        if missing:
            program = self.build(compiler, link)
            sites = {name: read_sites(f"{program}/{name}") for name in ("run", "lodecard")}
            self.known = find_lines(block for _, blocks in sites.values() for block in blocks)
            for each in missing:
                self.measure(each, program, sites, state[each])
        self.lines = {each: {file: set(lines) for file, lines in test["lines"].items()}
                      for each, test in self.tests.items()}

    def read(self):
        if os.path.exists(self.path):
            with open(self.path, encoding="utf-8") as file:
                kept = json.load(file)
            if kept["sources"] == digest(self.sources):
                self.tests, self.known = kept["tests"], kept["known"]

    def write(self):
        with open(self.path, "w", encoding="utf-8") as file:
            json.dump({"sources": digest(self.sources), "known": self.known,
                       "tests": self.tests}, file)

    def build(self, compiler, link):
        made = f"{self.folder}/mutants/reach"
        os.makedirs(made, exist_ok=True)
        objects = []
        for source in self.sources:
            objects.append(f"{made}/{source[4:-2].replace('/', '-')}.o")
            if not is_newer(objects[-1], "src"):
                subprocess.run([*compiler, *INSTRUMENT, "-o", objects[-1], os.path.abspath(source)],
                               check=True)
        subprocess.run(["gcc", "-O1", "-fPIC", "-c", "-o", f"{made}/reach.o", "tests/tools/reach.c"],
                       check=True)
        for name in ("run", "lodecard"):
            link(f"{made}/{name}", [*objects, f"{made}/reach.o"])
        return made

    def measure(self, test, program, sites, state):
        trace = os.path.abspath(f"{program}/trace")
        if os.path.exists(trace):
            os.remove(trace)
        outcome = run_test(test, program, 1200, LODECARD_REACH=trace)
        lines = {}
        if os.path.exists(trace):
            with open(trace, "rb") as file:
                seen = file.read()
            addresses, blocks = sites["lodecard" if "." in test else "run"]
            lines = find_lines(block for address, block in zip(addresses, blocks) if seen[address])
        if not outcome.passed:
            print(f"left out, for it fails without a mutant: {test}", flush=True)
        self.tests[test] = {"digest": state, "passed": outcome.passed, "seconds": outcome.seconds,
                            "lines": lines}
        self.write()

    def find(self, source, line):
        """The tests that run the line or, if it has no instructions, a line beside it."""
        known = self.known.get(source, [])
        at = bisect.bisect_left(known, line)
        near = {line} if known[at:at + 1] == [line] else set(known[max(at - 1, 0):at + 1])
        return [each for each, lines in self.lines.items()
                if self.tests[each]["passed"] and near & lines.get(source, set())]
