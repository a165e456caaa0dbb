#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Time and memory of the main jobs, beside what they cannot go below.

    run.py FOLDER [PART]...     FOLDER: the build's; captures are made once, in FOLDER/bench
    run.py FOLDER --write ...   puts the tables into docs/speed.md as well (the jobs only all together)
    run.py --help               the parts there are (without any: all but the two longest)

Prints one table of jobs and then the curves, as they stand in docs/speed.md. A figure is the median
of runs that alternate with those of its limit, so that a slow minute of the machine meets all alike;
the spread is the distance of the quartiles of those runs, over the median: the machine's noise, below
which no difference means anything. Exit status 1 when a limit is passed.

LODECARD_LOOPS: how many loops the largest ledger has (1000000).
"""
import math
import os
import statistics
import subprocess
import sys
import time

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SCRIPT = os.path.join(TOP, "tests", "world", "analyse.py")
SPEED = os.path.join(TOP, "docs", "speed.md")
SERIES = os.path.join(TOP, "samples", "series", "loops.jsonl")
IS_WRITING = "--write" in sys.argv
LOOPS = int(os.environ.get("LODECARD_LOOPS", "1000000"))

RIG = """name: benchmark
inputs:
  excitation:
    channel: 1
    full_scale: 1.5 V
    shunt: 0.1 ohm
  pickup:
    channel: 2
    full_scale: 1.5 V
winding:
  primary_turns: 200
  secondary_turns: 100
"""
SPECIMEN = """name: benchmark
ring:
  outer_diameter: 40 mm
  inner_diameter: 32 mm
  height: 6 mm
"""
# The same bench with everything uncertain, for the Monte Carlo.
STATED_RIG = """name: benchmark
inputs:
  excitation: {channel: 1, full_scale: 1.5 V ± 5 mV, shunt: 0.1 ohm ± 0.1 mohm}
  pickup: {channel: 2, full_scale: 1.5 V ± 5 mV, divider: 1 ± 0.002}
timing: {pickup_delay: 0 us ± 0.3 us, clock: 1 ± 1e-5}
coupling: {corner: 1 Hz ± 0.05 Hz}
winding: {primary_turns: 200, secondary_turns: 100, secondary_area: 30 mm2 ± 2 mm2}
"""
STATED_SPECIMEN = """name: benchmark
ring:
  outer_diameter: 40 mm ± 0.02 mm
  inner_diameter: 32 mm ± 0.02 mm
  height: 6 mm ± 0.02 mm
  density: 8100 kg/m3 ± 20 kg/m3
