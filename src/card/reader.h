// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_READER_H
#define LODECARD_CARD_READER_H

#include "base/tree.h"
#include "card/card.h"
#include "card/keys.h"

/* A card being read from JSON. The first fault is kept in `err`, and what is asked for afterwards
 * is empty, so that a reader asks through and looks at `status` once. */
struct card_reader {
    const struct tree *tree;
    struct card *card;
    enum status status;
    struct error *err;
};

/* "'a.json': 'loops[2].rising' <what>". */
void card_reader_fail(struct card_reader *reader, const struct tree_value *value,
    const char *format, ...) __attribute__((format(printf, 3, 4)));

/* A member of that kind; absent: NULL, and a fault when it is needed. Arrays are counted against
 * the limit. */
const struct tree_value *card_reader_get(struct card_reader *reader,
    const struct tree_value *object, const char *key, enum tree_kind kind, bool is_needed);

const char *card_reader_get_text(
    struct card_reader *reader, const struct tree_value *object, const char *key, bool is_needed);
double card_reader_get_number(struct card_reader *reader, const struct tree_value *object,
    const char *key, enum card_sign sign, bool is_needed); /* absent: NaN */
size_t card_reader_get_count(struct card_reader *reader, const struct tree_value *object,
    const char *key, bool is_needed); /* a whole number from 0; absent: CARD_NONE */
bool card_reader_get_bool(
    struct card_reader *reader, const struct tree_value *object, const char *key);
double *card_reader_get_numbers(struct card_reader *reader, const struct tree_value *object,
    const char *key, enum card_sign sign, bool is_needed, size_t *count); /* absent: NULL */
const char **card_reader_get_texts(struct card_reader *reader, const struct tree_value *object,
    const char *key, bool is_needed, size_t *count);
struct card_indices card_reader_get_indices(
    struct card_reader *reader, const struct tree_value *object, const char *key, bool is_needed);
void card_reader_get_keys(struct card_reader *reader, const struct tree_value *object,
    const struct card_key *keys, void *block);
struct figures card_reader_get_figures(
    struct card_reader *reader, const struct tree_value *object, bool is_needed);
/* A value as JSON text, to be written again as it was; NULL: NULL. */
const char *card_reader_copy_json(struct card_reader *reader, const struct tree_value *value);

/* The parts of a card; each in a file of its own where it is long. */
void card_reader_read_loops(struct card_reader *reader, const struct tree_value *root);
void card_reader_read_curves(struct card_reader *reader, const struct tree_value *root);
void card_reader_read_provenance(struct card_reader *reader, const struct tree_value *root);
struct card_notes card_reader_get_notes(
    struct card_reader *reader, const struct tree_value *object, bool is_needed);
/* B(H): equal lengths, both strictly rising. */
struct card_graph card_reader_get_graph(
    struct card_reader *reader, const struct tree_value *graph, bool needs_slope);

#endif
