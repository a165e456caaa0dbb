// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_MONOTONE_H
#define LODECARD_NUM_MONOTONE_H

#include <stddef.h>

#include "base/error.h"

/* A curve through points: cubic between two, with a continuous slope, and monotone wherever the
 * points are (M. Steffen, Astron. Astrophys. 239 (1990) 443; GSL's). */
struct monotone;

/* x rises strictly, at least 2 points (2: a straight line). The arrays are copied. */
enum status monotone_create(const double *x, const double *y, size_t count,
    struct monotone **monotone, struct error *err) MUST_CHECK;
void monotone_destroy(struct monotone *monotone); /* NULL is allowed */

/* y at x and, where `slope` is not NULL, dy/dx. Beyond the ends: the straight line with the slope
 * of that end. */
double monotone_get(const struct monotone *monotone, double x, double *slope);

#endif
