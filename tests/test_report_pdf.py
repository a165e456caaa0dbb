# SPDX-License-Identifier: GPL-3.0-or-later
"""Reports as PDF, seen by what others wrote (poppler, qpdf): text that can be searched and stays on its page, embedded
fonts, paper sizes, tags, the heads of long tables on each page, the same bytes each time."""
import glob
import os
import re
import shlex
import subprocess
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "world"))
from checks import main

SOUND_CARD = "samples/sound-card/r17-60kam-20hz.flac"
LOT = ["--limits", "samples/qualify/limits.yaml"] + sorted(glob.glob("samples/qualify/H2305/*/*.flac"))
MARGIN = 54.0  # points
ROUNDING = 1.5
PAPER = {"a4": (595.276, 841.89), "letter": (612.0, 792.0)}

KINDS = {
    "loop": (["loop", SOUND_CARD, "--number", "LR-0042"],
             ["Loop report: R-17, RS-36, heat H2291", "LR-0042", "18.535", "inputs.excitation.full_scale", "Waveforms"]),
    "loops": (["loop", SOUND_CARD, "samples/trace/r17-60kam-slow.csv"],
              ["Loop report: 2 captures", "r17-60kam-slow.csv", "one slow traverse"]),
    "series": (["series", "samples/series/loops.jsonl", "--at", "1 T"],
               ["Steel sheet: RS-36, R-17, heat H2291", "Normal curve", "Separation of losses", "computed", "Power law",
                "At a stated peak", "r17-1200mT-80000mHz.flac"]),
    "lot": (["lot"] + LOT, ["Northgate Foundry", "R-24", "undecided"]),
}


def run(*words):
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


def write(folder, name, words, page="a4"):
    """The path of the report, or None."""
    path = os.path.join(folder, "%s-%s.pdf" % (name, page))
    status, told = run("lodecard", "report", *words, "--page", page, "-o", path)
    if status not in (0, 10, 11):
        print(told)
        return None
    return path


def read_words(path):
    """(page, word, left, right, bottom) of all text, in points."""
    words, page = [], 0
    for line in run("pdftotext", "-bbox", path, "-")[1].splitlines():
        page += "<page " in line
        found = re.match(r'\s*<word xMin="([\d.-]+)" yMin="[\d.-]+" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*)</word>', line)
        if found:
            words.append((page, found[4]) + tuple(float(number) for number in found.groups()[:3]))
    return words


def check_file(check, path, kind, page):
    info = run("pdfinfo", path)[1]
    width, height = PAPER[page]
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info)
    check.check(size and abs(float(size[1]) - width) < 0.01 and abs(float(size[2]) - height) < 0.01,
                "%s: %s is not %s" % (path, size and size[0], page))
    check.check(re.search(r"Tagged:\s+yes", info), "%s has no tags" % path)
    check.check(re.search(r"Title:\s+\S", info), "%s has no title" % path)
    check.check(run("qpdf", "--check", path)[0] == 0, "%s: qpdf finds faults" % path)
    fonts = run("pdffonts", path)[1].splitlines()[2:]
    check.check(fonts and all(re.search(r" yes +yes +yes +\d+ +\d+$", line) for line in fonts),
                "%s: a font is not embedded, or not to be searched: %s" % (path, fonts))
    with open(path, "rb") as file:
        check.check(b"/Lang (en)" in file.read(), "%s has no language" % path)
    words = read_words(path)
    off = [word for word in words
           if word[2] < MARGIN - ROUNDING or word[3] > width - MARGIN + ROUNDING or word[4] > height - 20]
    check.check(words and not off, "%s: text in the margins: %s" % (path, off[:4]))
    text = re.sub(r"\s+", " ", run("pdftotext", "-layout", path, "-")[1])
    for part in KINDS[kind][1]:
        check.check(part in text, "%s: '%s' is not found" % (path, part))


def test_each_kind_can_be_read_and_filed(check, folder):
    for kind, (words, _) in KINDS.items():
        for page in PAPER:
            path = write(folder, kind, words, page)
            if check.check(path, "no report '%s' on %s" % (kind, page)):
                check_file(check, path, kind, page)


def test_the_same_input_gives_the_same_bytes(check, folder):
    for kind, (words, _) in KINDS.items():
        for ending in (".pdf", ".html"):
            made = []
            for name in ("one", "two"):
                path = os.path.join(folder, kind + name + ending)
                run("lodecard", "report", *words, "-o", path)
                with open(path, "rb") as file:
                    made.append(file.read())
            check.check(made[0] and made[0] == made[1], "%s%s differs from run to run" % (kind, ending))


