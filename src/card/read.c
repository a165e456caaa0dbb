// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads a card. Captures come first: all else points to them. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "card/reader.h"

static void read_identity(struct card_reader *reader, const struct tree_value *root)
{
    struct card *card = reader->card;
    const struct tree_value *identity =
        card_reader_get(reader, root, "identity", TREE_OBJECT, true);
    card->alloy = card_reader_get_text(reader, identity, "alloy", false);
    card->supplier = card_reader_get_text(reader, identity, "supplier", false);
    card->heat = card_reader_get_text(reader, identity, "heat", false);
    card->condition = card_reader_get_text(reader, identity, "condition", false);
    card->specimens = card_reader_get_texts(
        reader, identity, "specimens", identity != NULL, &card->specimen_count);
}

/* "2026-11-25" */
static void read_date(struct card_reader *reader, const struct tree_value *root)
{
    static const char shape[] = "dddd-dd-dd";
    const char *date = card_reader_get_text(reader, root, "date", false);
    bool is_date = date == NULL || strlen(date) == strlen(shape);
    for (size_t i = 0; date != NULL && is_date && shape[i] != '\0'; i++) {
        is_date = shape[i] == 'd' ? date[i] >= '0' && date[i] <= '9' : date[i] == '-';
    }
    if (!is_date) {
        card_reader_fail(reader, tree_get(root, "date"), "is no date such as 2026-11-25");
    }
    reader->card->date = date;
}

static void read_head(struct card_reader *reader, const struct tree_value *root)
{
    struct card *card = reader->card;
    card->version = card_reader_get_text(reader, root, "version", true);
    card->name = card_reader_get_text(reader, root, "name", true);
    read_date(reader, root);
    read_identity(reader, root);
    const struct tree_value *validity =
        card_reader_get(reader, root, "validity", TREE_OBJECT, true);
    card_reader_get_keys(reader, validity, card_validity_keys, &card->validity);
    const struct tree_value *steel = card_reader_get(reader, root, "steel", TREE_OBJECT, false);
    card->has_steel = steel != NULL;
    card_reader_get_keys(reader, steel, card_steel_keys, &card->steel);
    card->steel.is_laminated = card_reader_get_bool(reader, steel, "is_laminated");
    card->figures = card_reader_get_figures(reader, root, true);
}

static void read_spread(struct card_reader *reader, const struct tree_value *root)
{
    const struct tree_value *block = card_reader_get(reader, root, "spread", TREE_OBJECT, false);
    reader->card->has_spread = block != NULL;
    for (size_t i = 0; block != NULL && i < FIGURE_COUNT; i++) {
        const struct tree_value *from =
            card_reader_get(reader, block, figure_table[i].key, TREE_OBJECT, false);
        if (from == NULL) {
            continue;
        }
        struct card_spread *spread = &reader->card->spread[i];
        spread->specimens = card_reader_get_count(reader, from, "specimens", true);
        spread->standard_deviation =
            card_reader_get_number(reader, from, "standard_deviation", CARD_NOT_NEGATIVE, false);
        spread->least = card_reader_get_number(reader, from, "least", CARD_ANY, true);
        spread->most = card_reader_get_number(reader, from, "most", CARD_ANY, true);
        if (spread->specimens == 0) {
            card_reader_fail(reader, from, "is of no specimen");
        }
    }
}

static void read_separations(struct card_reader *reader, const struct tree_value *root)
{
    struct card *card = reader->card;
    const struct tree_value *array = card_reader_get(reader, root, "separation", TREE_ARRAY, false);
    const size_t count = tree_get_count(array);
    card->separations =
        array == NULL ? NULL : card_create_array(card, count, sizeof *card->separations);
    for (size_t i = 0; card->separations != NULL && i < count; i++) {
        const struct tree_value *from = tree_get_at(array, i);
        struct card_separation *made = &card->separations[i];
        card_reader_get_keys(reader, from, card_separation_keys, made);
        if (isnan(made->flux_density_peak_T) == isnan(made->polarization_peak_T)) {
            card_reader_fail(
                reader, from, "needs either 'flux_density_peak_T' or 'polarization_peak_T'");
        }
        if (isnan(made->hysteresis_J_per_m3) && isnan(made->hysteresis_J_per_kg)) {
            card_reader_fail(reader, from, "needs 'hysteresis_J_per_m3' or 'hysteresis_J_per_kg'");
        }
        card->separation_count = i + 1;
    }
}

static void read_models(struct card_reader *reader, const struct tree_value *root)
{
    struct card *card = reader->card;
    const struct tree_value *array = card_reader_get(reader, root, "models", TREE_ARRAY, false);
    const size_t count = tree_get_count(array);
    card->models = array == NULL ? NULL : card_create_array(card, count, sizeof *card->models);
    for (size_t i = 0; card->models != NULL && i < count; i++) {
        const struct tree_value *from = tree_get_at(array, i);
        struct card_model *model = &card->models[i];
        model->name = card_reader_get_text(reader, from, "name", true);
        model->form = card_reader_get_text(reader, from, "form", true);
        card_reader_get(reader, from, "parameters", TREE_OBJECT, true);
        model->json = card_reader_copy_json(reader, from);
        model->residual_relative =
            card_reader_get_number(reader, from, "residual_relative", CARD_NOT_NEGATIVE, true);
        card->model_count = i + 1;
    }
}

static void read_laws(struct card_reader *reader, const struct tree_value *root)
{
    struct card *card = reader->card;
    const struct tree_value *block =
        card_reader_get(reader, root, "saturation", TREE_OBJECT, false);
    if (block != NULL) {
        card->has_saturation = true;
        card_reader_get_keys(reader, block, card_saturation_keys, &card->saturation);
        card->saturation.method = card_reader_get_text(reader, block, "method", true);
    }
    read_separations(reader, root);
    block = card_reader_get(reader, root, "power_law", TREE_OBJECT, false);
    if (block != NULL) {
        card->has_power_law = true;
        card_reader_get_keys(reader, block, card_power_law_keys, &card->power_law);
        if (isnan(card->power_law.coefficient_J_per_m3) &&
            isnan(card->power_law.coefficient_J_per_kg)) {
            card_reader_fail(
                reader, block, "needs 'coefficient_J_per_m3' or 'coefficient_J_per_kg'");
        }
    }
    read_models(reader, root);
}

enum status card_read_bytes(
    const char *name, const char *bytes, size_t length, struct card *card, struct error *err)
{
    struct tree *tree = NULL;
    enum status status = tree_read_bytes(name, bytes, length, &tree, err);
    if (status != STATUS_OK) {
        return status;
    }
    card_init(card);
    struct card_reader reader = {.tree = tree, .card = card, .err = err};
    reader.status = tree_need_schema(tree, CARD_SCHEMA, err);
    const struct tree_value *root = tree_get_root(tree);
    card_reader_read_provenance(&reader, root);
    read_head(&reader, root);
    read_spread(&reader, root);
    card_reader_read_loops(&reader, root);
    card_reader_read_curves(&reader, root);
    read_laws(&reader, root);
    card->notes = card_reader_get_notes(&reader, root, true);
    tree_destroy(tree);
    if (reader.status == STATUS_OK && card->failed) {
        reader.status = fail_memory(err);
    }
    if (reader.status != STATUS_OK) {
        card_clear(card);
    }
    return reader.status;
}

enum status card_read(const char *path, struct card *card, struct error *err)
{
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path, CARD_BYTES_MOST, &bytes, &length, err);
    if (status == STATUS_OK) {
        status = card_read_bytes(path, bytes, length, card, err);
    }
    memory_destroy(bytes);
    return status;
}
