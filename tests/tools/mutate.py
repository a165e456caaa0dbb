# SPDX-License-Identifier: GPL-3.0-or-later
"""Do the tests notice when the code is wrong? Breaks it in many places, one at a time.

    mutate.py FOLDER [--seed N] [--count N] [--modules a,b] [--again | --resume] [--jobs N]

FOLDER is a build with its test runner. Each mutant is one change of one place: a comparison, an
operator, a sign, a number, a condition turned round, a statement left out. The places are drawn with
the seed, as many from each module. A mutant's object is compiled alone and linked ahead of the
modules' archive. Then those tests run that run its line (reach.py): suites, examples of the
documents and scripts, those first that call it directly and those that are quick, until one fails:
the mutant is noticed. A test that takes many times the processor time that it should notices it, too.
When none did, the suites that call it directly run once more, with the mutant's object under the
sanitizers, as .ci/run has it.

Left out, since no test could notice them: mutants whose machine code is that of the original (by
the text sections of both objects, at -O1 or at -O3), statements that only give memory back (the
sanitizers see those), and numbers in what is asked of memory, which would only grow. A mutant that
does not compile is no mutant. Whatever else survives is shown, to be looked at. tests/tools/equal.txt
has those that were looked at and change nothing that can be seen, each with its reason: they are told
apart, and not counted as noticed.

FOLDER/mutants/seed-N.jsonl keeps what became of each: --again takes those that survived, once more;
--resume goes on behind the last.
"""
import argparse
import collections
import concurrent.futures
import functools
import glob
import json
import os
import random
import re
import shlex
import shutil
import subprocess
import sys

from reach import Reach, run_test

SWAPS = {" < ": " <= ", " <= ": " < ", " > ": " >= ", " >= ": " > ", " == ": " != ", " != ": " == ",
         " + ": " - ", " - ": " + ", " * ": " / ", " / ": " * ", " && ": " || ", " || ": " && ",
         " += ": " -= ", " -= ": " += ", " *= ": " /= ", " /= ": " *= ", "++": "--", "--": "++"}
SWAP = re.compile("|".join(re.escape(each) for each in sorted(SWAPS, key=len, reverse=True)))
NUMBER = re.compile(r"(?<![\w.])(\d+\.\d*(?:e[+-]?\d+)?|\d+e[+-]?\d+|\d+)(?![\w.])")
SIGN = re.compile(r"(?<=[(,=?:] )-(?=[\w(])|(?<=\()-(?=[\w(])|(?<=return )-(?=[\w(])")
CONDITION = re.compile(r"^(\s*(?:\} else )?if )\((.*)\) \{$")
STATEMENT = re.compile(r"^\s+[\w>.\[\]*+\-() ]+( [-+*/|&]?= .*|\(.*\)|\+\+|--);$")
DECLARATION = re.compile(r"^\s+(const |static |struct |enum |double |size_t |int |bool |unsigned |"
                         r"uint\d+_t |int64_t |char |void |long |return|gsl_\w+ \*|[\w ]+ \*\w+ =)")
RELEASE = re.compile(r"_(destroy|clear|free)\(|^\s+\(void\)")
ALLOCATION = re.compile(r"memory_(create|resize|reserve)\(")

SURVIVED, EQUAL = "SURVIVED", "EQUAL"
EQUALS = "tests/tools/equal.txt"
# Statistics of many captures and failing system calls: long, and what they reach others reach, too.
SKIP = ("bound,held_out,tests/test_faults.py,tests/world/test_faults.py,tests/world/test_bound.py,"
        "tests/world/test_coverage.py,tests/world/test_against_script.py,tests/test_hardening.py,"
        "tests/test_allocation.sh,tests/test_input_limits.py,tests/test_packages.sh")

Place = collections.namedtuple("Place", "file line begin end text kind")


def blank_out(source):
    """The source with comments, texts and directives as blanks, of the same length."""
    def fill(match):
        return re.sub(r"[^\n]", " ", match.group())
    return re.sub(r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\])*"|\'(?:\\.|[^\'\\])*\'|^#(?:\\\n|[^\n])*',
                  fill, source, flags=re.S | re.M)


def change_number(words):
    if "." in words or "e" in words:
        value = float(words)
        return repr(value * 1.5) if value else "1.0"
    return str(int(words) + 1)


