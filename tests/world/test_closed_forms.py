# SPDX-License-Identifier: GPL-3.0-or-later
"""Closed forms through the whole program, from a written capture to the JSON."""
import math
import os

import numpy as np

import bench
import checks
import polygon
import program
import steel

RELATIVE = 1e-6  # asked of noise-free captures


def result_of(folder, name, case, *options):
    return program.loop(case.write(os.path.join(folder, name)), *options)


def capture(H, B, **more):
    settings = dict(rate=48000, frames=30011, form="pcm32", phase=0.4)
    settings.update(more)
    return bench.Case(50.0 * 1.00173, H, B, settings.pop("rig", {}), settings.pop("spec", {}),
                      **settings)


def sines(pairs, harmonics):
    """Coefficients of sum a sin(k x + p) from {k: (a, p)}."""
    c = np.zeros(harmonics + 1, complex)
    for k, (a, p) in pairs.items():
        c[k] = a * np.exp(1j * (p - np.pi / 2))
    return c


def near(check, result, name, wanted, relative=RELATIVE):
    for key, value in wanted.items():
        limit = 1e-5 if key == "lag_angle_deg" else relative * (abs(value) or 1.0)
        message = f"{name}: {key}" + (" (%s)" % result["failure"] if "failure" in result else "")
        check.near(result["figures"].get(key), value, limit, message)


def test_ellipse(check, folder):
    """H = Hm cos wt, B = Bm cos(wt - d): W = pi Hm Bm sin d, HcB = Hm sin d, Br = Bm sin d.
    Elementary: the integral of H dB over one cycle."""
    case = capture(*steel.ellipse(8000, 1.2, 30))
    near(check, result_of(folder, "ellipse", case), "ellipse", {
        "loop_area_J_per_m3": 15079.644737231, "coercivity_A_per_m": 4000.0, "remanence_T": 0.6,
        "lag_angle_deg": 30.0, "lag_angle_area_deg": 30.0, "field_peak_A_per_m": 8000.0,
        "flux_density_peak_T": 1.2, "squareness": 0.5, "form_factor": math.pi / math.sqrt(8),
        "flux_distortion": 0.0, "loss_W_per_m3": 15079.644737231 * case.frequency,
        "specific_loss_W_per_kg": 15079.644737231 * case.frequency / 8100,
        "amplitude_permeability": 1.2 / (4e-7 * math.pi * 8000), "loop_fullness": math.pi / 8,
        "frequency_Hz": case.frequency, "coercivity_asymmetry": 0.0})


def test_harmonics(check, folder):
    """H = sum Hk sin(kwt + hk), B = sum Bk sin(kwt + bk): W = pi sum k Hk Bk sin(hk - bk)."""
    H = sines({1: (8000, 0), 3: (900, 0.3)}, 3)
    B = sines({1: (1.2, -0.5), 3: (0.05, -0.4)}, 3)
    near(check, result_of(folder, "harmonics", capture(H, B)), "harmonics",
         {"loop_area_J_per_m3": 14732.355989941721, "lag_angle_deg": math.degrees(0.5)})


def trace_result(folder, name, h, b):
    os.makedirs(os.path.join(folder, name))
    path = os.path.join(folder, name, name + ".csv")
    with open(path, "w") as out:
        out.write("field strength (A/m),flux density (T)\n")
        out.writelines("%.12g,%.12g\n" % row for row in zip(h, b))
    with open(os.path.join(folder, name, "rig.yaml"), "w") as out:
        out.write("name: trace\ninputs:\n"
                  "  excitation: {channel: field strength, quantity: field strength}\n"
                  "  pickup: {channel: flux density, quantity: flux density}\n"
                  "timing:\n  trace: yes\n")
    with open(os.path.join(folder, name, "specimen.yaml"), "w") as out:
        out.write(bench.specimen_text(bench.SPEC))
    return program.loop(path)


def walk(corners, steps):
    """A polygon's edges in small uneven steps, ending just where it began."""
    points = []
    for (h0, b0), (h1, b1) in zip(corners, corners[1:] + corners[:1]):
        for s in (np.arange(steps) / steps) ** 1.3:
            points.append((h0 + s * (h1 - h0), b0 + s * (b1 - b0)))
    return np.array(points).T


def test_rectangle(check, folder):
    """W = 4 Hc Br. Through a trace: cut at a finite harmonic it would be another loop."""
    corners = [(9000, 0.9), (-7000, 0.9), (-7000, -0.9), (-9000, -0.9), (7000, -0.9), (7000, 0.9)]
    near(check, trace_result(folder, "rectangle", *walk(corners, 37)), "rectangle",
         {"loop_area_J_per_m3": 4 * 7000 * 0.9, "remanence_T": 0.9, "coercivity_A_per_m": 7000,
          "squareness": 1.0, "field_peak_A_per_m": 9000, "closure_gap_T": 0.0}, 1e-11)


def test_parallelogram(check, folder):
    """Branches of common slope, half-width Hc, tips at +-Bm: W = 4 Hc Bm."""
    h, b = walk([(1500, 1), (-500, 1), (-1500, -1), (500, -1)], 50)
    result = trace_result(folder, "parallelogram", h, b)
    near(check, result, "parallelogram", {"loop_area_J_per_m3": 4 * 1000 * 1.0,
         "coercivity_A_per_m": 1000.0, "remanence_T": 1.0, "flux_density_peak_T": 1.0}, 1e-11)
    near(check, result, "parallelogram, polygon", polygon.figures(h, b), 1e-11)


