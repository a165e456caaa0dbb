// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_STATISTICS_H
#define LODECARD_NUM_STATISTICS_H

#include <stddef.h>

/* Mean and scatter of a sample, in units of the values. Differences are taken from the first value
 * before anything is summed, sums are compensated: leading digits that all values share cost
 * nothing. NaN: too few values, or (autocorrelation) no scatter. */
struct summary {
    size_t count;
    double mean;
    double deviation;       /* standard deviation, divisor n - 1 */
    double autocorrelation; /* of neighbours: lag 1 */
    double least;
    double most;
};
struct summary summary_compute(const double *values, size_t count);

/* Sum of a list by Neumaier's compensation: A. Neumaier, ZAMM 54 (1974) 39. */
double compensated_sum(const double *values, size_t count);

#endif
