// SPDX-License-Identifier: GPL-3.0-or-later
/* A card as JSON, in the order of docs/card.md. What is absent is left out. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/tree.h"
#include "base/version.h"
#include "card/card.h"
#include "card/keys.h"

#define INDENT 2
#define KEY_SIZE 64

static void add_text(struct json *json, const char *key, const char *words)
{
    if (words != NULL) {
        json_add_text(json, key, words);
    }
}

static void add_number(struct json *json, const char *key, double value)
{
    if (!isnan(value)) {
        json_add_number(json, key, value);
    }
}

static void add_texts(struct json *json, const char *key, const char **list, size_t count)
{
    json_begin_array(json, key);
    for (size_t i = 0; i < count; i++) {
        json_add_text(json, NULL, list[i]);
    }
    json_end_array(json);
}

static void add_indices(struct json *json, const char *key, const struct card_indices *indices)
{
    json_begin_array(json, key);
    json->is_flat = true;
    for (size_t i = 0; i < indices->count; i++) {
        json_add_integer(json, NULL, (long long)indices->list[i]);
    }
    json_end_array(json);
    json->is_flat = false;
}

static void add_block(
    struct json *json, const char *key, const struct card_key *keys, const void *block)
{
    json_begin_object(json, key);
    card_keys_write(json, keys, block);
    json_end_object(json);
}

static void add_notes(struct json *json, const char *key, const struct card_notes *notes)
{
    json_begin_array(json, key);
    for (size_t i = 0; i < notes->count; i++) {
        const struct card_note *note = &notes->list[i];
        json_begin_object(json, NULL);
        json_add_text(json, "code", note->code);
        json_add_text(json, "level", note_level_get_name(note->level));
        json_add_text(json, "message", note->message);
        json_add_text(json, "hint", note->hint);
        json_end_object(json);
    }
    json_end_array(json);
}

static void add_identity(struct json *json, const struct card *card)
{
    json_begin_object(json, "identity");
    add_text(json, "alloy", card->alloy);
    add_text(json, "supplier", card->supplier);
    add_text(json, "heat", card->heat);
    add_text(json, "condition", card->condition);
    add_texts(json, "specimens", card->specimens, card->specimen_count);
    json_end_object(json);
}

static void add_steel(struct json *json, const struct card *card)
{
    if (!card->has_steel) {
        return;
    }
    json_begin_object(json, "steel");
    card_keys_write(json, card_steel_keys, &card->steel);
    if (!isnan(card->steel.thickness_m)) {
        json_add_bool(json, "is_laminated", card->steel.is_laminated);
    }
    json_end_object(json);
}

static void add_spread(struct json *json, const struct card *card)
{
    if (!card->has_spread) {
        return;
    }
    json_begin_object(json, "spread");
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct card_spread *spread = &card->spread[i];
        if (spread->specimens == 0) {
            continue;
        }
        json_begin_object(json, figure_table[i].key);
        json_add_integer(json, "specimens", (long long)spread->specimens);
        add_number(json, "standard_deviation", spread->standard_deviation);
        json_add_number(json, "least", spread->least);
        json_add_number(json, "most", spread->most);
        json_end_object(json);
    }
    json_end_object(json);
}

static void add_graph_members(struct json *json, const struct card_graph *graph)
{
    json_add_numbers(json, "field_A_per_m", graph->field, graph->count);
    json_add_numbers(json, "flux_density_T", graph->flux_density, graph->count);
    if (graph->slope != NULL) {
        json_add_numbers(json, "slope_H_per_m", graph->slope, graph->count);
    }
}

static void add_graph(struct json *json, const char *key, const struct card_graph *graph)
{
    if (graph->count > 0) {
        json_begin_object(json, key);
        add_graph_members(json, graph);
        json_end_object(json);
    }
}

static void add_loop(
    struct json *json, const char *key, const struct card_loop *loop, bool is_major)
{
    json_begin_object(json, key);
    add_indices(json, "captures", &loop->captures);
    add_text(json, "specimen", loop->specimen);
    add_number(json, "frequency_Hz", loop->frequency_Hz);
    if (is_major) {
        json_add_bool(json, "is_saturating", loop->is_saturating);
    } else {
        figures_write_json(json, "figures", &loop->figures);
    }
    if (loop->rising.count > 0) {
        add_graph(json, "rising", &loop->rising);
        add_graph(json, "falling", &loop->falling);
        add_block(json, "drawn", card_drawn_keys, loop);
    }
    json_end_object(json);
}

static void add_loops(struct json *json, const struct card *card)
{
    if (card->has_major_loop) {
        add_loop(json, "major_loop", &card->major_loop, true);
    }
    json_begin_array(json, "loops");
    for (size_t i = 0; i < card->loop_count; i++) {
        add_loop(json, NULL, &card->loops[i], false);
    }
    json_end_array(json);
}

static void add_normal_curve(struct json *json, const struct card_normal_curve *curve)
{
    if (curve->count == 0) {
        return;
    }
    json_begin_object(json, "normal_curve");
    add_number(json, "frequency_Hz", curve->frequency_Hz);
    json_add_numbers(json, "field_peak_A_per_m", curve->field_peak, curve->count);
    if (curve->u_field_peak != NULL) {
        json_add_numbers(json, "u_field_peak_A_per_m", curve->u_field_peak, curve->count);
    }
    json_add_numbers(json, "flux_density_peak_T", curve->flux_density_peak, curve->count);
    if (curve->u_flux_density_peak != NULL) {
        json_add_numbers(json, "u_flux_density_peak_T", curve->u_flux_density_peak, curve->count);
    }
    json_end_object(json);
}

/* Text that is JSON itself. */
static enum status add_json(
    struct json *json, const char *key, const char *words, struct error *err)
{
    struct tree *tree = NULL;
    if (words == NULL) {
        return STATUS_OK;
    }
    enum status status = tree_read_bytes("card", words, strlen(words), &tree, err);
    if (status == STATUS_OK) {
        tree_write_json(json, key, tree_get_root(tree));
    }
    tree_destroy(tree);
    return status;
}

