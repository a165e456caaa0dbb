# SPDX-License-Identifier: GPL-3.0-or-later
"""The claim of the stated uncertainties, in small: of 200 simulated benches the 95 % interval holds the
truth in 89.5 to 99 % for every main figure (the binomial acceptance region of 95 % +- 2 % benches);
`make coverage` takes 2000 and more."""
import checks
import coverage

BENCHES = 200


def test_intervals_hold_the_truth(check, folder):
    benches = BENCHES // 4 if checks.is_slow_build() else BENCHES
    judged = coverage.run(5001, benches, folder)
    least, most = (0.895, 0.99) if benches == BENCHES else (0.84, 1.0)
    for key in coverage.FIGURES:
        off = [one[key] for _, one, _ in judged if one is not None]
        inside = sum(abs(x) <= 1 for x in off) / len(off)
        check.check(least <= inside <= most, f"{key}: {100 * inside:.1f} % of {len(off)} inside")
    for key in ("form_factor", "lag_angle_area_deg", "squareness", "loop_fullness"):
        off = [one[key] for _, one, _ in judged if one is not None and key in one]
        inside = sum(abs(x) <= 1 for x in off) / len(off)
        check.check(inside >= least, f"{key}: {100 * inside:.1f} % of {len(off)} inside")
    # a distortion near 0 is too large by what noise adds: its interval is wide enough for that
    off = [one["flux_distortion"] for _, one, _ in judged if one and "flux_distortion" in one]
    inside = sum(abs(x) <= 1 for x in off) / len(off)
    check.check(inside >= 0.88, f"flux_distortion: {100 * inside:.1f} % of {len(off)} inside")
    failed = [seed for seed, one, _ in judged if one is None]
    check.check(len(failed) <= 2, f"benches {failed} have no result")


def test_intervals_are_not_wide_for_want_of_knowledge(check, folder):
    """What is off the truth has the size that u says: the mean square of (x - truth)/U is 1/k^2."""
    judged = coverage.run(7001, 60, folder)
    for key in coverage.FIGURES:
        off = [one[key] for _, one, _ in judged if one is not None]
        square = sum(x * x for x in off) / len(off) * 1.96**2
        # chi-square of 60 over 60, widened for k above 1.96 with few blocks: 0.6 to 1.6
        check.check(0.45 <= square <= 1.7, f"{key}: mean square {square:.2f} of u^2")


if __name__ == "__main__":
    checks.main(globals(), 60.0)
