// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_DIRECT_H
#define LODECARD_NUM_DIRECT_H

#include <complex.h>
#include <stddef.h>

#include "base/error.h"

/* Least-squares fit of offset and harmonics 1 ... K to samples at any times, each used as it is:
 * for short records, uneven sampling and missing rows. Cost per sample about four kernel
 * evaluations an iteration (num/nufft.h); long even records go through num/fold.h instead. */
struct direct;

/* Two channels as real and imaginary part, at times in any unit; frequency is in cycles per that
 * unit. */
struct direct_points {
    size_t count;
    const double *time;
    const double complex *value;
};

struct direct_result {
    double complex *coefficient[2]; /* of the caller, K + 1 values; phase 0 at `centre` */
    double centre;                  /* mean of the times */
    double square_sum[2];           /* of the residuals */
    double freedom;                 /* count - (2K + 1), at least 1 */
};

struct direct *direct_create(size_t harmonics, size_t count_limit); /* NULL: out of memory */
void direct_destroy(struct direct *direct);

void direct_solve(struct direct *direct, const struct direct_points *points, double frequency,
    struct direct_result *result);

/* Gauss-Newton on the frequency with the linear unknowns projected out (G. Golub, V. Pereyra, SIAM
 * J. Numer. Anal. 10 (1973) 413), each channel weighted by its own residual variance. Improves
 * *frequency in at most `steps` steps, each at most a quarter of a cycle over the record; gives the
 * standard uncertainty in *u. */
void direct_refine(struct direct *direct, const struct direct_points *points, int steps,
    double *frequency, double *u, struct direct_result *result);

#endif
