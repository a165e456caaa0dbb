// SPDX-License-Identifier: GPL-3.0-or-later
/* From paths to loops: what a file is shows in its first bytes. JSON begins with a bracket, a table
 * of measured loops has a header that names a peak; all else is a capture. */
#include <omp.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "series/series_part.h"

#define SIZE_LIMIT ((size_t)1 << 28) /* bytes of JSON or of a table */
#define HEAD 16384

enum kind { KIND_CAPTURE, KIND_JSON, KIND_TABLE };

static size_t skip_blanks(const char *bytes, size_t length)
{
    size_t at = length >= 3 && !memcmp(bytes, "\xEF\xBB\xBF", 3) ? 3 : 0;
    while (at < length && strchr(" \t\r\n", bytes[at]) && bytes[at])
        at++;
    return at;
}

static enum kind find_kind(const char *bytes, size_t length)
{
    size_t at = skip_blanks(bytes, length);
    if (at < length && (bytes[at] == '{' || bytes[at] == '['))
        return KIND_JSON;
    return series_is_table(bytes, length) ? KIND_TABLE : KIND_CAPTURE;
}

/* The head of a file that can be read again; 0 bytes of what cannot be read: its reader tells. */
static size_t read_head(const char *path, char *bytes, size_t size)
{
    FILE *file = fopen(path, "rb");
    size_t length = file ? fread(bytes, 1, size - 1, file) : 0;
    if (file)
        fclose(file);
    bytes[length++] = '\n';
    return length;
}

/* --specimen tells tables and JSON what their ring is. */
static enum status add_default_setup(
    struct series *series, const struct series_options *options, size_t *setup, struct error *err)
{
    struct specimen specimen = {0};
    struct series_steel steel = {0};
    struct text words = {0};
    struct json json;
    *setup = SERIES_NONE;
    if (!options->setup.specimen)
        return STATUS_OK;
    enum status status = specimen_read(options->setup.specimen, &specimen, err);
    if (status)
        return status;
    json_init(&json, &words, 0);
    specimen_write_json(&json, NULL, &specimen);
    status = words.failed ? fail_memory(err) : steel_set(&steel, &specimen, err);
    if (!status) {
        *setup = series_add_setup(series, NULL, words.bytes, &steel);
        status = *setup == SERIES_NONE ? fail_memory(err) : STATUS_OK;
    }
    text_clear(&words);
    specimen_clear(&specimen);
    return status;
}

enum status series_add_path(struct series *series, const char *path,
    const struct series_options *options, struct error *err)
{
    char head[HEAD], *bytes = NULL;
    size_t length = 0, setup;
    const bool is_stdin = !strcmp(path, "-");
    const char *name = is_stdin ? "standard input" : path;
    if (!is_stdin && find_kind(head, read_head(path, head, sizeof head)) == KIND_CAPTURE &&
        file_exists(path))
        return series_add_capture(series, path, options, err);
    enum status status = file_read(path, SIZE_LIMIT, &bytes, &length, err);
    if (status)
        return status;
    bytes[length++] = '\n'; /* in place of the zero: the last line has an end */
    enum kind kind = find_kind(bytes, length);
    status = add_default_setup(series, options, &setup, err);
    if (status)
        ;
    else if (kind == KIND_JSON)
        status = series_add_json(series, name, bytes + skip_blanks(bytes, length),
            length - skip_blanks(bytes, length), setup, err);
    else if (kind == KIND_TABLE)
        status = series_add_table(series, name, bytes, length, setup, err);
    else
        status = fail(err, STATUS_INPUT,
            "pipe loop JSON or a table of loops in; captures are read from files",
            "%s is neither loop JSON nor a table of measured loops", name);
    memory_destroy(bytes);
    return status;
}

enum status series_add_bytes(
    struct series *series, const char *name, const char *bytes, size_t length, struct error *err)
{
    const size_t begin = skip_blanks(bytes, length);
    return series_add_json(series, name, bytes + begin, length - begin, SERIES_NONE, err);
}

/* --- many inputs -------------------------------------------------------------------------------
 */

/* Appends the loops and setups of `part`, which becomes empty. */
static enum status join(struct series *series, struct series *part, struct error *err)
{
    for (size_t i = 0; i < part->count; i++) {
        struct series_loop *from = &part->loops[i];
        if (from->setup != SERIES_NONE) {
            struct series_setup *setup = &part->setups[from->setup];
            size_t own = series_add_setup(series, setup->rig, setup->specimen, &setup->steel);
            if (own == SERIES_NONE)
                return fail_memory(err);
            from->setup = own;
        }
    }
    for (size_t i = 0; i < part->count; i++) {
        struct series_loop *to = series_new_loop(series);
        if (!to)
            return fail_memory(err);
        *to = part->loops[i];
        part->loops[i] = (struct series_loop){.setup = SERIES_NONE};
    }
    for (size_t i = 0; i < part->notes.count; i++)
        notes_add(&series->notes, part->notes.list[i].code, part->notes.list[i].level,
            part->notes.list[i].hint, "%s", part->notes.list[i].message);
    return STATUS_OK;
}

struct input {
    struct series part;
    struct error error;
    enum status status;
};

static enum status read_all(struct series *series, const char *const *paths, size_t count,
    const struct series_options *options, struct error *err)
{
    struct input *inputs = memory_create(count, sizeof *inputs);
    enum status status = STATUS_OK;
    if (!inputs)
        return fail_memory(err);
#pragma omp parallel for schedule(dynamic, 1) if (count > 1)                                       \
    num_threads(options->threads ? (int)options->threads : omp_get_num_procs())
    for (size_t i = 0; i < count; i++)
        inputs[i].status = series_add_path(&inputs[i].part, paths[i], options, &inputs[i].error);
    for (size_t i = 0; i < count; i++) {
        if (!status && inputs[i].status) {
            *err = inputs[i].error;
            status = inputs[i].status;
        }
        if (!status)
            status = join(series, &inputs[i].part, err);
        series_clear(&inputs[i].part);
    }
    memory_destroy(inputs);
    return status;
}

enum status series_read(const char *const *paths, size_t count,
    const struct series_options *options, struct series *series, struct error *err)
{
    enum status status = read_all(series, paths, count, options, err);
    if (!status && options->initial)
        status = series_read_initial(series, options->initial, err);
    if (!status)
        status = series_compute(series, options, err);
    if (status)
        series_clear(series);
    return status;
}
