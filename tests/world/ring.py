# SPDX-License-Identifier: GPL-3.0-or-later
"""Path length and cross-section of a ring (m, m2) from a specimen given in SI."""
import math


def geometry(spec):
    D, d = spec["outer_diameter"], spec["inner_diameter"]
    h = spec.get("height", 0.0) * spec.get("stacking_factor", 1.0)
    rule = spec.get("path", "mean")
    if rule == "effective":  # IEC 60205: C1 and C2 of a ring of rectangular section
        c1 = 2 * math.pi / (h * math.log(D / d))
        c2 = 4 * math.pi * (1 / d - 1 / D) / (h**2 * math.log(D / d) ** 3)
        return c1**2 / c2, c1 / c2
    if rule == "logarithmic":
        length = math.pi * (D - d) / math.log(D / d)
    else:
        length = math.pi * (D + d) / 2
    if "mass" in spec:
        return length, spec["mass"] / (spec["density"] * length)
    return length, h * (D - d) / 2
