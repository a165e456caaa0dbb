# SPDX-License-Identifier: GPL-3.0-or-later
"""`lodecard motor` against what is not of its making: a textbook motor, the equations in NumPy, the
run-up by SciPy's integrator, uncertainties by draws, loops between those that were measured."""
import json
import math
import os

import checks
import numpy as np
from program import ROOT, run
from scipy.integrate import solve_ivp

FREQUENCIES = (5, 20, 50, 100)
DRAWS = 200000


def write(folder, name, value):
    path = os.path.join(folder, name)
    with open(path, "w", encoding="utf-8") as file:
        json.dump(value, file)
    return path


def motor(path, *options):
    status, out, err = run("motor", path, *options, "--json", "-")
    assert status == 0, err
    return json.loads(out)


def loop_json(figures):
    return {"schema": "lodecard-loop/1", "specimen": {"name": "ring"}, "figures": figures}


def series_json(terms, covariance=None):
    """One amplitude, 30 kA/m and 1.1 T, whose loss is Wh + kc f + kx sqrt f."""
    wh, kc, kx = terms
    loops = [{"frequency_Hz": f, "field_peak_A_per_m": 3e4, "flux_density_peak_T": 1.1,
              "loop_area_J_per_m3": wh + kc * f + kx * math.sqrt(f), "lag_angle_deg": 25.0}
             for f in FREQUENCIES]
    entry = {"flux_density_peak_T": 1.1, "hysteresis_J_per_m3": wh, "linear_J_s_per_m3": kc,
             "excess_J_per_m3_per_sqrt_Hz": kx, "residual_relative": 0.0}
    if covariance is not None:
        entry["covariance"] = covariance.tolist()
    return {"schema": "lodecard-series/1", "specimen": {"name": "ring"}, "loops": loops,
            "separation": [entry]}


def draw_terms(rng):
    return (10 ** rng.uniform(3, 5), rng.choice([0.0, 10 ** rng.uniform(0, 3)]),
            rng.choice([0.0, 10 ** rng.uniform(1, 3)]))


# --- the law ---------------------------------------------------------------------------------------

def test_the_textbook_clock_motor(check, folder):
    """T. Wildi, "Electrical Machines, Drives and Power Systems", hysteresis clock motor: 32 poles, 60
    Hz, 0.8 J in the rotor in each turn relative to the field: 0.127 N m, 225 r/min, 3 W, 3 W lost when
    stalled. A turn is 16 cycles: 0.05 J each, 2500 J/m3 in 20 cm3."""
    path = write(folder, "clock.json", loop_json(
        {"frequency_Hz": 60.0, "field_peak_A_per_m": 2000.0, "flux_density_peak_T": 0.5,
         "loop_area_J_per_m3": 2500.0}))
    figures = motor(path, "--pole-pairs", "16", "--volume", "2e-5", "--supply", "60")["figures"]
    check.near(figures["hysteresis_torque_N_m"], 0.127, 0.0005, "torque as printed")
    check.near(figures["hysteresis_torque_N_m"], 0.8 / (2 * math.pi), 1e-15, "torque")
    check.near(figures["synchronous_speed_rpm"], 225, 1e-10, "speed")
    check.near(figures["pull_out_power_W"], 3.0, 1e-12, "power before it stalls")
    check.near(figures["loss_standstill_W"], 3.0, 1e-12, "loss when stalled")
    check.check(figures["eddy_torque_standstill_N_m"] is None, "one loop tells no eddy torque")


def test_the_torque_of_20_cm3(check, folder):
    """4 * 2e-5 m3 * 4e4 J/m3 / 2 pi"""
    path = write(folder, "s.json", series_json((4e4, 30.0, 200.0)))
    figures = motor(path, "-p", "4", "--volume", "20 cm3", "--supply", "50 Hz")["figures"]
    check.near(figures["hysteresis_torque_N_m"], 0.5092958178940651, 1e-15, "torque")