def find_in_line(file, number, line):
    """The places of one line; it is inside a function."""
    for match in SWAP.finditer(line):
        if match.group() == " * " and re.match(r"\s+(const )?\w+ \*", line):
            continue
        yield Place(file, number, match.start(), match.end(), SWAPS[match.group()], "operator")
    for match in () if ALLOCATION.search(line) else NUMBER.finditer(line):
        yield Place(file, number, match.start(), match.end(), change_number(match.group()), "number")
    for match in SIGN.finditer(line):
        yield Place(file, number, match.start(), match.end(), "", "sign")
    match = CONDITION.match(line)
    if match:
        yield Place(file, number, match.start(2), match.end(2), f"!({match.group(2)})", "condition")
    if STATEMENT.match(line) and not DECLARATION.match(line) and not RELEASE.search(line):
        yield Place(file, number, 0, len(line), "", "statement")


def find_places(file):
    with open(file, encoding="utf-8") as source:
        lines = blank_out(source.read()).split("\n")
    inside = False
    for number, line in enumerate(lines):
        if line.startswith("{"):
            inside = True
        elif line.startswith("}"):
            inside = False
        elif inside and not RELEASE.search(line):
            yield from find_in_line(file, number, line)


def find_in_module(module):
    return [place for file in sorted(glob.glob(f"src/{module}/*.c")) for place in find_places(file)]


