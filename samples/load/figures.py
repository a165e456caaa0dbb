# SPDX-License-Identifier: GPL-3.0-or-later
"""Python: coercivity, remanence and loop area from the branches of steel.npz, which is what
lodecard card export CARD --to numpy -o steel.npz
wrote."""
import numpy as np

steel = np.load("steel.npz")
(hr, br), (hf, bf) = ([steel["major_loop.%s.%s" % (branch, key)] for key in ("field_A_per_m", "flux_density_T")]
                      for branch in ("rising", "falling"))
coercivity = np.interp(0, br, hr)
remanence = np.interp(0, hf, bf)
area = np.trapz(hr, br) - np.trapz(hf, bf)
print("Hc %.7g A/m, Br %.7g T, area %.7g J/m3" % (coercivity, remanence, area))