def test_curves_are_the_law_and_powers_balance(check, folder):
    rng = np.random.default_rng(1)
    for case in range(12):
        wh, kc, kx = terms = draw_terms(rng)
        p, volume, supply = int(rng.integers(1, 20)), 10 ** rng.uniform(-7, -4), rng.uniform(10, 400)
        path = write(folder, "s.json", series_json(terms))
        result = motor(path, "-p", str(p), "--volume", repr(volume), "--supply", repr(supply))
        curve, figures = result["curve"], result["figures"]
        slip, torque = np.array(curve["slip"]), np.array(curve["torque_N_m"])
        loss = np.array(curve["rotor_loss_W"])
        law = p * volume / (2 * np.pi) * (wh + kc * slip * supply + kx * np.sqrt(slip * supply))
        what = "case %d: " % case
        check.check(np.allclose(torque, law, rtol=1e-13, atol=0), what + "torque over slip")
        speed = 2 * np.pi * supply / p
        gap, shaft = torque * speed, torque * speed * (1 - slip)
        check.check(np.all(abs(gap - shaft - loss) <= 1e-12 * gap), what + "powers balance")
        hysteresis = np.array(curve["hysteresis_torque_N_m"])
        check.check(np.ptp(hysteresis) == 0, what + "hysteresis torque is the same at every slip")
        check.near(hysteresis[0], figures["hysteresis_torque_N_m"], 1e-15 * hysteresis[0], what + "Th")
        eddy = np.array(curve["eddy_torque_N_m"])
        check.check(np.allclose(eddy, slip * figures["eddy_torque_standstill_N_m"], rtol=1e-13),
                    what + "eddy torque goes with the slip")
        check.check(eddy[0] == 0, what + "eddy torque ends at synchronism")
        parts = (slip * figures["hysteresis_loss_standstill_W"]
                 + slip ** 2 * figures["eddy_loss_standstill_W"]
                 + slip ** 1.5 * figures["excess_loss_standstill_W"])
        check.check(np.allclose(loss, parts, rtol=1e-12), what + "losses and their powers of the slip")


def test_synchronism_goes_with_the_sine(check, folder):
    path = write(folder, "s.json", series_json((4e4, 30.0, 200.0)))
    result = motor(path, "-p", "2", "--volume", "2e-5", "--supply", "50", "--load-torque", "0.1")
    torque, delta = result["figures"]["hysteresis_torque_N_m"], math.radians(25)
    angle = np.radians(result["synchronism"]["load_angle_deg"])
    check.check(np.allclose(result["synchronism"]["torque_N_m"],
                            torque * np.sin(angle) / math.sin(delta), rtol=1e-13), "torque over angle")
    check.near(result["figures"]["load_angle_deg"],
               math.degrees(math.asin(0.1 / torque * math.sin(delta))), 1e-11, "angle of the load")


# --- run-up ----------------------------------------------------------------------------------------

def integrate(terms, p, volume, supply, load, inertia):
    """Time until the slip is 0. Close to it the motion goes on at the torque left: the law below
    synchronism is continued by its value at slip 0, so that the end is a crossing."""
    wh, kc, kx = terms
    synchronous = 2 * math.pi * supply / p

    def accelerate(_, speed):
        slip = max(1 - speed[0] / synchronous, 0.0)
        torque = p * volume / (2 * math.pi) * (wh + kc * slip * supply + kx * math.sqrt(slip * supply))
        return [(torque - load) / inertia]

    def reach(_, speed):
        return speed[0] - synchronous

    reach.terminal = True
    hysteresis = p * volume * wh / (2 * math.pi)
    most = 2 * inertia * synchronous / (hysteresis - load)
    found = solve_ivp(accelerate, (0, most), [0.0], method="DOP853", events=reach, rtol=1e-11,
                      atol=1e-11 * synchronous, max_step=most / 200)
    return found.t_events[0][0]


def test_run_up_against_an_integrator(check, folder):
    rng = np.random.default_rng(2)
    for case in range(8):
        terms = draw_terms(rng)
        p, volume, supply = int(rng.integers(1, 9)), 10 ** rng.uniform(-6, -4), rng.uniform(20, 400)
        torque = p * volume * terms[0] / (2 * math.pi)
        load, inertia = rng.choice([0.0, 0.5, 0.9, 0.99]) * torque, 10 ** rng.uniform(-7, -4)
        path = write(folder, "s.json", series_json(terms))
        figures = motor(path, "-p", str(p), "--volume", repr(volume), "--supply", repr(supply),
                        "--load-torque", repr(float(load)), "--inertia", repr(inertia))["figures"]
        truth = integrate(terms, p, volume, supply, load, inertia)
        # the integrator's order falls where the root of the slip has no slope
        check.near(figures["run_up_time_s"], truth, 2e-7 * truth, "case %d: run-up" % case)
        check.check(figures["final_slip"] == 0, "case %d: it synchronizes" % case)


def test_a_load_too_large_stays_at_its_slip(check, folder):
    terms = (4e4, 300.0, 1000.0)
    path = write(folder, "s.json", series_json(terms))
    slip, frequency = 0.35, 0.35 * 50
    load = 2 * 2e-5 / (2 * math.pi) * (4e4 + 300 * frequency + 1000 * math.sqrt(frequency))
    result = motor(path, "-p", "2", "--volume", "2e-5", "--supply", "50", "--load-torque", repr(load),
                   "--inertia", "1e-4")
    check.near(result["figures"]["final_slip"], slip, 1e-13, "slip of the load")
    check.check("run_up_time_s" not in result["figures"], "it is never up")
    check.check("load-too-large" in [note["code"] for note in result["notes"]], "a note says so")


