// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_MAKE_PART_H
#define LODECARD_CARD_MAKE_PART_H

#include "card/make.h"

/* A card in the making, within the files make*.c. What runs out of memory shows in card->failed. */
struct maker {
    struct card *card;
    const struct series *series;
    const struct card_options *options;
    size_t major; /* the loop that the card's figures are of */
};

/* make_steel.c: what the steel is, and over what range it was measured. */
void maker_set_identity(struct maker *maker);
void maker_set_validity(struct maker *maker);
void maker_set_steel(struct maker *maker);

/* make_loops.c: the loops with their branches, and the figures. */
enum status maker_set_loops(struct maker *maker, struct error *err) MUST_CHECK;

/* make_laws.c: what follows from them. */
void maker_set_normal_curve(struct maker *maker);
void maker_set_saturation(struct maker *maker);
void maker_set_laws(struct maker *maker);

/* make_provenance.c: notes, captures with their setups, and which of them is behind which block;
 * the blocks come first. */
struct card_notes maker_copy_notes(struct card *card, const struct notes *from);
void maker_set_captures(struct maker *maker);
enum status maker_set_sources(struct maker *maker, struct error *err) MUST_CHECK;

#endif
