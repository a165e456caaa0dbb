# SPDX-License-Identifier: GPL-3.0-or-later
"""Cards are valid against docs/card.schema.json by a validator that others wrote (python3-jsonschema),
and docs/card.md explains every key of the schema."""
import copy
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

import jsonschema

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "world"))
from checks import Checks

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..")
CARDS = sorted(glob.glob(ROOT + "/samples/card/*.json") + glob.glob(ROOT + "/tests/data/card/*.json"))


def read(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def find_keys(node):
    """Every key that the schema names, at any depth."""
    if isinstance(node, list):
        return set().union(*[find_keys(item) for item in node])
    if not isinstance(node, dict):
        return set()
    found = set(node.get("properties", {}))
    return found.union(*[find_keys(child) for child in node.values()])


def test_the_schema_is_one(check, schema):
    jsonschema.Draft202012Validator.check_schema(schema)
    check.check(schema["$schema"].endswith("2020-12/schema"), "the schema is not of 2020-12")


def test_the_page_explains_every_key(check, schema):
    with open("docs/card.md", encoding="utf-8") as file:
        text = re.sub(r"^```.*?^```", "", file.read(), flags=re.M | re.S)
    words = set(re.findall(r"\w+", " ".join(re.findall(r"`([^`]+)`", text))))
    for key in sorted(find_keys(schema)):
        check.check(key in words, "docs/card.md does not explain '%s'" % key)


def test_cards_are_valid(check, validator):
    check.check(CARDS, "there are no cards")
    for path in CARDS:
        faults = ["%s: %s" % (list(fault.absolute_path), fault.message[:200])
                  for fault in validator.iter_errors(read(path))]
        check.check(not faults, "%s: %s" % (path, faults[:3]))


# What must not pass: a change to a good card.
def drop(*path):
    def change(card):
        for key in path[:-1]:
            card = card[key]
        del card[path[-1]]
    return change


def put(value, *path):
    def change(card):
        for key in path[:-1]:
            card = card[key]
        card[path[-1]] = value
    return change


BAD = (
    ("no figures", drop("figures")),
    ("another schema", put("lodecard-card/2", "schema")),
    ("a text for a number", put("0.95", "figures", "remanence_T")),
    ("null", put(None, "figures", "remanence_T")),
    ("a negative u", put(-1.0, "figures", "u_remanence_T")),
    ("a path", put("/home/ring.wav", "provenance", "captures", 0, "file")),
    ("a short hash", put("ab", "provenance", "captures", 0, "sha256")),
    ("a branch without B", drop("major_loop", "rising", "flux_density_T")),
    ("a negative loss", put(-1.0, "separation", 0, "hysteresis_J_per_m3")),
    ("a model without its form", drop("models", 0, "form")),
    ("a falling slope", put([-1.0, 1.0], "solver", "curve", "slope_H_per_m")),
    ("no provenance", drop("provenance")),
)


def test_what_is_no_card_is_refused(check, validator):
    good = read("tests/data/card/rs36-first.json")
    for name, change in BAD:
        bad = copy.deepcopy(good)
        change(bad)
        check.check(not validator.is_valid(bad), "the schema lets pass: %s" % name)


def test_unknown_keys_pass(check, validator):
    card = read("tests/data/card/rs36-first.json")
    for block in (card, card["identity"], card["major_loop"], card["solver"]["curve"],
                  card["provenance"]["captures"][0]):
        block["a_key_of_tomorrow"] = {"x": 1}
    check.check(validator.is_valid(card), "unknown keys are refused")


PROGRAM = os.environ.get("LODECARD", ROOT + "/build/release/lodecard")
CAPTURES = ("samples/sound-card/r17-60kam-20hz.flac", "samples/trace/r17-60kam-slow.csv",
            "samples/logger/r17-40kam-10hz.csv", "samples/measured-ring/ring1_quasi_static_loop.csv")


def test_made_cards_are_valid(check, validator):
    """What the program makes of the samples, with a date and without; smoothed too."""
    for words in [[name] for name in CAPTURES] + [
            CAPTURES[:3] + ("--date", "2026-11-25", "--smooth", "--model", "tellinen")]:
        done = subprocess.run([PROGRAM, "card", "make", *words, "-o", "-"], capture_output=True, text=True)
        if not check.check(done.returncode == 0, "card make %s: %s" % (words, done.stderr)):
            continue
        card = json.loads(done.stdout)
        faults = ["%s: %s" % (list(fault.absolute_path), fault.message[:200])
                  for fault in validator.iter_errors(card)]
        check.check(not faults, "%s: %s" % (words, faults[:3]))
        check.check(("date" in card) == ("--date" in words), "%s: date" % words[0])
        check.check([model["name"] for model in card.get("models", [])]
                    == (["tellinen"] if "--model" in words else []), "%s: models" % words[0])
        check.check(("models" in card["provenance"]["sources"]) == ("--model" in words), "%s: where models come from" % words[0])
        check.check(os.path.abspath(".") not in done.stdout, "%s: a path" % words[0])


def run_card(*words):
    done = subprocess.run([PROGRAM, "card", *words], capture_output=True, text=True)
    return done.returncode, done.stdout, done.stderr


# What no steel does, and the rule that must say so.
UNPHYSICAL = (
    (put(1e7, "figures", "coercivity_A_per_m"), "mu0 HcB < Br"),
    (put(5e5, "figures", "loop_area_J_per_m3"), "0 < W <= 4 Bm Hc"),
    (put(-5.0, "figures", "loop_area_J_per_m3"), "0 < W <= 4 Bm Hc"),
    (put(9e4, "major_loop", "drawn", "loop_area_J_per_m3"), "area of the branches"),
    (put(0.8, "figures", "remanence_T"), "Br and HcB can be read off"),
    (put(-2.0, "power_law", "exponent"), "hysteresis loss rises with B"),
    (put(1.2, "saturation", "polarization_T"), "no J above the saturation"),
    (put(9e9, "validity", "field_least_A_per_m"), "ranges of validity"),
    (lambda card: stretch(card["major_loop"]["rising"]["field_A_per_m"]), "dB/dH >= mu0"),
    (lambda card: stretch(card["solver"]["curve"]["field_A_per_m"]), "never flatter than mu0"),
    (lambda card: steepen(card["solver"]["curve"]["slope_H_per_m"], 5), "its cubics are monotone"),
    (lambda card: steepen(card["solver"]["curve"]["slope_H_per_m"], -1), "tends to mu0"),
    (lambda card: steepen(card["solver"]["reluctivity"]["reluctivity_m_per_H"], 9), "H = nu B rises"),
)


def stretch(fields):
    """The last stretch becomes far too long for its rise of B."""
    fields[-1] *= 10


def steepen(list_, index):
    list_[index] *= 4


def test_check_finds_what_cannot_be(check, folder):
    good = read("tests/data/card/rs36-first.json")
    status, out, err = run_card("check", "tests/data/card/rs36-first.json")
    check.check(status == 0 and "FAILED" not in out, "card check of a good one: %s" % err)
    path = os.path.join(folder, "card.json")
    for change, rule in UNPHYSICAL:
        bad = copy.deepcopy(good)
        change(bad)
        with open(path, "w", encoding="utf-8") as file:
            json.dump(bad, file)
        status, out, err = run_card("check", path)
        failed = [line for line in out.splitlines() if line.startswith("FAILED")]
        check.check(status == 2 and any(rule in line for line in failed),
                    "'%s' is not found: %d, %s %s" % (rule, status, failed, err))


def test_check_compares_captures(check, folder):
    path, capture = os.path.join(folder, "card.json"), os.path.join(folder, "r17-60kam-slow.csv")
    check.check(run_card("make", CAPTURES[1], "-o", path)[0] == 0, "card make")
    shutil.copy(CAPTURES[1], capture)
    status, out, _ = run_card("check", path)
    check.check(status == 0 and "1 of 1 at hand" in out, "the capture beside the card is not found")
    with open(capture, "a", encoding="utf-8") as file:
        file.write("\n")
    status, out, _ = run_card("check", path)
    check.check(status == 2 and "another SHA-256" in out, "a changed capture passes")
    os.remove(capture)
    status, out, _ = run_card("check", path)
    check.check(status == 0 and "0 of 1 at hand" in out, "an absent capture fails")


def test_diff_tells_three_things(check, folder):
    good = read("tests/data/card/rs36-first.json")
    other = copy.deepcopy(good)
    figures = other["figures"]
    figures["remanence_T"] += 2.1 * 2**0.5 * figures["u_remanence_T"]
    figures["coercivity_A_per_m"] += 1.9 * 2**0.5 * figures["u_coercivity_A_per_m"]
    del figures["u_loop_area_J_per_m3"]
    path = os.path.join(folder, "other.json")
    for peak, wanted in ((1.0, ("different", "same", "cannot tell")), (1.02, ("cannot tell",) * 3)):
        figures["field_peak_A_per_m"] = good["figures"]["field_peak_A_per_m"] * peak
        with open(path, "w", encoding="utf-8") as file:
            json.dump(other, file)
        status, out, _ = run_card("diff", "tests/data/card/rs36-first.json", path)
        for word, verdict in zip(("remanence", "coercivity", "loop_area"), wanted):
            line = next((row for row in out.splitlines() if row.split()[:1] == [word]), "")
            check.check(status == 0 and line.endswith("   " + verdict), "%s: %s" % (word, line))


def test_merge_gives_mean_and_spread(check, folder, validator):
    good = read("tests/data/card/rs36-first.json")
    base, u = (good["figures"][key] for key in ("remanence_T", "u_remanence_T"))
    paths = [os.path.join(folder, "%d.json" % i) for i in range(3)]
    for i, path in enumerate(paths):
        card = copy.deepcopy(good)
        card["identity"]["specimens"] = ["R-%d" % i]
        card["figures"]["remanence_T"] = base * (1 + (0.01, 0.04, -0.02)[i])
        with open(path, "w", encoding="utf-8") as file:
            json.dump(card, file)
    status, out, err = run_card("merge", *paths, "-o", "-")
    if not check.check(status == 0, "card merge: %s" % err):
        return
    card = json.loads(out)
    check.check(validator.is_valid(card), "a merged card is not valid")
    check.near(card["figures"]["remanence_T"], base * 1.01, 1e-12, "mean")
    spread = card["spread"]["remanence_T"]
    check.check(spread["specimens"] == 3, "number of specimens")
    check.near(spread["standard_deviation"], base * 0.03, 1e-12, "standard deviation")
    check.near(card["figures"]["u_remanence_T"], (u**2 + (base * 0.03)**2 / 3)**0.5, 1e-12, "u")
    check.check(card["identity"]["specimens"] == ["R-0", "R-1", "R-2"], "specimens")
    check.check(len(card["provenance"]["cards"]) == 3, "cards")
    status, _, err = run_card("merge", paths[0], paths[0], "-o", "-")
    check.check(status == 2 and "of one specimen" in err, "one specimen twice: %s" % err)


def main():
    os.chdir(ROOT)
    check = Checks()
    schema = read("docs/card.schema.json")
    validator = jsonschema.Draft202012Validator(schema)
    test_the_schema_is_one(check, schema)
    test_the_page_explains_every_key(check, schema)
    test_cards_are_valid(check, validator)
    test_what_is_no_card_is_refused(check, validator)
    test_unknown_keys_pass(check, validator)
    test_made_cards_are_valid(check, validator)
    for test in (test_check_finds_what_cannot_be, test_check_compares_captures,
                 test_diff_tells_three_things):
        with tempfile.TemporaryDirectory() as folder:
            test(check, folder)
    with tempfile.TemporaryDirectory() as folder:
        test_merge_gives_mean_and_spread(check, folder, validator)
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