"""


class Bench:
    """The programs, the captures, and the rows of the table so far."""

    def __init__(self, folder):
        self.folder = os.path.abspath(folder)
        self.program = os.path.join(self.folder, "lodecard")
        self.made = os.path.join(self.folder, "bench")
        self.limit = self.tool("limit")
        self.rows, self.is_over = [], False

    def tool(self, name):
        return os.path.join(self.made, name)

    def capture(self, seconds, channels=2, setup=(RIG, SPECIMEN), name=""):
        """The path of a capture with rig and specimen beside it."""
        folder = os.path.join(self.made, "%d_s%s%s" % (seconds, "_%d" % channels if channels != 2 else "", name))
        path = os.path.join(folder, "ring.wav")
        if not os.path.exists(path):
            os.makedirs(folder, exist_ok=True)
            write_setup(folder, setup)
            with open(path + ".part", "wb") as file:
                subprocess.run([self.tool("generate"), str(seconds), str(channels)], stdout=file, check=True)
            os.rename(path + ".part", path)
        return path

    def loop(self, capture, *options):
        return [self.program, "loop", capture, "--json", "-", *options]

    def add(self, job, limit, ours, ratio, most, spread, is_over=None):
        """A row; `most` is what `ratio` or, where there is none, `ours` may be."""
        is_over = bool(is_over)
        self.is_over |= is_over
        self.rows.append((job, limit, ours, "%.2f" % ratio if ratio is not None else "", most + (" **OVER**" if is_over else ""),
                          "%.0f %%" % (100 * spread) if spread is not None else ""))
        print("measured: " + job, file=sys.stderr)

    def print_table(self, is_whole):
        if self.rows: # a part of them takes no place in the document
            print_table("jobs" if is_whole else "", ("job", "limit", "ours", "ratio", "at most", "spread"), self.rows)


def write_setup(folder, setup):
    for name, words in zip(("rig.yaml", "specimen.yaml"), setup):
        with open(os.path.join(folder, name), "w") as file:
            file.write(words)


def print_table(name, head, rows):
    """A table as documents have it, its columns even to the eye."""
    lines = format_table(head, rows)
    print("\n".join(lines) + "\n", flush=True)
    if IS_WRITING and name:
        with open(SPEED, encoding="utf-8") as file:
            before, mark, after = file.read().partition("<!-- bench: %s -->\n" % name)
        if mark:
            rest = after.splitlines()
            while rest and rest[0].startswith("|"):
                rest.pop(0)
            with open(SPEED, "w", encoding="utf-8") as file:
                file.write(before + mark + "\n".join(lines + rest) + "\n")


def format_table(head, rows):
    rows = [[str(cell) for cell in row] for row in rows]
    widths = [max(len(row[i]) for row in [list(head)] + rows) for i in range(len(head))]
    lines = []
    for row in [head, ["-" * (widths[0])] + ["-" * (width - 1) + ":" for width in widths[1:]]] + rows:
        cells = [row[0].ljust(widths[0])] + [cell.rjust(width) for cell, width in zip(row[1:], widths[1:])]
        lines.append("| " + " | ".join(cells) + " |")
    return lines


# ------------------------------------------------------------------------------- measuring

def measure(command, core=None, source=None):
    """Wall time (s), processor time (s) and peak memory (MiB) of one run, on one core if asked."""
    began = time.perf_counter()
    bind = (lambda: os.sched_setaffinity(0, {core})) if core is not None else None
    child = subprocess.Popen(command, stdin=source, stdout=subprocess.DEVNULL, preexec_fn=bind)
    _, status, usage = os.wait4(child.pid, 0)
    wall = time.perf_counter() - began
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        sys.exit("%s: exit status %d" % (" ".join(command[:8]), child.returncode))
    return wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def compare(commands, runs, cores=None):
    """{name: Result} of {name: command}, in alternating runs; `cores` binds some to one core."""
    results = {name: [] for name in commands}
    for _ in range(runs):
        for name, command in commands.items():
            results[name].append(measure(command, (cores or {}).get(name)))
    return {name: Result(rows) for name, rows in results.items()}


class Result:
    def __init__(self, rows):
        walls, cpus, memories = zip(*rows)
        self.wall, self.cpu = statistics.median(walls), statistics.median(cpus)
        self.memory = max(memories)
        low, _, high = statistics.quantiles(walls, n=4, method="inclusive") if len(walls) > 1 else (0, 0, 0)
        self.spread = (high - low) / self.wall


def tell(seconds):
    """A time in a fitting unit."""
    if seconds < 1:
        return "%.3g ms" % (1000 * seconds) if seconds < 0.9995 else "1.00 s"
    return "%.2f s" % seconds if seconds < 100 else "%.0f s" % seconds


# ------------------------------------------------------------------------------- the jobs

def bench_long(bench):
    """ten minutes of 24 bit, 96 kHz, stereo"""
    capture = bench.capture(600)
    found = compare({"decode": [bench.limit, "decode", capture], "limit": [bench.limit, "both", capture],
                     "loop": bench.loop(capture)}, 5)
    limit, ours = found["limit"], found["loop"]
    ratio = ours.wall / limit.wall
    bench.add("`loop`, ten minutes, over decode + SHA-256", tell(limit.wall), tell(ours.wall), ratio, "1.5", ours.spread,
              ratio > 1.5)
    bench.add("the same, processor time", tell(limit.cpu), tell(ours.cpu), ours.cpu / limit.cpu, "", None)
    decode = found["decode"]
    alone = ours.wall / decode.wall
    few = (os.cpu_count() or 1) < 2
    bench.add("the same, over decode alone", tell(decode.wall), tell(ours.wall), alone, "2", decode.spread,
              not few and alone > 2)
    bench.add("peak memory", "", "%.0f MiB" % ours.memory, None, "64 MiB", None, ours.memory > 64)


def bench_short(bench):
    """one second of the same, and the start alone"""
    capture = bench.capture(1)
    found = compare({"limit": [bench.limit, "both", capture], "nothing": ["/bin/true"], "loop": bench.loop(capture),
                     "help": [bench.program, "--help"]}, 25)
    bench.add("`loop`, one second", tell(found["limit"].wall), tell(found["loop"].wall),
              found["loop"].wall / found["limit"].wall, "30 ms", found["loop"].spread, found["loop"].wall > 0.030)
    bench.add("`--help`, over /bin/true", tell(found["nothing"].wall), tell(found["help"].wall),
              found["help"].wall / found["nothing"].wall, "8 ms", found["help"].spread, found["help"].wall > 0.008)


def bench_few_cycles(bench):
    """twenty cycles: the fit of every sample"""
    capture = bench.capture(1)
    found = compare({"all": bench.loop(capture), "part": bench.loop(capture, "--length", "0.4")}, 9)
    bench.add("`loop`, 0.4 s of it: 20 cycles", tell(found["all"].wall), tell(found["part"].wall),
              found["part"].wall / found["all"].wall, "", found["part"].spread)


def bench_jobs(bench):
    """eight captures of a minute: two cores over one"""
    command = [bench.program, "loop", "--json-lines"]
    captures = [bench.capture(60)] * 8
    found = compare({"core": command + ["--jobs", "1"] + captures, "one": command + ["--jobs", "1"] + captures,
                     "two": command + ["--jobs", "2"] + captures}, 5, {"core": 0})
    gain = found["core"].wall / found["two"].wall
    few = (os.cpu_count() or 1) < 2
    bench.add("8 minutes with `--jobs 2`: gain over one core", tell(found["core"].wall), tell(found["two"].wall), gain,
              "at least 1.8", found["two"].spread, not few and gain < 1.8)
    bench.add("the same, over `--jobs 1` on both", tell(found["one"].wall), tell(found["two"].wall),
              found["one"].wall / found["two"].wall, "", found["one"].spread)


def make_table(bench, rows, digits):
    path = os.path.join(bench.made, "table_%d.csv" % digits)
    if not os.path.exists(path):
        with open(path + ".part", "w") as file:
            file.write("time (s),excitation (V),pickup (V)\n")
            for n in range(rows):
                turn = 2 * math.pi * 20.0123 * n / 10000
                file.write("%.4f,%.*g,%.*g\n" % (n / 10000, digits, 0.7 * math.sin(turn), digits,
                                                 0.35 * math.cos(turn - 0.6) + 0.1 * math.cos(3 * turn)))
        os.rename(path + ".part", path)
    return path


def bench_table(bench):
    """reading tables of numbers with 7 and with 17 digits"""
    for digits in (7, 17):
        path = make_table(bench, 500000, digits)
        printed = subprocess.run([bench.tool("table"), path], stdout=subprocess.PIPE, check=True).stdout.decode()
        found = {name: float(value) for name, value in map(str.split, printed.splitlines())}
        bench.add("reading a table, %d digits, over strtod alone" % digits, "%.0f MB/s" % (found["strtod"] / 1e6),
                  "%.0f MB/s" % (found["reader"] / 1e6), found["strtod"] / found["reader"], "at least 200 MB/s", None,
                  found["reader"] < 200e6)


def bench_script(bench):
    """the independent script of tests/world fits the same harmonics, all samples in memory"""
    capture = bench.capture(10)
    found = compare({"script": [sys.executable, SCRIPT, capture, "25"], "loop": bench.loop(capture)}, 3)
    script, ours = found["script"], found["loop"]
    bench.add("`loop`, ten seconds, over a script with SciPy", tell(script.wall), tell(ours.wall), ours.wall / script.wall,
              "", ours.spread)
    bench.add("peak memory of that, over the script's", "%.0f MiB" % script.memory, "%.0f MiB" % ours.memory,
              ours.memory / script.memory, "", None)


def bench_series(bench):
    """sixty loops: normal curve, twelve separations, laws; and the same with the picture"""
    picture = os.path.join(bench.made, "series.svg")
    found = compare({"plain": [bench.program, "series", SERIES],
                     "picture": [bench.program, "series", SERIES, "--json", picture + ".json", "--plot", picture]}, 9)
    bench.add("`series` of 60 loops", "", tell(found["plain"].wall), None, "", found["plain"].spread)
    bench.add("the same with its picture", tell(found["plain"].wall), tell(found["picture"].wall),
              found["picture"].wall / found["plain"].wall, "", found["picture"].spread)


def bench_trials(bench):
    """a million trials of one budget; what reading the capture takes is in it"""
    capture = bench.capture(10, 2, (STATED_RIG, STATED_SPECIMEN), "_stated")
    for harmonics, most in (("64", 2), ("99", None)):
        plain = [bench.program, "loop", "--harmonics", harmonics, capture]
        found = compare({"plain": plain, "trials": plain + ["--trials", "1000000"]}, 3)
        trials = found["trials"]
        bench.add("a million trials, %s harmonics" % harmonics, tell(found["plain"].wall), tell(trials.wall), None,
                  "%d s" % most if most else "", trials.spread, most and trials.wall > most)


def bench_models(bench):
    """every model on one family of 60 loops, and what a point of its history takes"""
    printed = subprocess.run([bench.tool("models")], stdout=subprocess.PIPE, check=True).stdout.decode()
    rows = [line.split() for line in printed.splitlines()]
    fits = {name: float(value) for kind, name, value in rows if kind == "fit"}
    points = {name: float(value) for kind, name, value in rows if kind == "point"}
    bench.add("all models of 60 loops, processor time", "", tell(sum(fits.values())), None, "", None)
    print_table("models", ("model", "fit of 60 loops", "share", "a point of history"),
                [(name, tell(seconds), "%.0f %%" % (100 * seconds / sum(fits.values())),
                  "%.3f us" % (1e6 * points[name]) if name in points else "") for name, seconds in fits.items()])


# ------------------------------------------------------------------------------- the curves

def curve_length(bench):
    """cost against length"""
    rows = []
    for seconds in (1, 10, 60, 600):
        capture = bench.capture(seconds)
        found = compare({"limit": [bench.limit, "both", capture], "loop": bench.loop(capture)}, 5)
        limit, ours = found["limit"], found["loop"]
        rows.append(("%d s" % seconds, tell(limit.wall), tell(ours.wall), "%.2f" % (ours.wall / limit.wall),
                     "%.1f ns" % (1e9 * ours.wall / (96000 * seconds)), "%.0f MiB" % ours.memory,
                     "%.0f %%" % (100 * ours.spread)))
    print_table("length", ("length", "limit", "ours", "ratio", "a frame", "memory", "spread"), rows)


def curve_channels(bench):
    """cost against the file's channels, two of which are used, and against the harmonics"""
    rows = []
    for channels in (2, 4, 8):
        capture = bench.capture(60, channels)
        found = compare({"limit": [bench.limit, "both", capture], "loop": bench.loop(capture)}, 5)
        limit, ours = found["limit"], found["loop"]
        rows.append(("%d channels" % channels, tell(limit.wall), tell(ours.wall), "%.2f" % (ours.wall / limit.wall),
                     "%.0f %%" % (100 * ours.spread)))
    capture = bench.capture(60)
    limit = compare({"limit": [bench.limit, "both", capture]}, 5)["limit"]
    for harmonics in (8, 32, 128, 512):
        ours = compare({"loop": bench.loop(capture, "--harmonics", str(harmonics))}, 5)["loop"]
        rows.append(("%d harmonics" % harmonics, tell(limit.wall), tell(ours.wall), "%.2f" % (ours.wall / limit.wall),
                     "%.0f %%" % (100 * ours.spread)))
    print_table("channels", ("60 s with", "limit", "ours", "ratio", "spread"), rows)


