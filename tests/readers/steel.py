# SPDX-License-Identifier: GPL-3.0-or-later
"""The sample card for the readers' tests, with what they compare with, computed here and from the card
alone: its curve as a function, and the loop of Jiles and Atherton's model in the effective field."""
import json
import os
import subprocess

import numpy as np

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.environ.get("LODECARD", os.path.join(TOP, "build", "release", "lodecard"))
SAMPLE = os.path.join(TOP, "samples", "card", "rs36-h2291.json")
MU0 = 4e-7 * np.pi
FIELD_MODEL = "jiles-atherton-field"


def read_sample():
    with open(SAMPLE, encoding="utf-8") as file:
        return json.load(file)


def write(card, folder, name="card.json"):
    path = os.path.join(folder, name)
    with open(path, "w", encoding="utf-8") as file:
        json.dump(card, file)
    return path


def export(path, exporter, output, *settings):
    """Runs `card export`; what it said on standard error must be nothing."""
    words = [PROGRAM, "card", "export", path, "--to", exporter, "-o", output]
    for setting in settings:
        words += ["--set", setting]
    done = subprocess.run(words, capture_output=True, text=True, timeout=60)
    if done.returncode or done.stderr:
        raise RuntimeError("%s: %s" % (" ".join(words), done.stderr))
    return output


def area(field, flux):
    """Of a closed polygon, J/m3."""
    return abs(np.sum((field + np.roll(field, -1)) / 2 * (np.roll(flux, -1) - flux)))


def curve_flux(card, field):
    """B (T) of the solver's curve at a field: the cubics between its points, odd."""
    graph = card["solver"]["curve"]
    x, y, s = (np.array(graph[key]) for key in ("field_A_per_m", "flux_density_T", "slope_H_per_m"))
    h = np.abs(np.atleast_1d(np.asarray(field, float)))
    i = np.clip(np.searchsorted(x, h) - 1, 0, len(x) - 2)
    width, t = x[i + 1] - x[i], (h - x[i]) / (x[i + 1] - x[i])
    b = (y[i] * (1 + 2 * t) * (1 - t) ** 2 + y[i + 1] * t * t * (3 - 2 * t)
         + width * (s[i] * t * (1 - t) ** 2 - s[i + 1] * t * t * (1 - t)))
    b = np.where(h > x[-1], y[-1] + MU0 * (h - x[-1]), b)
    return b * np.sign(field)


def find_model(card, name=FIELD_MODEL):
    return next((model for model in card.get("models", []) if model["name"] == name), None)


def with_field_model(card):
    """The card with such a model: its own, or a set of the same kind of steel."""
    if not find_model(card):
        card["models"].append({
            "name": FIELD_MODEL, "form": "dM/dHe = (Man - M) / (k d) + c dMan/dHe",
            "residual_relative": 0.02,
            "parameters": {"saturation_A_per_m": 1.5e6, "shape_A_per_m": 2.15e4,
                           "pinning_A_per_m": 1.98e4, "reversibility": 0.05, "coupling": 0.031}})
    return card


def langevin(x):
    small = abs(x) < 1e-2
    y = 1.0 if small else x
    return x / 3 - x ** 3 / 45 if small else 1 / np.tanh(y) - 1 / y


def langevin_slope(x):
    return 1 / 3 - x * x / 15 if abs(x) < 1e-2 else 1 / x ** 2 - 1 / np.sinh(x) ** 2


def slope_of(parameters, name):
    """dM/dH of a form, as a function of H, M and the direction."""
    ms, a, k = (parameters[key] for key in ("saturation_A_per_m", "shape_A_per_m", "pinning_A_per_m"))
    c, alpha = parameters["reversibility"], parameters["coupling"]

    def in_field(h, m, d):
        e = (h + alpha * m) / a
        f = max(0.0, d * (ms * langevin(e) - m)) / k + c * ms / a * langevin_slope(e)
        return f / (1 - alpha * f)

    def of_1992(h, m, d):
        e = (h + alpha * m) / a
        man, dman = ms * langevin(e), ms / a * langevin_slope(e)
        lag = (man - m) / (1 - c)
        f = lag / (k * d - alpha * lag) if lag * d > 0 else 0.0
        return ((1 - c) * f + c * dman) / (1 - c * alpha * dman)

    return {FIELD_MODEL: in_field, "jiles-atherton-1992": of_1992}[name]


def model_loop(model, peak, steps=2000, cycles=6, grows=4):
    """The last cycle of H = peak sin, by the classical Runge-Kutta method; from the virgin state, the
    peak grows over `grows` cycles, so that the loop lies in the middle. 0: it is there at once."""
    slope = slope_of(model["parameters"], model["name"])
    time = np.arange(cycles * steps + 1) / steps
    growth = np.minimum(1, time / grows) if grows else 1
    field = peak * growth * np.sin(2 * np.pi * time)
    m = np.zeros_like(field)
    for i in range(len(field) - 1):
        h, step = field[i], field[i + 1] - field[i]
        d = 1.0 if step > 0 else -1.0
        k1 = slope(h, m[i], d)
        k2 = slope(h + step / 2, m[i] + step / 2 * k1, d)
        k3 = slope(h + step / 2, m[i] + step / 2 * k2, d)
        k4 = slope(h + step, m[i] + step * k3, d)
        m[i + 1] = m[i] + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    last = slice(-steps, None)
    return field[last], MU0 * (field[last] + m[last])
