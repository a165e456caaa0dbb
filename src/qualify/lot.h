// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_LOT_H
#define LODECARD_QUALIFY_LOT_H

#include <stddef.h>

#include "base/error.h"
#include "num/normality.h"
#include "num/statistics.h"
#include "qualify/decision.h"

/* One figure over the specimens of a lot. A lot is taken as a random sample of a normal population
 * of specimens; all values in the unit of the figure. */

/* One measurement. Repeats on one specimen have the same number. */
struct lot_value {
    size_t specimen;
    double value;
    double u; /* standard uncertainty; 0: not known */
};

struct lot_figure {
    size_t values; /* measurements */
    size_t specimens;
    struct summary summary; /* of the specimens' means */
    double u;               /* root mean square of the measurements' u */
    bool has_normality;     /* from 3 specimens with scatter on */
    struct normality normality;
    /* scatter apart: of repeats on one specimen, and of the steel between specimens */
    double repeat_deviation; /* NaN without repeats */
    double steel_deviation;  /* of the specimens, the repeats' scatter taken out; NaN below 2 */
    /* the population against the limit, at the file's share and confidence */
    double factor;                           /* k of the tolerance limit; NaN below 2 specimens */
    double tolerance_lower, tolerance_upper; /* infinite where the limit has no such side */
    double share;           /* estimated share conforming, from mean and deviation */
    double share_confident; /* that share with the file's confidence at least; NaN below 2 */
    double margin;          /* how far the tolerance limits stand inside the limits: the least; with
                               what the guard takes off, below 0: not shown */
    size_t wanted;          /* specimens that would do if they scatter like these: as many as there
                               are when they do; 0: no number of them would, or above 1000 */
    enum verdict verdict;
};

/* Works out one figure of a lot. One-sided limits take the one-sided factor, two-sided the
 * two-sided one (ISO 16269-6). The guarded rule draws the limits in by 1.645 u for what all
 * measurements of one bench share. Accepted: the tolerance limits lie within. Rejected: the share
 * that mean and deviation estimate is below the one asked for. Undecided: in between, such as too
 * few specimens. STATUS_INPUT when there is no value. */
enum status lot_compute(const struct lot_value *values, size_t count, const struct limit *limit,
    const struct limits *limits, struct lot_figure *lot, struct error *err) MUST_CHECK;

#endif
