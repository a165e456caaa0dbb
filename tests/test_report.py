# SPDX-License-Identifier: GPL-3.0-or-later
"""Reports on lots, two sides and benches: their numbers are those of `qualify`, in the file and on the pages; what PDF and
HTML must have whatever they look like; what is refused, and leaves nothing behind."""
import copy
import glob
import hashlib
import html
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(os.environ.get("LODECARD", os.path.join("build", "release", "lodecard")))
SAMPLES = os.path.abspath("samples")
LIMITS = os.path.join(SAMPLES, "qualify", "limits.yaml")
STUDY = os.path.join(SAMPLES, "gauge", "loops.jsonl")
A4, LETTER = (595.3, 841.9), (612, 792)


class Checks:
    passed = failed = 0

    def check(self, is_right, message):
        self.passed += bool(is_right)
        self.failed += not is_right
        if not is_right:
            print("FAILED  " + message[:2000])
        return is_right


def run(folder, *words, **environment):
    return subprocess.run([PROGRAM, *words], cwd=folder, capture_output=True, timeout=300,
                          env={**os.environ, **environment})


def tool(folder, *words):
    return subprocess.run(words, cwd=folder, capture_output=True, timeout=60).stdout.decode()


def read(folder, name):
    with open(os.path.join(folder, name), "rb") as file:
        return file.read()


def heat(name):
    return sorted(glob.glob(os.path.join(SAMPLES, "qualify", name, "*", "*.flac")))


def data_of_html(page):
    return re.search(rb'<script type="application/json" id="lodecard-report">(.*?)</script>', page, re.S).group(1)


def data_of_pdf(folder, name):
    shutil.rmtree(os.path.join(folder, "within"), ignore_errors=True)
    os.mkdir(os.path.join(folder, "within"))
    tool(folder, "pdfdetach", "-saveall", "-o", "within", name)
    return read(folder, os.path.join("within", "lodecard-report.json"))


def tables(page):
    """The rows of all tables of an HTML page, as plain words."""
    rows = re.findall(r"<tr>(.*?)</tr>", page.decode(), re.S)
    cells = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S) for row in rows]
    return [[html.unescape(re.sub(r"<[^>]*>", "", cell)) for cell in row] for row in cells]


def make_loops(count, change=None):
    """Loops of so many rings of one heat, with coercivities that spread evenly."""
    with open(STUDY, encoding="utf-8") as file:
        model = json.loads(file.readline())
    lines = []
    for i in range(count):
        loop = copy.deepcopy(model)
        loop["specimen"]["name"] = "R-%d" % (i + 1)
        loop["capture"]["file"] = "r%d.flac" % (i + 1)
        loop["capture"]["sha256"] = hashlib.sha256(b"%d" % i).hexdigest()
        loop["figures"]["coercivity_A_per_m"] = 18900 + 100 * ((i * 37) % count) / count
        if change:
            change(loop, i)
        lines.append(json.dumps(loop))
    return "\n".join(lines) + "\n"


def write(folder, name, words):
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(words)


# --- numbers -------------------------------------------------------------------------------------

def test_a_lot_carries_the_verdict_of_qualify(check, folder):
    captures = heat("H2305")
    made = run(folder, "report", "lot", "--limits", LIMITS, *captures, "-o", "lot.pdf", "-o", "lot.html")
    asked = run(folder, "qualify", "--limits", LIMITS, *captures, "--json", "-")
    check.check(made.returncode == 11 and made.stdout == b"verdict: undecided\n", "lot: %r" % made)
    data = data_of_html(read(folder, "lot.html"))
    check.check(data == data_of_pdf(folder, "lot.pdf"), "PDF and HTML carry other bytes")
    envelope = json.loads(data)
    content = data[data.index(b'"content": ') + len(b'"content": '):-1]
    check.check(envelope["schema"] == "lodecard-report/1" and envelope["kind"] == "lot", str(envelope)[:200])
    check.check(envelope["sha256"] == hashlib.sha256(content).hexdigest(), "the digest is not that of the content")
    check.check(envelope["content"]["verdict"] == json.loads(asked.stdout), "the verdict is not that of qualify")
    check.check(len(envelope["content"]["inputs"]) == 6, "not an input a loop")
    for path, entry in zip(captures, envelope["content"]["inputs"]):
        loop = json.loads(run(folder, "loop", path, "--json", "-").stdout)
        check.check(entry["figures"] == loop["figures"], "figures of " + path)
        check.check(entry["capture_sha256"] == hashlib.sha256(read(folder, path)).hexdigest(), "hash of " + path)
        check.check(entry["name"] == os.path.basename(path) and entry["heat"] == "H2305" and
                    entry["rig_calibrated"] == "2026-03-02" and entry["rig"].startswith("bench 2"), str(entry)[:300])


