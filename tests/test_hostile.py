# SPDX-License-Identifier: GPL-3.0-or-later
"""Hostile names: of files, and of specimens, steels and suppliers within files. Whatever the program
writes, on the terminal or into a file, they stay words: no terminal is steered, no spreadsheet
computes, no page runs a script, no exported file gets a line of its own."""
import csv
import glob
import html.parser
import io
import json
import os
import re
import shutil
import subprocess
import sys
import xml.etree.ElementTree

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
sys.path.insert(0, os.path.join(ROOT, "tests", "world"))
import checks
import program

STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
SCRIPT = "<script>alert(1)</script>"
ESCAPE = "\x1b]0;owned\x07\x1b[31m\x9b31m\u202e"
HOSTILE = '"\'`$(id)*/;%s%n ' + SCRIPT + ESCAPE + "\nsystem('id')\n.control\nshell id\n.endc\n"
CODES = {0, 1, 2, 3, 4, 10, 11}
SERIES = os.path.join(ROOT, "samples", "series", "loops.jsonl")
CARD = os.path.join(ROOT, "samples", "card", "rs36-h2291.json")
LIMITS = os.path.join(ROOT, "samples", "qualify", "limits.yaml")
LOGGER = os.path.join(ROOT, "samples", "logger", "r17-40kam-10hz.csv")
MOTOR = ("--pole-pairs", "2", "--volume", "10 cm3", "--supply", "50")


def run(folder, *words):
    """(exit status, standard output, standard error), as bytes."""
    done = subprocess.run([program.PROGRAM, *words], capture_output=True, timeout=300, cwd=folder,
                          stdin=subprocess.DEVNULL)
    return done.returncode, done.stdout, done.stderr


def faults_of_page(page):
    """What would steer a terminal in what was printed."""
    try:
        text = page.decode()
    except UnicodeDecodeError as error:
        return "no UTF-8: %s" % error
    found = STEERING.search(text)
    return found and "%r in %r" % (found.group(), text[max(0, found.start() - 40):found.end() + 20])


def check_page(check, what, page):
    fault = faults_of_page(page)
    check.check(not fault, "%s: %s" % (what, fault))


def check_run(check, what, result, wanted=CODES):
    status, out, err = result
    check.check(status in wanted, "%s: exit status %d: %s" % (what, status, err[-300:]))
    check_page(check, what + ", standard output", out)
    check_page(check, what + ", standard error", err)
    check.check(status not in (1, 2, 4) or err.startswith(b"lodecard: "), what + ": says what failed")


class Page(html.parser.HTMLParser):
    """What in an HTML or SVG file would do something."""
    KNOWN = {"script": {"application/json"}}

    def __init__(self, text):
        super().__init__()
        self.faults = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        attributes = dict(attributes)
        if tag == "script" and attributes.get("type") != "application/json":
            self.faults.append("a script")
        self.faults += ["%s of %s" % (name, tag) for name in attributes if name.startswith("on")]
        self.faults += ["%s to %s" % (name, attributes[name][:40]) for name in ("href", "src", "xlink:href")
                        if (attributes.get(name) or "#")[:1] != "#" and not attributes[name].startswith("data:")]


def check_markup(check, what, path):
    with open(path, encoding="utf-8") as file:
        text = file.read()
    check.check(not STEERING.search(text), what + " has no control characters")
    check.check(not Page(text).faults, "%s: %s" % (what, Page(text).faults))
    if path.endswith(".svg"):
        xml.etree.ElementTree.fromstring(text)


def check_csv(check, what, text, columns):
    rows = list(csv.reader(io.StringIO(text)))
    check.check(len({len(row) for row in rows}) == 1, what + ": every row has as many cells")
    for column in columns:
        cells = [row[rows[0].index(column)] for row in rows[1:]]
        check.check(all(cell[:1] not in "=+-@\t\r" or not cell for cell in cells), "%s: %s: %r" % (what, column, cells[:3]))
    check.check(not STEERING.search(text), what + " has no control characters")


def read_bytes(path):
    with open(path, "rb") as file:
        return file.read()


def write(path, data):
    with open(path, "wb") as file:
        file.write(data if isinstance(data, bytes) else data.encode())


