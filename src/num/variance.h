// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_VARIANCE_H
#define LODECARD_NUM_VARIANCE_H

#include <stddef.h>

#include "base/error.h"

/* Analysis of variance of values that stand in nested groups: supplier / heat / ring / repeat. The
 * innermost line is the scatter of the values within the last groups. Numbers of members may
 * differ. Estimates by equating mean squares with their expectations (S. R. Searle, G. Casella, C.
 * E. McCulloch, "Variance Components" (1992), chapter 3 and 5); one level of groups is the usual
 * one-way analysis. */
#define VARIANCE_LEVELS 6 /* of groups */

struct variance_line {
    double squares;      /* sum of squares, unit of the values squared */
    double freedom;      /* degrees of freedom */
    double mean_square;  /* NaN with no freedom */
    double ratio;        /* F: over the mean square of the line below; NaN for the last */
    double significance; /* of that F; NaN where no exact test exists (unequal numbers above the
                            last level), or no freedom */
    double component;    /* variance that this level adds, may be negative; NaN: not to be had */
    double kept;         /* the same, negative ones set to 0 and the rest worked out anew */
    double coefficient[VARIANCE_LEVELS + 1]; /* of each component in the expected mean square */
};

struct variance_table {
    size_t levels;                                  /* of groups: lines - 1 */
    struct variance_line line[VARIANCE_LEVELS + 1]; /* outermost first; [levels]: within */
    size_t groups[VARIANCE_LEVELS + 1];             /* how many: [levels] is the number of values */
    double total_squares;
    double explained; /* R²: share of the total that the groups take */
};

/* `group[level * count + i]` is a number for the group of value i at that level: the same number
 * within different outer groups is a different group. STATUS_INPUT when there are fewer than two
 * values or no level, more than VARIANCE_LEVELS, or a value is not finite. */
enum status variance_compute(const double *values, const size_t *group, size_t count, size_t levels,
    struct variance_table *table, struct error *err) MUST_CHECK;

#endif
