// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_STRIP_PLOT_H
#define LODECARD_PAPER_STRIP_PLOT_H

#include "paper/quality_plot.h"

/* Groups of values side by side: each value a mark; from five values on a box from the lower to the
 * upper quartile with the median as a line, else a line at the mean. */
struct strip_group {
    const char *name; /* plain words */
    const double *values;
    size_t count;
    double lower, upper; /* an interval that is drawn beside them, such as tolerance limits; open at
                            an end that is not finite */
};

/* A panel: one figure. All panels of a chart have the same groups, in the same order. */
struct strip_panel {
    enum figure figure;
    const struct strip_group *groups;
    size_t count;
    const struct limit *limit; /* lines across; NULL: none */
};

/* Panels two by two. Values are copied; groups without any are left empty. */
enum status strip_chart_create(const struct strip_panel *panels, size_t count,
    struct quality_chart *made, struct error *err) MUST_CHECK;

/* The share p of the values lies below: R. J. Hyndman, Y. Fan, American Statistician 50 (1996) 361,
 * definition 7. `sorted` rises. */
double strip_compute_quantile(const double *sorted, size_t count, double p);

#endif