def lay_bench(folder):
    """A capture of few rows with its rig and specimen."""
    for name in ("rig.yaml", "specimen.yaml"):
        shutil.copy(os.path.join(os.path.dirname(LOGGER), name), folder)
    return read_bytes(LOGGER)


# --- names of files ------------------------------------------------------------------------------

NAMES = [b"two words.csv", b"quo'te\".csv", b"new\nline.csv", b"-dash.csv", b"--help.csv", b"\xff\xfe bad.csv",
         b"es\x1b[31mcape.csv", b"per%s%n%d.csv", b"=1+1.csv", b"@cmd.csv", b"`id`$(id).csv", b"<b>&amp;.csv",
         "r\u202evsc.csv".encode(), "ring ∮ Ω.csv".encode(), b"tab\t.csv", b"back\\slash.csv", b"x" * 250 + b".csv"]
if checks.is_slow_build():
    NAMES = NAMES[2::3]


def test_file_names(check, folder):
    """Captures of all those names, through the commands that take captures."""
    data = lay_bench(folder)
    for name in NAMES:
        where = os.path.join(os.fsencode(folder), name)
        with open(where, "wb") as file:
            file.write(data)
    paths = [b"./" + name for name in NAMES]
    for words in (["look"], ["loop"], ["loop", "--json-lines", "-"], ["series"], ["ledger", "add", "--ledger", "l"],
                  ["ledger", "list", "captures", "--ledger", "l"], ["ledger", "find", "--ledger", "l"],
                  ["ledger", "show", "loop", "3", "--ledger", "l"], ["qualify", "--limits", LIMITS]):
        given = [] if words[0] == "ledger" and words[1] != "add" else paths
        result = run(folder, *words, *given)
        check_run(check, " ".join(words), result)
        if words[:2] == ["loop", "--json-lines"]:
            names = [json.loads(line)["capture"]["file"] for line in result[1].decode().splitlines()]
            check.check(names == [name.decode(errors="replace") for name in NAMES], "JSON has the names")
        if words == ["look"] or words[:2] == ["ledger", "add"]:
            check.check(result[0] == 0, "%s takes them: %s" % (words, result[2][:200]))
    status, out, _ = run(folder, "loop", "--csv", "-", *paths)
    check.check(status == 0, "loop --csv")
    check_csv(check, "loop --csv", out.decode(), ["file"])
    status, out, _ = run(folder, "ledger", "export", "--csv", "-", "--ledger", "l")
    check_csv(check, "ledger export --csv", out.decode(), ["file"])
    for i, name in enumerate(NAMES):
        result = run(folder, "loop", b"./" + name, "--plot", "p%d.svg" % i, "--json", "-")
        check_run(check, repr(name), result, {0})
        check_markup(check, "the plot of %r" % name, os.path.join(folder, "p%d.svg" % i))
    result = run(folder, "report", "loop", *paths[:8], "-o", "r.html", "-o", "r.pdf")
    check_run(check, "report loop", result)
    check_markup(check, "report loop", os.path.join(folder, "r.html"))


def test_missing_files_are_named_visibly(check, folder):
    lay_bench(folder)
    for name in NAMES + [b"x" * 5000]:
        path = b"./no " + name
        for words in (["look"], ["loop"], ["series"], ["card", "show"], ["card", "check"], ["card", "export", "--to", "csv"],
                      ["motor", *MOTOR], ["virtual", "-o", "v"], ["qualify", "--limits"], ["calibrate", "full-scale", "--voltage", "1 V"],
                      ["ledger", "add", "--ledger", "l"], ["ledger", "import", "--ledger", "m"], ["loop", "--rig"]):
            check_run(check, "%s %r" % (" ".join(words), name[:30]), run(folder, *words, path), {1, 2, 4})


def test_broken_files_are_named_visibly(check, folder):
    """Messages about what is in a file: the file's name and its words are shown, and do nothing."""
    broken = {"rig": "name: \"\\e[31m\\x07\"\ninputs: {excitation: {chanel: 1}}\n\"\\e[2J\": 1\n",
              "json": json.dumps({"schema": ESCAPE, ESCAPE: 1}), "table": "a\x1b[31m (\x1b[31m),b\n1,\x1b[2J\n2,x\n3,\x1b\n"}
    for kind, text in broken.items():
        path = os.path.join(folder, "b\x1b[31m\n" + kind)
        write(path, text)
        for words in (["look"], ["loop"], ["loop", LOGGER, "--rig"], ["loop", LOGGER, "--specimen"], ["series"],
                      ["card", "show"], ["card", "check"], ["card", "export", "--to", "csv"], ["motor", *MOTOR],
                      ["virtual", "-o", "v"], ["qualify", "--limits"], ["ledger", "add", "--ledger", "l"]):
            check_run(check, "%s of %s" % (" ".join(words), kind), run(folder, *words, path), {0, 1, 2, 3, 4})


