// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_RING_SCHEMA_H
#define LODECARD_VIRTUAL_RING_SCHEMA_H

#include "setup/schema.h"
#include "virtual/ring.h"

/* The table of ring.yaml. Its group `model` has one group for each model, with the keys of the
 * model's own table, so that a new model needs nothing here: these parts are filled at run time. */
struct ring_schema {
    struct schema_entry top[16];
    struct schema_entry models[RING_MODELS + 1];
    struct schema_entry parameters[RING_MODELS][MODEL_PARAMETERS + 1];
};

void ring_schema_init(struct ring_schema *schema);

extern const struct schema_word ring_kind_words[];
extern const struct schema_word ring_format_words[];
extern const struct schema_word ring_encoding_words[];
extern const struct schema_word ring_missing_words[];

#endif
