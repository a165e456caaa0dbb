// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_GAUGE_SHEET_H
#define LODECARD_PAPER_GAUGE_SHEET_H

#include "paper/report_sheet.h"
#include "qualify/study.h"

/* The report on the bench itself: how well it repeats, how well benches agree. */
struct gauge_sheet_input {
    const struct study *studies; /* a figure each */
    size_t count;
    const struct report_input *inputs; /* every loop that was presented */
    size_t input_count;
    struct report_words words;
};

/* `input` is borrowed until the sheet is cleared. */
enum status gauge_sheet_create(const struct gauge_sheet_input *input, struct report_sheet *sheet,
    struct error *err) MUST_CHECK;

/* The numbers behind it: "gauge", a list of lodecard-gauge/1, and the inputs. */
enum status gauge_sheet_write_data(
    const struct gauge_sheet_input *input, struct text *out, struct error *err) MUST_CHECK;

/* Each value less its ring's mean over its ring, conditions side by side with a marker each, a
 * short line at the mean of each cell. */
enum status gauge_chart_create(
    const struct study *study, struct quality_chart *made, struct error *err) MUST_CHECK;

#endif
