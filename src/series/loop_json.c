// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops from JSON: a "lodecard-loop/1" object, a list of them, one a line, or the loops of a
 * "lodecard-series/1" object. A line that says "error" instead of figures is left out with a note:
 * `lodecard loop --json-lines` writes such lines for captures without a result. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "series/series_part.h"

#define CODE_SIZE 32 /* of a note */

struct source {
    const struct tree *tree;
    const char *file; /* base name */
    size_t row;       /* of JSON lines; 0 */
    size_t default_setup;
};

static void read_figures(const struct tree_value *object, struct figures *figures)
{
    char key[80];
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        double value;
        if (tree_get_number(tree_get(object, figure_table[i].key), &value))
            figures_set(figures, (enum figure)i, value);
        snprintf(key, sizeof key, "u_%s", figure_table[i].key);
        if (tree_get_number(tree_get(object, key), &value) && value >= 0)
            figures_set_u(figures, (enum figure)i, value);
    }
}

static enum note_level find_level(const char *word)
{
    for (enum note_level level = NOTE_INFO; word && level <= NOTE_FATAL; level++)
        if (!strcmp(word, note_level_get_name(level)))
            return level;
    return NOTE_WARNING;
}

static enum status read_notes(
    struct series_loop *loop, const struct tree_value *list, struct error *err)
{
    const size_t count = tree_get_count(list);
    if (count == 0)
        return STATUS_OK;
    loop->note_codes = memory_create(count, CODE_SIZE);
    if (!loop->note_codes)
        return fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        const struct tree_value *note = tree_get_at(list, i);
        const char *code = tree_get_text(tree_get(note, "code"));
        const char *message = tree_get_text(tree_get(note, "message"));
        const char *hint = tree_get_text(tree_get(note, "hint"));
        char *place = loop->note_codes + i * CODE_SIZE;
        snprintf(place, CODE_SIZE, "%s", code ? code : "");
        notes_add(&loop->notes, place, find_level(tree_get_text(tree_get(note, "level"))),
            hint ? hint : "", "%s", message ? message : "");
    }
    return loop->notes.failed ? fail_memory(err) : STATUS_OK;
}

static enum status read_points(struct series_loop *loop, const struct source *source,
    const struct tree_value *points, struct error *err)
{
    size_t count = 0, other = 0;
    double *field = NULL, *flux_density = NULL;
    if (!points)
        return STATUS_OK;
    enum status status =
        tree_need_numbers(source->tree, points, "field_A_per_m", &field, &count, err);
    if (!status)
        status =
            tree_need_numbers(source->tree, points, "flux_density_T", &flux_density, &other, err);
    if (!status && (count != other || count < 3))
        status = fail(err, STATUS_INPUT, "write the loop anew, with --points",
            "%s: points has %zu values of field_A_per_m and %zu of flux_density_T",
            tree_get_name(source->tree), count, other);
    if (status) {
        memory_destroy(field);
        memory_destroy(flux_density);
        return status;
    }
    loop->field = field;
    loop->flux_density = flux_density;
    loop->point_count = count;
    return STATUS_OK;
}

/* The compact text of a member, for provenance. */
static char *copy_member(const struct tree_value *value, struct error *err)
{
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    tree_write_json(&json, NULL, value);
    if (out.failed) {
        text_clear(&out);
        (void)fail_memory(err);
        return NULL;
    }
    return out.bytes;
}

static enum status read_setup(struct series *series, struct series_loop *loop,
    const struct tree_value *object, struct error *err)
{
    const struct tree_value *rig = tree_get(object, "rig");
    const struct tree_value *specimen = tree_get(object, "specimen");
    struct series_steel steel = {0};
    if (tree_get_kind(specimen) != TREE_OBJECT)
        return STATUS_OK;
    char *rig_words = rig ? copy_member(rig, err) : NULL;
    char *specimen_words = copy_member(specimen, err);
    enum status status = !specimen_words || (rig && !rig_words) ? STATUS_FAULT : STATUS_OK;
    if (!status)
        status = steel_read(&steel, specimen, err);
    if (!status) {
        loop->setup = series_add_setup(series, rig_words, specimen_words, &steel);
        status = loop->setup == SERIES_NONE ? fail_memory(err) : STATUS_OK;
    }
    memory_destroy(rig_words);
    memory_destroy(specimen_words);
    return status;
}

static enum status set_identity(struct series *series, struct series_loop *loop,
    const struct source *source, const struct tree_value *object, struct error *err)
{
    const struct tree_value *capture = tree_get(object, "capture");
    const struct tree_value *from = capture ? capture : object;
    const char *file = tree_get_text(tree_get(from, "file"));
    const char *digest = tree_get_text(tree_get(from, "sha256"));
    const char *specimen = tree_get_text(tree_get(object, "specimen"));
    if (loop->setup == SERIES_NONE)
        loop->setup = source->default_setup;
    if (loop->setup != SERIES_NONE && !specimen)
        specimen = series->setups[loop->setup].steel.specimen;
    loop->file = memory_copy_text(file ? text_base_name(file) : source->file);
    loop->specimen = memory_copy_text(specimen);
    loop->row = file ? 0 : source->row;
    if (digest)
        snprintf(loop->sha256, sizeof loop->sha256, "%s", digest);
    if (loop->setup != SERIES_NONE && series->setups[loop->setup].steel.temperature.is_present)
        loop->temperature_K = series->setups[loop->setup].steel.temperature.value;
    return !loop->file || (specimen && !loop->specimen) ? fail_memory(err) : STATUS_OK;
}

