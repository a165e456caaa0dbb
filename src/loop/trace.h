// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_TRACE_H
#define LODECARD_LOOP_TRACE_H

#include <stddef.h>

#include "base/error.h"
#include "loop/note.h"
#include "quantity/figure.h"
#include "setup/setup.h"

/* One slow traverse of a loop as a polygon: rows in the order taken, no time, uneven, ends that do
 * not meet. */
struct trace {
    double *field;        /* A/m, as recorded */
    double *flux_density; /* T */
    size_t count;
    double *scratch; /* as many, for those who ask again and again; NULL: taken when needed */
};

/* Drops the rows by which the traverse runs past its first field a second time, where that is more
 * than 1 % of the peak-to-peak field. Gives how many were dropped. */
size_t trace_cut_overrun(struct trace *trace);

enum { TRACE_ROWS_LEAST = 8 }; /* fewer are no loop */

/* Figures of the polygon closed by the straight chord from the last row to the first; with
 * TRACE_DRIFT_LINEAR the gap is first shared out evenly over the rows (a raw integrator that drifts
 * evenly, rows even in time). B is centred on its peaks, in place. Peaks from the rows; crossings
 * by linear interpolation, averaged over each branch, the branches split at the field's extremes;
 * area by the shoelace rule, given both ways; |gap| * Hm is the half-width of a rectangular
 * contribution to the area's uncertainty. STATUS_CAPTURE when the rows do not enclose a loop around
 * H = 0 and B = 0, or go around more than once. */
enum status trace_compute_figures(struct trace *trace, enum trace_drift drift,
    struct figures *figures, struct error *err) MUST_CHECK;

/* Area of the polygon closed by the chord, J/m3: negative when it runs backwards. */
double trace_compute_area(const struct trace *trace);

void trace_clear(struct trace *trace);

#endif
