# SPDX-License-Identifier: GPL-3.0-or-later
"""Every option of every command and every verb stands in an example that is run: in a console block
of the documents (tests/test_examples.py runs those), or in the help, whose examples are run here."""
import glob
import json
import os
import re
import shlex
import subprocess
import sys

sys.path[:0] = [os.path.join(os.path.dirname(os.path.abspath(__file__)), name) for name in ("tools", "world")]
import checks
import examples
import program

TABLE = json.loads(program.run("help", "--json")[1])["commands"]
COMMANDS = {command["name"]: command for command in TABLE}


def find_calls(line):
    """The words behind each 'lodecard COMMAND' of a shell line."""
    for part in re.split(r"\|\||&&|[|;]|\$\(|<\(", line.replace("\\\n", " ")):
        found = re.search(r"\blodecard\s+(.*)", part, re.S)
        try:
            words = shlex.split(found.group(1)) if found else []
        except ValueError:  # the part ends within quotes
            words = found.group(1).split()
        if words and words[0] in COMMANDS:
            yield words


def read_call(words):
    """The command, the verb and the options that a call names."""
    command = COMMANDS[words[0]]
    verbs = {verb["name"] for verb in command["verbs"]} - {""}
    names = {"--" + option["name"]: option["name"] for option in command["options"]}
    letters = {"-" + option["letter"]: option["name"] for option in command["options"] if option["letter"]}
    options = {names[word.split("=")[0]] for word in words if word.split("=")[0] in names}
    options |= {letters[word[:2]] for word in words if word[:2] in letters}
    return command["name"], words[1] if len(words) > 1 and words[1] in verbs else "", options


def find_shown():
    """(command, verb, option) of all examples; the option is None for the call itself."""
    lines = [example["line"] for command in TABLE for example in command["examples"]]
    for name in glob.glob("*.md") + glob.glob("docs/*.md") + glob.glob("docs/manual/*.md"):
        with open(name, encoding="utf-8") as file:
            parts = examples.split(name, file.read().splitlines())
        lines += ["\n".join(part.command)[2:] for part in parts if not isinstance(part, str)]
    shown = set()
    for line in lines:
        for words in find_calls(line):
            command, verb, options = read_call(words)
            shown |= {(command, verb, option) for option in options | {None}}
    return shown


def test_examples_are_taken_apart(check, folder):
    for line, wanted in (
            ("lodecard loop a.wav -j2 --json=x | grep y", [("loop", "", {"jobs", "json"})]),
            ("x; lodecard card export a --to csv && lodecard help --list",
             [("card", "export", {"to"}), ("help", "", {"list"})]),
            ("diff <(lodecard look a) \\\n  b", [("look", "", set())]),
            ("echo lodecardx loop --json", [])):
        got = [read_call(words) for words in find_calls(line)]
        check.check(got == wanted, "%s: %s" % (line, got))


def test_every_option_is_shown(check, folder):
    shown = find_shown()
    for command in TABLE:
        name = command["name"]
        for option in command["options"]:
            check.check(any(s[0] == name and s[2] == option["name"] for s in shown),
                        "no example of 'lodecard %s --%s': put one into docs/manual/%s.md"
                        % (name, option["name"], name))
        for verb in command["verbs"]:
            check.check((name, verb["name"], None) in shown,
                        "no example of 'lodecard %s %s': put one into docs/manual/%s.md"
                        % (name, verb["name"], name))
            for option in verb["options"]:  # one that is this verb's alone must be shown with it
                if sum(option in other["options"] for other in command["verbs"]) == 1:
                    check.check((name, verb["name"], option) in shown, "no example of 'lodecard %s %s --%s'"
                                % (name, verb["name"], option))


# Options of one name that are different things in different commands; all others stand in one table,
# which the commands take in.
DIFFERENT = {
    "at", "by", "captures", "csv", "date", "dry-run", "figure", "list", "margin", "output", "plot", "points",
    "fundamental calibrate", "rig calibrate", "specimen calibrate", "json-lines ledger", "jobs card",
    "json help", "json loop", "json motor"}


def test_options_of_one_name_say_the_same_everywhere(check, folder):
    said = {}
    for command in TABLE:
        names = [option["name"] for option in command["options"]]
        check.check(len(names) == len(set(names)), "'%s' has an option twice" % command["name"])
        for option in command["options"]:
            if not {option["name"], "%s %s" % (option["name"], command["name"])} & DIFFERENT:
                words = [option[key] for key in ("letter", "value", "help", "takes")]
                before, first = said.setdefault(option["name"], (words, command["name"]))
                check.check(before == words, "--%s of '%s' is not that of '%s'"
                            % (option["name"], command["name"], first))


# --- the examples of the help ---------------------------------------------------------------------