def test_the_pages_show_these_numbers_rounded(check, folder):
    run(folder, "report", "lot", "--limits", LIMITS, *heat("H2305"), "-o", "lot.html")
    page = read(folder, "lot.html")
    verdict = json.loads(data_of_html(page))["content"]["verdict"]
    rows = [row for row in tables(page) if len(row) == 6 and "±" in row[1] and row[0].startswith("R-")]
    scale = {"remanence_T": 1e3, "coercivity_A_per_m": 1e-3}
    check.check(len(rows) == len(verdict["checks"]) == 12, "%d rows" % len(rows))
    for found in verdict["checks"]:
        factor = scale[found["figure"]]
        digits = 1 if found["figure"] == "remanence_T" else 3
        value = "%.*f ± %.*f" % (digits, found["value"] * factor, digits, 2 * found["u"] * factor)
        lower = "%.*f" % (digits, found["accept_lower"] * factor)
        share = found["probability_conforming"]
        share = "> 99.99 %" if share > 0.9999 else "%.2f %%" % (100 * share)
        check.check(any(row[0] == found["specimen"] and row[1] == value and lower in row[2] and row[3] == share and
                        row[5] == found["verdict"] for row in rows), "no row of %s" % found)
    words = re.sub(r"<[^>]*>", "", page.decode())
    for figure in verdict["heats"][0]["figures"] if "heats" in verdict else verdict["lot"]["figures"]:
        check.check("W = %.3f, p = %.2g" % (figure["normality_w"], figure["normality_significance"]) in words,
                    "normality of " + figure["figure"])
        check.check("%.3f" % figure["tolerance_factor"] in words, "tolerance factor of " + figure["figure"])
        check.check("%.2f %%" % (100 * figure["share_conforming_confident"]) in words, "share of " + figure["figure"])
        check.check("%.2f (%.2f to %.2f)" % tuple(figure["capability"][key] for key in ("cpk", "cpk_lower", "cpk_upper"))
                    in words, "Cpk of " + figure["figure"])


def test_two_sides_and_the_bench_carry_what_qualify_says(check, folder):
    sides = heat("H2291") + heat("C7")
    made = run(folder, "report", "compare", "--figure", "coercivity", "--margin", "0.5 kA/m", "--figure", "remanence",
               "--margin", "20 mT", *sides, "-o", "two.html")
    check.check(made.returncode == 0 and made.stdout == b"verdict: cannot tell\n", "compare: %r" % made)
    got = json.loads(data_of_html(read(folder, "two.html")))
    asked = [json.loads(run(folder, "qualify", "compare", "--figure", figure, "--margin", margin, *sides, "--json",
                            "-").stdout) for figure, margin in (("coercivity", "0.5 kA/m"), ("remanence", "20 mT"))]
    check.check(got["kind"] == "compare" and got["content"]["comparison"] == asked, "comparison is not that of qualify")
    made = run(folder, "report", "gauge", "--limits", LIMITS, STUDY, "-o", "bench.html")
    check.check(made.returncode == 0, "gauge: %r" % made)
    got = json.loads(data_of_html(read(folder, "bench.html")))
    asked = [json.loads(run(folder, "qualify", "gauge", "--limits", LIMITS, "--figure", figure, STUDY, "--json",
                            "-").stdout) for figure in ("remanence", "coercivity")]
    check.check(got["kind"] == "gauge" and got["content"]["gauge"] == asked, "study is not that of qualify")
    check.check(len(got["content"]["inputs"]) == 30, "%d inputs" % len(got["content"]["inputs"]))


