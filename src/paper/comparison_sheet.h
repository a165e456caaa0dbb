// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_COMPARISON_SHEET_H
#define LODECARD_PAPER_COMPARISON_SHEET_H

#include "paper/report_sheet.h"
#include "qualify/sides.h"

/* The report on two suppliers, or two heats, side by side. */
struct comparison_part {
    struct sides sides;
    struct comparison comparison;
    const struct limit *limit; /* of the figure, for the picture; NULL: none */
};

struct comparison_sheet_input {
    const struct comparison_part *parts; /* a figure each, all of the same two sides */
    size_t count;
    double confidence;
    const struct report_input *inputs; /* every loop that was presented */
    size_t input_count;
    const char *alloy; /* plain words; "": not told, or not the same of all */
    struct report_words words;
};

/* The worst of all figures: different, then cannot tell, then equivalent. */
enum equivalence comparison_sheet_get_verdict(const struct comparison_sheet_input *input);

/* `input` is borrowed until the sheet is cleared. */
enum status comparison_sheet_create(const struct comparison_sheet_input *input,
    struct report_sheet *sheet, struct error *err) MUST_CHECK;

/* The numbers behind it: "comparison", a list of lodecard-comparison/1, and the inputs. */
enum status comparison_sheet_write_data(
    const struct comparison_sheet_input *input, struct text *out, struct error *err) MUST_CHECK;

#endif
