// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_LOCAL_CUBIC_H
#define LODECARD_NUM_LOCAL_CUBIC_H

#include <stddef.h>

/* Interpolation by the polynomial through the nearest points, two on either side where there are:
 * of degree 3, or less with fewer points. Linear in the values, so that their uncertainties follow
 * it: value = sum weight[i] * y[first + i]. Exact for cubics; the error is below h^4/40 times the
 * largest fourth derivative for even steps h in the inside. */
#define LOCAL_CUBIC_POINTS 4

struct local_cubic {
    size_t first; /* of the points used */
    size_t count; /* 1 ... 4 */
    double weight[LOCAL_CUBIC_POINTS];
    double slope[LOCAL_CUBIC_POINTS]; /* d value / d at = sum slope[i] * y[first + i] */
    double lower[LOCAL_CUBIC_POINTS]; /* weights of the polynomial of one degree less, through the
                                         points without the outer one that is farther */
};

/* `x` rises strictly; count 1 or more. Beyond the ends it extrapolates. */
void local_cubic_find(const double *x, size_t count, double at, struct local_cubic *cubic);

#endif
