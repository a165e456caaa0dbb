// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_TRACK_H
#define LODECARD_LOOP_TRACK_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "loop/loop.h"

/* The figures of loops that differ little from a known one, some microseconds each: its peaks and
 * crossings are followed to where they have moved, not searched for. For derivatives and Monte
 * Carlo trials. A peak that overtakes another by moving is not noticed; what is followed changes
 * smoothly, and equals fourier_loop_compute_figures to rounding for the loop itself.
 */
struct track {
    size_t harmonics;
    /* scratch of track_compute: H, B centred, J centred as K + 1 coefficients */
    double complex *wave[3];
    double *parts[3];         /* the same in columns: real parts, imaginary parts, each `padded` */
    size_t padded;            /* K + 1 made up to whole lanes */
    double *table;            /* cos kx, sin kx of the twelve phases below and the first turns */
    size_t rows;              /* phases in the table */
    double top[3], bottom[3]; /* phases of the extremes of H, B, J; radian */
    double falling[3], rising[3]; /* phases where H, B, J pass zero; NaN: they do not */
    double *turns;                /* phases of all extremes of B, in their order */
    size_t turn_count;
    bool is_first_top; /* maxima and minima take turns */
};

/* `figures` are those of the loop by fourier_loop_compute_figures. */
enum status track_create(struct track *track, const struct fourier_loop *loop,
    const struct figures *figures, struct error *err) MUST_CHECK;

/* A second one for another thread. */
enum status track_copy(struct track *copy, const struct track *track, struct error *err) MUST_CHECK;
void track_clear(struct track *track);

/* Figures of a loop with the same number of harmonics; those that the known loop does not have are
 * not set. */
void track_compute(struct track *track, const struct fourier_loop *loop, double frequency_Hz,
    double density_kg_per_m3, struct figures *figures);

#endif
