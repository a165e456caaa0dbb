# SPDX-License-Identifier: GPL-3.0-or-later
"""The exports that Python reads: NumPy's archive, CSV, and the Modelica record, which a small parser of
the language's grammar takes; and what every export must say of itself."""
import csv
import html.parser
import io
import os
import re
import subprocess
import sys

import numpy as np

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "world"))
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import checks
import modelica
import steel

EXPORTERS = ("csv", "getdp", "html", "modelica", "numpy", "octave", "spice")


def read(path):
    with open(path, "rb") as file:
        return file.read()


def integral(h, b):
    return np.sum((h[1:] + h[:-1]) / 2 * np.diff(b))


def test_numpy(check, folder):
    """Every number of the card is there, to the last bit; and the figures come out of the arrays."""
    card = steel.read_sample()
    archive = np.load(steel.export(steel.SAMPLE, "numpy", os.path.join(folder, "steel.npz")))
    for path, values in (("solver.curve.slope_H_per_m", card["solver"]["curve"]["slope_H_per_m"]),
                         ("normal_curve.flux_density_peak_T",
                          card["normal_curve"]["flux_density_peak_T"]),
                         ("figures.remanence_T", card["figures"]["remanence_T"]),
                         ("loops.2.figures.loop_area_J_per_m3",
                          card["loops"][2]["figures"]["loop_area_J_per_m3"]),
                         ("models.0.parameters.pinning_A_per_m",
                          card["models"][0]["parameters"]["pinning_A_per_m"])):
        check.check(path in archive and np.array_equal(archive[path], np.array(values)), path)
    r, f = ([archive["major_loop.%s.%s" % (branch, key)] for key in ("field_A_per_m", "flux_density_T")]
            for branch in ("rising", "falling"))
    area = integral(*r) - integral(*f)
    check.near(area, card["major_loop"]["drawn"]["loop_area_J_per_m3"], 1e-6 * area, "area (J/m3)")
    check.check("RS-36, heat H2291" in archive["statement"].item().decode(), "the statement")


def read_tables(text):
    """{name: rows} of the blocks that begin with '# name'."""
    blocks = re.split(r"^# (\w+)\n", text.split("\n\n", 1)[1], flags=re.M)[1:]
    return {name: list(csv.DictReader(io.StringIO(block.strip())))
            for name, block in zip(blocks[::2], blocks[1::2])}


def test_csv(check, folder):
    card = steel.read_sample()
    path = steel.export(steel.SAMPLE, "csv", os.path.join(folder, "steel.csv"))
    tables = read_tables(read(path).decode())
    check.check(list(tables) == ["figures", "curve", "losses", "branches"], "tables: %s" % list(tables))
    figures = {row["figure"]: row for row in tables["figures"]}
    for key in ("remanence_T", "loop_area_J_per_m3"):
        check.check(float(figures[key]["value"]) == card["figures"][key], key)
        check.check(float(figures[key]["u"]) == card["figures"]["u_" + key], "u_" + key)
    check.check([float(row["flux_density_peak_T"]) for row in tables["curve"]]
                == card["normal_curve"]["flux_density_peak_T"], "the normal curve")
    check.check(len(tables["losses"]) == len(card["loops"]) + 1, "a line for every loop")
    last = max(int(row["loop"]) for row in tables["branches"])
    rising = [row for row in tables["branches"] if int(row["loop"]) == last and row["branch"] == "rising"]
    check.check([float(row["field_A_per_m"]) for row in rising]
                == card["major_loop"]["rising"]["field_A_per_m"], "the major loop's rising branch")


def test_csv_of_one_table(check, folder):
    card = steel.read_sample()
    path = steel.export(steel.SAMPLE, "csv", os.path.join(folder, "losses.csv"), "table=losses")
    rows = list(csv.DictReader(io.StringIO(read(path).decode())))
    check.check([float(row["loop_area_J_per_m3"]) for row in rows]
                == [loop["figures"]["loop_area_J_per_m3"] for loop in card["loops"]]
                + [card["figures"]["loop_area_J_per_m3"]], "areas of all loops")