# --- uncertainty -----------------------------------------------------------------------------------

def test_uncertainties_against_draws(check, folder):
    """u of N draws scatters by 1/sqrt(2N) = 0.16 %: five of these. The last three are bent a little."""
    terms = np.array([4e4, 120.0, 400.0])
    u, r = np.array([500.0, 10.0, 80.0]), np.array([[1, -0.8, 0.5], [-0.8, 1, -0.75], [0.5, -0.75, 1]])
    covariance = r * np.outer(u, u)
    path = write(folder, "s.json", series_json(terms.tolist(), covariance))
    figures = motor(path, "-p", "2", "--volume", "20 cm3 ± 0.2 cm3", "--supply", "50 Hz ± 0.1 Hz",
                    "--load-torque", "0.2 N m ± 0.008 N m", "--inertia", "4e-5 kg m2 ± 2e-6 kg m2",
                    )["figures"]
    rng = np.random.default_rng(3)
    wh, kc, kx = rng.multivariate_normal(terms, covariance, DRAWS).T
    volume, supply = rng.normal(2e-5, 1e-7, DRAWS), rng.normal(50, 0.05, DRAWS)
    load, inertia = rng.normal(0.2, 0.004, DRAWS), rng.normal(4e-5, 1e-6, DRAWS)
    scale = 2 * volume / (2 * np.pi)
    hysteresis, eddy, excess = scale * wh, scale * kc * supply, scale * kx * np.sqrt(supply)
    x = (np.arange(200) + 0.5) / 200  # midpoints over the root of the slip: error 1e-5 of the time
    surplus = (hysteresis - load)[:, None] + excess[:, None] * x + eddy[:, None] * x ** 2
    time = inertia * np.pi * supply * np.mean(2 * x / surplus, axis=1)
    angle = np.degrees(np.arcsin(load / hysteresis * math.sin(math.radians(25))))
    for key, values, limit in (
            ("hysteresis_torque_N_m", hysteresis, 0.008), ("eddy_torque_standstill_N_m", eddy, 0.008),
            ("excess_torque_standstill_N_m", excess, 0.008),
            ("starting_torque_N_m", hysteresis + eddy + excess, 0.008),
            ("loss_standstill_W", volume * supply * (wh + kc * supply + kx * np.sqrt(supply)), 0.008),
            ("pull_out_power_W", volume * supply * wh, 0.008),
            ("load_margin_N_m", hysteresis - load, 0.008), ("run_up_time_s", time, 0.04),
            ("load_angle_deg", angle, 0.03)):
        spread = float(np.std(values))
        check.near(figures["u_" + key], spread, limit * spread, "u of " + key)


def test_an_uncertain_field_counts_by_its_slope(check, folder):
    """Wh goes with H^1.7: 2 % in the field are 3.4 % in the torque."""
    loops = [{"frequency_Hz": 10.0, "field_peak_A_per_m": h, "flux_density_peak_T": 0.3 * (h / 1e4) ** 0.5,
              "loop_area_J_per_m3": 5e3 * (h / 1e4) ** 1.7} for h in (1e4, 2e4, 3e4, 4e4)]
    path = write(folder, "s.json", {"schema": "lodecard-series/1", "loops": loops})
    figures = motor(path, "-p", "2", "--volume", "2e-5", "--supply", "50",
                    "--field", "25 kA/m ± 1 kA/m")["figures"]
    torque = 2 * 2e-5 * 5e3 * 2.5 ** 1.7 / (2 * math.pi)
    check.near(figures["hysteresis_torque_N_m"], torque, 1e-12 * torque, "torque between two loops")
    check.near(figures["u_hysteresis_torque_N_m"], 0.034 * torque, 1e-6 * torque, "its u")


# --- loops of a ring -------------------------------------------------------------------------------

def measure(folder, fields):
    """Figures of slow traces of the sample's ring at those peaks, made by the virtual bench."""
    with open(os.path.join(ROOT, "samples", "trace", "ring.yaml"), encoding="utf-8") as file:
        order = file.read()
    results = []
    for field in fields:
        place = os.path.join(folder, "h%g" % field)
        os.makedirs(place)
        text = order.replace("field_peak: 60 kA/m", "field_peak: %g A/m" % field)
        text = "".join(line for line in text.splitlines(True) if "drift" not in line)
        with open(os.path.join(place, "ring.yaml"), "w", encoding="utf-8") as file:
            file.write(text)
        status, _, err = run("virtual", os.path.join(place, "ring.yaml"), "-o", place)
        assert status == 0, err
        with open(os.path.join(place, "truth.json"), encoding="utf-8") as file:
            results.append(json.load(file)["figures"])
    return results