def make_survey(bench, count):
    """A list of so many captures of a second, which are one file by many names."""
    folder = os.path.join(bench.made, "survey")
    first = bench.capture(1)
    os.makedirs(folder, exist_ok=True)
    write_setup(folder, (RIG, SPECIMEN))
    path = os.path.join(folder, "%d.jsonl" % count)
    with open(path, "w") as file:
        for n in range(count):
            name = os.path.join(folder, "%06d.wav" % n)
            if not os.path.lexists(name):
                os.symlink(first, name)
            file.write('{"capture": "%s"}\n' % name)
    return path


def curve_captures(bench, counts=(100, 1000, 10000), name="captures"):
    """cost against the number of captures, one second each, two at a time"""
    rows = []
    for count in counts:
        survey = make_survey(bench, count)
        ours = compare({"loop": [bench.program, "loop", "--list", survey, "--jobs", "0", "--json-lines"]},
                       3 if count < 5000 else 1)["loop"]
        rows.append(("%d" % count, tell(ours.wall), "%.2f ms" % (1000 * ours.wall / count), "%.0f MiB" % ours.memory,
                     "%.0f %%" % (100 * ours.spread) if count < 5000 else ""))
    print_table(name, ("captures", "ours", "each", "memory", "spread"), rows)


def curve_survey(bench):
    """a hundred thousand captures (long: a quarter of an hour)"""
    curve_captures(bench, (100000,), "survey")


