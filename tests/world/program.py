# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the program under test: many captures in one call, their results as dictionaries."""
import json
import os
import subprocess

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
PROGRAM = os.environ.get("LODECARD", os.path.join(ROOT, "build", "release", "lodecard"))
BATCH = 400


def run(*words, folder=None):
    """(exit status, standard output, standard error)."""
    done = subprocess.run([PROGRAM, *words], capture_output=True, text=True, timeout=600, cwd=folder)
    return done.returncode, done.stdout, done.stderr


def loop(path, *options):
    """The result of one capture; a failure is {"failure": message, "status": n}."""
    status, out, err = run("loop", path, "--json", "-", *options)
    result = json.loads(out) if out.strip() else {"figures": {}, "notes": []}
    if status:
        result["failure"], result["status"] = err.strip(), status
    return result


def loops(paths, *options):
    """One result a path, in the order of the paths. Captures must have different base names."""
    results = {}
    for start in range(0, len(paths), BATCH):
        part = paths[start:start + BATCH]
        _, out, err = run("loop", *part, "--json-lines", "--jobs", "2", *options)
        for line in out.splitlines():
            result = json.loads(line)
            results[result.get("capture", {}).get("file", "")] = result
        for path in part:
            name = os.path.basename(path)
            if not results.get(name, {}).get("figures"):
                lines = [line for line in err.splitlines() if name in line]
                results[name] = {"figures": {}, "notes": results.get(name, {}).get("notes", []),
                                 "failure": "; ".join(lines) or err[-300:]}
    return [results[os.path.basename(path)] for path in paths]


def codes(result, *levels):
    """The codes of a result's notes, of the given levels or of all."""
    return [n["code"] for n in result.get("notes", []) if not levels or n["level"] in levels]
