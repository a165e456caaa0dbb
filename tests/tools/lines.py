# SPDX-License-Identifier: GPL-3.0-or-later
"""Which lines and branches the tests reached, by gcov's counts through gcovr.

    lines.py FOLDER [--check]

FOLDER is a build of VARIANT=coverage whose tests have run. Prints a line a module, then the files of
the modules that must be reached well, the least reached first; writes FOLDER/lines.txt (all files)
and FOLDER/lines.html with the sources. --check fails when one of those modules is below its share.

All branches count: C has no exceptions, so there are none that only the compiler put there, and what
a failing allocation does is reached by tests in which each allocation fails (tests/scarce.h).
"""
import collections
import json
import subprocess
import sys

# Modules that make numbers, or keep them, and the share of their branches that tests must take.
DEMANDED = {"num": 0.9, "loop": 0.9, "budget": 0.9, "ledger": 0.9, "qualify": 0.9}


def read_counts(folder):
    """{file: [lines reached, lines, branches taken, branches]}"""
    subprocess.run(["gcovr", "--root", ".", "--object-directory", folder, "--filter", "src/",
                    "--json-summary", f"{folder}/lines.json", "--html-details",
                    f"{folder}/lines.html", "--html-title", "Lodecard"], check=True)
    with open(f"{folder}/lines.json", encoding="utf-8") as file:
        return {each["filename"]: [each["line_covered"], each["line_total"],
                                   each["branch_covered"], each["branch_total"]]
                for each in json.load(file)["files"]}


def sum_modules(counts):
    modules = collections.defaultdict(lambda: [0, 0, 0, 0])
    for name, list_ in counts.items():
        module = modules[name.split("/")[1]]
        for i, count in enumerate(list_):
            module[i] += count
    return modules


def get_share(reached, total):
    return reached / total if total else 1.0


def write_line(name, list_, note=""):
    lines, line_total, branches, branch_total = list_
    return (f"{name:34}{lines:6}/{line_total:<6}{100 * get_share(lines, line_total):6.1f} %"
            f"{branches:7}/{branch_total:<6}{100 * get_share(branches, branch_total):6.1f} %{note}")


def main():
    folder = sys.argv[1]
    counts = read_counts(folder)
    modules = sum_modules(counts)
    low = [name for name, share in DEMANDED.items()
           if name not in modules or get_share(*modules[name][2:]) < share]
    print(f"{'':34}{'lines':>13}{'':8}{'branches':>14}")
    for name in sorted(modules):
        wanted = DEMANDED.get(name)
        note = "" if wanted is None else f"  {'BELOW' if name in low else 'of'} {100 * wanted:.0f} %"
        print(write_line(name, modules[name], note))
    by_share = sorted(counts, key=lambda name: get_share(*counts[name][2:]))
    print("\nleast branches, where they must be taken:")
    for name in [name for name in by_share if name.split("/")[1] in DEMANDED][:12]:
        print(write_line(name, counts[name]))
    with open(f"{folder}/lines.txt", "w", encoding="utf-8") as file:
        file.writelines(write_line(name, counts[name]) + "\n" for name in sorted(counts))
    print(f"\nall files: {folder}/lines.txt; with their sources: {folder}/lines.html")
    if "--check" in sys.argv[2:] and low:
        sys.exit(f"too few branches are taken in: {', '.join(low)}")


if __name__ == "__main__":
    main()
