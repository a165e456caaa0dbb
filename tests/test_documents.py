# SPDX-License-Identifier: GPL-3.0-or-later
"""The documents keep up with the program: every figure and every note has its section, the JSON example
is what the program writes, every module is named, links and paths lead somewhere.

    test_documents.py             checks
    test_documents.py --example   prints the JSON example of docs/output.md anew
"""
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from xml.etree import ElementTree

PROGRAM = os.environ.get("LODECARD", os.path.join("build", "release", "lodecard"))
EXAMPLE = ["loop", "samples/sound-card/r17-60kam-20hz.flac", "--json", "-", "--points", "4"]
PARTS_OF_A_NOTE = ("- **Seen**", "- **Why it matters**", "- **Numbers**", "- **Bench**")


class Checks:
    passed = failed = 0

    def check(self, is_right, message):
        self.passed += bool(is_right)
        self.failed += not is_right
        if not is_right:
            print("FAILED  " + message)

    def same(self, documented, real, what):
        for name in sorted(set(real) - set(documented)):
            self.check(False, "%s '%s' is not documented" % (what, name))
        for name in sorted(set(documented) - set(real)):
            self.check(False, "%s '%s' is documented, but there is none" % (what, name))
        self.check(real, "no %s was found in the sources" % what)
        self.passed += len(set(documented) & set(real))


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


# --- figures -------------------------------------------------------------------------------------

def find_figures():
    """{key: symbol} of the table of figures."""
    table = read("src/quantity/figure.c")
    words = r'\[FIGURE_\w+\] = \{"\w+",\s*"(\w+)",\s*"([^"]+)"'
    return dict(re.findall(words, table))


def test_every_figure_is_defined(check):
    real = find_figures()
    documented = dict(re.findall(r"^\| `(\w+)` \| ([^|]+?) \|", read("docs/figures.md"), re.M))
    check.same(documented, real, "figure")
    for key in set(real) & set(documented):
        check.check(real[key] == documented[key],
                    "docs/figures.md: the symbol of %s is %s" % (key, real[key]))


# --- notes ---------------------------------------------------------------------------------------

def find_codes():
    """The codes of the one list of notes; those that the sources add must stand in it."""
    return set(re.findall(r'^    \{"([a-z-]+)", NOTE_', read("src/loop/notes.c"), re.M))


def find_added_codes():
    codes = set()
    for path in glob.glob("src/loop/*.c"):
        text = read(path)
        codes.update(re.findall(r'notes_add\(\s*[^,"]+,\s*"([a-z-]+)"', text))
        codes.update(re.findall(r'\[PERIODIC_\w+\] = "([a-z-]+)"', text))
    return codes


def test_every_note_is_explained(check):
    text = read("docs/notes.md")
    sections = re.split(r"^## ", text, flags=re.M)[1:]
    documented = {section.split("\n", 1)[0]: section for section in sections}
    check.same(documented, find_codes(), "note")
    check.check(find_added_codes() <= find_codes(), "src/loop/notes.c does not list "
                + " ".join(sorted(find_added_codes() - find_codes())))
    for code, section in documented.items():
        for part in PARTS_OF_A_NOTE:
            check.check(part in section, "docs/notes.md: %s lacks '%s'" % (code, part))


def test_every_note_of_a_series_is_explained(check):
    codes = set()
    for path in glob.glob("src/series/*.c"):
        codes.update(re.findall(r'notes_add\(\s*[^,"]+,\s*"([a-z-]+)"', read(path)))
    section = read("docs/series.md").split("## Notes of a series")[1].split("## ")[0]
    check.same(set(re.findall(r"^\| `([a-z-]+)` \|", section, re.M)), codes, "note of a series")


def test_the_motor_is_documented(check):
    text = read("docs/motor.md")
    codes = set(re.findall(r'notes_add\(\s*[^,"]+,\s*"([a-z-]+)"', read("src/motor/motor_notes.c")))
    check.same(set(re.findall(r"^\| `([a-z-]+)` \| (?:warning|info)", text, re.M)), codes, "motor note")
    figures = read("src/motor/motor_figures.c")
    for key in re.findall(r'\[MOTOR_\w+\] = \{"(\w+)"', figures):
        check.check("`%s`" % key in text, "docs/motor.md: the figure '%s' is not documented" % key)