def test_long_tables_have_their_heads_on_each_page(check, folder):
    """60 loops: a row of each, and their digests."""
    path = write(folder, "series", KINDS["series"][0])
    pages = run("pdftotext", "-layout", path, "-")[1].split("\f")
    rows = [page for page in pages if re.search(r"^\s*r17-\d+mT", page, re.M)]
    check.check(len(rows) > 1, "the table of loops fits on one page: nothing is tested")
    for page in rows:
        check.check(re.search(r"^\s*from +f \(Hz\)", page, re.M), "a page of loops without its head:\n%s" % page[:400])
    digests = [page for page in pages if re.search(r"R-17 .* [0-9a-f]{64}$", page, re.M)]
    check.check(len(digests) > 1, "the table of recordings fits on one page, or digests are broken")
    for page in digests:
        check.check("SHA-256 of the recording" in page, "a page of recordings without its head:\n%s" % page[:400])
    whole = "".join(pages)
    check.check(len(re.findall(r"^\s*r17-\d+mT", whole, re.M)) == 60, "not all 60 loops are there")
    check.check(len(re.findall(r"\b[0-9a-f]{64}\b", whole)) == 60, "not all 60 digests are there in one piece")


def test_several_captures_begin_a_page_each_and_failures_are_told(check, folder):
    bad = os.path.join(folder, "bad.csv")
    with open(bad, "w", encoding="utf-8") as file:
        file.write("no table\n")
    path = os.path.join(folder, "two.pdf")
    status, told = run("lodecard", "report", "loop", SOUND_CARD, bad, "--rig", "samples/sound-card/rig.yaml",
                       "--specimen", "samples/sound-card/specimen.yaml", "-o", path)
    pages = run("pdftotext", "-layout", path, "-")[1].split("\f")
    check.check(status == 2, "exit status %d, not 2" % status)
    check.check("bad.csv" in told and "1 of 2 captures have a loop" in told, told)
    check.check("bad.csv gave no result" in pages[0], pages[0][:800])
    check.check(pages[1].lstrip().startswith("R-17, RS-36, heat H2291: r17-60kam-20hz.flac"), pages[1][:200])


def test_what_cannot_be_written_is_refused_ahead(check, folder):
    for words, part in (
            (["loop", SOUND_CARD], "needs a file to write"),
            (["loop", "-o", "a.pdf"], "needs a capture"),
            (["loop", SOUND_CARD, "-o", "a.doc"], "cannot tell the format"),
            (["loop", SOUND_CARD, "-o", "a.pdf", "--page", "a5"], "does not know 'a5'"),
            (["loop", SOUND_CARD, "-o", "a.pdf", "--today", "tomorrow"], "tomorrow"),
            (["loop", SOUND_CARD, "-o", "a.pdf", "--model", "tanh"], "--model"),
            (["series", "samples/series/loops.jsonl", "-o", "a.pdf", "--at", "5 kg"], "neither a field strength"),
            (["series", "samples/series/loops.jsonl", "-o", "a.pdf", "--start", "1"], "--start"),
            (["series", "-o", "a.pdf"], "needs captures")):
        words = [os.path.join(folder, word) if word in ("a.pdf", "a.doc") else word for word in words]
        status, told = run("lodecard", "report", *words)
        check.check(status == 1 and part in told, "%s: %d, %s" % (words, status, told))
    check.check(not os.listdir(folder), "something was written: %s" % os.listdir(folder))


def read_text(path):
    """What an HTML report says, without pictures and numbers within."""
    with open(path, encoding="utf-8") as file:
        return re.sub(r"<(svg|script|style)\b.*?</\1>", "", file.read(), flags=re.S)


def test_the_finished_reports_are_those_of_this_program(check, folder):
    with open("reports/README.md", encoding="utf-8") as file:
        lines = re.findall(r"`lodecard (report (?:loop|series) [^`]*) -o reports/(\w+)\.pdf -o [^`]*`", file.read())
    check.check(len(lines) == 2, "reports/README.md names %d reports" % len(lines))
    for words, name in lines:
        path = os.path.join(folder, name + ".html")
        run("lodecard", *shlex.split(words), "-o", path)
        check.check(os.path.exists(path) and read_text(path) == read_text("reports/%s.html" % name),
                    "make reports: reports/%s.html is old" % name)


if __name__ == "__main__":
    main(globals())