# What their files are. $TOP: the checkout; each command has a folder of its own.
FILES = {
    "look": """cp $TOP/samples/sound-card/r17-60kam-20hz.flac ring.flac
        cut -d ';' -f 2- $TOP/samples/logger/r17-40kam-10hz.csv >logger.csv
        mkdir bin; printf '#!/bin/sh\\ncat ring.flac\\n' >bin/arecord; chmod +x bin/arecord""",
    "loop": """cp $TOP/samples/sound-card/* .; mv *.flac ring.flac; cp rig.yaml bench.yaml
        for i in 1 2; do cp ring.flac H2291-$i.wav; done
        mkdir logger; cp $TOP/samples/logger/*.yaml logger; cp $TOP/samples/logger/*.csv logger/ring.csv
        echo '{"capture": "ring.flac"}' >survey.jsonl""",
    "calibrate": """cp $TOP/tests/data/calibrate/*.yaml .
        make() { lodecard virtual $1 -o made-$2; mv made-$2/capture.flac $2.wav; }
        make tone.yaml tone; make tone.yaml high; sed 's/700 mV/70 mV/' tone.yaml >t.yaml; make t.yaml low
        make loopback.yaml both; sed 's/kind: loopback/kind: tone/' loopback.yaml >t.yaml; make t.yaml one
        make coil.yaml air; make series.yaml series
        cp made-air/specimen.yaml .; sed -i 's/^inputs:/inputs:\\n  same_calibrator: yes/' rig.yaml""",
    "series": """mkdir H2291 loops; cp $TOP/samples/series/*.flac $TOP/samples/series/*.yaml H2291
        cp $TOP/tests/data/rings/ring1_sine_loss.csv sine.csv; cp $TOP/samples/series/loops.jsonl .
        lodecard virtual --example | sed 's/field_peak: 60 kA.m/flux_density_peak: 1.2 T/' >t.yaml
        lodecard virtual t.yaml -o v --peak '0.6 T' --peak '0.9 T' --peak '1.2 T'
        for f in v/*.flac; do lodecard loop $f --json loops/$(basename $f .flac).json --points 512 >x; done""",
    "card": """mkdir H2291; cp $TOP/samples/series/*.flac $TOP/samples/series/*.yaml H2291
        cp $TOP/samples/card/*.json other.json""",
    "motor": """cp $TOP/samples/card/*.json r36.card.json
        lodecard loop $TOP/samples/sound-card/*.flac --json loop.json >x
        lodecard series $TOP/samples/series/loops.jsonl --json series.json >x
        cp series.json a.json; cp r36.card.json b.json""",
    "qualify": """cp $TOP/samples/qualify/limits.yaml .; mkdir -p loops old new heats study; sed '/^faults/,$d' $TOP/samples/sound-card/ring.yaml >r.yaml
        for ring in A B; do for peak in 25 40; do
            sed "s/60 kA/$peak kA/; s/name: r17.*/name: c$peak/; s/name: R-17/name: $ring/" r.yaml >t.yaml
            lodecard virtual t.yaml -o h2291/$ring --seed $peak; done; done
        for f in $TOP/samples/qualify/*/*/*.flac; do
            lodecard loop $f --json heats/$(basename $f .flac).json --points 64 >x; done
        cp heats/R-1*.json old; cp heats/Q*.json new; cp heats/R-1*.json loops
        for i in 0 0.1; do for f in $TOP/samples/qualify/H2291/*/*.flac; do
            lodecard loop $f --start $i --json study/$i-$(basename $f .flac).json --points 64 >x; done; done
        lodecard ledger add $TOP/samples/qualify -q >x""",
    "report": """cp $TOP/samples/series/loops.jsonl steel.jsonl; cp $TOP/samples/sound-card/* .; mv *.flac ring.flac; cp $TOP/samples/qualify/limits.yaml .
        cp -r $TOP/samples/qualify/H2291 h2291; mkdir old new study
        lodecard loop h2291/*/*.flac --json-lines=loops.jsonl >x
        lodecard loop $TOP/samples/qualify/C7/*/*.flac --json-lines=new.jsonl >x
        for f in $TOP/samples/qualify/*/*/*.flac; do
            lodecard loop $f --json study/$(basename $f .flac).json --points 64 >x; done
        cp study/R-1*.json old; mv study/Q*.json new; rm study/R-2*
        for f in h2291/*/*.flac; do
            lodecard loop $f --start 0.1 --json study/again-$(basename $f .flac).json --points 64 >x; done
        cp -r $TOP/samples/qualify/H2305 $TOP/samples/qualify/C7 .; lodecard ledger add $TOP/samples/qualify -q --ledger lab.ledger >x
        cp lab.ledger lodecard.ledger""",
    "ledger": "cp -r $TOP/samples/qualify/H2291 captures",
    "virtual": "lodecard virtual --example | sed 's/field_peak: 60 kA.m/flux_density_peak: 1.2 T/' >sine.yaml",
    "help": "true",
}


def run(line, folder):
    environment = {**os.environ, "TOP": program.ROOT, "LODECARD_LEDGER": "lodecard.ledger",
                   "PATH": "bin:" + os.path.dirname(program.PROGRAM) + ":" + os.environ["PATH"]}
    done = subprocess.run(["bash", "-c", line], cwd=folder, env=environment, capture_output=True,
                          stdin=subprocess.DEVNULL, timeout=300)
    return done.returncode, (done.stdout + done.stderr).decode("utf-8", "replace")


def test_examples_of_the_help_run(check, folder):
    for command in TABLE:
        name = command["name"]
        own = os.path.join(folder, name)
        os.mkdir(own)
        if not check.check(name in FILES, "the files of the examples of '%s' are not told here" % name):
            continue
        status, out = run("set -e\n" + FILES[name], own)
        check.check(status == 0, "%s: making its files: %d %s" % (name, status, out[-500:]))
        for example in command["examples"]:
            status, out = run("set -o pipefail; " + example["line"], own)
            good = (0, 10, 11) if name in ("qualify", "report") else (0,)  # a verdict is no failure
            check.check(status in good and "hint:" not in out.splitlines()[-1:],
                        "%s: %d %s" % (example["line"], status, out[-500:]))


checks.main(globals())
