// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_SAMPLING_H
#define LODECARD_CAPTURE_SAMPLING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* What the printed times of a logger table say about its clock.
 *
 * Times are printed with few digits: a column that steps 0.000021, 0.000042, 0.000063 may well be
 * an even 48 kHz. The rows are even when one grid start + n * interval passes within half a printed
 * step of every time; then the interval is the simplest number (fewest significant digits, as an
 * interval or as a rate) of those that do, if it is too simple to be there by chance (grid.h), else
 * the least-squares one, and the printed rounding does no harm. Otherwise the times are taken as
 * printed. */
struct sampling {
    bool is_grid;        /* every known time lies on start + n * interval, n whole and increasing */
    bool is_even;        /* is_grid, and no row is missing between the first and the last */
    double start_s;      /* of row 0, when is_grid */
    double interval_s;   /* when is_grid: the grid's; otherwise the median step */
    double jitter_rms_s; /* deviation from the best grid, rms */
    double jitter_max_s;
    size_t gap_count; /* steps above 1.5 intervals, 2.5 off a grid: rows missing altogether */
    double gap_longest_s;
};

/* Judges `count` times (seconds; NaN where missing; at least 3 known), printed in steps of
 * `quantum_s`. Times that do not increase are STATUS_INPUT, and the message names the row (from 0,
 * plus first_row). Known rows that lie
 * on a grid with rows missing between them are is_grid but not is_even: the fit takes start_s +
 * interval_s * round((t - start_s) / interval_s) as their times, free of the printed rounding. */
enum status sampling_judge(const double *times, size_t count, double quantum_s, size_t first_row,
    struct sampling *sampling, struct error *err) MUST_CHECK;

#endif