def test_the_exit_status_is_the_verdict(check, folder):
    for name, status, word in (("H2291", 0, "accepted"), ("H2305", 11, "undecided"), ("C7", 10, "rejected")):
        made = run(folder, "report", "lot", "--limits", LIMITS, *heat(name), "-o", name + ".html")
        check.check(made.returncode == status and made.stdout.decode() == "verdict: %s\n" % word, "%s: %r" % (name, made))
        check.check(b">" + word.capitalize().encode() + b"</b>" in read(folder, name + ".html"), name + ": no verdict box")


def is_within(old, new):
    """Whether all that the old numbers say is said by the new ones, which may say more."""
    if isinstance(old, dict):
        return isinstance(new, dict) and all(key in new and is_within(old[key], new[key]) for key in old)
    if isinstance(old, list):
        return isinstance(new, list) and len(old) == len(new) and all(map(is_within, old, new))
    return old == new


def test_the_finished_reports_are_up_to_date(check, folder):
    lot = ["lot", "--limits", "samples/qualify/limits.yaml", *(os.path.relpath(path) for path in heat("H2305"))]
    two = ["compare", "--limits", "samples/qualify/limits.yaml", "--figure", "coercivity", "--margin", "0.5 kA/m",
           "--figure", "remanence", "--margin", "20 mT", *heat("H2291"), *heat("C7")]
    bench = ["gauge", "--limits", "samples/qualify/limits.yaml", STUDY]
    for name, words in (("lot", lot), ("comparison", two), ("gauge", bench)):
        out = os.path.join(folder, name + ".html")
        run(".", "report", *words, "-o", out)
        new = json.loads(data_of_html(read(folder, out)))["content"]
        for old, ending in ((data_of_html(read(".", "reports/%s.html" % name)), "html"),
                            (data_of_pdf(folder, os.path.abspath("reports/%s.pdf" % name)), "pdf")):
            check.check(is_within(json.loads(old)["content"], new), "make reports: %s.%s is old" % (name, ending))


# --- the files -----------------------------------------------------------------------------------

def test_a_pdf_can_be_searched_and_needs_no_fonts(check, folder):
    run(folder, "report", "lot", "--limits", LIMITS, *heat("H2305"), "-o", "lot.pdf", "--title", "Incoming <inspection> & more",
        "--number", "QL-0107", "--date", "2026-11-25", "--laboratory", "bench 2", "--order", "PO-7731", "--remark",
        "Both ends of the bar.", "--prepared-by", "technician")
    words = tool(folder, "pdftotext", "-layout", "lot.pdf", "-")
    for part in ("Incoming <inspection> & more", "QL-0107", "2026-11-25", "bench 2", "PO-7731", "Both ends of the bar.",
                 "Prepared: technician, date", "Undecided", "17.532 ± 0.094", "17.5 to 20.5 kA/m", "2026-03-02",
                 hashlib.sha256(read(folder, heat("H2305")[0])).hexdigest(), hashlib.sha256(read(folder, LIMITS)).hexdigest(),
                 "never open"):
        check.check(part in words, "the PDF's text has no '%s'" % part)
    fonts = tool(folder, "pdffonts", "lot.pdf").splitlines()[2:]
    check.check(len(fonts) >= 2 and all(line.split()[-5:-2] == ["yes", "yes", "yes"] for line in fonts), str(fonts))
    about = tool(folder, "pdfinfo", "lot.pdf")
    check.check(re.search(r"Title: +Incoming <inspection> & more\n", about), about)
    check.check(re.search(r"Tagged: +yes", about), about)
    check.check(b"/Lang (en)" in read(folder, "lot.pdf"), "no language")


def test_paper_is_a4_or_letter(check, folder):
    for page, size in ((None, A4), ("a4", A4), ("letter", LETTER)):
        more = ["--page", page] if page else []
        run(folder, "report", "gauge", "--figure", "coercivity", STUDY, "-o", "bench.pdf", *more)
        found = re.search(r"Page size: +([\d.]+) x ([\d.]+)", tool(folder, "pdfinfo", "bench.pdf"))
        check.check(found and all(abs(float(got) - want) < 0.1 for got, want in zip(found.groups(), size)),
                    "%s: %s" % (page, found and found.group()))


