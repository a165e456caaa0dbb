# SPDX-License-Identifier: GPL-3.0-or-later
"""Noise-free captures: every figure within 1e-6 of the truth, frequency within 1e-8, lag within 1e-5
degree, whatever the steel, the bench, the sampling and the file.

    test_accuracy.py              a minute: the chosen captures and some drawn at random
    test_accuracy.py --many N     N more at random of either kind (from --seed S)

A limit gives way only where the digits of the file cannot carry it: to six standard deviations that the
rounding alone leaves at the Cramér-Rao bound. The draws choose a file for which it seldom happens.
"""
import os

import numpy as np

import bench
import cases
import checks
import program
import steel

SMOOTH = dict(field=20e3, saturation=1.1, coercivity=6e3, width=7e3)


def verify(check, folder, made, *options):
    """Writes the cases, runs the program over all of them at once and compares every figure."""
    paths = []
    for i, case in enumerate(made):
        paths.append(case.write(os.path.join(folder, "%s%d" % (case.form[0], i))))
    worst = (0.0, "", "")
    for case, path, result in zip(made, paths, program.loops(paths, *options)):
        if "failure" in result:
            check.check(False, f"{case.name}: {result['failure']}")
            continue
        got = result["figures"]
        errors = checks.errors_of(case.truth(), got)
        if errors[0][0] > 1:
            errors = checks.errors_of(case.truth(), got, floor=cases.rounding_floor(case))
        worst = max(worst, (*errors[0], case.name))
        far = ["%s %.3g" % (key, error) for error, key in errors if error > 1]
        check.check(not far, f"{case.name}: harmonics {got.get('harmonics')}, "
                             f"errors over their limits: {', '.join(far[:6])}")
        has_gaps = any(key in case.dialect for key in ("blank", "drop")) or "left out" in case.name
        if case.times is None and not has_gaps:
            check.near(got.get("cycles"), case.cycles, 1.01 * case.frequency / case.rate,
                       case.name + ": cycles")
        false = {"not-periodic", "reversed", "unsteady", "clipped", "noisy"}
        false |= set() if has_gaps else {"dropout"}
        false |= {"swapped"} if case.truth()["lag_angle_deg"] < 90 else set()
        alarms = false & set(program.codes(result, "warning", "fatal"))
        check.check(not alarms, f"{case.name}: false notes {sorted(alarms)}")
    print("  nearest to its limit: %.2g of %s, %s" % worst)


def plain(name, rate, S, cycles, K, model=steel.smooth, **more):
    settings = dict(SMOOTH) if model in (steel.smooth, steel.branches) else {}
    settings.update(more.pop("steel", {}))
    f = rate / S
    case = bench.Case(f, *model(harmonics=K, **settings), more.pop("rig", {}), more.pop("spec", {}),
                      rate=rate, frames=int(np.ceil(S * cycles)), phase=more.pop("phase", 1.1), **more)
    case.name = "%s: %g Hz in %g, K %d, %g cycles" % (name, f, rate, K, cycles)
    return case


def test_rates_and_lengths(check, folder):
    """Sampling from the tightest to the densest, records from 3.05 cycles to thousands."""
    made = [plain("tight", 8000, 8.28, 3.05, 3), plain("tight", 8000, 8.28, 3.31, 3),
            plain("tight", 8000, 8.28, 3000.7, 3), plain("to Nyquist", 48000, 8.28, 60.3, 4),
            plain("whole", 48000, 960, 4, 40), plain("whole", 48000, 10, 50, 4),
            plain("whole", 48000, 960, 10.5, 40),
            plain("golden", 44100, 100 * 1.6180339887, 37.7, 60),
            plain("dense", 192000, 3840.7, 3.05, 200), plain("dense", 192000, 100000.3, 3.07, 30),
            plain("slow", 8000, 20011.7, 3.2, 99), plain("400 Hz", 96000, 240.003, 400.01, 60),
            plain("nearly whole", 44100, 882.0005, 101.003, 50),
            plain("half", 48000, 48.5, 20.2, 23), plain("third", 48000, 100 / 3, 31.1, 15)]
    for S, cycles in ((8.28, 3.05), (9.1, 3.4), (17.3, 4.5)):
        made.append(plain("to Nyquist", 44100, S, cycles, int(np.ceil(S / 2)) - 1))
    verify(check, folder, made)


def test_formats_and_channels(check, folder):
    made = [plain("form", 44100, 882.3, 12.3, 35, form=form) for form in ("pcm24", "pcm32", "float64")]
    made += [plain("float32", 44100, 882.3, 12.3, 35, form="float32", level=(0.9, 0.9))]
    made += [plain("eight channels", 192000, 3840.1, 5.1, 35, form="pcm24", channel_count=8,
                   channels=channels) for channels in ((1, 2), (8, 7), (3, 6))]
    made += [plain("sixteen bits", 48000, 960.37, 250.3, 7, form="pcm16")]
    made += [plain("float above full scale", 48000, 960.37, 5.3, 25, form="float64", level=(2.5, 7.0))]
    made += [plain("low level", 48000, 960.37, 25.3, 25, form="pcm32", level=(0.01, 0.02))]
    verify(check, folder, made)


