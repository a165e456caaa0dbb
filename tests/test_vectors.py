# SPDX-License-Identifier: GPL-3.0-or-later
"""gcc's report says that the inner loops which matter are vector code; docs/speed.md names them.

    test_vectors.py           the loops of LOOPS
    test_vectors.py --all     all loops of those files that are vector code, and how wide
"""
import collections
import os
import platform
import re
import shlex
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.dirname(HERE)
sys.path.insert(0, os.path.join(HERE, "world"))
from checks import Checks

BUILT = os.environ.get("BUILT", "build/release")
ANY, WIDER = (16,), (16, 32)  # bytes of a vector; wider: for AVX2 too, chosen when the program is loaded

# (file, function, which of its loops from 1, widths): loops as they stand, wherever they are inlined; 0: the
# straight code that short loops became.
LOOPS = [
    ("num/fold.c", "add_row", 1, WIDER),
    ("loop/survey.c", "look_along", 2, WIDER),
    ("num/random.c", "fill_centre", 1, WIDER),
    ("loop/expansion_wave.c", "expand", 1, WIDER),
    ("loop/expansion_wave.c", "expand", 4, WIDER),
    ("loop/expansion_wave.c", "mix", 1, WIDER),
    ("loop/expansion_wave.c", "find_extremes", 0, WIDER),
    ("loop/expansion_wave.c", "find_crossings", 0, WIDER),
    ("capture/audio.c", "is_all_finite", 1, ANY),
    ("num/periodic.c", "has_missing_value", 1, ANY),
    ("num/periodic.c", "copy_pairs", 1, ANY),
    ("num/fold.c", "thin", 2, ANY),
    ("num/nufft.c", "spread", 1, ANY),
    ("num/nufft.c", "gather", 1, ANY),
    ("num/normal.c", "add_product", 1, ANY),
    ("num/normal.c", "add_product", 2, ANY),
    ("num/normal.c", "add_product", 3, ANY),
    ("num/normal.c", "compute_dot", 1, ANY),
    ("num/normal.c", "scale_residual", 1, ANY),
    ("num/padded.c", "turn", 3, ANY),
    ("num/rough.c", "prepare", 4, ANY),
    ("num/rough.c", "compute_power", 3, ANY),
]


def get_command(path):
    """The words by which the release build compiles a file."""
    target = "build/release/" + path[:-2] + ".o"
    env = {name: value for name, value in os.environ.items() if not name.startswith(("MAKE", "MFLAGS"))}
    printed = subprocess.run(["make", "-n", "V=1", "-W", "src/" + path, target], cwd=TOP, env=env,
                             capture_output=True, text=True, check=True).stdout
    line = next(line for line in printed.splitlines() if "-c" in line.split() and "src/" + path in line.split())
    words = shlex.split(line)
    words[words.index("-o") + 1] = "/dev/null"
    return [word for word in words if word not in ("-MMD", "-MP")]


def read_report(path):
    """{line: widths} of the loops and the straight runs of code that are vector code."""
    words = get_command(path)
    if "Free Software Foundation" not in subprocess.run([words[0], "--version"], capture_output=True, text=True).stdout:
        return None
    told = subprocess.run(words + ["-fopt-info-vec-optimized"], cwd=TOP, capture_output=True, text=True, check=True)
    report = collections.defaultdict(set)
    for line, width in re.findall(r"^src/%s:(\d+):\d+: optimized: .* vectorized using (\d+) byte vectors" % re.escape(path),
                                  told.stderr, re.M):
        report[int(line)].add(int(width))
    return report


def find_loop(path, function, number):
    """The first and the last line of a loop; of straight code gcc names the line of its function."""
    with open(os.path.join(TOP, "src", path), encoding="utf-8") as file:
        lines = file.read().splitlines()
    begin = next(i for i, line in enumerate(lines) if re.match(r"(?!\s|//|/\*| \*).*\b%s\(" % function, line)
                 and not line.endswith(";"))
    if number == 0:
        return begin + 1, begin + 1
    end = lines.index("}", begin)
    heads = [i for i in range(begin, end) if re.match(r"\s+for \(", lines[i])]
    head = heads[number - 1]
    indent = len(lines[head]) - len(lines[head].lstrip())
    last = next(i for i in range(head + 1, end + 1) if lines[i].startswith(" " * indent + "}") or lines[i] == "}")
    return head + 1, last + 1


def main():
    checks = Checks()
    is_release = os.path.basename(BUILT.rstrip("/")) == "release" and platform.machine() == "x86_64"
    reports = {path: read_report(path) for path in dict.fromkeys(row[0] for row in LOOPS)} if is_release else {}
    if not is_release or None in reports.values():
        print("only of the release build, by gcc for x86-64, there is a report")
        checks.check(True, "")
        reports = {}
    for path, function, number, widths in LOOPS if reports else ():
        first, last = find_loop(path, function, number)
        found = set().union(*(reports[path][line] for line in range(first, last + 1)))
        what = f"loop {number}" if number else "straight code"
        checks.check(found >= set(widths),
                     f"src/{path}:{first}: {what} of {function}: vectors of {widths} bytes, not {sorted(found)}")
    if "--all" in sys.argv:
        for path, report in reports.items():
            for line in sorted(line for line in report if report[line]):
                print(f"src/{path}:{line}: {sorted(report[line])}")
    print(f"{checks.passed} passed, {checks.failed} failed")
    return checks.failed > 0


if __name__ == "__main__":
    sys.exit(main())
