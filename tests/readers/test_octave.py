# SPDX-License-Identifier: GPL-3.0-or-later
"""Octave runs what `card export --to octave` wrote and finds coercivity, remanence and area of the
branches, and the curve, as they come from the card itself: to 1e-6."""
import os
import subprocess
import sys

import numpy as np

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "world"))
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import checks
import steel

PROGRAM = """
steel_file = "steel.m";
run(steel_file);
r = steel.major_loop.rising; f = steel.major_loop.falling;
Hc = interp1(r.flux_density_T, r.field_A_per_m, 0);
Br = interp1(f.field_A_per_m, f.flux_density_T, 0);
W = trapz(r.flux_density_T, r.field_A_per_m) - trapz(f.flux_density_T, f.field_A_per_m);
c = steel.solver.curve;
B = interp1(c.field_A_per_m, c.flux_density_T, 12345);
printf("%.17g %.17g %.17g %.17g %.17g %d\\n", Hc, Br, W, B, steel.figures.loop_area_J_per_m3, columns(r.field_A_per_m));
disp(steel.name);
"""


def find_truth(card):
    """The same from the card, with NumPy."""
    r, f = ({key: np.array(values) for key, values in card["major_loop"][name].items()}
            for name in ("rising", "falling"))
    curve = card["solver"]["curve"]

    def integral(branch):
        h, b = branch["field_A_per_m"], branch["flux_density_T"]
        return np.sum((h[1:] + h[:-1]) / 2 * np.diff(b))

    return [np.interp(0, r["flux_density_T"], r["field_A_per_m"]),
            np.interp(0, f["field_A_per_m"], f["flux_density_T"]), integral(r) - integral(f),
            np.interp(12345, curve["field_A_per_m"], curve["flux_density_T"]),
            card["figures"]["loop_area_J_per_m3"], len(r["field_A_per_m"])]


def run_octave(folder, program):
    path = os.path.join(folder, "main.m")
    with open(path, "w") as file:
        file.write(program)
    return subprocess.run(["octave-cli", "--norc", "--no-history", "--quiet", path], cwd=folder, capture_output=True,
                          text=True, timeout=100)


def test_octave_reads_the_steel(check, folder):
    steel.export(steel.SAMPLE, "octave", os.path.join(folder, "steel.m"))
    done = run_octave(folder, PROGRAM)
    if not check.check(done.returncode == 0 and not done.stderr, "octave: " + done.stderr):
        return
    lines = done.stdout.splitlines()
    names = ("Hc (A/m)", "Br (T)", "area (J/m3)", "B of the curve (T)", "measured area", "points")
    for name, got, truth in zip(names, map(float, lines[0].split()), find_truth(steel.read_sample())):
        check.near(got, truth, 1e-6 * abs(truth), name)
    check.check(lines[1] == "RS-36, heat H2291", "the name is a text: " + lines[1])


def test_figures_and_branches_agree(check, folder):
    """What Octave finds on the branches is what was measured, within the bound of their thinning."""
    card = steel.read_sample()
    truth = find_truth(card)
    figures = card["figures"]
    check.near(truth[0], figures["coercivity_A_per_m"], 1e-3 * truth[0], "Hc")
    check.near(truth[1], figures["remanence_T"], 1e-3 * truth[1], "Br")
    check.near(truth[2], figures["loop_area_J_per_m3"], 1e-3 * truth[2], "area")


def test_a_hostile_card_runs_nothing(check, folder):
    """Texts of a card stay texts."""
    card = steel.read_sample()
    mark = os.path.join(folder, "mark")
    card["name"] = 'x"); system("touch %s"); disp("\n system("touch %s");' % (mark, mark)
    card["identity"]["alloy"] = "a\nsystem('touch %s')\n" % mark
    card["identity"]["al; system('touch %s');" % mark] = "b"
    steel.export(steel.write(card, folder), "octave", os.path.join(folder, "steel.m"))
    done = run_octave(folder, PROGRAM)
    check.check(done.returncode == 0, "octave: %d %s" % (done.returncode, done.stderr))
    check.check(not os.path.exists(mark), "no command of the card was run")


checks.main(globals())
