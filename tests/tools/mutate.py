# SPDX-License-Identifier: GPL-3.0-or-later
"""Do the tests notice when the code is wrong? Breaks it in many places, one at a time.

    mutate.py FOLDER [--seed N] [--count N] [--modules a,b] [--jobs N] [--scripts a,b]

FOLDER is a build with its test runner. Each mutant is one change of one place: a comparison, an
operator, a sign, a number, a condition turned round, a statement left out. The places are drawn with
the seed, as many from each module. A mutant's object is compiled alone and linked ahead of the
modules' archive; then the suites run that can reach it, those that call it directly and those that
are quick first, then the scripts, until one fails: the mutant is noticed. A suite that takes ten
times as long as it should, and half a minute at least, notices it, too.

Left out, since no test could notice them: mutants whose machine code is that of the original (by
the text sections of both objects), and statements that only give memory back (the sanitizers see
those). A mutant that does not compile is no mutant. Whatever else survives is shown, to be looked
at. Durations of the suites without mutants stand in FOLDER/mutants/durations.json, which is made
by running all of them once when it is not there.
"""
import argparse
import collections
import concurrent.futures
import glob
import json
import os
import random
import re
import shlex
import subprocess
import sys
import time

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
    for match in NUMBER.finditer(line):
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


def draw_places(modules, count, seed):
    """As many from each module, in an order of their own; more than are wanted, as some fall away."""
    chance = random.Random(seed)
    lists = []
    for module in modules:
        places = [place for file in sorted(glob.glob(f"src/{module}/*.c"))
                  for place in find_places(file)]
        lists.append(chance.sample(places, min(len(places), 3 * count // len(modules) + 3)))
    return [place for group in zip(*lists) for place in group]


def write_mutant(place):
    with open(place.file, encoding="utf-8") as source:
        lines = source.read().split("\n")
    line = lines[place.line]
    lines[place.line] = line[:place.begin] + place.text + line[place.end:]
    return "\n".join(lines), line.strip(), lines[place.line].strip()


def get_symbols(path, defined):
    printed = subprocess.run(["nm", "--defined-only" if defined else "--undefined-only", "-g", path],
                             capture_output=True, text=True, check=True).stdout
    return {words.split()[-1] for words in printed.split("\n") if words}


class Reach:
    """Which suites can reach a file: by calls from object to object, nearest first."""

    def __init__(self, folder):
        objects = [path for path in glob.glob(f"{folder}/*/*.o") if "/bench/" not in path]
        self.needs = {path: get_symbols(path, False) for path in objects}
        self.gives = {path: get_symbols(path, True) for path in objects}
        listed = subprocess.run([f"{folder}/tests/run", "--list"], capture_output=True, text=True,
                                check=True).stdout.split()
        self.suites = {f"{folder}/tests/test_{name}.o": name for name in listed}
        self.folder = folder

    def find(self, file):
        """[(steps, suite)]"""
        start = f"{self.folder}/{file[4:-2]}.o"
        found, border, steps, seen = [], {start}, 0, {start}
        while border:
            symbols = set().union(*(self.gives[path] for path in border))
            border = {path for path, needed in self.needs.items()
                      if path not in seen and needed & symbols and not path.endswith("tests/main.o")}
            seen |= border
            found += [(steps, self.suites[path]) for path in border if path in self.suites]
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
        self.reach = Reach(self.folder)
        flags = subprocess.run(["pkg-config", "--cflags", *options.libraries], capture_output=True,
                               text=True, check=True).stdout.split()
        # What mutants are compiled with: the checks of the release build are of no use here.
        self.compile = ["gcc", "-std=c11", "-D_GNU_SOURCE", "-Isrc", *flags, "-O1", "-w",
                        "-ffp-contract=off", "-fopenmp", "-pthread", "-fPIC",
                        "-fvisibility=hidden", "-c"]
        self.link = shlex.split(options.link)
        os.makedirs(f"{self.folder}/mutants", exist_ok=True)
        self.durations = self.read_durations()
        self.code = {}

    def read_durations(self):
        path = f"{self.folder}/mutants/durations.json"
        if not os.path.exists(path):
            durations = {}
            for suite in self.reach.suites.values():
                began = time.monotonic()
                if not self.run_suite(f"{self.folder}/tests/run", suite, 1200):
                    sys.exit(f"suite {suite} fails without any mutant")
                durations[suite] = time.monotonic() - began
            with open(path, "w", encoding="utf-8") as file:
                json.dump(durations, file, indent=1)
        with open(path, encoding="utf-8") as file:
            return json.load(file)

    def run(self, command, limit, **extra):
        """True when it ends well and in time. What it leaves running goes with it."""
        with subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL, start_new_session=True,
                              env={**os.environ, **extra}) as process:
            try:
                return process.wait(limit) == 0
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, 9)
                return False

    def run_suite(self, program, suite, limit):
        return self.run([program, suite], limit, CK_DEFAULT_TIMEOUT="30")

    def get_original(self, file, at):
        if file not in self.code:
            path = f"{self.folder}/mutants/{at}/original.o"
            subprocess.run([*self.compile, "-o", path, file], check=True)
            self.code[file] = get_code(path)
        return self.code[file]

    def build(self, place, at):
        """The folder with the runner and the program; None: no mutant, or one like the original."""
        folder = f"{self.folder}/mutants/{at}"
        os.makedirs(folder, exist_ok=True)
        words, _, _ = write_mutant(place)
        source = f"{folder}/{os.path.basename(place.file)}"
        with open(source, "w", encoding="utf-8") as file:
            file.write(words)
        made = f"{folder}/mutant.o"
        if subprocess.run([*self.compile, "-o", made, source], capture_output=True,
                          check=False).returncode != 0:
            return None
        if get_code(made) == self.get_original(place.file, at):
            return None
        runner = [f"{self.folder}/{name[:-2]}.o" for name in glob.glob("tests/*.c")]
        self.link_with(f"{folder}/run", runner, made, [f"{self.folder}/cli.a"])
        return folder

    def link_with(self, program, objects, mutant, archives):
        wraps = self.link if program.endswith("/run") else \
            [each for each in self.link if not each.startswith("-Wl,--wrap")]
        subprocess.run(["gcc", "-o", program, *objects, mutant, *archives,
                        f"{self.folder}/modules.a", *wraps], check=True)

    def judge(self, place, at):
        """(what noticed it, None: nothing), or None where there is no mutant."""
        folder = self.build(place, at)
        if folder is None:
            return None
        suites = sorted(self.reach.find(place.file),
                        key=lambda each: (each[0] + 0.5 * self.durations.get(each[1], 1.0)))
        for _, suite in suites:
            if suite in self.options.skip:
                continue
            limit = max(30.0, 10.0 * self.durations.get(suite, 1.0)) * self.options.patience
            if not self.run_suite(f"{folder}/run", suite, limit):
                return (suite,)
        return (self.run_scripts(folder),)

    def run_scripts(self, folder):
        program = f"{folder}/lodecard"
        self.link_with(program, glob.glob(f"{self.folder}/cli/*.o"), f"{folder}/mutant.o", [])
        paths = f"{os.path.abspath(folder)}:{os.environ['PATH']}"
        for script in self.options.scripts:
            if not self.run([sys.executable, script], 1200, LODECARD=os.path.abspath(program),
                            BUILT=folder, PYTHON=sys.executable, PATH=paths, LC_ALL="C.UTF-8"):
                return script
        return None


def read_options():
    parser = argparse.ArgumentParser()
    parser.add_argument("folder")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--modules", default="num,loop,budget,motor,qualify")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--scripts", default="tests/test_examples.py")
    parser.add_argument("--skip", default="bound,held_out")
    parser.add_argument("--patience", type=float, default=1.0, help="on a busy machine")
    parser.add_argument("--libraries", default="sndfile gsl fftw3 jansson")
    parser.add_argument("--link", required=True, help="what the linker gets behind the objects")
    options = parser.parse_args()
    options.scripts = [each for each in options.scripts.split(",") if each]
    options.skip = options.skip.split(",")
    options.libraries = options.libraries.split()
    return options


