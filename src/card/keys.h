// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_KEYS_H
#define LODECARD_CARD_KEYS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/json.h"

/* Blocks of a card that are numbers by key, as tables: reader, writer and schema test go by the
 * same ones. */
enum card_sign { CARD_ANY, CARD_NOT_NEGATIVE, CARD_POSITIVE };

struct card_key {
    const char *key;
    size_t offset; /* of the double in the block's struct; NaN: absent */
    enum card_sign sign;
    bool is_needed;
};

/* Each ends in an entry without a key. */
extern const struct card_key card_validity_keys[];
extern const struct card_key card_steel_keys[];
extern const struct card_key card_saturation_keys[];
extern const struct card_key card_separation_keys[];
extern const struct card_key card_power_law_keys[];
extern const struct card_key card_drawn_keys[]; /* of struct card_loop */

double *card_keys_find(const struct card_key *key, void *block);
void card_keys_clear(const struct card_key *keys, void *block); /* all NaN */
bool card_keys_has_any(const struct card_key *keys, const void *block);
void card_keys_write(struct json *json, const struct card_key *keys, const void *block);

#endif
