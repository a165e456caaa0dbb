// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_SCATTER_H
#define LODECARD_BUDGET_SCATTER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Type A (JCGM 100:2008, 4.2 and 5.2.3): repeats of several quantities observed together. */
struct scatter {
    size_t quantities;
    double *mean;        /* [quantity] */
    double *u;           /* [quantity] standard uncertainty of the mean */
    double *freedom;     /* [quantity] */
    double *correlation; /* [quantity * quantities + quantity] of the means */
};

/* values[repeat * quantities + quantity], at least 2 repeats, in the order taken. With `is_series`
 * neighbours that resemble each other (a lag-1 autocorrelation r beyond what chance makes of
 * independent repeats in 95 % of cases) count for less: u^2 is inflated by (1 + r) / (1 - r), the
 * degrees of freedom fall likewise (first-order autoregression; JCGM 100, 4.2.7 asks for it). */
enum status scatter_create(struct scatter *scatter, const double *values, size_t repeats,
    size_t quantities, bool is_series, struct error *err) MUST_CHECK;
void scatter_clear(struct scatter *scatter);

#endif
