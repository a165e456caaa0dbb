// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_MAKE_H
#define LODECARD_CARD_MAKE_H

#include "card/card.h"
#include "series/series.h"

struct card_options {
    const char *name;      /* NULL: alloy and heat */
    const char *date;      /* "2026-11-25"; NULL: none */
    double bound_relative; /* of the branches' points, of the largest B; 0: CARD_BOUND */
    bool is_smoothed;      /* the tips of the curve for solvers, within their uncertainty */
};
#define CARD_BOUND 2e-4

/* The card of a series that was read and computed. STATUS_INPUT when its loops tell too little for
 * a card. `card` is cleared on failure. */
enum status card_make(const struct series *series, const struct card_options *options,
    struct card *card, struct error *err) MUST_CHECK;

/* Says, once in a made card, which captures its models were fitted to. */
void card_add_model_source(struct card *card, const size_t *captures, size_t count);

#endif
