# SPDX-License-Identifier: GPL-3.0-or-later
"""The command lines of tests/golden and of the documents print what stands there; first, the runner
of examples itself finds what differs."""
import contextlib
import glob
import io
import os
import sys
import tempfile

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "tools"))
import examples

# name, suffix of the file, its text, examples that pass, examples that fail
SELF = (
    ("takes what is right", ".txt", "About echo.\n$ echo a\na\n[exit 0]\n$ false\n[exit 1]\n", 2, 0),
    ("finds another line", ".txt", "$ echo a\nb\n[exit 0]\n", 0, 1),
    ("finds a missing line", ".txt", "$ echo a\n[exit 0]\n", 0, 1),
    ("finds another exit status", ".txt", "$ sh -c 'exit 3'\n[exit 2]\n", 0, 1),
    ("finds a status that is not told", ".txt", "$ false\n", 0, 1),
    ("sees standard error", ".txt", "$ echo a >&2\na\n", 1, 0),
    ("runs lines that go on", ".txt", "$ echo a \\\n  b\na b\n", 1, 0),
    ("keeps the folder for a file's commands", ".txt", "$ echo x >f\n$ cat f\nx\n", 2, 0),
    ("lets long numbers differ in the last places", ".txt",
     "$ echo 1.2345678901234567 mm\n1.2345678901234999 mm\n", 1, 0),
    ("finds long numbers that differ more", ".txt",
     "$ echo 1.2345678901234567\n1.2345678801234567\n", 0, 1),
    ("compares short numbers as text", ".txt", "$ echo 1.23456789\n1.23456788\n", 0, 1),
    ("runs console blocks of Markdown only", ".md",
     "$ false\n```\n$ false\n```\n```console\n$ echo a\na\n```\n", 1, 0),
    ("takes dots as any lines", ".md", "```console\n$ seq 9\n1\n...\n8\n9\n```\n", 1, 0),
    ("finds what differs behind dots", ".md", "```console\n$ seq 9\n1\n...\n9\n9\n```\n", 0, 1),
)


def replay_text(folder, suffix, text, rewrite=False):
    """What examples.replay says of that text, and the text afterwards."""
    path = os.path.join(folder, "example" + suffix)
    with open(path, "w") as file:
        file.write(text)
    with contextlib.redirect_stdout(io.StringIO()):
        sums = examples.replay(path, rewrite)
    with open(path) as file:
        return sums, file.read()


def check_runner(folder):
    failed = 0
    for name, suffix, text, passes, fails in SELF:
        sums, after = replay_text(folder, suffix, text)
        if sums != (passes, fails) or after != text:
            print("%s: expected %d passed, %d failed; found %d, %d"
                  % ((name, passes, fails) + sums))
            failed += 1
    _, after = replay_text(folder, ".txt", "# head\n$ echo a\nb\n[exit 0]\n$ false\n", rewrite=True)
    if after != "# head\n$ echo a\na\n[exit 0]\n$ false\n[exit 1]\n":
        print("rewrites what differs: found %r" % after)
        failed += 1
    return len(SELF) + 1 - failed, failed


def main():
    names = sorted(glob.glob("tests/golden/*.txt") + glob.glob("*.md") + glob.glob("docs/*.md")
                   + glob.glob("docs/manual/*.md"))
    with tempfile.TemporaryDirectory() as folder:
        sums = [check_runner(folder)] + [examples.replay(name, False) for name in names]
    passed, failed = (sum(column) for column in zip(*sums))
    print("%d passed, %d failed" % (passed, failed))
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
