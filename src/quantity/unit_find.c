// SPDX-License-Identifier: GPL-3.0-or-later
/* Looks words up in the tables of units. */
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "quantity/unit.h"

#define OFFER_LIMIT 32 /* units of one dimension among the offers */

static const struct unit_symbol *find_symbol(const char *word)
{
    for (size_t i = 0; i < unit_symbol_count; i++) {
        const char *symbol = unit_symbols[i].word;
        if (symbol[0] == word[0] && strcmp(symbol, word) == 0) {
            return &unit_symbols[i];
        }
    }
    return NULL;
}

const struct unit_symbol *unit_find_symbol(const char *word, int *decade)
{
    const struct unit_symbol *symbol = find_symbol(word);
    *decade = 0;
    for (size_t i = 0; symbol == NULL && i < unit_prefix_count; i++) {
        size_t length = strlen(unit_prefixes[i].word);
        if (strncmp(word, unit_prefixes[i].word, length) != 0) {
            continue;
        }
        symbol = find_symbol(word + length);
        if (symbol != NULL && !symbol->has_prefix) {
            symbol = NULL;
        }
        *decade = unit_prefixes[i].decade;
    }
    return symbol;
}

static const char *find_slip(const char *word)
{
    for (size_t i = 0; i < unit_slip_count; i++) {
        if (strcasecmp(unit_slips[i].word, word) == 0) {
            return unit_slips[i].hint;
        }
    }
    return NULL;
}

static const char *write_hint(const char *slip, const char *nearest, char buffer[UNIT_HINT_SIZE])
{
    buffer[0] = '\0';
    if (slip != NULL) {
        snprintf(buffer, UNIT_HINT_SIZE, "%s", slip);
    } else if (nearest != NULL) {
        snprintf(buffer, UNIT_HINT_SIZE, "did you mean '%s'?", nearest);
    }
    return buffer;
}

const char *unit_find_hint(const char *word, char buffer[UNIT_HINT_SIZE])
{
    return write_hint(find_slip(word), text_nearest(word, unit_offers), buffer);
}

static bool is_wanted(const char *words, enum dimension wanted)
{
    struct unit unit;
    return unit_read_parts(words, &unit, NULL) == STATUS_OK && unit_find_dimension(&unit) == wanted;
}

const char *unit_find_wanted_hint(
    const char *words, enum dimension wanted, bool is_case_only, char buffer[UNIT_HINT_SIZE])
{
    const char *offers[OFFER_LIMIT];
    size_t count = 0;
    for (const char *const *offer = unit_offers; *offer != NULL; offer++) {
        /* Most are too far off to be worth reading. */
        const char *const alone[] = {*offer, NULL};
        bool is_near =
            is_case_only ? strcasecmp(*offer, words) == 0 : text_nearest(words, alone) != NULL;
        if (is_near && is_wanted(*offer, wanted) && count < OFFER_LIMIT - 1) {
            offers[count++] = *offer;
        }
    }
    offers[count] = NULL;
    const char *slip = is_case_only ? NULL : find_slip(words);
    return write_hint(slip, text_nearest(words, offers), buffer);
}
