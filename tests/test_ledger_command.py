# SPDX-License-Identifier: GPL-3.0-or-later
"""The command `ledger` as its users see it: computing again, export and import, what is wrong with files."""
import json
import os
import shutil
import sqlite3
import sys
import tempfile

import test_ledger_safety as safety

SAMPLES = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "samples")
KEY = "coercivity_A_per_m"


def read(*parts):
    with open(os.path.join(*parts), encoding="utf-8") as file:
        return file.read()


def write(words, *parts):
    with open(os.path.join(*parts), "w", encoding="utf-8") as file:
        file.write(words)


def fill(folder, *more):
    for name in ("sound-card", "trace"):
        shutil.copytree(os.path.join(SAMPLES, name), os.path.join(folder, "captures", name))
    return safety.run(folder, "add", "captures", "-q", *more)


def spoil(folder, sql):
    base = sqlite3.connect(os.path.join(folder, "lodecard.ledger"))
    base.execute(sql)
    base.commit()
    base.close()


def test_computing_again_finds_nothing_new(check, folder):
    check.check(fill(folder, "--points", "8").returncode == 0, "add fails")
    done = safety.run(folder, "recompute")
    check.check(done.stdout == "2 the same, 0 changed, 0 failed\n", done.stdout + done.stderr)
    check.check("changes     1" in safety.run(folder, "list").stdout, "a change without a change")


def test_computing_again_reads_as_the_first_time(check, folder):
    """A fundamental that is half the drive's is what nobody would find without being told."""
    fill(folder)
    added = safety.run(folder, "add", "captures/sound-card", "-q", "--start", "0.1", "--length", "2",
                       "--harmonics", "9", "--fundamental", "10 Hz")
    check.check(added.returncode == 0, added.stderr)
    kept = json.loads(safety.run(folder, "export", "--json-lines", "--where", "frequency < 15 Hz").stdout or "{}")
    check.check(kept and kept["figures"]["harmonics"] == 9, "it is not read as it was told")
    done = safety.run(folder, "recompute")
    check.check(", 0 changed, 0 failed" in done.stdout, done.stdout + done.stderr)


def test_computing_again_tells_what_changed_and_keeps_the_old(check, folder):
    """As if an earlier program had found 2 u more."""
    fill(folder, "--bytes")
    shutil.rmtree(os.path.join(folder, "captures"))
    spoil(folder, "UPDATE loop SET %s = %s + 2 * u_%s WHERE id = 1" % (KEY, KEY, KEY))
    dry = safety.run(folder, "recompute", "--dry-run")
    check.check("1 the same, 1 changed, 0 failed; by 2 u at most; nothing was written" in dry.stdout, dry.stdout)
    check.check("loops       2" in safety.run(folder, "list").stdout, "a dry run writes")
    done = safety.run(folder, "recompute", "--where", "file = *.flac")
    check.check("0 the same, 1 changed, 0 failed" in done.stdout and "coercivity" in done.stdout and
                ": 2 u" in done.stdout, done.stdout + done.stderr)
    rows = safety.run(folder, "find", "--old").stdout
    check.check("1 old" in rows and "3 loops" in rows, rows)
    check.check("3 loops" not in safety.run(folder, "find").stdout, "the old one still counts")
    check.check(safety.run(folder, "recompute").stdout.startswith("2 the same"), "it is not settled")
    check.check(safety.run(folder, "undo").returncode == 0 and
                "1 old" not in safety.run(folder, "find", "--old").stdout, "undo of it")


def test_computing_again_needs_the_capture_that_was(check, folder):
    fill(folder)
    path = os.path.join(folder, "captures", "trace", "r17-60kam-slow.csv")
    write(read(path).replace("1", "2"), path)
    os.remove(os.path.join(folder, "captures", "sound-card", "r17-60kam-20hz.flac"))
    done = safety.run(folder, "recompute")
    check.check("0 the same, 0 changed, 2 failed" in done.stdout and done.returncode == 4, done.stdout)
    check.check("not where it lay" in done.stderr, done.stderr)
    check.check("other bytes" in done.stderr or "loop 2" in done.stderr, done.stderr)
    state = safety.run(folder, "check", "--captures")
    check.check(state.returncode == 2 and "has other bytes now" in state.stdout and
                "1 not where they lay" in state.stdout, state.stdout)


