# SPDX-License-Identifier: GPL-3.0-or-later
"""Counting checks, and the limits that a figure must keep."""
import math
import os
import sys
import tempfile
import time

# The accuracy asked of noise-free captures: relative, but absolute where the truth is 0.
RELATIVE = 1e-6
FREQUENCY = 1e-8
LAG_DEG = 1e-5


class Checks:
    """Passed and failed checks; a failed one is printed when it happens."""

    def __init__(self):
        self.passed = 0
        self.failed = 0

    def check(self, is_right, message):
        if is_right:
            self.passed += 1
        else:
            self.failed += 1
            print("FAILED  " + message, flush=True)
        return is_right

    def near(self, got, truth, limit, message):
        ok = got is not None and math.isfinite(got) and abs(got - truth) <= limit
        off = abs(got - truth) if got is not None else math.nan
        return self.check(ok, f"{message}: {got!r}, not {truth!r}; off by {off:.3g}, limit {limit:.3g}")


def limit_of(key, truth, relative=RELATIVE):
    """How far a figure may stand from the truth, in its own unit."""
    if key == "frequency_Hz":
        return FREQUENCY / RELATIVE * relative * abs(truth)
    if key in ("lag_angle_deg", "lag_angle_area_deg"):
        return LAG_DEG / RELATIVE * relative
    if key.endswith("asymmetry") or abs(truth) < 1e-12:
        return relative
    return relative * abs(truth)


def errors_of(truth, got, relative=RELATIVE, floor=None):
    """(error / limit, key) of every figure of the truth, largest first. `floor`: per figure, what
    the capture's own rounding must be allowed."""
    errors = []
    for key, value in truth.items():
        limit = limit_of(key, value, relative)
        if key == "lag_angle_area_deg":  # from the sine: at 90 degrees the angle itself is loose
            sine = math.sin(math.radians(value))
            limit = max(limit, math.degrees(math.asin(min(1, sine * (1 + 3 * relative)))) - value)
        if floor and key in floor:
            limit = max(limit, floor[key])
        if key not in got or got[key] is None:
            if key == "lag_angle_area_deg" and abs(value) > 89.9:
                continue
            errors.append((math.inf, key))
        else:
            errors.append((abs(got[key] - value) / limit, key))
    return sorted(errors, reverse=True)


def main(module, seconds=20.0):
    """Runs the test_ functions of a script in their order, each with a folder of its own, prints
    the sum and ends the script. `--only WORD` picks those whose name holds the word."""
    only = sys.argv[sys.argv.index("--only") + 1] if "--only" in sys.argv else ""
    checks = Checks()
    for name, test in list(module.items()):
        if not name.startswith("test_") or not callable(test) or only not in name:
            continue
        began = time.monotonic()
        with tempfile.TemporaryDirectory() as folder:
            test(checks, folder)
        if time.monotonic() - began > seconds:
            print("%s: %.0f s" % (name, time.monotonic() - began), flush=True)
    print("%d passed, %d failed" % (checks.passed, checks.failed))
    sys.exit(0 if checks.passed and not checks.failed else 1)


def option(name, default):
    """The whole number behind --name on the command line."""
    return int(sys.argv[sys.argv.index(name) + 1]) if name in sys.argv else default


def is_slow_build():
    """Under the sanitizers the program is several times slower: fewer trials do there."""
    return os.sep + "san" + os.sep in os.environ.get("LODECARD", "")
