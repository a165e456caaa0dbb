// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_ROUNDING_H
#define LODECARD_NUM_ROUNDING_H

#include <complex.h>
#include <stddef.h>

/* The steps in which a record's samples are written, and what their rounding leaves in a harmonic.
 *
 * Rounding is noise of step / sqrt 12, averaged over the record like any other, unless the clock
 * shows the same few samples in every cycle (48 kHz at exactly 50 Hz): then each cycle is rounded
 * alike, the error is periodic itself, and no residual tells of it. */
struct rounding {
    double step[2];  /* of which every sample is a whole multiple; 0: none is found */
    double count;    /* samples of the record as it was recorded */
    double thinning; /* how many of them are averaged to one that is fitted */
};

/* Finds the steps from the first samples: powers of two, as in audio files of whole numbers. */
void rounding_find_steps(struct rounding *rounding, const double complex *value, size_t count);

/* Raises the variances (of one fitted sample) from which harmonics are judged, where the residual
 * is too small to hold the rounding: 0 ... `harmonics` of `value` were fitted to `frames` samples
 * at `nu` cycles to a fitted sample. */
void rounding_raise_variance(const struct rounding *rounding, double nu,
    double complex *const value[2], size_t harmonics, double frames, double variance[2]);

#endif
