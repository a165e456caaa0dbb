// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_NORMALITY_H
#define LODECARD_NUM_NORMALITY_H

#include <stddef.h>

#include "base/error.h"

/* The test of S. S. Shapiro and M. B. Wilk (Biometrika 52 (1965) 591) for 3 to 2000 values, by the
 * approximation of P. Royston, algorithm AS R94, Applied Statistics 44 (1995) 547. */
struct normality {
    double w;            /* near 1: as a normal sample would lie */
    double significance; /* probability of a w this low from a normal population */
};

/* STATUS_INPUT with fewer than 3 values, more than 2000, or no scatter. Values are in any order. */
enum status normality_compute(
    const double *values, size_t count, struct normality *normality, struct error *err) MUST_CHECK;

/* Where the i-th smallest (from 0) of `count` normal values is expected, in standard deviations
 * from the mean: G. Blom's approximation, as a normal probability plot takes it. */
double normality_compute_score(size_t index, size_t count);

#endif
