// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_CAPABILITY_H
#define LODECARD_QUALIFY_CAPABILITY_H

#include <stddef.h>

#include "base/error.h"
#include "qualify/limits.h"

/* Process capability of a normal population from a sample's mean and standard deviation: ISO
 * 22514-2. Cp = (upper - lower)/(6 s); Cpk = least distance of the mean from a limit, over 3 s. */
struct capability {
    double cp;                 /* NaN with one limit only */
    double cp_lower, cp_upper; /* interval of the confidence asked for: chi-square */
    double cpk;
    double cpk_lower, cpk_upper; /* A. F. Bissell, Applied Statistics 39 (1990) 331: approximate */
    double cpk_least;            /* one-sided lower limit of the same confidence */
};

/* STATUS_INPUT with fewer than two values, no scatter, no limit or a confidence not in (0, 1). */
enum status capability_compute(size_t count, double mean, double deviation,
    const struct limit *limit, double confidence, struct capability *capability,
    struct error *err) MUST_CHECK;

#endif