def test_amplitudes_in_between_are_found(check, folder):
    """Of twelve amplitudes of a tanh ring every other one is held out: the interpolated torque must be
    within 3 u of the truth, u being that of the interpolation alone, or within 0.3 %."""
    fields = np.geomspace(8e3, 60e3, 12)
    loops = measure(folder, fields)
    check.check(abs(loops[3]["field_peak_A_per_m"] - fields[3]) < 1, "the bench takes the peak field")
    path = write(folder, "s.json", {"schema": "lodecard-series/1", "loops": loops[0::2] + loops[-1:]})
    for truth in loops[1:-1:2]:
        figures = motor(path, "-p", "2", "--volume", "2e-5", "--supply", "50",
                        "--field", repr(truth["field_peak_A_per_m"]))["figures"]
        torque = 2 * 2e-5 * truth["loop_area_J_per_m3"] / (2 * math.pi)
        off = abs(figures["hysteresis_torque_N_m"] - torque)
        check.check(off <= max(3 * figures.get("u_hysteresis_torque_N_m", 0), 3e-3 * torque),
                    "%.0f A/m: torque off by %.2f %%, u %.2f %%"
                    % (truth["field_peak_A_per_m"], 100 * off / torque,
                       100 * figures.get("u_hysteresis_torque_N_m", 0) / torque))


def test_a_capture_is_as_good_as_its_json(check, folder):
    capture = os.path.join(ROOT, "samples", "sound-card", "r17-60kam-20hz.flac")
    path = os.path.join(folder, "loop.json")
    status, _, err = run("loop", capture, "--json", path)
    check.check(status == 0, err)
    options = ("-p", "2", "--volume", "2e-5", "--supply", "50", "--load-torque", "0.3")
    direct, read = motor(capture, *options), motor(path, *options)
    check.check(direct["figures"] == read["figures"], "the same figures")
    check.check(direct["notes"] == read["notes"], "the same notes")
    check.check(direct["steel"]["name"] == read["steel"]["name"], "the same name")


def test_captures_become_a_series_and_a_motor(check, folder):
    """The bench's ring at two amplitudes and three frequencies; what `series` separated is what the
    motor turns with, and its covariance is in the uncertainty."""
    with open(os.path.join(ROOT, "samples", "sound-card", "ring.yaml"), encoding="utf-8") as file:
        order = file.read()
    captures = []
    for field in (30, 40):
        for frequency in (10, 20, 30):
            name = "h%d-f%d" % (field, frequency)
            text = order.replace("60 kA/m", "%d kA/m" % field).replace("r17-60kam-20hz", name)
            text = text.replace("frequency: 20 Hz", "frequency: %d Hz" % frequency)
            ring = os.path.join(folder, name + ".yaml")
            with open(ring, "w", encoding="utf-8") as file:
                file.write(text)
            status, _, err = run("virtual", ring, "-o", os.path.join(folder, name))
            assert status == 0, err
            captures.append(os.path.join(folder, name, name + ".flac"))
    path = os.path.join(folder, "series.json")
    status, _, err = run("series", *captures, "--json", path)
    assert status == 0, err
    with open(path, encoding="utf-8") as file:
        entry = json.load(file)["separation"][0]
    result = motor(path, "-p", "3", "--volume", "1e-5", "--supply", "30",
                   "--flux-density", repr(entry["flux_density_peak_T"]))
    scale = 3 * 1e-5 / (2 * math.pi)
    terms = np.array([entry["hysteresis_J_per_m3"],
                      entry.get("classical_J_s_per_m3", entry.get("linear_J_s_per_m3")),
                      entry.get("excess_J_per_m3_per_sqrt_Hz", 0.0)])
    powers = np.array([1.0, 30.0, math.sqrt(30.0)])
    torque = scale * float(terms @ powers)
    check.near(result["figures"]["starting_torque_N_m"], torque, 1e-9 * torque, "torque at standstill")
    covariance = np.array(entry["covariance"])
    least = scale * math.sqrt(powers @ covariance @ powers)
    u = result["figures"]["u_starting_torque_N_m"]
    # the uncertainty of the measured peak is in it too
    check.check(0.999 * least <= u <= 0.03 * torque, "u %.3g, of the terms alone %.3g" % (u, least))
    check.near(result["steel"]["frequency_most_Hz"], max(entry["frequency_Hz"]), 1e-6, "its range")


if __name__ == "__main__":
    checks.main(globals())
