// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_FIGURES_PART_H
#define LODECARD_LOOP_FIGURES_PART_H

#include "loop/loop.h"

/* Figures that follow from others, shared by the two ways to find peaks and crossings. */

/* The mean, both sides and the asymmetry; nothing when a side is NaN. falling and rising are the
 * two half-axes, both positive on an ordinary loop; `first` is the falling one's figure. */
void figures_set_sides(
    struct figures *figures, enum figure mean, enum figure first, double falling, double rising);

/* Area, loss, lag angle. */
void figures_set_energy(const struct fourier_loop *loop, double frequency_Hz,
    double density_kg_per_m3, struct figures *figures);

/* What follows from peaks, remanence and area, which must be there; `total_variation` of B over a
 * cycle. */
void figures_set_ratios(
    const struct fourier_loop *loop, double total_variation, struct figures *figures);

#endif