static enum status add_models(struct json *json, const struct card *card, struct error *err)
{
    enum status status = STATUS_OK;
    if (card->model_count == 0) {
        return STATUS_OK;
    }
    json_begin_array(json, "models");
    for (size_t i = 0; i < card->model_count && status == STATUS_OK; i++) {
        status = add_json(json, NULL, card->models[i].json, err);
    }
    json_end_array(json);
    return status;
}

static void add_laws(struct json *json, const struct card *card)
{
    if (card->has_saturation) {
        json_begin_object(json, "saturation");
        card_keys_write(json, card_saturation_keys, &card->saturation);
        json_add_text(json, "method", card->saturation.method);
        json_end_object(json);
    }
    if (card->separation_count > 0) {
        json_begin_array(json, "separation");
        for (size_t i = 0; i < card->separation_count; i++) {
            add_block(json, NULL, card_separation_keys, &card->separations[i]);
        }
        json_end_array(json);
    }
    if (card->has_power_law) {
        add_block(json, "power_law", card_power_law_keys, &card->power_law);
    }
}

static void add_solver(struct json *json, const struct card_solver *solver)
{
    if (solver->curve.count == 0) {
        return;
    }
    json_begin_object(json, "solver");
    json_begin_object(json, "curve");
    json_add_text(json, "kind", solver->kind);
    json_add_text(json, "method", solver->method);
    json_add_integer(json, "measured_points", (long long)solver->measured_points);
    json_add_number(json, "smoothing_T", solver->smoothing_T);
    add_graph_members(json, &solver->curve);
    json_end_object(json);
    const struct card_reluctivity *reluctivity = &solver->reluctivity;
    json_begin_object(json, "reluctivity");
    json_add_number(json, "bound_relative", reluctivity->bound_relative);
    json_add_numbers(
        json, "flux_density_squared_T2", reluctivity->flux_density_squared, reluctivity->count);
    json_add_numbers(json, "reluctivity_m_per_H", reluctivity->reluctivity, reluctivity->count);
    json_end_object(json);
    add_graph(json, "rising", &solver->rising);
    add_graph(json, "falling", &solver->falling);
    json_end_object(json);
}