# --- the JSON example ----------------------------------------------------------------------------

def run_example():
    return subprocess.run([PROGRAM] + EXAMPLE, stdout=subprocess.PIPE, check=True).stdout.decode()


def is_near(key, shown, real, siblings):
    """Shortened numbers agree to 1e-5, or within what the capture's own scatter allows."""
    if key.startswith("u_"):
        return abs(shown - real) <= 0.1 * real
    return abs(shown - real) <= max(1e-5 * abs(real), siblings.get("u_" + key, 0.0))


def compare(check, path, shown, real):
    if isinstance(real, dict) and isinstance(shown, dict):
        check.check(list(shown) == list(real), "%s: the keys are %s" % (path, ", ".join(real)))
        for key in set(real) & set(shown):
            if isinstance(real[key], float) and isinstance(shown[key], (int, float)):
                check.check(is_near(key, shown[key], real[key], real),
                            "%s.%s is %.7g" % (path, key, real[key]))
            else:
                compare(check, path + "." + key, shown[key], real[key])
    elif isinstance(real, list) and isinstance(shown, list) and len(shown) == len(real):
        if all(isinstance(value, (int, float)) for value in real):
            far = [b for a, b in zip(shown, real) if abs(a - b) > 1e-4 * max(map(abs, real))]
            check.check(not far, "%s is %s" % (path, real))
        else:
            for index, pair in enumerate(zip(shown, real)):
                compare(check, "%s[%d]" % (path, index), *pair)
    else:
        check.check(shown == real, "%s is %r" % (path, real))


def test_the_example_is_what_the_program_writes(check):
    blocks = re.findall(r"^```json\n(.*?)^```", read("docs/output.md"), re.M | re.S)
    check.check(len(blocks) == 1, "docs/output.md has %d JSON examples, not one" % len(blocks))
    for block in blocks:
        compare(check, "docs/output.md: the example", json.loads(block), json.loads(run_example()))


def shorten(match):
    before, number = match.groups()
    digits = "%.2g" if '"u_' in before else "%.7g"
    short = digits % float(number)
    return before + (number if len(number) <= len(short) else short)


def print_example():
    """The program's own text; numbers shortened, a figure and its u on one line, notes on few."""
    text = re.sub(r'("\w+": |[\[ ](?=-?\d[^\]\n]*\]))(-?\d+(?:\.\d+)?(?:e[+-]?\d+)?)', shorten, run_example())
    text = re.sub(r',\n +("u_)', r", \1", text)
    text = re.sub(r'\{\n +("code".*),\n +("level".*),\n +("message".*),\n +("hint".*),\n +"numbers": '
                  r'\{\n +(".*),\n +(".*)\n +\}\n +\}',
                  r'{\1, \2,\n     \3,\n     \4,\n     "numbers": {\5, \6}}', text)
    print(text, end="")


def find_keys(value):
    if isinstance(value, dict):
        return set(value).union(*map(find_keys, value.values()))
    return set().union(*map(find_keys, value)) if isinstance(value, list) else set()


def test_the_keys_of_look_are_documented(check):
    text = read("docs/output.md")
    section = text.split("## lodecard look")[1].split("## ")[0]
    notes = read("docs/notes.md")
    for sample in (EXAMPLE[1], "samples/logger/r17-40kam-10hz.csv", "samples/trace/r17-60kam-slow.csv"):
        made = subprocess.run([PROGRAM, "look", sample, "--json"], stdout=subprocess.PIPE, check=True)
        for key in sorted(find_keys(json.loads(made.stdout.decode()))):
            if key in ("code", "level", "message", "hint", "numbers"):
                continue  # of notes, as in a loop
            known = re.sub("^(u|limit)_", "", key) in section + notes
            check.check(known, "docs/output.md: look has a key '%s'" % key)