def test_a_folder_holds_the_whole_ledger(check, folder):
    fill(folder, "--bytes", "--points", "8", "--date", "2026-11-25", "--by", "A. Technician")
    safety.run(folder, "remark", "heat", "H2291", "with \"quotes\"\nand two lines")
    safety.run(folder, "tag", "loop", "1", "reference")
    safety.run(folder, "undo")
    check.check(safety.run(folder, "export", "--folder", "one").returncode == 0, "export fails")
    done = safety.run(folder, "import", "one", "--ledger", "new.ledger")
    check.check(done.returncode == 0, done.stderr)
    safety.run(folder, "export", "--folder", "two", "--ledger", "new.ledger")
    for name in sorted(os.listdir(os.path.join(folder, "one"))):
        if name != "captures":
            check.check(read(folder, "one", name) == read(folder, "two", name), name + " differs")
    heads = [safety.run(folder, "check", "--ledger", name).stdout for name in ("lodecard.ledger", "new.ledger")]
    check.check(heads[0] == heads[1] and "all as written" in heads[0], heads)
    before = read(folder, "one", "loop.jsonl")
    safety.write_loops(os.path.join(folder, "more.jsonl"), range(3))
    safety.run(folder, "add", "more.jsonl")
    safety.run(folder, "export", "--folder", "one")
    check.check(read(folder, "one", "loop.jsonl").startswith(before), "later exports add lines only")


def test_import_refuses_what_is_not_as_it_was(check, folder):
    fill(folder)
    safety.run(folder, "export", "--folder", "out")
    whole = {name: read(folder, "out", name) for name in os.listdir(os.path.join(folder, "out"))
             if name.endswith((".json", ".jsonl"))}
    spoilt = [
        ("loop.jsonl", lambda s: s.replace('"remanence_T": 0.9', '"remanence_T": 0.8', 1), "not what was"),
        ("loop.jsonl", lambda s: "\n".join(s.split("\n")[1:]), "not what was exported"),
        ("journal.jsonl", lambda s: "\n".join(s.split("\n")[:-2]) + "\n", "not what was exported"),
        ("journal.jsonl", lambda s: s.replace('"add"', '"change"', 1), "not what was exported"),
        ("loop.jsonl", lambda s: s.replace('"id"', '"sheen": 1, "id"', 1), "loop.jsonl:1: a row of 'loop' has 'sheen'"),
        ("loop.jsonl", lambda s: s[:-20], "loop.jsonl"),
        ("supplier.jsonl", lambda s: s + s, "supplier.jsonl:2: the row does not fit"),
        ("heat.jsonl", lambda s: "", "the row does not fit"),
        ("ledger.json", lambda s: s.replace('"tables": ', '"tables": 9'), "of a newer program"),
        ("ledger.json", lambda s: "{}", "schema"),
    ]
    for name, change, words in spoilt:
        write(change(whole[name]), folder, "out", name)
        done = safety.run(folder, "import", "out", "--ledger", "new.ledger")
        check.check(done.returncode == 2 and words in done.stderr,
                    "%s: status %d: %s" % (name, done.returncode, done.stderr))
        check.check("loops       0" in safety.run(folder, "list", "--ledger", "new.ledger").stdout,
                    name + ": something was kept")
        write(whole[name], folder, "out", name)
    done = safety.run(folder, "import", "out", "--ledger", "new.ledger")
    check.check(done.returncode == 0, "whole again: " + done.stderr)
    done = safety.run(folder, "import", "out", "--ledger", "new.ledger")
    check.check(done.returncode == 2 and "is not empty" in done.stderr, done.stderr)
    done = safety.run(folder, "import", "none", "--ledger", "other.ledger")
    check.check(done.returncode == 4 and "none/ledger.json" in done.stderr, done.stderr)


