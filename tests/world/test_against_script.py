# SPDX-License-Identifier: GPL-3.0-or-later
"""The same captures through analyse.py, which shares no code with the program: 1e-9 when they are
free of noise, and within the noise otherwise."""
import os
from dataclasses import replace

import analyse
import bound
import cases
import checks
import program
import scatter

COUNT = 24


def run_both(folder, made):
    paths = [case.write(os.path.join(folder, "c%d" % i)) for i, case in enumerate(made)]
    for case, path, result in zip(made, paths, program.loops(paths)):
        if "failure" in result:
            yield case, result, None
        else:
            yield case, result, analyse.analyse(path, int(result["figures"]["harmonics"]))


def test_free_of_noise(check, folder):
    for kind in ("wav", "table"):
        made = []
        for seed in range(300, 300 + COUNT):
            case = cases.draw(seed, kind, 20000)
            case.form = "float64" if kind == "wav" else case.form
            case.dialect.pop("digits", 0)
            made.append(case)
        for case, result, script in run_both(folder, made):
            if script is None:
                check.check(False, f"{case.name}: {result['failure']}")
                continue
            truth = {key: value for key, value in script.items() if key != "noise"}
            errors = checks.errors_of(truth, result["figures"], 1e-9)
            far = ["%s %.3g" % (key, error) for error, key in errors if error > 1]
            check.check(not far, f"{case.name}: program and script differ, over 1e-9: {far[:5]}")


def test_with_noise(check, folder):
    """Two estimators within 1.15 of the bound differ by 0.57 of it at the root of the mean square when
    their extra scatter is independent; no single capture may differ by three times that."""
    made = []
    for case in scatter.configurations():
        made += [replace(case, seed=seed) for seed in range(3)]
    for case, result, script in run_both(folder, made):
        if script is None:
            check.check(False, f"{case.name}: {result['failure']}")
            continue
        bounds = bound.figure_bounds(case, scatter.sigmas(case))
        for key in scatter.FIGURES:
            share = abs(result["figures"][key] - script[key]) / bounds[key]
            check.check(share < 1.7, f"{case.name}: {key} differs from the script by {share:.2f} u")


if __name__ == "__main__":
    checks.main(globals())