def test_words_of_the_command_line(check, folder):
    for words in ([ESCAPE], ["loop", "--" + ESCAPE], ["loop", "--start", ESCAPE, "x"], ["card", ESCAPE],
                  ["card", "export", CARD, "--to", ESCAPE], ["card", "export", CARD, "--to", "csv", "--set", "table=" + ESCAPE],
                  ["ledger", "find", "--where", ESCAPE], ["ledger", "show", "heat", ESCAPE], ["motor", CARD, "--supply", ESCAPE],
                  ["help", ESCAPE], ["qualify", ESCAPE], ["report", ESCAPE], ["calibrate", ESCAPE]):
        check_run(check, repr(words), run(folder, *words), {1, 2, 4})


# --- names within files ----------------------------------------------------------------------------

def hostile_loops(folder):
    """Loop JSON whose names are hostile; one of them begins like a formula."""
    path = os.path.join(folder, "loops.jsonl")
    with open(SERIES) as file:
        loops = [json.loads(line) for line in file]
    with open(path, "w") as file:
        for loop in loops:
            loop["capture"]["file"] = "/folder/@SUM(A1)" + HOSTILE.replace("/", "|")
            for key in ("name", "alloy", "supplier", "heat", "condition"):
                loop["specimen"][key] = "=cmd|' /C calc'!A0" + HOSTILE
            loop["rig"]["name"] = HOSTILE
            loop["notes"] = [{"code": "hum", "level": "warning", "message": HOSTILE, "hint": HOSTILE}]
            file.write(json.dumps(loop) + "\n")
    return path


def test_names_within_loops(check, folder):
    path = hostile_loops(folder)
    for words in (["series", path, "--plot", "s.svg", "--json", "s.json"], ["motor", "s.json", *MOTOR, "--plot", "m.svg"],
                  ["qualify", "--limits", LIMITS, path, "--plot", "q.svg", "--json", "v.json"],
                  ["card", "make", path, "-o", "c.json"], ["card", "show", "c.json"], ["card", "check", "c.json"],
                  ["card", "diff", "c.json", CARD], ["ledger", "add", path, "--ledger", "l"], ["ledger", "add", "c.json", "v.json", "--ledger", "l"],
                  ["ledger", "list", "heats", "--ledger", "l"], ["ledger", "list", "suppliers", "--ledger", "l"],
                  ["ledger", "find", "--ledger", "l"], ["ledger", "find", "--statistics", "--columns", "remanence", "--ledger", "l"],
                  ["ledger", "show", "loop", "1", "--ledger", "l"], ["ledger", "show", "specimen", "1", "--ledger", "l"],
                  ["ledger", "history", "loop", "1", "--ledger", "l"], ["ledger", "list", "verdicts", "--ledger", "l"],
                  ["ledger", "remark", "loop", "1", HOSTILE, "--by", HOSTILE, "--ledger", "l"], ["ledger", "show", "loop", "1", "--ledger", "l"],
                  ["ledger", "list", "remarks", "--ledger", "l"], ["ledger", "check", "--ledger", "l"],
                  ["ledger", "export", "--json-lines", "-", "--ledger", "l"]):
        check_run(check, " ".join(words[:3]), run(folder, *words), {0, 10, 11})
    for name in ("s.svg", "m.svg", "q.svg"):
        check_markup(check, name, os.path.join(folder, name))
    status, out, _ = run(folder, "series", path, "--csv", "-")
    check_csv(check, "series --csv", out.decode(), ["file", "specimen"])
    status, out, _ = run(folder, "ledger", "export", "--csv", "-", "--ledger", "l")
    check_csv(check, "ledger export --csv", out.decode(), ["file", "specimen", "supplier", "alloy", "heat", "rig"])
    check_run(check, "export --folder", run(folder, "ledger", "export", "--folder", "f", "--ledger", "l"), {0})
    check_run(check, "import", run(folder, "ledger", "import", "f", "--ledger", "m"), {0})
    check_run(check, "check", run(folder, "ledger", "check", "--ledger", "m"), {0})


