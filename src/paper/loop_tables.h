// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOOP_TABLES_H
#define LODECARD_PAPER_LOOP_TABLES_H

#include "paper/loop_sheet.h"

/* The tables of a loop's section. */

/* What people compare between loops. */
enum { LOOP_TABLES_COMPARED = 6 };
extern const enum figure loop_tables_compared[LOOP_TABLES_COMPARED];

/* Specimen, ring, rig with its calibration, capture with its SHA-256; ahead of them number, date
 * and so on of the report, unless `words` is NULL. */
void loop_tables_add_identity(struct document *document, const struct loop_sheet_item *item,
    const struct report_words *words);

/* All figures with expanded uncertainty, rounded by it; the two sides of the loop apart. */
void loop_tables_add_figures(struct document *document, const struct loop_sheet_item *item);
void loop_tables_add_sides(struct document *document, const struct figures *figures);

/* Frequency, peak field, temperature, and how near the flux was to a sine. */
void loop_tables_add_conditions(struct document *document, const struct loop_sheet_item *item);

/* The largest contributions to the uncertainty of the main figures. */
void loop_tables_add_budget(struct document *document, const struct loop_budget *budget);

#endif