def draw_places(modules, count, seed):
    """As many from each module, in an order of their own; more than are wanted, as some fall away."""
    chance = random.Random(seed)
    lists = []
    for module in modules:
        places = find_in_module(module)
        lists.append(chance.sample(places, min(len(places), 3 * count // len(modules) + 3)))
    return [place for group in zip(*lists) for place in group]


@functools.cache
def read_lines(file):
    with open(file, encoding="utf-8") as source:
        return source.read().split("\n")


def write_mutant(place):
    """The changed source, and what tells the change from others when lines have moved: the function,
    the line before and after, and how many such lines stand above it."""
    lines = list(read_lines(place.file))
    line = lines[place.line]
    changed = line[:place.begin] + place.text + line[place.end:]
    head = max(at for at in range(place.line) if lines[at].startswith("{"))
    function = re.findall(r"(\w+)\(", " ".join(lines[max(head - 4, 0):head]))
    key = (place.file, function[-1] if function else "", line.strip(), changed.strip(),
           lines[head:place.line].count(line))
    lines[place.line] = changed
    return "\n".join(lines), key


def get_symbols(paths, which):
    """{path: names}"""
    printed = subprocess.run(["nm", "-A", "-g", which, *paths], capture_output=True, text=True,
                             check=True).stdout
    names = {path: set() for path in paths}
    for line in printed.splitlines():
        names[line.split(":")[0]].add(line.split()[-1])
    return names


class Steps:
    """How many calls from object to object lie between a file and the suites of the runner."""

    def __init__(self, folder):
        objects = [path for path in glob.glob(f"{folder}/*/*.o") if "/mutants/" not in path]
        self.needs = get_symbols(objects, "--undefined-only")
        self.gives = get_symbols(objects, "--defined-only")
        self.folder = folder

    def find(self, file):
        """{suite: steps}"""
        start = f"{self.folder}/{file[4:-2]}.o"
        found, border, steps, seen = {}, {start}, 0, {start}
        while border:
            symbols = set().union(*(self.gives[path] for path in border))
            border = {path for path, needed in self.needs.items()
                      if path not in seen and needed & symbols and not path.endswith("tests/main.o")}
            seen |= border
            found |= {os.path.basename(path)[5:-2]: steps for path in border if "/tests/test_" in path}
            steps += 1
        return found


def get_code(path):
    """The instructions of an object, without what the name of the file does to them."""
    printed = subprocess.run(["objdump", "-d", "-r", "-s", "-j", ".text", "-j", ".rodata",
                              "-j", ".rodata.cst8", "-j", ".rodata.cst16", "-j", ".data",
                              "-j", ".data.rel.ro.local", path], capture_output=True, text=True,
                             check=False).stdout
    return printed.split("\n", 3)[-1]


class Bench:
    """Compiles, links and tests mutants in one folder each."""

    def __init__(self, options):
        self.options = options
        self.folder = options.folder.rstrip("/")
        flags = subprocess.run(["pkg-config", "--cflags", *options.libraries], capture_output=True,
                               text=True, check=True).stdout.split()
        # The checks of the release build are of no use here.
        self.compiler = ["gcc", "-std=c11", "-D_GNU_SOURCE", "-Isrc", *flags, "-w", "-ffp-contract=off",
                         "-fopenmp", "-pthread", "-fPIC", "-fvisibility=hidden", "-c"]
        self.ends = shlex.split(options.link)
        os.makedirs(f"{self.folder}/mutants", exist_ok=True)
        self.steps = Steps(self.folder)
        self.reach = Reach(self.folder, options.modules, self.compiler, self.link, options.skip)
        self.code = {}

    def link(self, program, objects, *flags):
        """The runner or the program, with these objects in the place of the modules' own."""
        if program.endswith("/run"):
            parts = [f"{self.folder}/{name[:-2]}.o" for name in glob.glob("tests/*.c")]
            parts.append(f"{self.folder}/cli.a")
            ends = self.ends
        else:
            parts = glob.glob(f"{self.folder}/cli/*.o")
            ends = [each for each in self.ends if not each.startswith("-Wl,--wrap")]
        subprocess.run(["gcc", *flags, "-o", program, *objects, *parts, f"{self.folder}/modules.a",
                        *ends], check=True)

    def compile(self, source, made, *flags):
        return subprocess.run([*self.compiler, *flags, "-o", made, source], capture_output=True,
                              check=False).returncode == 0

    def get_original(self, file, at, flag):
        if (file, flag) not in self.code:
            path = f"{self.folder}/mutants/{at}/original.o"
            self.compile(file, path, flag)
            self.code[file, flag] = get_code(path)
        return self.code[file, flag]

    def build(self, place, at):
        """The folder with the runner; None: no mutant, or one like the original."""
        folder = f"{self.folder}/mutants/{at}"
        os.makedirs(folder, exist_ok=True)
        words, _ = write_mutant(place)
        source = f"{folder}/{os.path.basename(place.file)}"
        with open(source, "w", encoding="utf-8") as file:
            file.write(words)
        if not self.compile(source, f"{folder}/mutant.o", "-O1"):
            return None
        if get_code(f"{folder}/mutant.o") == self.get_original(place.file, at, "-O1"):
            return None
        self.link(f"{folder}/run", [f"{folder}/mutant.o"])
        return folder

    def judge(self, place, at):
        """What became of the mutant: the test that noticed it, SURVIVED, or None: there is none."""
        folder = self.build(place, at)
        if folder is None:
            return None
        try:
            verdict = self.run_tests(place, folder)
            return None if verdict == SURVIVED and self.is_same(place, folder, at) else verdict
        finally:
            shutil.rmtree(folder)

    def is_same(self, place, folder, at):
        """Whether the optimizer makes the same code of both."""
        self.compile(f"{folder}/{os.path.basename(place.file)}", f"{folder}/mutant.o", "-O3")
        return get_code(f"{folder}/mutant.o") == self.get_original(place.file, at, "-O3")

    def run_tests(self, place, folder):
        steps = self.steps.find(place.file)
        seconds = {each: self.reach.tests[each]["seconds"]
                   for each in self.reach.find(place.file, place.line + 1)}
        tests = sorted(seconds, key=lambda each: (seconds[each] + 0.1) * (1 + steps.get(each, 4)))
        left = self.options.seconds
        for test in tests:
            if seconds[test] > left:
                continue
            left -= seconds[test]
            if "." in test and not os.path.exists(f"{folder}/lodecard"):
                self.link(f"{folder}/lodecard", [f"{folder}/mutant.o"])
            if not run_test(test, folder, 5 + 4 * seconds[test]).passed:
                return test
        return self.sanitize(place, folder, [each for each in tests if steps.get(each) == 0
                                            and seconds[each] < 0.1 * self.options.seconds])

    def sanitize(self, place, folder, suites):
        # Variables that were never set hold a pattern: valgrind (make deep) sees those.
        flags = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all",
                 "-ftrivial-auto-var-init=pattern"]
        self.compile(f"{folder}/{os.path.basename(place.file)}", f"{folder}/mutant.o", "-O1", *flags)
        self.link(f"{folder}/run", [f"{folder}/mutant.o"], *flags)
        for suite in suites:
            if not run_test(suite, folder, 1200, memory=False, ASAN_OPTIONS="detect_leaks=0").passed:
                return f"{suite}, sanitized"
        return SURVIVED


def read_equals():
    """{(file, function, line before, line after)} of the mutants that change nothing that can be seen."""
    with open(EQUALS, encoding="utf-8") as file:
        blocks = [block.split("\n") for block in file.read().split("\n\n")]
    return {tuple(line.strip() for line in block[:4]) for block in blocks if len(block) > 4}


def read_options():
    parser = argparse.ArgumentParser()
    parser.add_argument("folder")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--modules", default="num,loop,budget,motor,qualify")
    parser.add_argument("--again", action="store_true", help="only those that survived")
    parser.add_argument("--resume", action="store_true", help="not those that were looked at")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--skip", default=SKIP, help="tests that do not run")
    parser.add_argument("--seconds", type=float, default=60.0,
                        help="of processor time that a mutant is worth; what no test notices within "
                        "them survives")
    parser.add_argument("--libraries", default="sndfile gsl fftw3 jansson")
    parser.add_argument("--link", required=True, help="what the linker gets behind the objects")
    options = parser.parse_args()
    options.skip = options.skip.split(",")
    options.modules = options.modules.split(",")
    options.libraries = options.libraries.split()
    return options


class Record:
    """What became of each place, in a file and in words."""

    def __init__(self, options):
        self.path = f"{options.folder}/mutants/seed-{options.seed}.jsonl"
        self.equals = read_equals()
        self.verdicts = {}
        if options.again or options.resume:
            with open(self.path, encoding="utf-8") as file:
                for line in file:
                    *key, verdict = json.loads(line)
                    self.verdicts[tuple(key)] = verdict
        else:
            open(self.path, "w", encoding="utf-8").close()

    def get(self, place):
        return self.verdicts.get(write_mutant(place)[1], "")

    def add(self, place, verdict):
        key = write_mutant(place)[1]
        if verdict == SURVIVED and key[:4] in self.equals:
            verdict = EQUAL
        self.verdicts[key] = verdict
        with open(self.path, "a", encoding="utf-8") as file:
            print(json.dumps([*key, verdict]), file=file)
        if verdict:
            print(f"{verdict:24} {key[0]}:{place.line + 1}: {place.kind}: '{key[2]}' -> '{key[3]}'",
                  flush=True)

    def forget(self, *verdicts):
        self.verdicts = {key: each for key, each in self.verdicts.items() if each not in verdicts}

    def count(self, *verdicts):
        return sum(each in verdicts for each in self.verdicts.values())

    def total(self):
        return len(self.verdicts) - self.count(None)


def examine(bench, places, record, count):
    """Until so many mutants were judged."""
    with concurrent.futures.ThreadPoolExecutor(bench.options.jobs) as pool:
        at = 0
        while record.total() < count and at < len(places):
            batch = places[at:at + count - record.total()]
            at += len(batch)
            numbers = range(at - len(batch), at)
            for place, verdict in zip(batch, pool.map(bench.judge, batch, numbers)):
                record.add(place, verdict)


def main():
    options = read_options()
    bench = Bench(options)
    record = Record(options)
    if options.again:
        places = [each for module in options.modules for each in find_in_module(module)
                  if record.get(each) in (SURVIVED, EQUAL)]
        options.count = len(places) + record.total() - record.count(SURVIVED, EQUAL)
        record.forget(SURVIVED, EQUAL)
    else:
        places = [each for each in draw_places(options.modules, options.count, options.seed)
                  if record.get(each) == ""]
    examine(bench, places, record, options.count)
    total, equal, survived = record.total(), record.count(EQUAL), record.count(SURVIVED)
    for key, verdict in record.verdicts.items():
        if verdict in (SURVIVED, EQUAL):
            print(f"{verdict:9} {key[0]}, {key[1]}: '{key[2]}' -> '{key[3]}'")
    print(f"seed {options.seed}: {total - equal - survived} of {total} noticed; {equal} of the others change"
          f" nothing that can be seen; {record.count(None)} more places gave no mutant, or the same"
          " machine code")
    sys.exit(0 if total - equal - survived >= 0.95 * total else 1)


if __name__ == "__main__":
    main()
