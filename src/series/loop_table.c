// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops from tables of measured loops: each row is one. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "series/series_part.h"
#include "series/table.h"

#define HEAD 65536 /* bytes in which a header is looked for */

static bool tells_a_peak(const struct loop_table *table)
{
    return loop_table_has(table, TABLE_ROLE_FIGURE, FIGURE_FLUX_DENSITY_PEAK) ||
           loop_table_has(table, TABLE_ROLE_FIGURE, FIGURE_POLARIZATION_PEAK) ||
           loop_table_has(table, TABLE_ROLE_FIGURE, FIGURE_FIELD_PEAK);
}

bool series_is_table(const char *bytes, size_t length)
{
    struct loop_table table;
    struct error err;
    if (memchr(bytes, '\0', length < HEAD ? length : HEAD))
        return false;
    /* what is wrong with the name of a peak is told by the reading */
    if (loop_table_init(&table, "", bytes, length, &err))
        return strstr(err.message, "peak") != NULL;
    bool is_table = tells_a_peak(&table);
    loop_table_clear(&table);
    return is_table;
}

struct row {
    struct series_loop *loop;
    bool has_error;
    const struct loop_table *table;
};

static enum status take(const struct table_role_column *column, const char *words, double value,
    void *user, struct error *err)
{
    struct row *row = user;
    struct series_loop *loop = row->loop;
    char **place = column->role == TABLE_ROLE_FILE ? &loop->file : &loop->specimen;
    switch (column->role) {
    case TABLE_ROLE_FIGURE:
        figures_set(&loop->figures, column->figure, value);
        break;
    case TABLE_ROLE_U:
        if (value < 0)
            return fail(err, STATUS_INPUT, "an uncertainty is never negative",
                "%s:%zu: u of %s is %g", row->table->path, row->table->line,
                figure_table[column->figure].name, value);
        figures_set_u(&loop->figures, column->figure, value);
        break;
    case TABLE_ROLE_TEMPERATURE:
        loop->temperature_K = value;
        break;
    case TABLE_ROLE_FILE:
    case TABLE_ROLE_SPECIMEN:
        *place = memory_copy_text(words);
        return *place ? STATUS_OK : fail_memory(err);
    case TABLE_ROLE_DIGEST:
        snprintf(loop->sha256, sizeof loop->sha256, "%.64s", words);
        break;
    case TABLE_ROLE_ERROR:
        row->has_error = true;
        break;
    default:
        break;
    }
    return STATUS_OK;
}

/* Values that no loop has: a slip of a unit or of a column. */
static enum status check_row(const struct row *row, struct error *err)
{
    static const enum figure positive[] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK,
        FIGURE_FLUX_DENSITY_PEAK, FIGURE_POLARIZATION_PEAK, FIGURE_AMPLITUDE_PERMEABILITY};
    for (size_t i = 0; i < sizeof positive / sizeof *positive; i++) {
        const struct figure_value *value = &row->loop->figures.list[positive[i]];
        if (value->is_present && !(value->value > 0))
            return fail(err, STATUS_INPUT, "mend or leave out that row", "%s:%zu: %s is %g",
                row->table->path, row->table->line, figure_table[positive[i]].name, value->value);
    }
    return STATUS_OK;
}

static enum status finish_row(struct series *series, struct row *row, const char *digest,
    size_t default_setup, struct error *err)
{
    struct series_loop *loop = row->loop;
    const struct series_steel *steel =
        default_setup == SERIES_NONE ? NULL : &series->setups[default_setup].steel;
    loop->setup = default_setup;
    if (!loop->file) {
        loop->file = memory_copy_text(text_base_name(row->table->path));
        loop->row = row->table->line;
        snprintf(loop->sha256, sizeof loop->sha256, "%s", digest);
    }
    if (steel && steel->specimen && !loop->specimen)
        loop->specimen = memory_copy_text(steel->specimen);
    if (steel && steel->temperature.is_present && loop->temperature_K == 0)
        loop->temperature_K = steel->temperature.value;
    return loop->file ? check_row(row, err) : fail_memory(err);
}

/* A row of a capture without a result leaves no loop behind. */
static void drop_row(struct series *series, const struct row *row)
{
    notes_add(&series->notes, "left-out", NOTE_WARNING, "mend or repeat the capture",
        "%s:%zu has no result and is left out", text_base_name(row->table->path), row->table->line);
    memory_destroy(row->loop->file);
    memory_destroy(row->loop->specimen);
    series->count--;
}

static enum status add_row(struct series *series, struct loop_table *table, const char *digest,
    size_t default_setup, struct error *err)
{
    struct row row = {.loop = series_new_loop(series), .table = table};
    if (!row.loop)
        return fail_memory(err);
    enum status status = loop_table_read_row(table, take, &row, err);
    if (!status && row.has_error) {
        drop_row(series, &row);
        return STATUS_OK;
    }
    return status ? status : finish_row(series, &row, digest, default_setup, err);
}

enum status series_add_table(struct series *series, const char *path, const char *bytes,
    size_t length, size_t default_setup, struct error *err)
{
    struct loop_table table;
    char sha256[DIGEST_TEXT_SIZE];
    digest_bytes(bytes, length, sha256);
    enum status status = loop_table_init(&table, path, bytes, length, err);
    if (status)
        return status;
    if (!tells_a_peak(&table))
        status = fail(err, STATUS_INPUT, "'flux density peak (T)' or 'flux_density_peak_T'",
            "%s:%zu: no column holds a peak of B, J or H", path, table.line);
    if (table.unused.length)
        notes_add(&series->notes, "not-read", NOTE_INFO,
            "docs/series.md lists the names of columns", "%s: not read: %.200s%s",
            text_base_name(path), table.unused.bytes, table.unused.length > 200 ? "..." : "");
    size_t before = series->count;
    while (!status && loop_table_next(&table))
        status = add_row(series, &table, sha256, default_setup, err);
    if (!status && series->count == before)
        status = fail(
            err, STATUS_INPUT, "each row below the header is a loop", "'%s' has no rows", path);
    loop_table_clear(&table);
    return status;
}
