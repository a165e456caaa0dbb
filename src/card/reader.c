// SPDX-License-Identifier: GPL-3.0-or-later
#include "card/reader.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char hint[] = "docs/card.md explains every key; was the file cut or edited?";

void card_reader_fail(
    struct card_reader *reader, const struct tree_value *value, const char *format, ...)
{
    char words[512];
    if (reader->status != STATUS_OK) {
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(words, sizeof words, format, arguments);
    va_end(arguments);
    struct text path = {0};
    tree_write_path(value, &path);
    reader->status = fail(reader->err, STATUS_INPUT, hint, "'%s': '%s' %s",
        tree_get_name(reader->tree), path.length > 0 ? path.bytes : "the card", words);
    text_clear(&path);
}

const struct tree_value *card_reader_get(struct card_reader *reader,
    const struct tree_value *object, const char *key, enum tree_kind kind, bool is_needed)
{
    const struct tree_value *value = tree_get(object, key);
    if (reader->status != STATUS_OK) {
        return NULL;
    }
    if (value == NULL) {
        if (is_needed) {
            card_reader_fail(
                reader, object, "has no '%s'; %s is needed", key, tree_kind_get_name(kind));
        }
        return NULL;
    }
    if (tree_get_kind(value) != kind) {
        card_reader_fail(reader, value, "is %s; %s is needed",
            tree_kind_get_name(tree_get_kind(value)), tree_kind_get_name(kind));
        return NULL;
    }
    if (kind == TREE_ARRAY && tree_get_count(value) > CARD_LIST_MOST) {
        card_reader_fail(reader, value, "has %zu members; at most %d are read",
            tree_get_count(value), CARD_LIST_MOST);
        return NULL;
    }
    return value;
}

const char *card_reader_get_text(
    struct card_reader *reader, const struct tree_value *object, const char *key, bool is_needed)
{
    return card_copy_text(
        reader->card, tree_get_text(card_reader_get(reader, object, key, TREE_TEXT, is_needed)));
}

static bool check_sign(
    struct card_reader *reader, const struct tree_value *value, double number, enum card_sign sign)
{
    if (sign == CARD_POSITIVE && !(number > 0)) {
        card_reader_fail(reader, value, "is %g; it must be above 0", number);
        return false;
    }
    if (sign == CARD_NOT_NEGATIVE && !(number >= 0)) {
        card_reader_fail(reader, value, "is %g; it must not be negative", number);
        return false;
    }
    return true;
}

double card_reader_get_number(struct card_reader *reader, const struct tree_value *object,
    const char *key, enum card_sign sign, bool is_needed)
{
    double number = NAN;
    const struct tree_value *value = card_reader_get(reader, object, key, TREE_NUMBER, is_needed);
    if (tree_get_number(value, &number) && !check_sign(reader, value, number, sign)) {
        return NAN;
    }
    return number;
}

/* A whole number that a size_t and a double hold. */
static bool read_count(struct card_reader *reader, const struct tree_value *value, size_t *count)
{
    double number = NAN;
    if (!tree_get_number(value, &number) || !(number >= 0) || number > 1e15 ||
        number != floor(number)) {
        card_reader_fail(reader, value, "must be a whole number from 0");
        return false;
    }
    *count = (size_t)number;
    return true;
}

size_t card_reader_get_count(
    struct card_reader *reader, const struct tree_value *object, const char *key, bool is_needed)
{
    size_t count = CARD_NONE;
    const struct tree_value *value = card_reader_get(reader, object, key, TREE_NUMBER, is_needed);
    return value != NULL && read_count(reader, value, &count) ? count : CARD_NONE;
}

bool card_reader_get_bool(
    struct card_reader *reader, const struct tree_value *object, const char *key)
{
    bool is_true = false;
    tree_get_bool(card_reader_get(reader, object, key, TREE_BOOL, false), &is_true);
    return is_true;
}

double *card_reader_get_numbers(struct card_reader *reader, const struct tree_value *object,
    const char *key, enum card_sign sign, bool is_needed, size_t *count)
{
    *count = 0;
    const struct tree_value *array = card_reader_get(reader, object, key, TREE_ARRAY, is_needed);
    if (array == NULL) {
        return NULL;
    }
    double *list = card_create_numbers(reader->card, tree_get_count(array));
    for (size_t i = 0; list != NULL && i < tree_get_count(array); i++) {
        const struct tree_value *value = tree_get_at(array, i);
        if (!tree_get_number(value, &list[i])) {
            card_reader_fail(reader, value, "is %s; a number is needed",
                tree_kind_get_name(tree_get_kind(value)));
            return NULL;
        }
        if (!check_sign(reader, value, list[i], sign)) {
            return NULL;
        }
    }
    *count = list != NULL ? tree_get_count(array) : 0;
    return list;
}

const char **card_reader_get_texts(struct card_reader *reader, const struct tree_value *object,
    const char *key, bool is_needed, size_t *count)
{
    *count = 0;
    const struct tree_value *array = card_reader_get(reader, object, key, TREE_ARRAY, is_needed);
    const size_t wanted = tree_get_count(array);
    const char **list =
        array == NULL ? NULL : card_create_array(reader->card, wanted, sizeof *list);
    for (size_t i = 0; list != NULL && i < wanted; i++) {
        const char *words = tree_get_text(tree_get_at(array, i));
        if (words == NULL) {
            card_reader_fail(reader, tree_get_at(array, i), "is not a text");
            return NULL;
        }
        list[i] = card_copy_text(reader->card, words);
    }
    *count = list != NULL ? wanted : 0;
    return list;
}

struct card_indices card_reader_get_indices(
    struct card_reader *reader, const struct tree_value *object, const char *key, bool is_needed)
{
    const struct tree_value *array = card_reader_get(reader, object, key, TREE_ARRAY, is_needed);
    struct card_indices indices = {0};
    if (array == NULL) {
        return indices;
    }
    const size_t count = tree_get_count(array);
    indices.list = card_create_array(reader->card, count, sizeof *indices.list);
    for (size_t i = 0; indices.list != NULL && i < count; i++) {
        const struct tree_value *value = tree_get_at(array, i);
        if (!read_count(reader, value, &indices.list[i])) {
            break;
        }
        if (indices.list[i] >= reader->card->capture_count) {
            card_reader_fail(reader, value, "is capture %zu, and provenance.captures has %zu",
                indices.list[i], reader->card->capture_count);
            break;
        }
        indices.count = i + 1;
    }
    return indices;
}

void card_reader_get_keys(struct card_reader *reader, const struct tree_value *object,
    const struct card_key *keys, void *block)
{
    for (; keys->key != NULL; keys++) {
        *card_keys_find(keys, block) =
            card_reader_get_number(reader, object, keys->key, keys->sign, keys->is_needed);
    }
}

struct figures card_reader_get_figures(
    struct card_reader *reader, const struct tree_value *object, bool is_needed)
{
    struct figures figures = {0};
    const struct tree_value *found =
        card_reader_get(reader, object, "figures", TREE_OBJECT, is_needed);
    for (int i = 0; found != NULL && i < FIGURE_COUNT; i++) {
        char key[64];
        const double value =
            card_reader_get_number(reader, found, figure_table[i].key, CARD_ANY, false);
        snprintf(key, sizeof key, "u_%s", figure_table[i].key);
        const double u = card_reader_get_number(reader, found, key, CARD_NOT_NEGATIVE, false);
        if (!isnan(value)) {
            figures_set(&figures, (enum figure)i, value);
        }
        if (!isnan(value) && !isnan(u)) {
            figures_set_u(&figures, (enum figure)i, u);
        }
    }
    return figures;
}

struct card_graph card_reader_get_graph(
    struct card_reader *reader, const struct tree_value *graph, bool needs_slope)
{
    struct card_graph made = {0};
    size_t count, other, slopes;
    made.field = card_reader_get_numbers(reader, graph, "field_A_per_m", CARD_ANY, true, &count);
    made.flux_density =
        card_reader_get_numbers(reader, graph, "flux_density_T", CARD_ANY, true, &other);
    made.slope = card_reader_get_numbers(
        reader, graph, "slope_H_per_m", CARD_POSITIVE, needs_slope, &slopes);
    if (reader->status != STATUS_OK || reader->card->failed) {
        return (struct card_graph){0};
    }
    if (count != other || (made.slope != NULL && count != slopes)) {
        card_reader_fail(reader, graph,
            "has lists of different lengths: %zu fields, %zu flux "
            "densities%s",
            count, other, made.slope != NULL ? ", and slopes" : "");
    } else if (count < 2) {
        card_reader_fail(reader, graph, "has %zu points; at least 2 are needed", count);
    }
    for (size_t i = 1; i < count && reader->status == STATUS_OK; i++) {
        const bool is_rising = made.field[i] > made.field[i - 1];
        if (!is_rising || !(made.flux_density[i] > made.flux_density[i - 1])) {
            card_reader_fail(reader, graph, "does not rise from point %zu to point %zu, in %s",
                i - 1, i, is_rising ? "flux_density_T" : "field_A_per_m");
        }
    }
    made.count = count;
    return reader->status == STATUS_OK ? made : (struct card_graph){0};
}

struct card_notes card_reader_get_notes(
    struct card_reader *reader, const struct tree_value *object, bool is_needed)
{
    const struct tree_value *array =
        card_reader_get(reader, object, "notes", TREE_ARRAY, is_needed);
    struct card_notes notes = {0};
    const size_t count = tree_get_count(array);
    notes.list = array == NULL ? NULL : card_create_array(reader->card, count, sizeof *notes.list);
    for (size_t i = 0; notes.list != NULL && i < count && reader->status == STATUS_OK; i++) {
        const struct tree_value *from = tree_get_at(array, i);
        struct card_note *note = &notes.list[i];
        note->code = card_reader_get_text(reader, from, "code", true);
        note->message = card_reader_get_text(reader, from, "message", true);
        note->hint = card_reader_get_text(reader, from, "hint", true);
        const char *level = card_reader_get_text(reader, from, "level", true);
        while (level != NULL && note->level <= NOTE_FATAL &&
               strcmp(level, note_level_get_name(note->level)) != 0) {
            note->level++;
        }
        if (level != NULL && note->level > NOTE_FATAL) {
            card_reader_fail(
                reader, tree_get(from, "level"), "must be 'info', 'warning' or 'fatal'");
        }
        notes.count = i + 1;
    }
    return notes;
}

const char *card_reader_copy_json(struct card_reader *reader, const struct tree_value *value)
{
    struct text words = {0};
    struct json json;
    if (value == NULL || reader->status != STATUS_OK) {
        return NULL;
    }
    json_init(&json, &words, 0);
    tree_write_json(&json, NULL, value);
    reader->card->failed = reader->card->failed || words.failed;
    const char *copy = card_copy_text(reader->card, words.bytes);
    text_clear(&words);
    return copy;
}
