// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOT_SHEET_PART_H
#define LODECARD_PAPER_LOT_SHEET_PART_H

#include "paper/lot_sheet.h"
#include "paper/report_number.h"

/* Sections of the report on a lot. */

/* Prefix and decimals of the limited figure `index`: the same in all tables of the report. */
struct report_scale lot_sheet_get_scale(const struct qualification *made, size_t index);

/* "Northgate Foundry, heat H2291", plain. */
void lot_sheet_add_heat_name(struct text *out, const struct heat_verdict *heat);

/* A table a figure: each ring's value, acceptance limits, probability, risk, verdict. */
void lot_sheet_add_checks(struct document *document, const struct qualification *made, size_t heat);

/* What may be said of the lot that the rings were drawn from, property by property. */
void lot_sheet_add_lot(struct document *document, const struct qualification *made, size_t heat);

/* What decides against the heat or leaves it open, and what to do about it; loops left out. */
void lot_sheet_add_notes(struct report_sheet *sheet, const struct qualification *made, size_t heat);
void lot_sheet_add_left_out(struct report_sheet *sheet, const struct qualification *made);

/* Charts; each is kept in the sheet. */
enum status lot_sheet_add_normal(struct report_sheet *sheet, const struct qualification *made,
    size_t heat, struct error *err) MUST_CHECK;
enum status lot_sheet_add_charts(
    struct report_sheet *sheet, const struct qualification *made, struct error *err) MUST_CHECK;

#endif