def test_a_long_lot_repeats_its_headings_and_numbers_its_pages(check, folder):
    write(folder, "loops.jsonl", make_loops(80))
    made = run(folder, "report", "lot", "--limits", LIMITS, "loops.jsonl", "-o", "lot.pdf")
    check.check(made.returncode == 0, str(made))
    pages = tool(folder, "pdftotext", "-layout", "lot.pdf", "-").split("\f")[:-1]
    for i, page in enumerate(pages):
        check.check("page %d of %d" % (i + 1, len(pages)) in page, "page %d has no number" % (i + 1))
        rings = re.findall(r"^ *R-\d+ +[\d.]+ ± ", page, re.M)
        check.check(not rings or "value ± U" in page, "page %d has rings without headings" % (i + 1))
        hashes = re.findall(r"^ *R-\d+ +r\d+\.flac", page, re.M)
        check.check(not hashes or "SHA-256 of the recording" in page, "page %d has recordings without headings" % (i + 1))
    rows = sum(len(re.findall(r"^ *R-\d+ +[\d.]+ ± ", page, re.M)) for page in pages)
    check.check(rows == 160 and len(pages) > 5, "%d rows on %d pages" % (rows, len(pages)))


def test_no_row_stands_alone_on_a_page(check, folder):
    """However many rings there are: a page that goes on with a list has two rows of it or more."""
    for count in range(26, 38):
        write(folder, "loops.jsonl", make_loops(count))
        run(folder, "report", "lot", "--limits", LIMITS, "loops.jsonl", "-o", "lot.pdf")
        pages = tool(folder, "pdftotext", "-layout", "lot.pdf", "-").split("\f")[:-1]
        for i, page in enumerate(pages):
            for row in (r"^ *R-\d+ +[\d.]+ ± ", r"^ *R-\d+ +r\d+\.flac"):
                check.check(len(re.findall(row, page, re.M)) != 1, "%d rings: one row on page %d" % (count, i + 1))


def test_the_same_input_gives_the_same_bytes(check, folder):
    os.mkdir(os.path.join(folder, "other"))
    for name in ("lot.pdf", "lot.html"):
        words = ["report", "lot", "--limits", LIMITS, *heat("C7"), "-o", name]
        run(folder, *words)
        run(os.path.join(folder, "other"), *words, TZ="Asia/Tokyo", OMP_NUM_THREADS="1", LC_ALL="C")
        first = read(folder, name)
        check.check(first == read(folder, os.path.join("other", name)), name + " differs")
        check.check(folder.encode() not in first and SAMPLES.encode() not in first, name + " has a path")


def test_odd_names_stay_words(check, folder):
    def rename(loop, _):
        loop["specimen"]["heat"] = "<script>alert(1)</script> & \"more\""
        loop["rig"]["name"] = "bench \u00e9 </script>"
        loop["capture"]["file"] = "a" * 180 + ".flac"
    write(folder, "loops.jsonl", make_loops(4, rename))
    made = run(folder, "report", "lot", "--limits", LIMITS, "loops.jsonl", "-o", "odd.html", "-o", "odd.pdf")
    page = read(folder, "odd.html").decode()
    check.check(made.returncode in (0, 10, 11), str(made))
    check.check("<script>alert" not in page and page.count("</script>") == 1, "a name became markup")
    check.check("&lt;script&gt;alert(1)&lt;/script&gt; &amp; \"more\"" in page, "the heat's name is not shown")
    got = json.loads(data_of_html(page.encode()))["content"]["inputs"][0]
    check.check(got["rig"] == "bench \u00e9 </script>", str(got["rig"]))


def test_few_rings_and_unknown_uncertainty_make_a_report(check, folder):
    def strip(loop, _):
        loop["figures"] = {key: value for key, value in loop["figures"].items() if not key.startswith("u_")}
    for count, change in ((1, None), (2, None), (3, strip)):
        write(folder, "loops.jsonl", make_loops(count, change))
        made = run(folder, "report", "lot", "--limits", LIMITS, "loops.jsonl", "-o", "few.html", "-o", "few.pdf")
        words = tool(folder, "pdftotext", "-layout", "few.pdf", "-")
        check.check(made.returncode in (0, 11) and not made.stderr, "%d: %r" % (count, made))
        check.check("nan" not in words.lower().replace("resonan", "") and "inf" not in words.replace("info", ""),
                    "%d: a number is not one" % count)


