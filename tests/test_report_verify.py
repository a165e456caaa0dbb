# SPDX-License-Identifier: GPL-3.0-or-later
"""`report verify`: reports against the ledger they came from, later, changed, and what is no report."""
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

import test_ledger_safety as safety
import test_ledger_verdict as verdict


def run(folder, *words):
    return subprocess.run([safety.PROGRAM, *words], cwd=folder, capture_output=True, timeout=600)


def verify(folder, path, *more, ledger="lodecard.ledger"):
    done = run(folder, "report", "verify", path, "--ledger", ledger, *more)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def read(folder, name):
    with open(os.path.join(folder, name), "rb") as file:
        return file.read()


def write(folder, name, data):
    with open(os.path.join(folder, name), "wb") as file:
        file.write(data)


def make_reports(folder):
    """Loops in the ledger, a kept verdict on one heat, and its report as PDF and HTML."""
    verdict.fill(folder)
    where = ("--heat", "H1", "--where", "field_peak > 55 kA/m")
    kept = run(folder, "qualify", "--limits", "limits.yaml", *where, "--keep")
    made = run(folder, "report", "lot", "--limits", "limits.yaml", *where, "-o", "lot.pdf", "-o", "lot.html")
    return kept.returncode == 0 and made.returncode == 0, kept.stderr + made.stderr


def replace_loop(folder, number, change):
    """As if the capture had been computed anew with another result."""
    loop = verdict.make_loop(number)
    loop["figures"]["coercivity_A_per_m"] += change
    write(folder, "new.jsonl", (json.dumps(loop) + "\n").encode())
    return safety.run(folder, "add", "new.jsonl").stdout


def test_a_report_agrees_with_the_ledger_it_came_from(check, folder):
    is_made, errors = make_reports(folder)
    check.check(is_made, str(errors))
    for name in ("lot.pdf", "lot.html"):
        status, out, err = verify(folder, name)
        check.check(status == 0 and "loops: 3 agree, 0 computed anew, 0 differ, 0 unknown" in out and
                    "verdict: accepted, agrees with verdict 1 of the ledger" in out and
                    out.endswith("report and ledger: agrees\n"), "%s: %d %s%s" % (name, status, out, err))
        status, out, _ = verify(folder, name, "--json")
        made = json.loads(out)
        check.check(status == 0 and made["outcome"] == "agrees" and made["verdict"] == {"state": "agrees", "number": 1}
                    and [loop["state"] for loop in made["loops"]] == ["agrees"] * 3, out)


def test_a_loop_computed_anew_is_told_with_old_and_new(check, folder):
    make_reports(folder)
    check.check("1 replaced" in replace_loop(folder, 15, 24), "replaced")
    status, out, _ = verify(folder, "lot.pdf")
    check.check(status == 10 and "was loop 16; computed anew since, now loop 19" in out and
                "1 computed anew" in out and "differs\n" in out, out)
    check.check(re.search(r"coercivity +18\.900\S* kA/m +18\.924\S* kA/m +\+0\.5 u", out), out)
    check.check("agrees with verdict 1" in out, "the verdict was made from the old loop: " + out)
    _, out, _ = verify(folder, "lot.html", "--json", "-")
    change, = json.loads(out)["loops"][0]["changes"]
    check.check(change["figure"] == "coercivity_A_per_m" and change["report"] == {"value": 18900, "u": 48} and
                change["ledger"] == {"value": 18924, "u": 48} and change["difference_u"] == 0.5, str(change))
    check.check(safety.run(folder, "undo").returncode == 0 and verify(folder, "lot.pdf")[0] == 0, "undone")


def test_a_ledger_that_holds_other_numbers_differs(check, folder):
    """The same captures, in a ledger that never had these numbers, or another ring."""
    make_reports(folder)
    loops = [verdict.make_loop(n) for n in (15, 16, 17)]
    loops[0]["figures"]["coercivity_A_per_m"] += 48
    loops[1]["specimen"]["name"] = "R-9"
    write(folder, "other.jsonl", "".join(json.dumps(loop) + "\n" for loop in loops[:2]).encode())
    safety.run(folder, "add", "other.jsonl", "--ledger", "other.ledger")
    status, out, _ = verify(folder, "lot.pdf", ledger="other.ledger")
    check.check(status == 10 and "loops: 0 agree, 0 computed anew, 2 differ, 1 unknown" in out and
                "verdict: accepted, not kept in the ledger" in out, out)
    check.check(re.search(r"specimen +R-1 +R-9", out) and "+1 u" in out, out)
    status, out, _ = verify(folder, "lot.pdf", "--json", ledger="other.ledger")
    check.check([loop["state"] for loop in json.loads(out)["loops"]] == ["differs", "differs", "unknown"], out)


def test_of_a_comparison_the_loops_are_compared(check, folder):
    verdict.fill(folder)
    made = run(folder, "report", "compare", "--figure", "coercivity", "--ledger", "lodecard.ledger", "-o", "c.html")
    status, out, err = verify(folder, "c.html")
    check.check(made.returncode == 0 and status == 0 and "loops: 18 agree" in out and "results: not compared" in out,
                str(made.stderr) + out + err)


