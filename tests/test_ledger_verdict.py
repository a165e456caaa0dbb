# SPDX-License-Identifier: GPL-3.0-or-later
"""Verdicts on loops of the ledger: the same as from files, kept with their limits and loops, taken back,
and whole or not there when the program is killed."""
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time

import test_ledger_safety as safety

LIMITS = """name: RS-36, incoming
figures:
  coercivity: {lower: 17.5 kA/m, upper: 20.5 kA/m}
lot: {share: 0.9, confidence: 0.9}
"""
KILLS = int(os.environ.get("LODECARD_KILLS", "100")) // 4


def qualify(folder, *words, **more):
    return subprocess.run([safety.PROGRAM, "qualify", *words], cwd=folder, capture_output=True, text=True,
                          timeout=600, **more)


def write(folder, name, words):
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(words)


def make_loop(number, peak=60e3):
    """Six rings of two heats; coercivity grows with the peak, and differs from ring to ring."""
    loop = safety.make_loop(number)
    loop["specimen"] = {"name": "R-%d" % (number % 3), "heat": "H%d" % (number // 3 % 2),
                        "supplier": "Northgate Foundry", "alloy": "RS-36"}
    loop["figures"] = {"frequency_Hz": 20, "field_peak_A_per_m": peak, "flux_density_peak_T": 0.5 + peak / 1e5,
                       "remanence_T": 0.95, "coercivity_A_per_m": 18000 + 100 * (number % 6) + peak / 100,
                       "u_coercivity_A_per_m": 48}
    return loop


def fill(folder):
    """Six rings at three amplitudes each."""
    loops = [make_loop(6 * step + number, 40e3 + 10e3 * step) for step in range(3) for number in range(6)]
    write(folder, "loops.jsonl", "".join(json.dumps(loop) + "\n" for loop in loops))
    write(folder, "limits.yaml", LIMITS)
    return safety.run(folder, "add", "loops.jsonl", "-q")


def test_the_ledger_gives_the_verdict_that_files_give(check, folder):
    check.check(fill(folder).returncode == 0, "add fails")
    for more in ((), ("--at", "field_peak 45 kA/m")):
        words = ("--limits", "limits.yaml", *more, "--json")
        files, kept = qualify(folder, *words, "-", "loops.jsonl"), qualify(folder, *words, "--ledger", "lodecard.ledger")
        check.check(files.returncode == 0 and files.stdout == kept.stdout and files.stderr == "",
                    "%s: %s" % (more, files.stderr + kept.stderr))
        captures = json.loads(kept.stdout)["captures"]
        check.check(len({one["sha256"] for one in captures}) == 18, "%s: %d captures" % (more, len(captures)))
    one = json.loads(qualify(folder, "--limits", "limits.yaml", "--heat", "H1", "--where", "field_peak > 55 kA/m",
                             "--json").stdout)
    check.check([c["value"] for c in one["checks"]] == [18900, 19000, 19100], "conditions: %s" % one["checks"])


def test_rings_of_one_name_in_two_heats_are_two(check, folder):
    """--at works out each ring by itself: R-0 of H0 and R-0 of H1 are not one series."""
    fill(folder)
    at = json.loads(qualify(folder, "--limits", "limits.yaml", "--at", "field_peak 45 kA/m", "--json", "-",
                            "loops.jsonl").stdout)
    values = {(c["heat"], c["specimen"]): c["value"] for c in at["checks"]}
    wanted = {("H%d" % (n // 3), "R-%d" % (n % 3)): 18450 + 100 * n for n in range(6)}
    check.check(values.keys() == wanted.keys() and all(abs(values[k] - wanted[k]) < 1 for k in wanted), str(values))


def test_what_was_not_measured_says_why(check, folder):
    """One loop a ring cannot be interpolated; at its own peaks every ring has a value, and nothing is explained."""
    fill(folder)
    why = "the ring needs loops below and above"
    write(folder, "single.jsonl", "".join(json.dumps(make_loop(number)) + "\n" for number in range(6)))
    one = qualify(folder, "--limits", "limits.yaml", "--at", "field_peak 60 kA/m", "single.jsonl")
    check.check(one.returncode == 11 and one.stderr == "" and "not measured" in one.stdout and
                why in " ".join(one.stdout.split()), one.stdout)
    check.check(why not in " ".join(qualify(folder, "--limits", "limits.yaml", "loops.jsonl").stdout.split()), "all")


def test_files_and_the_ledger_can_stand_side_by_side(check, folder):
    fill(folder)
    write(folder, "new.jsonl", "".join(json.dumps(make_loop(n)).replace("Northgate Foundry", "Calder & Sons") + "\n"
                                       for n in range(3)))
    words = ("compare", "--figure", "coercivity", "--by", "supplier", "--heat", "H0", "--where", "field_peak > 55 kA/m")
    done = qualify(folder, *words, "--json", "-", "new.jsonl")
    sides = json.loads(done.stdout)
    check.check(done.returncode == 0 and "Calder & Sons" in done.stdout and "Northgate Foundry" in done.stdout,
                str(sides))


def test_a_kept_verdict_leads_back_to_all_it_was_made_from(check, folder):
    fill(folder)
    done = qualify(folder, "--limits", "limits.yaml", "--heat", "H1", "--keep", "--date", "2026-11-25",
                   "--person", "A. Technician", "--json", "verdict.json")
    check.check(done.returncode == 0 and done.stdout.endswith(
        "kept as verdict 1 of 'lodecard.ledger', with its limits and 9 loops\n"), done.stdout + done.stderr)
    base = sqlite3.connect(os.path.join(folder, "lodecard.ledger"))
    limits, document, day, person, word = base.execute(
        "SELECT limits, document, day, person, word FROM verdict").fetchone()
    loops = base.execute("SELECT capture.sha256 FROM made_from JOIN loop ON loop.id = loop_id JOIN capture ON "
                         "capture.id = capture_id WHERE subject = 'verdict' ORDER BY 1").fetchall()
    base.close()
    with open(os.path.join(folder, "verdict.json"), encoding="utf-8") as file:
        verdict = json.load(file)
    check.check(limits == LIMITS and json.loads(document) == verdict, "limits or document differ")
    check.check((day, person, word) == ("2026-11-25", "A. Technician", "accepted"), str((day, person, word)))
    check.check([hash for hash, in loops] == sorted(one["sha256"] for one in verdict["captures"]), "other loops")
    again = qualify(folder, "--limits", "limits.yaml", "--heat", "H1", "--keep")
    check.check("already kept as verdict 1" in again.stdout, again.stdout)
    shown = safety.run(folder, "show", "verdict", "1").stdout
    check.check("    figures:\n      coercivity: {lower" in shown and "9 loops" in shown, shown)
    # other limits with the same outcome make another verdict
    write(folder, "limits.yaml", LIMITS + "# a word more\n")
    other = qualify(folder, "--limits", "limits.yaml", "--heat", "H1", "--keep")
    check.check("kept as verdict 2" in other.stdout, other.stdout)
    check.check(safety.run(folder, "check").returncode == 0, "check")
    check.check("took back change 3: qualify" in safety.run(folder, "undo").stdout, "undo")
    check.check("verdicts    1" in safety.run(folder, "list").stdout, "undo takes the last one")
    check.check("took back change 2: qualify, 2026-11-25" in safety.run(folder, "undo").stdout, "second undo")
    check.check("verdicts    0" in safety.run(folder, "list").stdout and
                safety.run(folder, "check").returncode == 0, "undone")


def test_a_loop_computed_anew_leaves_the_verdict_with_the_old_one(check, folder):
    fill(folder)
    qualify(folder, "--limits", "limits.yaml", "--heat", "H1", "--where", "field_peak > 55 kA/m", "--keep")
    changed = make_loop(15)
    changed["figures"]["coercivity_A_per_m"] += 50
    write(folder, "new.jsonl", json.dumps(changed) + "\n")
    check.check("1 replaced" in safety.run(folder, "add", "new.jsonl").stdout, "replaced")
    shown = safety.run(folder, "show", "verdict", "1").stdout
    check.check("16 old" in shown and "3 loops" in shown, shown)
    check.check(safety.run(folder, "check").returncode == 0, "check")


def test_a_rejected_lot_is_kept_with_its_exit_status(check, folder):
    fill(folder)
    write(folder, "limits.yaml", LIMITS.replace("17.5", "20.4"))
    done = qualify(folder, "--limits", "limits.yaml", "--heat", "H1", "--keep")
    check.check(done.returncode == 10 and "kept as verdict 1" in done.stdout, done.stdout[-200:] + done.stderr)
    check.check("rejected" in safety.run(folder, "list", "verdicts").stdout, "the word")


def test_killed_while_it_keeps_a_verdict(check, folder):
    """Each time another limits file, so that each verdict is new; what was told is there and sound."""
    fill(folder)
    rng = random.Random(2)
    began = time.monotonic()
    qualify(folder, "--limits", "limits.yaml", "--ledger", "lodecard.ledger")
    whole = time.monotonic() - began
    told = killed = 0
    for turn in range(KILLS):
        write(folder, "limits.yaml", LIMITS + "# turn %d\n" % turn)
        child = subprocess.Popen([safety.PROGRAM, "qualify", "--limits", "limits.yaml", "--heat", "H0", "--keep"],
                                 cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        time.sleep(rng.uniform(0, 1.5 * whole))
        child.send_signal(signal.SIGKILL)
        out, _ = child.communicate()
        killed += child.returncode == -signal.SIGKILL
        told += b"kept as verdict" in out
    state = safety.run(folder, "check")
    check.check(state.returncode == 0, "check: %s" % state.stdout[-300:])
    base = sqlite3.connect(os.path.join(folder, "lodecard.ledger"))
    kept, = base.execute("SELECT COUNT(*) FROM verdict").fetchone()
    halves = base.execute("SELECT id FROM verdict WHERE limits IS NULL OR (SELECT COUNT(*) FROM made_from WHERE "
                          "subject = 'verdict' AND subject_id = verdict.id) <> 9").fetchall()
    base.close()
    check.check(kept >= told and not halves, "%d told, %d kept, halves %s" % (told, kept, halves))
    check.check(killed > 0, "none was killed")
    print("killed %d of %d, %d verdicts told, %d kept" % (killed, KILLS, told, kept))


def test_odd_words_are_refused(check, folder):
    fill(folder)
    limits = ("--limits", "limits.yaml")
    cases = [
        ((*limits,), 1, "or --ledger"), ((*limits, "--heat", "H9"), 2, "no loop of 'lodecard.ledger' fulfils"),
        ((*limits, "--keep", "loops.jsonl"), 1, "'--keep' keeps verdicts on loops of the ledger"),
        ((*limits, "--ledger", "lodecard.ledger", "loops.jsonl"), 1, "needs to know which loops"),
        ((*limits, "--ledger", "none"), 4, "there is no ledger 'none'"),
        ((*limits, "--ledger", "loops.jsonl"), 2, "it is no ledger, or damaged"),
        ((*limits, "--heat", "H1", "--date", "2026-11-25"), 1, "'--date' needs '--keep'"),
        ((*limits, "--heat", "H1", "--keep", "--date", "2026-02-30"), 1, "not in the calendar"),
        ((*limits, "--where", "coercivity > 18"), 1, "has no unit"),
        (("plan", "--heat", "H1"), 1, "'--heat' is not for 'qualify plan'"),
        (("compare", "--figure", "coercivity", "--heat", "H1", "--keep"), 1, "'--keep' is not for 'qualify compare'"),
    ]
    for words, status, message in cases:
        done = qualify(folder, *words)
        check.check(done.returncode == status and message in done.stderr,
                    "%s: status %d: %s" % (" ".join(words), done.returncode, done.stderr))


def main():
    check = safety.Checks()
    for name, test in list(globals().items()):
        if name.startswith("test_") and callable(test):
            folder = tempfile.mkdtemp(prefix="lodecard-verdict-")
            try:
                test(check, folder)
            finally:
                shutil.rmtree(folder)
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
