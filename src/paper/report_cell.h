// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_REPORT_CELL_H
#define LODECARD_PAPER_REPORT_CELL_H

#include "base/text.h"
#include "paper/report_table.h"
#include "quantity/figure.h"
#include "quantity/quantity.h"

/* Cells of a report's table (paper/report_table.h) that hold values: with prefix and unit, and with
 * a minus sign instead of a hyphen. */

void report_cell_add(struct report_table *table, const char *words); /* plain; NULL: a dash */
void report_cell_add_number(struct report_table *table, const char *words);
void report_cell_add_symbol(struct report_table *table, enum figure figure);

/* "18.54 kA/m"; with u > 0 rounded by it: "18.535(48) kA/m". Not finite: a dash. */
void report_cell_add_value(struct report_table *table, double number, double u, const char *unit,
    bool has_prefix, int digits);

/* A name, and a value with the half-width that was stated: "40.000 mm ± 0.020 mm". What is not
 * present adds nothing. Areas come in mm², temperatures in °C, masses in g. */
void report_cell_add_quantity(struct report_table *table, const char *name,
    const struct quantity *quantity, enum dimension dimension);

/* A name and what it has; NULL or "": nothing. */
void report_cell_add_name(struct report_table *table, const char *name, const char *words);

#endif
