#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Time and memory of the main job, beside what it cannot go below.

    run.py FOLDER        the build's folder; captures are made once, in FOLDER/bench

Medians of runs that alternate, so that a slow minute of the machine meets all alike. The limits are
of wall time: on a machine that has other work to do, look at the ratio of processor times instead.
Exit status 1 when a limit is passed.
"""
import os
import statistics
import subprocess
import sys
import time

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SCRIPT = os.path.join(TOP, "tests", "world", "analyse.py")

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


def make_capture(folder, generate, seconds, setup=(RIG, SPECIMEN), name="%d_s"):
    """The path of a capture with rig and specimen beside it."""
    folder = os.path.join(folder, name % seconds)
    path = os.path.join(folder, "ring.wav")
    if not os.path.exists(path):
        os.makedirs(folder, exist_ok=True)
        for name, words in zip(("rig.yaml", "specimen.yaml"), setup):
            with open(os.path.join(folder, name), "w") as file:
                file.write(words)
        with open(path + ".part", "wb") as file:
            subprocess.run([generate, str(seconds)], stdout=file, check=True)
        os.rename(path + ".part", path)
    return path


def measure(command):
    """Wall time (s), processor time (s) and peak memory (MiB) of one run."""
    began = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    wall = time.perf_counter() - began
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        sys.exit("%s: exit status %d" % (" ".join(command), child.returncode))
    return wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def compare(title, commands, runs, base):
    """Prints a table of {name: command}; the medians as {name: (wall, CPU, memory)}."""
    results = {name: [] for name in commands}
    for _ in range(runs):
        for name, command in commands.items():
            results[name].append(measure(command))
    medians = {name: [statistics.median(column) for column in zip(*rows)]
               for name, rows in results.items()}
    print("\n%s; medians of %d alternating runs" % (title, runs))
    print("  %-30s %9s %7s %9s %7s %9s"
          % ("", "wall ms", "ratio", "CPU ms", "ratio", "peak MiB"))
    for name, (wall, cpu, memory) in medians.items():
        print("  %-30s %9.1f %7.2f %9.1f %7.2f %9.1f"
              % (name, 1000 * wall, wall / medians[base][0], 1000 * cpu, cpu / medians[base][1],
                 memory))
    return medians


def judge(what, value, most, unit=""):
    is_over = value > most
    print("  %-30s %9.2f %s (at most %g)%s" % (what, value, unit, most, "  OVER" if is_over else ""))
    return is_over


def bench_long(program, limit, capture):
    commands = {
        "decode": [limit, "decode", capture],
        "decode + SHA-256 (the limit)": [limit, "both", capture],
        "lodecard loop": [program, "loop", capture, "--json", "-"],
    }
    base = "decode + SHA-256 (the limit)"
    found = compare("Ten minutes, 24 bit, 96 kHz, stereo", commands, 5, base)
    over = judge("loop : limit", found["lodecard loop"][0] / found[base][0], 1.5)
    over |= judge("peak memory of loop", found["lodecard loop"][2], 64, "MiB")
    return over


def bench_short(program, limit, capture):
    found = compare("One second of the same, and the start alone", {
        "decode + SHA-256": [limit, "both", capture],
        "lodecard loop": [program, "loop", capture, "--json", "-"],
        "lodecard --help": [program, "--help"],
    }, 15, "decode + SHA-256")
    over = judge("one-second capture", 1000 * found["lodecard loop"][0], 30, "ms")
    return over | judge("--help", 1000 * found["lodecard --help"][0], 8, "ms")


def bench_script(program, capture):
    """The independent script of tests/world fits the same harmonics, all samples in memory."""
    compare("Ten seconds, beside a script with NumPy and SciPy", {
        "lodecard loop": [program, "loop", capture, "--json", "-"],
        "tests/world/analyse.py": [sys.executable, SCRIPT, capture, "25"],
    }, 3, "lodecard loop")


def bench_many(program, capture):
    captures = [capture] * 8
    command = [program, "loop", "--json-lines"]
    found = compare("Eight captures of a minute in one call", {
        "--jobs 1": command + ["--jobs", "1"] + captures,
        "--jobs 2": command + ["--jobs", "2"] + captures,
    }, 5, "--jobs 1")
    speedup = found["--jobs 1"][0] / found["--jobs 2"][0]
    print("  %-30s %9.2f  (at least 1.6 on 2 cores)%s"
          % ("gain by a second core", speedup, "" if speedup >= 1.6 else "  UNDER"))
    return speedup < 1.6


def bench_trials(program, capture):
    """A million trials of one budget; what reading the capture takes is in it."""
    found = {}
    for harmonics in ("64", "99"):
        found[harmonics] = compare("A million trials of one budget, %s harmonics" % harmonics, {
            "no trials": [program, "loop", "--harmonics", harmonics, capture],
            "--trials 1000000": [program, "loop", "--harmonics", harmonics, "--trials", "1000000",
                                 capture],
        }, 3, "--trials 1000000")["--trials 1000000"]
    print("  %-30s %9.2f s" % ("of processor time, 64 harmonics", found["64"][1]))
    return judge("a million trials", found["64"][0], 2, "s on %d cores" % os.cpu_count())


# What people ask of a ledger, and how long it may take (ms).
LEDGER = {"list": 100, "list-heats": 100, "find-first-100": 100, "find-heat": 100, "find-supplier": 100,
          "find-range": 100, "find-range-in-supplier": 100, "lot-heat": 100, "lot-supplier": 100,
          "lots-coercivity": 100, "lots-other-figure": 100}
LOOPS = int(os.environ.get("LODECARD_LOOPS", "1000000"))


def bench_ledger(ledger, path):
    """A ledger of many loops; it is made once, which tells how fast they go in."""
    printed = subprocess.run([ledger, path, str(LOOPS)], stdout=subprocess.PIPE, check=True).stdout
    found, busy = {}, {}
    for line in printed.decode().splitlines():
        name, wall, cpu = line.split()
        found[name], busy[name] = float(wall), float(cpu)
    print("\nA ledger of %d loops; medians of 5 (processor time of the slowest: %.0f ms)"
          % (LOOPS, 1000 * max(busy[name] for name in LEDGER)))
    over = False
    for name in ("add-rate", "add-rate-last-tenth"):
        if name in found:
            over |= found[name] < 2000
            print("  %-30s %9.0f loops/s (at least 2000)%s"
                  % (name, found[name], "  UNDER" if found[name] < 2000 else ""))
    for name, most in LEDGER.items():
        over |= judge(name, 1000 * found[name], most, "ms")
    print("  %-30s %9.2f ms: of nearly all loops, by a condition that no index holds"
          % ("lots-with-condition", 1000 * found["lots-with-condition"]))
    return over


def bench_models(models):
    """Every model on one family of 60 loops, and what a point of its history takes."""
    printed = subprocess.run([models], stdout=subprocess.PIPE, check=True).stdout.decode()
    rows = [line.split() for line in printed.splitlines()]
    fits = {name: float(value) for kind, name, value in rows if kind == "fit"}
    points = {name: float(value) for kind, name, value in rows if kind == "point"}
    total = sum(fits.values())
    print("\nAll models on a family of 60 loops: %.1f s of processor time" % total)
    print("  %-30s %9s %7s %12s" % ("", "fit ms", "share", "point us"))
    for name, seconds in fits.items():
        print("  %-30s %9.1f %6.1f%% %12s" % (name, 1000 * seconds, 100 * seconds / total,
              "%.3f" % (1e6 * points[name]) if name in points else "-"))


def bench_series(program, loops):
    """Sixty loops: normal curve, twelve separations, laws; and the same with the picture."""
    picture = os.path.join(os.path.dirname(program), "bench", "series.svg")
    compare("A series of 60 loops", {
        "lodecard series": [program, "series", loops],
        "with --json and --plot": [program, "series", loops, "--json", picture + ".json", "--plot", picture],
    }, 9, "lodecard series")


def main():
    if len(sys.argv) != 2:
        sys.exit("usage: run.py FOLDER")
    folder = os.path.abspath(sys.argv[1])
    program = os.path.join(folder, "lodecard")
    limit = os.path.join(folder, "bench", "limit")
    made = os.path.join(folder, "bench")
    long, minute, ten, one = (make_capture(made, os.path.join(made, "generate"), seconds)
                              for seconds in (600, 60, 10, 1))
    over = bench_long(program, limit, long)
    over |= bench_short(program, limit, one)
    over |= bench_many(program, minute)
    bench_script(program, ten)
    bench_series(program, os.path.join(TOP, "samples", "series", "loops.jsonl"))
    stated = make_capture(made, os.path.join(made, "generate"), 10,
                          (STATED_RIG, STATED_SPECIMEN), "%d_s_stated")
    over |= bench_trials(program, stated)
    over |= bench_ledger(os.path.join(folder, "bench", "ledger"),
                         os.path.join(made, "%d.ledger" % LOOPS))
    bench_models(os.path.join(folder, "bench", "models"))
    sys.exit(over)


if __name__ == "__main__":
    main()