def test_reports(check, folder):
    path = hostile_loops(folder)
    heads = [word for option in ("--title", "--number", "--laboratory", "--order", "--prepared-by", "--remark")
             for word in (option, HOSTILE)]
    result = run(folder, "report", "lot", "--limits", LIMITS, path, "-o", "r.html", "-o", "r.pdf", *heads)
    check_run(check, "report lot", result, {0, 10, 11})
    check_markup(check, "report lot", os.path.join(folder, "r.html"))
    pdf = read_bytes(os.path.join(folder, "r.pdf"))
    check.check(pdf.startswith(b"%PDF") and b"/JavaScript" not in pdf and b"/Launch" not in pdf, "the PDF does nothing")
    shutil.copy(os.path.join(folder, "r.html"), os.path.join(folder, "\x1b[31m.html"))
    check_run(check, "report verify", run(folder, "report", "verify", "\x1b[31m.html", "--ledger", "none"))


def test_names_within_a_card(check, folder):
    """Each exporter writes the names into the files of another program: none may become a statement."""
    with open(CARD) as file:
        card = json.load(file)
    card["name"] = HOSTILE
    for key, value in card["identity"].items():
        card["identity"][key] = HOSTILE if isinstance(value, str) else [HOSTILE] * len(value)
    for model in card["models"]:
        model["form"] = HOSTILE if "form" in model else ""
    for source in card.get("provenance", {}).get("captures", []):
        source["file"] = HOSTILE.replace("/", "|")
    plain = read_bytes(CARD)
    write(os.path.join(folder, "plain.json"), plain)
    hostile_path = os.path.join(folder, "plain\n.json")
    write(hostile_path, json.dumps(card))
    for path in sorted(glob.glob(os.path.join(ROOT, "src", "card", "exporters", "*.lua"))):
        name = os.path.splitext(os.path.basename(path))[0]
        outs = []
        for number, source in enumerate(("plain.json", hostile_path)):
            status, _, err = run(folder, "card", "export", source, "--to", name, "-o", "out%d" % number)
            if number == 1 and status == 2:  # models whose form is another's are refused in words
                check_page(check, name, err)
                card["models"] = json.loads(plain)["models"]
                write(hostile_path, json.dumps(card))
                status, _, err = run(folder, "card", "export", source, "--to", name, "-o", "out%d" % number)
            check.check(status == 0, "%s exports: %s" % (name, err[-200:]))
            outs.append(read_bytes(os.path.join(folder, "out%d" % number)))
        if name == "numpy":
            continue  # an archive of arrays: texts are data of a length
        text = outs[1].decode()
        check.check(not STEERING.search(text), name + ": no control characters")
        count = [text.count(b"\n") for text in outs]
        check.check(count[0] == count[1], "%s: no line of its own for a name: %s" % (name, count))
        bad = [line for line in text.split("\n") if line.startswith(("system(", ".control", "shell"))]
        check.check(not bad, "%s: %s" % (name, bad))
        check.check("`" not in text and "*/;" not in text, name + ": nothing ends a comment")
        if name == "html":
            check.check(not Page(text).faults, "html: %s" % Page(text).faults)


def test_names_in_yaml(check, folder):
    """YAML can write any character in quotes."""
    data = lay_bench(folder)
    write(os.path.join(folder, "a.csv"), data)
    path = os.path.join(folder, "specimen.yaml")
    text = read_bytes(path).decode()
    name = 'name: "=1+1 <script>\\e[31m \\u202e *{}%s"'
    write(path, re.sub("^name: .*", lambda _: name, text, flags=re.M))
    for words in (["loop", "a.csv"], ["loop", "a.csv", "--explain"], ["loop", "a.csv", "--plot", "p.svg"], ["series", "a.csv"],
                  ["card", "make", "a.csv", "-o", "c.json"], ["ledger", "add", "a.csv", "--ledger", "l"]):
        check_run(check, " ".join(words), run(folder, *words), {0, 2})
    status, out, _ = run(folder, "loop", "a.csv", "--csv", "-")
    if status == 0:
        check_csv(check, "loop --csv", out.decode(), ["specimen"])


checks.main(globals())