def test_steels(check, folder):
    """Narrow loops, square loops, peaky currents, HcJ far above HcB, minor ellipses, real bias."""
    rate, S = 96000, 1921.37
    made = [
        plain("lag below 1 degree", rate, S, 9.3, 1, steel.ellipse, steel=dict(
            field=1000, flux=0.1, lag_deg=0.31), form="pcm32"),
        plain("lag near 90 degree", rate, S, 9.3, 1, steel.ellipse, steel=dict(
            field=1000, flux=0.1, lag_deg=89.2)),
        plain("lag above 90 degree", rate, S, 9.3, 1, steel.ellipse, steel=dict(
            field=1000, flux=0.1, lag_deg=97.2)),
        plain("minor ellipse", rate, S, 9.3, 1, steel.ellipse, steel=dict(
            field=3, flux=1e-4, lag_deg=11)),
        plain("square", rate, S, 12.3, 301, steel.branches, steel=dict(
            field=9e3, coercivity=6e3, width=300)),
        plain("square, just over Hc", rate, S, 12.3, 151, steel.branches, steel=dict(
            field=7e3, coercivity=6e3, width=500)),
        plain("peaky current", rate, S, 12.3, 301, steel.sine_flux, steel=dict(
            flux=1.7, knee=300, sharpness=0.9999, coercivity=60)),
        plain("peaky current, soft", rate, S, 12.3, 101, steel.sine_flux, steel=dict(
            flux=1.2, knee=30, sharpness=0.95, coercivity=30)),
        plain("HcJ far above HcB", rate, S, 12.3, 99, steel.smooth, steel=dict(
            field=300e3, saturation=0.06, coercivity=150e3, width=40e3, slope=1.0)),
        plain("asymmetric", rate, S, 12.3, 60, steel.smooth, steel=dict(tilt=900)),
        plain("Jiles-Atherton", rate, S, 12.3, 201, steel.jiles_atherton, steel=dict(
            field=6000, Ms=1.6e6, a=1100, k=400, c=0.2, alpha=1.6e-3), form="pcm32"),
        plain("Jiles-Atherton, semi-hard", rate, S, 12.3, 201, steel.jiles_atherton, steel=dict(
            field=40e3, Ms=1.2e6, a=9000, k=8000, c=0.1, alpha=0.015)),
        plain("Rayleigh", rate, S, 12.3, 61, steel.rayleigh, steel=dict(
            initial=1e-3, rise=2e-6, field=80), form="pcm32"),
    ]
    biased = plain("bias kept", rate, S, 12.3, 60, rig=dict(bias=True))
    biased.H[0] = 700.0
    removed = plain("bias not kept", rate, S, 12.3, 60)
    removed.H[0] = 700.0
    verify(check, folder, made + [biased, removed])


def test_benches(check, folder):
    rate, S = 48000, 957.7
    rigs = {"transfer": dict(transfer=10.0), "dividers": dict(divider1=2.5, divider2=11.0),
            "coupling": dict(corner=3.4), "own corners": dict(corner1=3.4, corner2=0.7),
            "both inverted": dict(invert1=True, invert2=True), "delay": dict(delay=2.1e-6),
            "a long negative delay": dict(delay=-3.3e-4), "air flux": dict(A2=2 * 24e-6),
            "passive integrator": dict(resistance=1e5, capacitance=1e-6),
            "fluxmeter": dict(fluxmeter=10e-3),
            "everything": dict(corner=3.4, corner2=1.2, divider1=1.7, divider2=23.0, delay=1.7e-5,
                               A2=31e-6, resistance=1e5, capacitance=2e-7, transfer=3.0, N1=37, N2=411)}
    made = [plain(name, rate, S, 11.3, 31, rig=rig) for name, rig in rigs.items()]
    ring = dict(outer_diameter=0.170, inner_diameter=0.1505, height=0.165, stacking_factor=0.96)
    made += [plain(path, rate, S, 11.3, 31, spec=dict(ring, path=path))
             for path in ("mean", "logarithmic", "effective")]
    made += [plain("mass", rate, S, 11.3, 31, spec=dict(mass=0.0219))]
    verify(check, folder, made)


def slow(name, rate, f, cycles, K, **more):
    case = plain(name, rate, rate / f, cycles, K, form="table", **more)
    return case


