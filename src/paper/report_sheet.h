// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_REPORT_SHEET_H
#define LODECARD_PAPER_REPORT_SHEET_H

#include "paper/quality_plot.h"
#include "paper/report_parts.h"

/* A document with the charts that it borrows. */
struct report_sheet {
    struct document *document;
    struct quality_chart **charts; /* one by one: the document keeps their places */
    size_t chart_count;
};

/* Begins the document; `subtitle` is plain words, cleared in any case. */
enum status report_sheet_begin(struct report_sheet *sheet, const struct report_words *words,
    const char *title, struct text *subtitle, struct error *err) MUST_CHECK;

/* Hands the sheet over to `sheet` when `status` is good, else throws it away; returns `status`. */
enum status report_sheet_finish(
    struct report_sheet *made, enum status status, struct report_sheet *sheet) MUST_CHECK;

/* Takes the chart over (it is then empty) and adds it. `alternative`: plain words; `caption`:
 * markup or NULL. */
enum status report_sheet_add_chart(struct report_sheet *sheet, struct quality_chart *chart,
    const char *alternative, const char *caption, struct error *err) MUST_CHECK;

/* A note, from plain words: "heading: message", and below what to do ("": nothing). */
void report_sheet_add_note(
    struct report_sheet *sheet, const char *heading, const struct text *message, const char *hint);

void report_sheet_clear(struct report_sheet *sheet); /* safe on a zeroed struct and twice */

#endif
