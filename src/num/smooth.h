// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_SMOOTH_H
#define LODECARD_NUM_SMOOTH_H

#include <stddef.h>

#include "base/error.h"

/* The smoothest values that leave none of y by more than its bound (above 0): minimizes
 *
 *     sum ((z - y) / bound)^2 + lambda sum (second divided differences of z over x)^2
 *
 * with the largest lambda for which |z - y| <= bound everywhere (found to 1 %). x rises strictly.
 * Fewer than 4 points stay as they are. */
enum status smooth_compute(const double *x, const double *y, const double *bound, size_t count,
    double *z, struct error *err) MUST_CHECK;

#endif