def test_a_trace_that_overruns_its_start(check, folder):
    """The rows behind the second passing of the first field are dropped: the same loop as without
    them, also from a start in the middle of a branch. An overrun below 1 % of the peak-to-peak
    field is kept; here its rows lie on the loop's own edge, so that it changes nothing either."""
    wanted = {"loop_area_J_per_m3": 4000.0, "coercivity_A_per_m": 1000.0, "remanence_T": 1.0}
    corners = [(1500, 1), (-500, 1), (-1500, -1), (500, -1)]
    h, b = walk(corners, 60)
    near(check, trace_result(folder, "tips", np.append(h, h[:40]), np.append(b, b[:40])),
         "overrun at the tip", wanted, 1e-11)
    middle = [(0.0, 1.0)] + corners[1:] + corners[:1]
    h, b = walk(middle, 60)
    near(check, trace_result(folder, "middle", np.append(h, h[:50]), np.append(b, b[:50])),
         "overrun in the middle of a branch", {**wanted, "closure_gap_T": 0.0}, 1e-11)


def test_rayleigh(check, folder):
    """B = (m + v Hm) H -+ v/2 (Hm^2 - H^2) under sinusoidal H (Rayleigh, Phil. Mag. 23 (1887) 225):
    W = 4/3 v Hm^3, Br = v Hm^2 / 2, third harmonic 4 v Hm^2 / (15 pi),
    tan of the fundamental's lag = 4 v Hm / (3 pi (m + v Hm)). Cut at K = 61 the area and the
    fundamental stay exact, Br loses what the harmonics above K held: 4 v Hm^2 / (pi K^2) at most."""
    m, v, peak, K = 1e-3, 2e-6, 80.0, 61
    H, B = steel.rayleigh(m, v, peak, K)
    check.near(abs(B[3]), 4 * v * peak**2 / (15 * math.pi), 1e-12, "Rayleigh: third harmonic")
    result = result_of(folder, "rayleigh", capture(H, B, form="float64"), "--harmonics", str(K))
    near(check, result, "Rayleigh", {"loop_area_J_per_m3": 4 / 3 * v * peak**3,
         "lag_angle_deg": math.degrees(math.atan(0.0585397492)), "harmonics": K,
         "field_peak_A_per_m": peak})
    rest = 4 * v * peak**2 / (math.pi * K**2)
    got = result["figures"]
    check.near(got.get("remanence_T"), v * peak**2 / 2, rest, "Rayleigh: Br")
    check.near(got.get("flux_density_peak_T"), (m + v * peak) * peak, rest, "Rayleigh: Bm")
    q = m + v * peak
    check.near(got.get("coercivity_A_per_m"), (math.sqrt(q**2 + (v * peak) ** 2) - q) / v,
               rest / q * 2, "Rayleigh: HcB")


def test_form_factor(check, folder):
    """Form factor of dB/dt = sin x + a sin 3x: rms sqrt((1 + a^2)/2); the mean of the absolute value is
    2/pi (1 + a/3) while the wave has no further zero."""
    for a, printed in ((0.05, 1.0938769857), (-0.05, 1.1309575615), (0.1, 1.0802521),
                       (-0.1, 1.1547523)):
        exact = math.sqrt((1 + a * a) / 2) / (2 / math.pi * (1 + a / 3))
        check.near(exact, printed, 1e-7, "form factor: formula")
        slope = sines({1: (1, 0), 3: (a, 0)}, 3)
        B = slope / np.array([1, 1j, 2j, 3j])
        B[0] = 0
        H = sines({1: (500, 0.3)}, 3)
        result = result_of(folder, "ff%g" % a, capture(H, B * 0.7), "--harmonics", "3")
        near(check, result, "form factor at a = %g" % a,
             {"form_factor": exact, "flux_distortion": abs(a) / 3})


def test_ring_geometry(check, folder):
    """D = 50 mm, d = 40 mm: arithmetic and logarithmic mean length by their formulas, effective length
    C1^2/C2 and area C1/C2 of IEC 60205; mass over density and length (ASTM A772, A = m/(l d))."""
    D, d, h = 0.050, 0.040, 0.010
    lengths = {"mean": 0.1413716694115407, "logarithmic": 0.1407879651949293,
               "effective": 0.1402052283009317}
    c1 = 2 * math.pi / (h * math.log(D / d))
    c2 = 4 * math.pi * (1 / d - 1 / D) / (h**2 * math.log(D / d) ** 3)
    areas = {"mean": 5e-5, "logarithmic": 5e-5, "effective": c1 / c2}
    ring = {"outer_diameter": D, "inner_diameter": d, "height": h, "density": 7800.0}
    H, B = steel.ellipse(8000, 1.2, 30)
    for rule, length in lengths.items():
        case = capture(H, B, spec={**ring, "path": rule})
        result = result_of(folder, rule, case)
        got = result.get("specimen", {})
        check.near(got.get("path_length_m"), length, 2e-16, rule + " length")
        check.near(got.get("area_m2"), areas[rule], 1e-18, rule + " area")
        near(check, result, rule + " path", {"field_peak_A_per_m": 8000, "flux_density_peak_T": 1.2})
    mass = 7800.0 * 5.01e-5 * lengths["mean"]
    case = capture(H, B, spec={**ring, "mass": mass})
    result = result_of(folder, "mass", case)
    check.near(result.get("specimen", {}).get("area_m2"), 5.01e-5, 1e-17, "area from the mass")
    near(check, result, "area from the mass", {"flux_density_peak_T": 1.2})


if __name__ == "__main__":
    checks.main(globals())
