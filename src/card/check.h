// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_CHECK_H
#define LODECARD_CARD_CHECK_H

#include "card/card.h"

enum card_outcome { CARD_PASSED, CARD_FAILED, CARD_SKIPPED };

/* One rule of physics or of provenance, and how the card stands to it. */
struct card_finding {
    const char *rule;
    enum card_outcome outcome;
    char message[200]; /* the values */
};

struct card_findings {
    struct card_finding *list; /* free with memory_destroy */
    size_t count;
};

/* All rules for a card that was read (which already makes sure of the schema, of lengths and of
 * order). `folders`: where captures may lie, whose hashes are then compared; they are looked for by
 * their names. */
enum status card_check(const struct card *card, const char *const *folders, size_t folder_count,
    struct card_findings *findings, struct error *err) MUST_CHECK;

#endif
