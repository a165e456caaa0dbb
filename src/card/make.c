// SPDX-License-Identifier: GPL-3.0-or-later
/* From a series to its card. The captures of the card are the loops of the series, in its order. */
#include "card/make_part.h"
#include "card/solver.h"

/* The loop that figures and branches are of: the one of the largest field, or of the largest peak
 * where no field is known. */
static size_t find_major(const struct series *series)
{
    size_t found = 0;
    if (series->largest != SERIES_NONE) {
        return series->largest;
    }
    for (size_t i = 1; i < series->count; i++) {
        found = series_get_peak(series, i) > series_get_peak(series, found) ? i : found;
    }
    return found;
}

enum status card_make(const struct series *series, const struct card_options *options,
    struct card *card, struct error *err)
{
    if (series->count == 0) {
        return fail(err, STATUS_INPUT, "name a capture", "a card needs a loop");
    }
    struct maker maker = {.card = card, .series = series, .options = options};
    maker.major = find_major(series);
    card_init(card);
    maker_set_identity(&maker);
    maker_set_validity(&maker);
    maker_set_steel(&maker);
    card->notes = maker_copy_notes(card, &series->notes);
    enum status status = card->failed ? fail_memory(err) : maker_set_loops(&maker, err);
    if (status == STATUS_OK) {
        maker_set_normal_curve(&maker);
        maker_set_saturation(&maker);
        maker_set_laws(&maker);
        maker_set_captures(&maker);
        status =
            card->failed ? fail_memory(err) : card_solver_make(card, options->is_smoothed, err);
    }
    if (status == STATUS_OK) {
        status = maker_set_sources(&maker, err);
    }
    if (status == STATUS_OK && card->failed) {
        status = fail_memory(err);
    }
    if (status != STATUS_OK) {
        card_clear(card);
    }
    return status;
}