def test_lines_of_json_bring_two_ledgers_together(check, folder):
    fill(folder)
    safety.write_loops(os.path.join(folder, "office.jsonl"), range(4))
    safety.run(folder, "add", "office.jsonl", "--ledger", "office.ledger")
    safety.run(folder, "export", "--json-lines", "bench.jsonl")
    done = safety.run(folder, "add", "bench.jsonl", "--ledger", "office.ledger")
    check.check("2 added" in done.stdout, done.stdout + done.stderr)
    safety.run(folder, "export", "--json-lines", "all.jsonl", "--ledger", "office.ledger")
    lines = read(folder, "all.jsonl").splitlines()
    check.check(lines[4:] == read(folder, "bench.jsonl").splitlines(), "the lines are the same again")
    first = json.loads(lines[0])
    check.check(first["figures"] == safety.make_loop(0)["figures"], "the figures are")
    done = safety.run(folder, "add", "all.jsonl")
    check.check("4 added, 2 known" in done.stdout, done.stdout)


def test_one_bad_line_does_not_stop_the_others(check, folder):
    safety.write_loops(os.path.join(folder, "a.jsonl"), range(3))
    lines = read(folder, "a.jsonl").splitlines()
    write("\n".join([lines[0], "{", "", '{"schema": "lodecard-look/1"}', lines[1]]), folder, "b.jsonl")
    done = safety.run(folder, "add", "b.jsonl")
    check.check(done.returncode == 2 and "2 added, 0 known, 0 replaced; 2 failed" in done.stdout, done.stdout)
    check.check("b.jsonl:2" in done.stderr and "b.jsonl:4" in done.stderr, done.stderr)


def test_odd_words_are_refused(check, folder):
    safety.write_loops(os.path.join(folder, "a.jsonl"), range(3))
    safety.run(folder, "add", "a.jsonl", "-q")
    cases = [
        (("fnd",), 1, "does not know 'fnd'"), (("add",), 1, "needs captures"), ((), 1, "needs to know what to do"),
        (("find", "--date", "2026-13-01"), 1, "not in the calendar"),
        (("find", "--bytes"), 1, "'--bytes' is not for 'ledger find'"),
        (("find", "--sort", "coercivty"), 1, "no figure 'coercivty'"),
        (("find", "H1"), 1, "takes its conditions as options"),
        (("list", "heats", "H1"), 1, "takes one kind"), (("list", "loops"), 1, "looked for"),
        (("show", "heat"), 1, "needs a kind and a name"), (("show", "heat", "H9"), 1, "no heat 'H9'"),
        (("show", "heet", "H0"), 1, "nothing called 'heet'"),
        (("tag", "heat", "H0", "x", "--remove"), 1, "has no tag 'x'"),
        (("export",), 1, "no place to write to"), (("backup", "none/copy"), 4, "none/copy"),
        (("check", "--head", "0" * 64), 2, "not as it was written"),
        (("list", "--ledger", "a.jsonl"), 2, "it is no ledger, or damaged"),
        (("list", "--ledger", "none"), 4, "there is no ledger 'none'"),
        (("add", "a.jsonl", "--ledger", "."), 4, "'.'"),
    ]
    for words, status, message in cases:
        done = safety.run(folder, *words)
        check.check(done.returncode == status and message in done.stderr,
                    "%s: status %d: %s" % (" ".join(words), done.returncode, done.stderr))


def main():
    check = safety.Checks()
    for name, test in list(globals().items()):
        if name.startswith("test_") and callable(test):
            folder = tempfile.mkdtemp(prefix="lodecard-ledger-")
            try:
                test(check, folder)
            finally:
                shutil.rmtree(folder)
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
