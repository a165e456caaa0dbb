// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_FOURIER_H
#define LODECARD_NUM_FOURIER_H

#include <complex.h>
#include <stddef.h>

#include "base/error.h"

/* A real waveform given by its Fourier series: w(x) = Re sum_{k=0..K} c[k] e^{ikx}, x in radian. */

/* w(x) and, where `slope` is not NULL, dw/dx. */
double fourier_get(const double complex *c, size_t harmonics, double x, double *slope);

/* `count` values at x = x0 + 2 pi n / count. Any count >= 1. */
enum status fourier_sample(const double complex *c, size_t harmonics, double x0, size_t count,
    double *values, struct error *err) MUST_CHECK;

/* Local extremes and zero crossings, found on the series itself: bracketed on a grid of 16 points
 * to the cycle of the highest harmonic (at least 256), then refined by Newton steps inside the
 * bracket. */
struct fourier_extremes {
    double maximum, minimum;             /* values */
    double maximum_phase, minimum_phase; /* radian, 0 ... 2 pi */
    double total_variation;              /* integral of |dw/dx| over one cycle */
};
enum status fourier_find_extremes(const double complex *c, size_t harmonics,
    struct fourier_extremes *extremes, struct error *err) MUST_CHECK;

/* Phases where w(x) = level, in ascending order in [0, 2 pi); rising[i] tells the direction. Gives
 * at most `limit` of them; *count is how many there are. */
struct fourier_crossing {
    double phase;
    int is_rising;
};
enum status fourier_find_crossings(const double complex *c, size_t harmonics, double level,
    struct fourier_crossing *list, size_t limit, size_t *count, struct error *err) MUST_CHECK;

#endif
