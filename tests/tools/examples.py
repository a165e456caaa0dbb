#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs the command lines that stand in texts and compares what they print.

    examples.py check|rewrite FILE...

In tests/golden/*.txt the whole file counts, in *.md the blocks that begin with ```console:

    $ lodecard loop samples/ring.flac | head -1      a command (a backslash at the end goes on below)
    what it prints, standard output and standard error in one
    [exit 2]                                         its exit status; without this line, 0

A file's commands run one after another in the same scratch folder, which holds a copy of samples/
and sees tests/ and the build. In Markdown, a line "..." stands for any number of lines. Numbers of
13 and more digits need to agree to 1e-9 only: processors round differently in the last places.
`rewrite` puts down what is printed now: read the difference before you commit it.
"""
import difflib
import os
import re
import shutil
import subprocess
import sys
import tempfile

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LONG_NUMBER = re.compile(r"-?\d[\d.]{12,}(?:e[+-]?\d+)?")
SECONDS = 300


class Example:
    """One command with its expected output; `lines` is what stands in the file."""

    def __init__(self, number, command):
        self.number = number
        self.command = command
        self.output = []
        self.status = None


def split(name, lines):
    """The file as a list of plain lines and examples, in order."""
    parts = []
    is_markdown = name.endswith(".md")
    inside = not is_markdown
    example = None
    for number, line in enumerate(lines, 1):
        if is_markdown and line.startswith("```"):
            inside = line.strip() == "```console"
            example = None
            parts.append(line)
        elif inside and line.startswith("$ "):
            example = Example(number, [line])
            parts.append(example)
        elif example is None:
            parts.append(line)
        elif example.command[-1].endswith("\\") and not example.output:
            example.command.append(line)
        elif re.fullmatch(r"\[exit \d+\]", line):
            example.status = int(line[6:-1])
            example = None
        else:
            example.output.append(line)
    return parts


def make_scratch(folder):
    samples = os.path.join(TOP, "samples")
    if os.path.isdir(samples):
        shutil.copytree(samples, os.path.join(folder, "samples"))
    for name in ("tests", "build"):
        os.symlink(os.path.join(TOP, name), os.path.join(folder, name))


def run(example, folder):
    """What the command prints, as lines, and its exit status."""
    command = "\n".join(example.command)[2:]
    built = os.path.join(TOP, os.environ.get("BUILT", "build/release"))
    environment = {**os.environ, "PATH": built + ":" + os.environ["PATH"], "LC_ALL": "C.UTF-8"}
    done = subprocess.run(["bash", "-c", command], cwd=folder, env=environment,
                          stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, timeout=SECONDS)
    return done.stdout.decode("utf-8", "replace").splitlines(), done.returncode


def is_same_line(expected, printed):
    if expected == printed:
        return True
    if LONG_NUMBER.sub("#", expected) != LONG_NUMBER.sub("#", printed):
        return False
    pairs = zip(LONG_NUMBER.findall(expected), LONG_NUMBER.findall(printed))
    try:
        return all(abs(float(a) - float(b)) <= 1e-9 * abs(float(a)) for a, b in pairs)
    except ValueError:
        return False


def is_same(expected, printed, has_gaps):
    if has_gaps and "..." in expected:
        at = expected.index("...")
        if not is_same(expected[:at], printed[:at], False):
            return False
        rest = expected[at + 1:]
        return any(is_same(rest, printed[start:], True) for start in range(at, len(printed) + 1))
    return len(expected) == len(printed) and all(map(is_same_line, expected, printed))


def join(example):
    status = [] if example.status is None else ["[exit %d]" % example.status]
    return example.command + example.output + status


def show(name, example, printed, status):
    """The lines that differ, with some around them."""
    expected = example.output + ["[exit %d]" % (example.status or 0)]
    difference = difflib.unified_diff(expected, printed + ["[exit %d]" % status], lineterm="", n=2)
    print("%s:%d: %s" % (name, example.number, example.command[0]))
    for line in list(difference)[2:]:
        print("    " + line)


def replay(name, rewrite):
    """Numbers of examples that passed and failed."""
    with open(name, encoding="utf-8") as file:
        parts = split(name, file.read().splitlines())
    has_gaps = name.endswith(".md")
    passed = failed = 0
    with tempfile.TemporaryDirectory(prefix="lodecard-examples-") as folder:
        make_scratch(folder)
        for example in parts:
            if isinstance(example, str):
                continue
            printed, status = run(example, folder)
            if is_same(example.output, printed, has_gaps) and status == (example.status or 0):
                passed += 1
                continue
            failed += 1
            if rewrite:
                example.output = printed
                example.status = status if status or example.status is not None else None
            else:
                show(name, example, printed, status)
    if rewrite and failed:
        lines = sum(([p] if isinstance(p, str) else join(p) for p in parts), [])
        with open(name, "w", encoding="utf-8") as file:
            file.write("\n".join(lines) + "\n")
        print("%s: %d of %d examples rewritten" % (name, failed, passed + failed))
        return passed + failed, 0
    return passed, failed


def main():
    if len(sys.argv) < 3 or sys.argv[1] not in ("check", "rewrite"):
        sys.exit("usage: examples.py check|rewrite FILE...")
    sums = [replay(name, sys.argv[1] == "rewrite") for name in sys.argv[2:]]
    passed, failed = (sum(column) for column in zip(*sums))
    print("%d passed, %d failed" % (passed, failed))
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