def main():
    options = read_options()
    bench = Bench(options)
    places = draw_places(options.modules.split(","), options.count, options.seed)
    noticed, survived, left_out = collections.Counter(), [], 0
    with concurrent.futures.ThreadPoolExecutor(options.jobs) as pool:
        at = 0
        while sum(noticed.values()) + len(survived) < options.count and at < len(places):
            wanted = options.count - sum(noticed.values()) - len(survived)
            batch = places[at:at + wanted]
            at += len(batch)
            for place, verdict in zip(batch, pool.map(bench.judge, batch,
                                                      range(at - len(batch), at))):
                _, before, after = write_mutant(place)
                where = f"{place.file}:{place.line + 1}: {place.kind}: '{before}' -> '{after}'"
                if verdict is None:
                    left_out += 1
                elif verdict[0] is None:
                    survived.append(where)
                    print(f"SURVIVED {where}", flush=True)
                else:
                    noticed[verdict[0]] += 1
                    print(f"{verdict[0]:16} {where}", flush=True)
    total = sum(noticed.values())
    print(f"\nseed {options.seed}: {total} of {total + len(survived)} noticed; {left_out} more places"
          " gave no mutant, or the same machine code")
    print("\n".join(survived))
    sys.exit(0 if total >= 0.95 * (total + len(survived)) else 1)


if __name__ == "__main__":
    main()
