// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_SERIES_MODELS_H
#define LODECARD_CLI_SERIES_MODELS_H

#include "base/text.h"
#include "model/fit.h"
#include "series/series.h"

/* The models that --model names, fitted to the loops of a series. */
struct series_models {
    struct fit_loop
        *loops;     /* what was fitted: of one frequency, with points; owned, points borrowed */
    size_t *places; /* where in the series each of them is */
    size_t loop_count;
    double frequency_Hz; /* of those loops; 0: slow traces */
    struct model_fit fits[16];
    size_t count;
};

/* Models are static: they are fitted to the loops of the normal curve (the lowest frequency with
 * most amplitudes), as far as their points are known. `series` must outlive the result. */
enum status series_models_create(const struct series *series, const char *const *names,
    size_t count, struct series_models *models, struct error *err) MUST_CHECK;
void series_models_clear(struct series_models *models); /* safe on a zeroed struct and twice */

/* Parameters and a table of residuals, 80 columns wide. */
void series_models_add_text(struct text *out, const struct series_models *models);

#endif