def test_slow_loggers(check, folder):
    """Tables: any rate, dialects, columns of other quantities, few digits in the times."""
    made = [slow("7 Hz", 7.0, 0.1, 3.05, 15), slow("one a second", 1.0, 0.013, 4.4, 20),
            slow("two seconds", 0.5, 0.003, 9.1, 40), slow("third of a hertz", 1 / 3, 0.01, 5.5, 9),
            slow("12.5 Hz", 12.5, 0.2, 60.7, 20), slow("tight", 10.0, 10 / 8.28, 3.05, 3)]
    made += [slow("times of few digits", rate, f, 7.3, 12, dialect=dict(time_format=form))
             for rate, f, form in ((48000.0, 440.7, "%.6f"), (1000.0, 9.7, "%.3f"),
                                   (333.0, 7.7, "%.4f"), (4096.0, 50.3, "%.5f"))]
    made += [slow("milliseconds", 1000.0, 9.7, 7.3, 12, dialect=dict(time="ms")),
             slow("rate from the rig", 250.0, 2.7, 7.3, 12, dialect=dict(
                 time="none", timing=["sample_rate: 250.0 Hz"])),
             slow("clock past midnight", 50.0, 1.7, 17.3, 12, dialect=dict(time="clock")),
             slow("date past midnight", 50.0, 1.7, 17.3, 12, dialect=dict(time="date")),
             slow("semicolons", 100.0, 1.7, 7.3, 12, dialect=dict(separator=";", decimal=",",
                  newline="\r\n", preamble=["Logger 12; bench 2", "started by hand"])),
             slow("units in a row", 100.0, 1.7, 7.3, 12, dialect=dict(units="row", separator="\t",
                  encoding="utf-16")),
             slow("milli", 100.0, 1.7, 7.3, 12, dialect=dict(prefix={0: ("mV", 1e-3), 1: ("uV", 1e-6)})),
             slow("ten digits", 100.0, 1.7, 17.3, 12, dialect=dict(digits=10))]
    quantities = [dict(excitation="current"), dict(excitation="field strength"),
                  dict(excitation="current", pickup="flux linkage", A2=31e-6),
                  dict(excitation="current", pickup="flux linkage", air_flux_removed=True),
                  dict(excitation="field strength", pickup="flux density"),
                  dict(excitation="field strength", pickup="polarization")]
    made += [slow("columns of %s" % list(rig.values()), 100.0, 1.7, 7.3, 12, rig=rig)
             for rig in quantities]
    verify(check, folder, made)


def test_uneven_tables(check, folder):
    """Jittered clocks told by their times, rows left out, cells left blank."""
    random = np.random.default_rng(5)
    made = []
    for rate, f, cycles, K, jitter in ((10.0, 0.1, 3.2, 12, 0.3), (10.0, 0.3, 25.0, 10, 0.45),
                                       (1000.0, 9.7, 9.1, 20, 0.1), (7.0, 0.11, 12.3, 15, 0.02)):
        frames = int(cycles * rate / f)
        times = (np.arange(frames) + random.uniform(-jitter, jitter, frames)) / rate + 100.0
        times = np.array([float("%.9f" % t) for t in times])
        made.append(slow("jitter %g" % jitter, rate, f, cycles, K, times=times,
                         dialect=dict(time_format="%.9f")))
    start = slow("times from 5e4 s", 100.0, 1.7, 9.3, 12, times=50000 + np.arange(547) / 100.0,
                 dialect=dict(time_format="%.2f"))
    gaps = np.r_[np.arange(200), np.arange(260, 700), np.arange(733, 900)] / 100.0
    made += [start, slow("rows left out in runs", 100.0, 1.7, 9.3, 12, times=gaps,
                         dialect=dict(time_format="%.2f")),
             slow("rows left out", 48000.0, 440.7, 30.3, 12, dialect=dict(
                 time_format="%.6f", drop=(50, 51, 52, 400, 777, 1200))),
             slow("blank cells", 100.0, 1.7, 9.3, 12, dialect=dict(blank=(7, 99, 100, 101, 350))),
             slow("words for numbers", 100.0, 1.7, 9.3, 12, dialect=dict(
                 blank=(7, 99, 350), text="overflow"))]
    verify(check, folder, made)


# drawn once, and found wrong by an earlier estimator: weak harmonics hidden by a frequency that was
# not yet fine enough; a phase that all of three cycles lack; two bends of B between two grid points
TELLING = {"wav": (50335, 50443, 50601, 50853, 50849), "table": (50030, 50098, 37, 9, 14)}


def test_telling_seeds(check, folder):
    for kind, seeds in TELLING.items():
        verify(check, folder, [cases.draw(seed, kind) for seed in seeds])


def test_drawn_at_random(check, folder):
    many = checks.option("--many", 0)
    first = checks.option("--seed", 5000) if many else 0
    for kind, count in (("wav", many or 60), ("table", many or 40)):
        for start in range(first, first + count, 100):
            stop = min(start + 100, first + count)
            verify(check, folder, [cases.draw(seed, kind) for seed in range(start, stop)])


if __name__ == "__main__":
    checks.main(globals(), 40.0)
