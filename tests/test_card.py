# SPDX-License-Identifier: GPL-3.0-or-later
"""Cards are valid against docs/card.schema.json by a validator that others wrote (python3-jsonschema),
and docs/card.md explains every key of the schema."""
import copy
import glob
import json
import os
import re
import subprocess
import sys

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
    for words in [[name] for name in CAPTURES] + [CAPTURES[:3] + ("--date", "2026-11-25", "--smooth")]:
        done = subprocess.run([PROGRAM, "card", "make", *words, "-o", "-"], capture_output=True, text=True)
        if not check.check(done.returncode == 0, "card make %s: %s" % (words, done.stderr)):
            continue
        card = json.loads(done.stdout)
        faults = ["%s: %s" % (list(fault.absolute_path), fault.message[:200])
                  for fault in validator.iter_errors(card)]
        check.check(not faults, "%s: %s" % (words, faults[:3]))
        check.check(("date" in card) == ("--date" in words), "%s: date" % words[0])
        check.check(os.path.abspath(".") not in done.stdout, "%s: a path" % words[0])


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
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