static void add_captures(struct json *json, const struct card *card)
{
    json_begin_array(json, "captures");
    for (size_t i = 0; i < card->capture_count; i++) {
        const struct card_capture *capture = &card->captures[i];
        json_begin_object(json, NULL);
        json_add_text(json, "file", capture->file);
        if (capture->row > 0) {
            json_add_integer(json, "row", (long long)capture->row);
        }
        add_text(json, "sha256", capture->sha256[0] != '\0' ? capture->sha256 : NULL);
        add_text(json, "specimen", capture->specimen);
        if (capture->setup != CARD_NONE) {
            json_add_integer(json, "setup", (long long)capture->setup);
        }
        add_notes(json, "notes", &capture->notes);
        json_end_object(json);
    }
    json_end_array(json);
}

static enum status add_setups(struct json *json, const struct card *card, struct error *err)
{
    enum status status = STATUS_OK;
    json_begin_array(json, "setups");
    for (size_t i = 0; i < card->setup_count && status == STATUS_OK; i++) {
        json_begin_object(json, NULL);
        status = add_json(json, "rig", card->setups[i].rig, err);
        if (status == STATUS_OK) {
            status = add_json(json, "specimen", card->setups[i].specimen, err);
        }
        json_end_object(json);
    }
    json_end_array(json);
    return status;
}

static void add_parts(struct json *json, const struct card *card)
{
    if (card->part_count == 0) {
        return;
    }
    json_begin_array(json, "cards");
    for (size_t i = 0; i < card->part_count; i++) {
        const struct card_part *part = &card->parts[i];
        json_begin_object(json, NULL);
        json_add_text(json, "file", part->file);
        json_add_text(json, "sha256", part->sha256);
        add_texts(json, "specimens", part->specimens, part->specimen_count);
        json_end_object(json);
    }
    json_end_array(json);
}

static enum status add_provenance(struct json *json, const struct card *card, struct error *err)
{
    json_begin_object(json, "provenance");
    add_captures(json, card);
    enum status status = add_setups(json, card, err);
    json_begin_object(json, "sources");
    for (size_t i = 0; i < card->source_count; i++) {
        add_indices(json, card->sources[i].block, &card->sources[i].captures);
    }
    json_end_object(json);
    add_parts(json, card);
    json_end_object(json);
    return status;
}

enum status card_write(const struct card *card, struct text *out, struct error *err)
{
    struct json json;
    json_init(&json, out, INDENT);
    json_begin_object(&json, NULL);
    json_add_text(&json, "schema", CARD_SCHEMA);
    json_add_text(&json, "version", card->version);
    add_text(&json, "date", card->date);
    json_add_text(&json, "name", card->name);
    add_identity(&json, card);
    add_block(&json, "validity", card_validity_keys, &card->validity);
    add_steel(&json, card);
    figures_write_json(&json, "figures", &card->figures);
    add_spread(&json, card);
    add_loops(&json, card);
    add_normal_curve(&json, &card->normal_curve);
    add_laws(&json, card);
    enum status status = add_models(&json, card, err);
    add_solver(&json, &card->solver);
    add_notes(&json, "notes", &card->notes);
    if (status == STATUS_OK) {
        status = add_provenance(&json, card, err);
    }
    json_end_object(&json);
    json_finish(&json);
    return status == STATUS_OK && (out->failed || card->failed) ? fail_memory(err) : status;
}
