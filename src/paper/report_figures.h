// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_REPORT_FIGURES_H
#define LODECARD_PAPER_REPORT_FIGURES_H

#include <stdbool.h>
#include <stddef.h>

#include "paper/document.h"
#include "quantity/figure.h"

/* A table of figures in a report: a row a loop, a column a figure with its unit in the heading, one
 * prefix and one number of places a column. Columns that no row has are left out. */
struct report_figures {
    size_t word_columns; /* ahead of the figures */
    const char *const *word_headings;
    const char *const *words; /* count * word_columns, plain; NULL: a dash */
    size_t count;
    const struct figures *const *rows;
    size_t figure_count;
    const enum figure *figures;
    bool has_u;          /* "18.94 ± 0.10", expanded (k = 2); else rounded by it */
    const char *caption; /* markup; NULL: none */
};

void report_figures_add(struct document *document, const struct report_figures *figures);

#endif
