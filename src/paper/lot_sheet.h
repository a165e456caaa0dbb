// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOT_SHEET_H
#define LODECARD_PAPER_LOT_SHEET_H

#include "paper/report_sheet.h"
#include "qualify/qualification.h"

/* The report on a lot: verdict, rings, lot statistics, charts, recordings, signatures. */
struct lot_sheet_input {
    const struct qualification *qualification;
    const struct report_input *inputs; /* every loop that was presented */
    size_t input_count;
    const char *alloy, *condition; /* plain words; "": not told, or not the same of all */
    struct report_words words;
};

/* `input` is borrowed until the sheet is cleared. */
enum status lot_sheet_create(
    const struct lot_sheet_input *input, struct report_sheet *sheet, struct error *err) MUST_CHECK;

/* The numbers behind it: "verdict" (lodecard-verdict/1) and the inputs. */
enum status lot_sheet_write_data(
    const struct lot_sheet_input *input, struct text *out, struct error *err) MUST_CHECK;

#endif