def test_modelica(check, folder):
    card = steel.read_sample()
    path = steel.export(steel.SAMPLE, "modelica", os.path.join(folder, "steel.mo"), "name=Steel")
    name, members = modelica.parse(read(path).decode())
    check.check(name == "Steel", "the record's name")
    check.check(members["remanence"] == card["figures"]["remanence_T"], "remanence")
    r, f = np.array(members["rising"]), np.array(members["falling"])
    area = integral(*r.T) - integral(*f.T)
    check.near(area, card["major_loop"]["drawn"]["loop_area_J_per_m3"], 1e-6 * area, "area (J/m3)")
    curve = np.array(members["curve"])
    off = np.max(np.abs(curve[:, 1] - steel.curve_flux(card, curve[:, 0])))
    check.near(off, 0, 1e-9, "the curve at its points (T)")
    middle = (curve[1:] + curve[:-1]) / 2
    off = np.max(np.abs(middle[:, 1] - steel.curve_flux(card, middle[:, 0])))
    check.near(off, 0, 1e-4, "the curve between its points (T)")


def test_modelica_grammar_refuses(check, folder):
    for text in ("record A end B;", "record A constant Real x = ; end A;", "record A Real x[:, 2 = [1]; end A;",
                 'record A "open; end A;', "record A constant Real x = [1, 2; 3]; end A;", "record 1A end 1A;"):
        try:
            modelica.parse(text)
            check.check(False, "the parser takes " + text)
        except modelica.Fault:
            check.check(True, "")


class Page(html.parser.HTMLParser):
    """Rows of the tables by their heads; every element that is opened is closed."""
    VOID = ("meta", "line", "polyline", "br")

    def __init__(self, text):
        super().__init__()
        self.open, self.rows, self.words, self.faults, self.seen = [], {}, [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.seen.append((tag, dict(attributes)))
        if tag not in self.VOID:
            self.open.append(tag)
        if tag == "tr":
            self.words = []
        if tag in ("th", "td"):
            self.words.append("")

    def handle_startendtag(self, tag, attributes):
        self.seen.append((tag, dict(attributes)))

    def handle_data(self, data):
        if "tr" in self.open:
            self.words[-1] += data

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)
        if tag == "tr":
            self.rows[self.words[0]] = self.words[1:]


def test_html(check, folder):
    """The figures in both systems of units: 1 Oe = 79.57747154594767 A/m, 1 T = 10 kG."""
    card = steel.read_sample()
    for units, field, flux, energy in (("si", 1e-3, 1, 1e-3), ("cgs", 1 / 79.57747154594767, 10, 10)):
        path = steel.export(steel.SAMPLE, "html", os.path.join(folder, units + ".html"), "units=" + units)
        page = Page(read(path).decode())
        check.check(not page.faults and not page.open, "well formed: %s" % page.faults)
        for head, key, factor in (("Remanence Br", "remanence_T", flux),
                                  ("Coercivity HcB", "coercivity_A_per_m", field),
                                  ("Loop area W, energy lost in each cycle", "loop_area_J_per_m3", energy)):
            value, u, unit = page.rows[head]
            truth, u_truth = card["figures"][key] * factor, card["figures"]["u_" + key] * factor
            check.near(float(value), truth, 0.06 * u_truth, head + " in " + unit)
            check.near(float(u), u_truth, 0.06 * u_truth, "its uncertainty")
        tags = [tag for tag, _ in page.seen]
        check.check(tags.count("caption") == tags.count("table") > 2, "every table has a caption")
        check.check(all("scope" in about for tag, about in page.seen if tag == "th"), "heads have a scope")
        check.check("script" not in tags and "link" not in tags and "img" not in tags, "nothing foreign")
        svg = [about for tag, about in page.seen if tag == "svg"]
        check.check(svg and svg[0].get("role") == "img" and "aria-labelledby" in svg[0],
                    "the picture is described")
        check.check(("html", {"lang": "en"}) in page.seen, "the language is told")


def test_statements(check, folder):
    """Card, hash, units, range, model form, what was left out: in every export."""
    for name in EXPORTERS:
        text = read(steel.export(steel.SAMPLE, name, os.path.join(folder, name))).decode("latin-1")
        digest = subprocess.run(["sha256sum", steel.SAMPLE], capture_output=True, text=True,
                                check=True).stdout.split()[0]
        for words in ("RS-36, heat H2291", "rs36-h2291.json", digest, "nits: SI", "olds for: peak field",
                      "60000 A/m", "odel form: ", "eft out: "):
            check.check(words in text, "%s says '%s'" % (name, words))
        again = read(steel.export(steel.SAMPLE, name, os.path.join(folder, name + "2"))).decode("latin-1")
        check.check(text == again, name + ": the same card gives the same bytes")