def test_captures_the_ledger_does_not_have_are_told(check, folder):
    make_reports(folder)
    safety.write_loops(os.path.join(folder, "some.jsonl"), range(100, 102))
    safety.run(folder, "add", "some.jsonl", "--ledger", "other.ledger")
    status, out, _ = verify(folder, "lot.html", ledger="other.ledger")
    check.check(status == 11 and "0 agree, 0 computed anew, 0 differ, 3 unknown" in out and
                "the ledger has no loop of this capture" in out and "cannot tell" in out, out)


def test_another_verdict_on_the_same_loops_is_found(check, folder):
    verdict.fill(folder)
    where = ("--heat", "H1", "--where", "field_peak > 55 kA/m")
    run(folder, "qualify", "--limits", "limits.yaml", *where, "--keep")
    write(folder, "limits.yaml", verdict.LIMITS.replace("17.5", "20.4").encode())
    made = run(folder, "report", "lot", "--limits", "limits.yaml", *where, "-o", "lot.pdf")
    status, out, _ = verify(folder, "lot.pdf")
    check.check(made.returncode == 10 and status == 10 and
                "verdict: rejected, but verdict 1 of the ledger on the same loops is another one (accepted)" in out, out)


def find_data(data):
    """Where the content of a report begins in its file."""
    return data.index(b'"content": ') + len(b'"content": ')


def test_changed_numbers_are_noticed(check, folder):
    """One byte of the JSON, anywhere in it."""
    make_reports(folder)
    for name in ("lot.pdf", "lot.html"):
        data = read(folder, name)
        begin = find_data(data)
        ends = [data.index(b"18900", begin), data.index(b'"rule"', begin) + 2, data.index(b"R-1", begin) + 2]
        for at in ends:
            write(folder, "changed" + name, data[:at] + bytes([data[at] ^ 1]) + data[at + 1:])
            status, out, err = verify(folder, "changed" + name)
            check.check(status == 2 and out == "" and "were changed since it was written" in err and
                        "changed" + name in err, "%s at %d: %d %s%s" % (name, at, status, out, err))


def test_a_new_hash_over_changed_numbers_meets_the_ledger(check, folder):
    """Who changes the JSON and its SHA-256 too."""
    make_reports(folder)
    data = read(folder, "lot.html")
    begin = find_data(data)
    end = data.index(b"}</script>", begin)
    content = data[begin:end].replace(b"18900", b"19900")
    old = re.search(rb'"sha256": "([0-9a-f]{64})", "content"', data).group(1)
    forged = data[:begin].replace(old, hashlib.sha256(content).hexdigest().encode()) + content + data[end:]
    write(folder, "forged.html", forged)
    status, out, err = verify(folder, "forged.html")
    check.check(status == 10 and "differ" in out and "-21 u" in out, out + err)


def test_what_is_no_report_is_refused(check, folder):
    make_reports(folder)
    data = read(folder, "lot.pdf")
    samples = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "samples")
    run(folder, "loop", os.path.join(samples, "trace", "r17-60kam-slow.csv"), "--plot", "picture.pdf")
    write(folder, "cut.pdf", data[:len(data) // 2])
    write(folder, "empty.pdf", b"")
    write(folder, "words.txt", b"report")
    write(folder, "page.html", b"<!DOCTYPE html><html><body>report</body></html>")
    cases = [("picture.pdf", 2, "'picture.pdf' carries no numbers"), ("cut.pdf", 2, "'cut.pdf' carries no numbers"),
             ("empty.pdf", 2, "neither a PDF nor an HTML page"), ("words.txt", 2, "neither a PDF nor an HTML page"),
             ("page.html", 2, "'page.html' carries no numbers"), ("none.pdf", 4, "none.pdf"), (".", 4, "'.'"),
             ("limits.yaml", 2, "neither")]
    for name, wanted, message in cases:
        status, out, err = verify(folder, name)
        check.check(status == wanted and message in err and out == "", "%s: %d %s%s" % (name, status, out, err))
    status, _, err = verify(folder, "lot.pdf", ledger="no.ledger")
    check.check(status == 4 and "there is no ledger 'no.ledger'" in err, err)
    done = run(folder, "report", "verify")
    check.check(done.returncode == 1 and b"takes one report" in done.stderr, str(done.stderr))
    done = run(folder, "report", "verify", "lot.pdf", "--page", "a4")
    check.check(done.returncode == 1 and b"'--page' is not for 'report verify'" in done.stderr, str(done.stderr))


def main():
    check = safety.Checks()
    for name, test in list(globals().items()):
        if name.startswith("test_") and callable(test):
            folder = tempfile.mkdtemp(prefix="lodecard-verify-")
            try:
                test(check, folder)
            finally:
                shutil.rmtree(folder)
    print("%d passed, %d failed" % (check.passed, check.failed))
    sys.exit(check.failed > 0)


if __name__ == "__main__":
    main()
