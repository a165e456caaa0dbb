// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_GRID_H
#define LODECARD_CAPTURE_GRID_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Straight lines time = start + index * interval that pass every known time within a given
 * half-width: an interval constraint, not a least-squares fit, because printed times are wrong by
 * at most half a printed step and by nothing else.
 *
 * The lines that do have intervals without a gap between them: the spread of time - interval *
 * index is a convex function of the interval, and it is at most twice the half-width exactly there.
 * Only the corners of the points' convex hull count for the spread (A. M. Andrew, Another efficient
 * algorithm for convex hulls in two dimensions, Information Processing Letters 9, 1979). */
struct grid_points {
    double *index; /* increasing */
    double *time;  /* s */
    size_t count;
};

struct grid_band {
    bool is_possible;
    double least; /* s: the intervals of the lines that pass */
    double most;
};

/* At least two points. Memory for the corners is taken and given back. */
enum status grid_find_band(const struct grid_points *points, double half_width_s,
    struct grid_band *band, struct error *err) MUST_CHECK;

/* The least-squares line; at least two points. */
void grid_compute_line(const struct grid_points *points, double *start_s, double *interval_s);

/* The simplest number between the intervals `least` and `most`: the one with the fewest significant
 * digits, written as an interval or as a rate. 0 when none is so simple that it can hardly be
 * there by chance: it must have at most six digits, and no more than one number (of up to three
 * digits; of more: one in ten) with as many may be expected between the two. */
double grid_find_simple_interval(double least, double most);

#endif
