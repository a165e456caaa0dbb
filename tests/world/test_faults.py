# SPDX-License-Identifier: GPL-3.0-or-later
"""A few captures of every kind in faults.py: clean ones get no warning, faults that move a figure by
three expanded uncertainties get their note. `make faults` takes many."""
import tempfile

import checks
import faults

CLEAN, EACH = 30, 6
KINDS = ("clipping", "drift", "amplitude ramp", "held", "swapped", "direct current")

if __name__ == "__main__":
    check = checks.Checks()
    with tempfile.TemporaryDirectory() as place:
        for seed, _, _, _, codes in faults.run("", 2000, CLEAN, place):
            codes = codes - {"unlikely"}  # of the values drawn for the rig, not of the recording
            check.check(not codes, "clean %d: %s" % (seed, " ".join(sorted(codes))))
        for kind in KINDS:
            right = set(faults.FAULTS[kind].codes)
            for seed, strength, moved, which, codes in faults.run(kind, 1000, EACH, place):
                if moved >= faults.MARGIN:
                    check.check(bool(codes & right), "%s %d of %.3g moves %s by %.3g U unseen"
                                % (kind, seed, strength, which, moved))
        check.check(check.passed > CLEAN + 8, "too few faults move a figure: %d" % check.passed)
    print("%d passed, %d failed" % (check.passed, check.failed))
    raise SystemExit(check.failed > 0)