# What people ask of a ledger, and how long it may take (ms).
LEDGER = {"list": 100, "list-heats": 100, "find-first-100": 100, "find-heat": 100, "find-supplier": 100,
          "find-range": 100, "find-range-in-supplier": 100, "lot-heat": 100, "lot-supplier": 100,
          "lots-coercivity": 100, "lots-other-figure": 100}


def curve_ledger(bench):
    """ledgers of 1000 loops to a million: adding, and what people ask"""
    found, sizes = {}, [size for size in (1000, 10000, 100000, 1000000) if size < LOOPS] + [LOOPS]
    for size in sizes:
        path = os.path.join(bench.made, "%d.ledger" % size)
        rate = path + ".rate"
        printed = subprocess.run([bench.tool("ledger"), path, str(size)], stdout=subprocess.PIPE, check=True).stdout.decode()
        found[size] = {name: float(wall) for name, wall, _ in map(str.split, printed.splitlines())}
        if "add-rate" in found[size]:
            with open(rate, "w") as file:
                file.write("%g %g" % (found[size]["add-rate"], found[size]["add-rate-last-tenth"]))
        elif os.path.exists(rate):
            with open(rate) as file:
                found[size]["add-rate"], found[size]["add-rate-last-tenth"] = map(float, file.read().split())
    largest, rows = found[sizes[-1]], []
    for name in ("add-rate", "add-rate-last-tenth"):
        if name in largest:
            bench.is_over |= largest[name] < 2000
            rows.append([name] + ["%.0f /s" % found[size].get(name, math.nan) for size in sizes] + ["at least 2000 /s"])
    for name, most in list(LEDGER.items()) + [("lots-with-condition", 0)]:
        bench.is_over |= 0 < most < 1000 * largest[name]
        rows.append([name] + ["%.2f ms" % (1000 * found[size][name]) for size in sizes] +
                    ["%d ms" % most if most else ""])
    print_table("ledger", ["loops in the ledger"] + ["%d" % size for size in sizes] + ["at most"], rows)


