// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_SOLVER_H
#define LODECARD_CARD_SOLVER_H

#include "card/card.h"

/* Fills card->solver from its normal curve (and the tip of a major loop beyond it), or from its
 * major loop where that has fewer than four tips, and its saturation where known: curve,
 * reluctivity, branches. `is_smoothed`: the tips are
 * smoothed as far as their uncertainty allows. Leaves the curve's count 0 where the card has
 * neither. docs/card.md tells how. */
enum status card_solver_make(struct card *card, bool is_smoothed, struct error *err) MUST_CHECK;

/* card->solver.reluctivity of its curve. */
enum status card_reluctivity_make(struct card *card, struct error *err) MUST_CHECK;

#endif