def test_reports_are_up_to_date(check, folder):
    for name, exporter, *settings in (("losses.csv", "csv", "table=losses"),
                                      ("steel.pro", "getdp", "name=steel"), ("sheet.html", "html"),
                                      ("Steel.mo", "modelica", "name=Steel"),
                                      ("steel.lib", "spice", "name=steel")):
        made = read(steel.export(steel.SAMPLE, exporter, os.path.join(folder, name), *settings))
        check.check(made == read(os.path.join(steel.TOP, "reports", "card", name)),
                    "make reports: card/%s is old" % name)


def without(*paths):
    """The sample card without some of its parts."""
    card = steel.read_sample()
    for path in paths:
        *parts, last = path.split(".")
        block = card
        for word in parts:
            block = block[word]
        block.pop(last, None)
    return card


def test_poor_cards(check, folder):
    """A card without a part is exported without it, or refused by the part's name."""
    bare = without("solver", "models", "normal_curve", "separation", "power_law", "saturation",
                   "major_loop", "steel")
    bare.update(figures={}, loops=[], validity={}, identity={"specimens": []})
    cards = {"solver": without("solver"), "models": without("models"), "steel": without("steel"),
             "major": without("major_loop", "solver.rising", "solver.falling"),
             "normal": without("normal_curve"), "bare": bare}
    for what, card in cards.items():
        path = steel.write(card, folder)
        for name in EXPORTERS:
            words = [steel.PROGRAM, "card", "export", path, "--to", name, "-o", os.path.join(folder, name)]
            done = subprocess.run(words, capture_output=True, text=True, timeout=60)
            refused = done.returncode == 2 and "' has no 'solver." in done.stderr
            if name in ("getdp", "spice") and what in ("solver", "bare"):
                check.check(refused, "%s without %s: %s" % (name, what, done.stderr))
            else:
                check.check(done.returncode == 0, "%s without %s: %s" % (name, what, done.stderr))


def test_hostile_texts(check, folder):
    """A name in a card cannot begin a line, end a comment or leave its quotation marks."""
    card = steel.read_sample()
    evil = 'a"\n.control\nshell true\n.endc\n*/ EVIL[] = 1; //\r\nEVIL\u2028EVIL</p><script>EVIL()</script>'
    card["name"] = evil
    for key in card["identity"]:
        if key != "specimens":
            card["identity"][key] = evil
    card["solver"]["curve"]["method"] = evil
    card["models"][0]["form"] = evil
    path = steel.write(card, folder)
    for name in EXPORTERS:
        text = read(steel.export(path, name, os.path.join(folder, name))).decode("utf-8", "replace")
        lines = text.splitlines() if name != "numpy" else []
        bad = [line for line in lines if line.startswith((".control", "shell", "EVIL", ".endc"))]
        check.check(not bad, "%s: %s" % (name, bad))
        check.check("*/" not in text and ("<script" not in text or name != "html"),
                    name + " keeps what it quotes apart")


def test_numbers_are_numbers(check, folder):
    """A text where a number is due is an error, not a piece of program."""
    for name in ("getdp", "octave", "spice", "modelica"):
        card = steel.read_sample()
        for key in ("remanence_T", "coercivity_A_per_m"):
            card["figures"][key] = "1; EVIL"
        card["solver"]["curve"]["flux_density_T"][3] = "1; EVIL"
        card["solver"]["reluctivity"]["reluctivity_m_per_H"][3] = "1; EVIL"
        path = steel.write(card, folder)
        words = [steel.PROGRAM, "card", "export", path, "--to", name, "-o", os.path.join(folder, name)]
        done = subprocess.run(words, capture_output=True, text=True, timeout=60)
        text = "" if done.returncode else read(os.path.join(folder, name)).decode()
        check.check(done.returncode == 2 or not re.search(r'^[^#%*/"]*EVIL', text, re.M),
                    "%s: %d %s" % (name, done.returncode, done.stderr))


checks.main(globals())