def curve_hours(bench, lengths=(600, 3600, 36000)):
    """ten hours from a pipe (long: some minutes)"""
    folder = os.path.dirname(bench.capture(1))
    rows = []
    for seconds in lengths:
        maker = subprocess.Popen([bench.tool("generate"), str(seconds)], stdout=subprocess.PIPE)
        ours = Result([measure([bench.program, "loop", "-", "--rig", os.path.join(folder, "rig.yaml"), "--specimen",
                                os.path.join(folder, "specimen.yaml")], source=maker.stdout)])
        maker.stdout.close()
        maker.wait()
        rows.append(("%g h" % (seconds / 3600) if seconds >= 3600 else "%g min" % (seconds / 60), tell(ours.wall), tell(ours.cpu),
                     "%.1f ns" % (1e9 * ours.cpu / (96000 * seconds)), "%.0f MiB" % ours.memory))
    print_table("hours", ("from a pipe", "wall, with its maker", "processor time", "a frame", "memory"), rows)


JOBS = {"long": bench_long, "short": bench_short, "cycles": bench_few_cycles, "jobs": bench_jobs, "table": bench_table,
        "script": bench_script, "series": bench_series, "trials": bench_trials, "models": bench_models}
CURVES = {"length": curve_length, "channels": curve_channels, "captures": curve_captures, "ledger": curve_ledger}
LONGEST = {"hours": curve_hours, "survey": curve_survey}


def main():
    parts = {**JOBS, **CURVES, **LONGEST}
    wanted = [word for word in sys.argv[2:] if word != "--write"] or list(JOBS) + list(CURVES)
    if len(sys.argv) < 2 or sys.argv[1].startswith("-") or not set(wanted) <= set(parts):
        print("usage: run.py FOLDER [PART]...")
        for name, part in parts.items():
            print("  %-10s %s" % (name, part.__doc__))
        sys.exit(2)
    bench = Bench(sys.argv[1])
    for name in wanted:
        if name in JOBS:
            parts[name](bench)
    bench.print_table(set(JOBS) <= set(wanted))
    for name in wanted:
        if name not in JOBS:
            parts[name](bench)
    sys.exit(bench.is_over)


if __name__ == "__main__":
    main()