static enum status add_loop(struct series *series, const struct source *source,
    const struct tree_value *object, const struct tree_value *figures, struct error *err)
{
    if (tree_get_kind(figures) != TREE_OBJECT) {
        const struct tree_value *error = tree_get(object, "error");
        const char *file = tree_get_text(tree_get(tree_get(object, "capture"), "file"));
        const char *why = tree_get_text(tree_get(error, "message"));
        if (!error)
            return fail(err, STATUS_INPUT, "'lodecard loop CAPTURE --json' writes such a file",
                "%s: a loop has no \"figures\"", tree_get_name(source->tree));
        notes_add(&series->notes, "left-out", NOTE_WARNING, "mend or repeat the capture",
            "%s has no result and is left out: %s", file ? file : tree_get_name(source->tree),
            why ? why : "its error is not told");
        return STATUS_OK;
    }
    struct series_loop *loop = series_new_loop(series);
    if (!loop)
        return fail_memory(err);
    read_figures(figures, &loop->figures);
    enum status status = read_setup(series, loop, object, err);
    if (!status)
        status = set_identity(series, loop, source, object, err);
    if (!status)
        status = read_notes(loop, tree_get(object, "notes"), err);
    if (!status)
        status = read_points(loop, source, tree_get(object, "points"), err);
    return status;
}

/* The setups of a series' JSON go first: its loops name them by their place. */
static enum status add_series(struct series *series, const struct source *source,
    const struct tree_value *root, struct error *err)
{
    const struct tree_value *loops = tree_get(root, "loops");
    const struct tree_value *setups = tree_get(root, "setups");
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < tree_get_count(loops); i++) {
        const struct tree_value *object = tree_get_at(loops, i);
        double place = -1;
        size_t before = series->count;
        status = add_loop(series, source, object, object, err);
        if (status || series->count == before)
            continue;
        if (!tree_get_number(tree_get(object, "setup"), &place) || place < 0 ||
            place >= (double)tree_get_count(setups))
            continue;
        struct series_loop *loop = &series->loops[before];
        status = read_setup(series, loop, tree_get_at(setups, (size_t)place), err);
        if (!status && loop->setup != SERIES_NONE)
            loop->temperature_K = series->setups[loop->setup].steel.temperature.value;
    }
    return status;
}

static enum status add_object(struct series *series, const struct source *source,
    const struct tree_value *object, struct error *err)
{
    const char *schema = tree_get_text(tree_get(object, "schema"));
    if (schema && !strcmp(schema, "lodecard-series/1"))
        return add_series(series, source, object, err);
    if (!schema || strcmp(schema, "lodecard-loop/1"))
        return fail(err, STATUS_INPUT, "'lodecard loop CAPTURE --json' writes such a file",
            "%s: schema is %s%s%s, expected 'lodecard-loop/1'", tree_get_name(source->tree),
            schema ? "'" : "", schema ? schema : "not there", schema ? "'" : "");
    return add_loop(series, source, object, tree_get(object, "figures"), err);
}

/* One document; `row` is its line in JSON lines, else 0. */
static enum status add_document(struct series *series, const char *path, const char *bytes,
    size_t length, size_t row, size_t default_setup, struct error *err)
{
    char name[512];
    struct tree *tree = NULL;
    const char *file = text_base_name(path);
    if (row)
        snprintf(name, sizeof name, "%s:%zu", path, row);
    else
        snprintf(name, sizeof name, "%s", path);
    enum status status = tree_read_bytes(name, bytes, length, &tree, err);
    if (status)
        return status;
    const struct source source = {tree, file, row, default_setup};
    const struct tree_value *root = tree_get_root(tree);
    if (tree_get_kind(root) == TREE_ARRAY)
        for (size_t i = 0; !status && i < tree_get_count(root); i++)
            status = add_object(series, &source, tree_get_at(root, i), err);
    else
        status = add_object(series, &source, root, err);
    tree_destroy(tree);
    return status;
}

static size_t find_end(const char *bytes, size_t length, size_t at)
{
    const char *end = memchr(bytes + at, '\n', length - at);
    return end ? (size_t)(end - bytes) : length;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

static size_t skip_blanks(const char *bytes, size_t length, size_t at)
{
    while (at < length && is_blank(bytes[at]))
        at++;
    return at;
}

/* Whether the first line is a whole object, it begins with '{' and ends with '}', and more follows.
 */
static bool has_lines(const char *bytes, size_t length)
{
    size_t begin = skip_blanks(bytes, length, 0);
    size_t end = find_end(bytes, length, begin);
    bool has_more = skip_blanks(bytes, length, end) < length;
    while (end > begin && is_blank(bytes[end - 1]))
        end--;
    return has_more && end > begin + 1 && bytes[begin] == '{' && bytes[end - 1] == '}';
}

enum status series_add_json(struct series *series, const char *path, const char *bytes,
    size_t length, size_t default_setup, struct error *err)
{
    enum status status = STATUS_OK;
    size_t row = 0;
    if (!has_lines(bytes, length))
        return add_document(series, path, bytes, length, 0, default_setup, err);
    for (size_t at = 0; !status && at < length;) {
        size_t end = find_end(bytes, length, at);
        row++;
        if (skip_blanks(bytes, end, at) < end)
            status = add_document(series, path, bytes + at, end - at, row, default_setup, err);
        at = end + 1;
    }
    return status;
}