# --- what is refused -----------------------------------------------------------------------------

def test_refuses_and_leaves_nothing_behind(check, folder):
    lot = ["lot", "--limits", LIMITS, *heat("C7")]
    cases = [
        (lot, 1, "'report' needs a file to write"),
        ([*lot, "-o", "lot.txt"], 1, "cannot tell the format of the document 'lot.txt'"),
        ([*lot, "-o", "good.pdf", "-o", "lot"], 1, "cannot tell the format of the document 'lot'"),
        ([*lot, "-o", "good.pdf", "-o", "none/lot.pdf"], 4, "none"),
        ([*lot, "-o", "good.pdf", "-o", "good.pdf"], 1, "two results would go to 'good.pdf'"),
        ([*lot, "-o", "good.pdf", "--page", "a5"], 1, "option '--page' does not know 'a5'"),
        ([*lot, "-o", "good.pdf", "--date", "yesterday"], 1, "yesterday"),
        ([*lot, "-o", "good.pdf", "--figure", "coercivity"], 1, "option '--figure' is not for 'report lot'"),
        (["lot", *heat("C7"), "-o", "good.pdf"], 1, "needs an acceptance file"),
        (["lot", "--limits", LIMITS, "none.flac", "-o", "good.pdf"], 4, "none.flac"),
        (["lot", "--limits", "none.yaml", *heat("C7"), "-o", "good.pdf"], 4, "none.yaml"),
        (["compare", *heat("C7"), "-o", "good.pdf"], 1, "it takes the figures that are looked at"),
        (["compare", "-f", "coercivity", *heat("C7"), "-o", "good.pdf"], 2, "a comparison takes two sides"),
        (["compare", "-f", "coercivty", *heat("C7"), "-o", "good.pdf"], 1, "there is no figure 'coercivty'"),
        (["compare", "-f", "coercivity", "-f", "coercivity", *heat("C7"), "-o", "good.pdf"], 1, "twice"),
        (["compare", "-f", "coercivity", "-f", "remanence", "--margin", "1 kA/m", *heat("C7"), "-o", "good.pdf"], 1,
         "there are 1 margins and 2 figures"),
        (["compare", "-f", "coercivity", "--margin", "1 T", *heat("C7"), "-o", "good.pdf"], 1, "--margin"),
        (["gauge", "-f", "coercivity", *heat("C7"), "-o", "good.pdf"], 2, "coercivity: "),
        (["gauge", "-f", "coercivity", "--by", "moon", STUDY, "-o", "good.pdf"], 1, "does not know 'moon'"),
        (["lots", STUDY, "-o", "good.pdf"], 1, "'report' does not know 'lots'"),
    ]
    for words, status, message in cases:
        made = run(folder, "report", *words)
        text = made.stderr.decode()
        check.check(made.returncode == status and message in text.splitlines()[0] and "\nhint: " in text and not made.stdout,
                    "report %s: %d %s" % (" ".join(words), made.returncode, text))
        check.check(os.listdir(folder) == [], "report %s: left %s" % (" ".join(words), os.listdir(folder)))


def test_an_old_report_stays_when_the_new_one_fails(check, folder):
    write(folder, "lot.pdf", "old")
    made = run(folder, "report", "lot", "--limits", LIMITS, "none.flac", "-o", "lot.pdf")
    check.check(made.returncode == 4 and read(folder, "lot.pdf") == b"old", "the old file is gone")


def main():
    check = Checks()
    for name, test in list(globals().items()):
        if name.startswith("test_"):
            folder = tempfile.mkdtemp()
            try:
                test(check, folder)
            finally:
                shutil.rmtree(folder)
    print("%d passed, %d failed" % (check.passed, check.failed))
    return check.failed > 0


if __name__ == "__main__":
    sys.exit(main())
