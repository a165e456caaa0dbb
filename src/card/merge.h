// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_MERGE_H
#define LODECARD_CARD_MERGE_H

#include "card/card.h"

/* One card of several specimens of a heat. `cards` are of one specimen each, of one alloy and heat,
 * at peak fields and frequencies within 1 %: else STATUS_INPUT names the card (parts[i].file).
 *
 * Figures become means, with u² = s²/n + (mean of the cards' u)²: what the bench does is taken to
 * be the same for all. Loops, curves and laws are of the specimen nearest to the means in loop
 * area, coercivity and remanence; cards[*merged] becomes the merged card. */
enum status card_merge(struct card *cards, const struct card_part *parts, size_t count,
    size_t *merged, struct error *err) MUST_CHECK;

#endif