# --- reports and the README's first loop ---------------------------------------------------------

def test_the_reports_are_up_to_date(check):
    sample = "samples/sound-card/r17-60kam-20hz.flac"
    made = subprocess.run([PROGRAM, "loop", sample], stdout=subprocess.PIPE, check=True).stdout
    check.check(read("reports/sound-card.txt") == made.decode(), "make reports: sound-card.txt is old")
    made = subprocess.run([PROGRAM, "loop", sample, "--json", "-", "--points", "64"],
                          stdout=subprocess.PIPE, check=True).stdout
    compare(check, "make reports: sound-card.json", json.loads(read("reports/sound-card.json")),
            json.loads(made.decode()))
    made = subprocess.run([PROGRAM, "series", "samples/series/loops.jsonl"], stdout=subprocess.PIPE, check=True)
    check.check(read("reports/series.txt") == made.stdout.decode(), "make reports: series.txt is old")
    picture = ElementTree.parse("reports/sound-card.svg").getroot()
    check.check(picture.tag.endswith("svg") and len(picture) > 0, "reports/sound-card.svg is empty")


def test_the_first_loop_of_the_readme_works(check):
    blocks = re.findall(r"^```yaml\n(.*?)^```", read("README.md"), re.M | re.S)
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(EXAMPLE[1], os.path.join(folder, "ring.flac"))
        for name, block in zip(("rig.yaml", "specimen.yaml"), blocks):
            with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
                file.write(block)
        done = subprocess.run([os.path.abspath(PROGRAM), "loop", "ring.flac", "--json", "-"],
                              cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    check.check(done.returncode == 0, "README.md: the first loop fails: %s" % done.stdout.decode())
    if done.returncode == 0:
        result = json.loads(done.stdout.decode())
        warnings = [note["code"] for note in result["notes"] if note["level"] != "info"]
        check.check(not warnings, "README.md: the first loop has warnings: %s" % warnings)
    lines = sum(len(block.splitlines()) for block in blocks) + 1
    check.check(lines <= 10, "README.md: the first loop takes %d lines, not ten" % lines)


# --- modules, paths, links -----------------------------------------------------------------------

def test_every_module_is_named(check):
    modules = re.findall(r"^module (\w+):", read("src/layers.txt"), re.M)
    documented = re.findall(r"^    (\w+) +\S", read("DEVELOPERS.md").split("## The way of")[0], re.M)
    check.same(documented, modules, "module")


def find_documents():
    return sorted(glob.glob("*.md") + glob.glob("docs/*.md") + glob.glob("docs/manual/*.md")
                  + glob.glob("*/README.md"))


def find_anchors(text):
    """As pages of Markdown form them: lower case, blanks to hyphens, punctuation dropped."""
    headings = re.findall(r"^#+ (.*)$", re.sub(r"^```.*?^```", "", text, flags=re.M | re.S), re.M)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


def test_links_lead_somewhere(check):
    for name in find_documents():
        for target in re.findall(r"\]\(([^)\s]+)\)", read(name)):
            if re.match(r"\w+:", target):
                continue
            path, _, anchor = target.partition("#")
            path = os.path.normpath(os.path.join(os.path.dirname(name), path)) if path else name
            check.check(os.path.exists(path), "%s: there is no '%s'" % (name, target))
            if anchor and os.path.isfile(path):
                check.check(anchor in find_anchors(read(path)),
                            "%s: '%s' has no heading '%s'" % (name, path, anchor))


def test_paths_in_the_text_exist(check):
    for name in find_documents():
        prose = re.sub(r"^```.*?^```", "", read(name), flags=re.M | re.S)
        for path in re.findall(r"`((?:src|tests|docs|samples|reports)/[\w./*-]{3,})`", prose):
            check.check(glob.glob(path), "%s: there is no '%s'" % (name, path))


def main():
    os.chdir(os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
    if sys.argv[1:] == ["--example"]:
        print_example()
        return
    check = Checks()
    for name, test in list(globals().items()):
        if name.startswith("test_"):
            test(check)
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
