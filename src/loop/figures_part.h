// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_FIGURES_PART_H
#define LODECARD_LOOP_FIGURES_PART_H

#include "loop/loop.h"

/* Figures that follow from others, shared by the two ways to find peaks and crossings. */

/* The mean, both sides and the asymmetry; nothing when a side is NaN. falling and rising are the
 * two half-axes, both positive on an ordinary loop; `first` is the falling one's figure. */
void figures_set_sides(
    struct figures *figures, enum figure mean, enum figure first, double falling, double rising);

/* What the figures need of the two series beside phases: sums over all harmonics. */
struct figures_sums {
    double area_J_per_m3;
    double lag_deg;         /* -180 ... 180, 180 included */
    double fundamental;     /* |B_1|, T */
    double overtones;       /* root of the sum of |B_k|^2 from k = 2, T */
    double slope;           /* root of the sum of k^2 |B_k|^2, T per radian */
    double total_variation; /* of B over a cycle, T */
};

/* A lag of any number of turns. */
double figures_wrap_lag(double lag_deg);

/* All but the total variation. */
void figures_sum(const struct fourier_loop *loop, struct figures_sums *sums);

/* Area, loss, lag angle. */
void figures_set_energy(const struct figures_sums *sums, double frequency_Hz,
    double density_kg_per_m3, struct figures *figures);

/* What follows from peaks, remanence and area, which must be there. */
void figures_set_ratios(const struct figures_sums *sums, struct figures *figures);

#endif
