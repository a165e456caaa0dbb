// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the numbers of a card that is made came from. */
#include <string.h>

#include "base/memory.h"
#include "card/make_part.h"

struct card_notes maker_copy_notes(struct card *card, const struct notes *from)
{
    struct card_notes notes = {.list = card_create_array(card, from->count, sizeof *notes.list)};
    for (size_t i = 0; notes.list != NULL && i < from->count; i++) {
        const struct note *note = &from->list[i];
        notes.list[notes.count++] = (struct card_note){.code = card_copy_text(card, note->code),
            .level = note->level,
            .message = card_copy_text(card, note->message),
            .hint = card_copy_text(card, note->hint)};
    }
    return notes;
}

/* The setup's place in the card: in the order in which the captures use them, so that the order
 * of the command line does not show. */
static size_t place_setup(struct maker *maker, size_t setup, size_t *places)
{
    struct card *card = maker->card;
    if (setup == SERIES_NONE) {
        return CARD_NONE;
    }
    if (places[setup] == CARD_NONE) {
        const struct series_setup *from = &maker->series->setups[setup];
        card->setups[card->setup_count] =
            (struct card_setup){.rig = card_copy_text(card, from->rig),
                .specimen = card_copy_text(card, from->specimen)};
        places[setup] = card->setup_count++;
    }
    return places[setup];
}

void maker_set_captures(struct maker *maker)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    size_t *places = card_create_array(card, series->setup_count, sizeof *places);
    card->setups = card_create_array(card, series->setup_count, sizeof *card->setups);
    card->captures = card_create_array(card, series->count, sizeof *card->captures);
    if (card->failed) {
        return;
    }
    for (size_t i = 0; i < series->setup_count; i++) {
        places[i] = CARD_NONE;
    }
    for (size_t i = 0; i < series->count; i++) {
        const struct series_loop *from = &series->loops[i];
        struct card_capture *capture = &card->captures[i];
        capture->file = card_copy_text(card, from->file);
        capture->row = from->row;
        memcpy(capture->sha256, from->sha256, sizeof capture->sha256);
        capture->specimen = card_copy_text(card, from->specimen);
        capture->setup = place_setup(maker, from->setup, places);
        capture->notes = maker_copy_notes(card, &from->notes);
        card->capture_count = i + 1;
    }
}

#define SOURCES 10 /* card_add_model_source included */

static void add_source(struct card *card, const char *block, const size_t *list, size_t count)
{
    card->sources[card->source_count++] =
        (struct card_source){.block = block, .captures = card_copy_indices(card, list, count)};
}

enum status maker_set_sources(struct maker *maker, struct error *err)
{
    struct card *card = maker->card;
    const struct series *series = maker->series;
    size_t *all = memory_create(series->count, sizeof *all);
    card->sources = card_create_array(card, SOURCES, sizeof *card->sources);
    if (all == NULL || card->sources == NULL) {
        memory_destroy(all);
        return fail_memory(err);
    }
    for (size_t i = 0; i < series->count; i++) {
        all[i] = i;
    }
    const size_t count = series->count;
    add_source(card, "identity", all, count);
    add_source(card, "validity", all, count);
    if (card->has_steel) {
        add_source(card, "steel", all, count);
    }
    add_source(card, "figures", &maker->major, 1);
    const struct series_curve *normal =
        card->normal_curve.count > 0 ? &series->curves[series->normal] : NULL;
    if (normal != NULL) {
        add_source(card, "normal_curve", normal->loop, normal->count);
    }
    if (card->has_saturation) {
        add_source(card, "saturation", all, count);
    }
    if (card->separation_count > 0) {
        add_source(card, "separation", all, count);
    }
    if (card->has_power_law) {
        add_source(card, "power_law", all, count);
    }
    if (card->solver.curve.count > 0) {
        const bool is_normal = normal != NULL && strcmp(card->solver.kind, "normal") == 0;
        add_source(card, "solver", is_normal ? normal->loop : &maker->major,
            is_normal ? normal->count : 1);
    }
    memory_destroy(all);
    return STATUS_OK;
}

void card_add_model_source(struct card *card, const size_t *captures, size_t count)
{
    add_source(card, "models", captures, count);
}
