// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SERIES_CLASSICAL_H
#define LODECARD_SERIES_CLASSICAL_H

/* The classical eddy-current loss of a section that the flux crosses evenly (low frequency), energy
 * per cycle over frequency, J s/m³:
 *
 *     kc = shape * (4/3) * d² * (FF * Bm)² / resistivity
 *
 * where FF = rms / mean absolute value of dB/dt; at sinusoidal B FF² = pi²/8 and kc is the
 * textbook's pi² d² Bm² / (6 resistivity). `shape` is that of a rectangle of d times `breadth` (>=
 * d), 1 for a wide sheet, 0.42 for a square (B. de Saint-Venant's torsion function, which solves
 * the same equation). breadth INFINITY: a sheet. */
double classical_compute(double resistivity_ohm_m, double thickness_m, double breadth_m,
    double peak_T, double form_factor);

double classical_get_shape(double thickness_m, double breadth_m);

/* Form factor of a sine. */
#define CLASSICAL_SINE 1.1107207345395915617539702475151734

/* The share of the low-frequency formula that the loss in a sheet of a steel of constant
 * permeability has, (3/x) (sinh x - sin x) / (cosh x - cos x), x = thickness / skin depth. */
double classical_get_skin_share(double thickness_over_depth);

/* The frequency (Hz) up to which that share is 0.99 or more. `permeability` is relative. */
double classical_get_skin_frequency(
    double resistivity_ohm_m, double thickness_m, double permeability);

#endif
