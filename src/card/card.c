// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/card.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "card/keys.h"

#define MESSAGE_SIZE 512

void card_init(struct card *card)
{
    *card = (struct card){0};
    card_keys_clear(card_validity_keys, &card->validity);
    card_keys_clear(card_steel_keys, &card->steel);
    card_keys_clear(card_saturation_keys, &card->saturation);
    card_keys_clear(card_power_law_keys, &card->power_law);
    card->normal_curve.frequency_Hz = NAN;
    card->major_loop.frequency_Hz = NAN;
}

void card_clear(struct card *card)
{
    for (size_t i = 0; i < card->block_count; i++) {
        memory_destroy(card->blocks[i]);
    }
    memory_destroy(card->blocks);
    *card = (struct card){0};
}

void *card_create_array(struct card *card, size_t count, size_t size)
{
    void *block = memory_create(count > 0 ? count : 1, size);
    void **blocks = block == NULL ? NULL
                                  : memory_reserve(card->blocks, &card->block_capacity,
                                        card->block_count + 1, sizeof *blocks);
    if (blocks == NULL) {
        memory_destroy(block);
        card->failed = true;
        return NULL;
    }
    card->blocks = blocks;
    card->blocks[card->block_count++] = block;
    return block;
}

double *card_create_numbers(struct card *card, size_t count)
{
    double *list = card_create_array(card, count, sizeof *list);
    for (size_t i = 0; list != NULL && i < count; i++) {
        list[i] = NAN;
    }
    return list;
}

const char *card_copy_text(struct card *card, const char *text)
{
    if (text == NULL) {
        return NULL;
    }
    const size_t size = strlen(text) + 1;
    char *copy = card_create_array(card, size, 1);
    if (copy != NULL) {
        memcpy(copy, text, size);
    }
    return copy;
}

struct card_indices card_copy_indices(struct card *card, const size_t *list, size_t count)
{
    struct card_indices copy = {.list = card_create_array(card, count, sizeof *list)};
    if (copy.list != NULL && count > 0) {
        memcpy(copy.list, list, count * sizeof *list);
        copy.count = count;
    }
    return copy;
}

void card_add_note(struct card *card, struct card_notes *notes, const char *code,
    enum note_level level, const char *hint, const char *format, ...)
{
    char message[MESSAGE_SIZE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    struct card_note *list = card_create_array(card, notes->count + 1, sizeof *list);
    if (list == NULL) {
        return;
    }
    if (notes->count > 0) {
        memcpy(list, notes->list, notes->count * sizeof *list);
    }
    list[notes->count++] = (struct card_note){.code = card_copy_text(card, code),
        .level = level,
        .message = card_copy_text(card, message),
        .hint = card_copy_text(card, hint)};
    notes->list = list;
}
