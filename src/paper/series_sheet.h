// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_SERIES_SHEET_H
#define LODECARD_PAPER_SERIES_SHEET_H

#include "model/fit.h"
#include "paper/report_parts.h"
#include "series/series.h"

/* The sheet of a steel: its loops over amplitude and frequency, and what follows from them: normal
 * curve, separation of losses, laws, saturation, models. */
struct series_sheet_input {
    const struct series *series;
    const struct model_fit *fits; /* with what they were fitted to; count 0: none */
    size_t fit_count;
    const struct fit_loop *fit_loops;
    size_t fit_loop_count;
    const struct report_input *inputs; /* one for each loop of the series */
    struct report_words words;
};

/* What `input` points to is borrowed until the document is destroyed. */
enum status series_sheet_create(const struct series_sheet_input *input, struct document **document,
    struct error *err) MUST_CHECK;

/* The numbers behind it: "series" (lodecard-series/1) and the inputs. */
enum status series_sheet_write_data(
    const struct series_sheet_input *input, struct text *out, struct error *err) MUST_CHECK;

#endif
