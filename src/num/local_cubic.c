// SPDX-License-Identifier: GPL-3.0-or-later
/* Lagrange's polynomials through at most four neighbours. A spline through all points would let an
 * outlier ring along the whole curve, and straight lines between logarithms are off by up to h²/8
 * times the curvature: 0.3 % for loss points a tenth apart. */
#include "num/local_cubic.h"

/* Weights of the points `begin` ... `end` - 1 at `at`, and of the slope there (may be NULL). */
static void set_weights(
    const double *x, size_t begin, size_t end, double at, double *weight, double *slope)
{
    for (size_t i = begin; i < end; i++) {
        double value = 1, derivative = 0;
        for (size_t j = begin; j < end; j++) {
            if (j == i)
                continue;
            derivative = (derivative * (at - x[j]) + value) / (x[i] - x[j]);
            value *= (at - x[j]) / (x[i] - x[j]);
        }
        weight[i] = value;
        if (slope)
            slope[i] = derivative;
    }
}

void local_cubic_find(const double *x, size_t count, double at, struct local_cubic *cubic)
{
    *cubic = (struct local_cubic){.count = count < LOCAL_CUBIC_POINTS ? count : LOCAL_CUBIC_POINTS};
    size_t above = 0; /* the first point beyond */
    while (above < count && x[above] <= at)
        above++;
    size_t half = cubic->count / 2;
    cubic->first = above > half ? above - half : 0;
    if (cubic->first + cubic->count > count)
        cubic->first = count - cubic->count;
    x += cubic->first;
    set_weights(x, 0, cubic->count, at, cubic->weight, cubic->slope);
    if (cubic->count == 1) {
        cubic->lower[0] = 1;
        return;
    }
    size_t drop_first = at - x[0] > x[cubic->count - 1] - at;
    set_weights(x, drop_first, cubic->count - !drop_first, at, cubic->lower, NULL);
}
