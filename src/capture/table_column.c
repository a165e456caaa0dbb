// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_column.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/memory.h"
#include "base/text.h"

void table_columns_clear(struct table_columns *columns)
{
    for (size_t i = 0; i < columns->count; i++) {
        memory_destroy(columns->list[i].header);
        table_name_clear(&columns->list[i].name);
    }
    memory_destroy(columns->list);
    *columns = (struct table_columns){0};
}

/* --- from the header --------------------------------------------------------------------------
 */

static bool set_column(struct table_column *column, const struct table_header *header, size_t index)
{
    const char *cell = index < header->names.count ? header->names.list[index] : "";
    const char *unit = index < header->units.count ? header->units.list[index] : "";
    if (!table_name_init(&column->name, cell)) {
        return false;
    }
    double factor = column->name.factor;
    bool has_unit = column->name.has_unit;
    enum dimension dimension = column->name.dimension;
    column->header = memory_copy_text(cell[0] != '\0' ? cell : unit);
    if (column->header == NULL || !table_name_set_unit(&column->name, unit)) {
        return false;
    }
    column->has_two_units =
        has_unit && (column->name.factor != factor || column->name.dimension != dimension);
    return true;
}

/* "pickup_A" beside "pickup_B": the A counts, it is no ampere. */
static bool has_sibling(const struct table_columns *columns, size_t index)
{
    const char *header = columns->list[index].header;
    size_t length = strlen(header);
    if (length < 3 || header[length - 2] != '_') {
        return false;
    }
    for (size_t i = 0; i < columns->count; i++) {
        const char *other = columns->list[i].header;
        bool is_alike = strlen(other) == length && strncmp(other, header, length - 1) == 0;
        if (is_alike && !columns->list[i].name.has_unit) {
            return true;
        }
    }
    return false;
}

static bool drop_counting_letters(struct table_columns *columns)
{
    for (size_t i = 0; i < columns->count; i++) {
        struct table_name *name = &columns->list[i].name;
        if (!name->has_unit || !has_sibling(columns, i)) {
            continue;
        }
        char *whole = memory_copy_text(columns->list[i].header);
        char *none = memory_copy_text("");
        table_name_clear(name);
        *name = (struct table_name){
            .name = whole, .unit = none, .dimension = DIMENSION_NUMBER, .factor = 1};
        if (whole == NULL || none == NULL) {
            return false;
        }
    }
    return true;
}

enum status table_columns_init(
    struct table_columns *columns, const struct table_dialect *dialect, struct error *err)
{
    const struct table_header *header = &dialect->header;
    columns->list = memory_create(header->columns, sizeof *columns->list);
    if (columns->list == NULL) {
        return fail_memory(err);
    }
    if (header->line != TABLE_NO_LINE) {
        columns->header_line = dialect->head.lines[header->line].number;
    }
    for (size_t i = 0; i < header->columns; i++) {
        columns->count++;
        if (!set_column(&columns->list[i], header, i)) {
            return fail_memory(err);
        }
        const struct table_run *run = &dialect->run;
        columns->list[i].is_text = i < run->columns && run->tallies[i].numbers == 0;
    }
    return drop_counting_letters(columns) ? STATUS_OK : fail_memory(err);
}

const char *table_column_get_trouble(const struct table_column *column)
{
    if (column->is_text) {
        return "its cells are no numbers";
    }
    if (column->name.is_unit_unknown) {
        return "its unit is not known";
    }
    return column->has_two_units ? "its header and the row of units differ" : NULL;
}

struct table_scale table_column_get_scale(const struct table_column *column)
{
    return table_scale_create(column->name.factor, column->name.offset);
}

/* --- looking up -------------------------------------------------------------------------------
 */

static bool is_alike(const char *a, const char *b)
{
    for (;;) {
        a += strspn(a, " \t");
        b += strspn(b, " \t");
        if (tolower((unsigned char)*a) != tolower((unsigned char)*b)) {
            return false;
        }
        if (*a == '\0') {
            return true;
        }
        a++;
        b++;
    }
}

const char *table_column_get_place(
    const struct table_columns *columns, size_t index, char buffer[TABLE_PLACE_SIZE])
{
    char quote[TABLE_QUOTE_SIZE];
    const char *header = index < columns->count ? columns->list[index].header : "";
    if (header[0] == '\0') {
        snprintf(buffer, TABLE_PLACE_SIZE, "column %zu", index + 1);
    } else {
        snprintf(buffer, TABLE_PLACE_SIZE, "column %zu '%s'", index + 1,
            table_quote(quote, header, strlen(header)));
    }
    return buffer;
}

static enum status fail_unknown(
    const struct table_columns *columns, const char *path, const char *reference, struct error *err)
{
    char hint[sizeof err->hint];
    size_t length = (size_t)snprintf(hint, sizeof hint, "it has");
    for (size_t i = 0; i < columns->count && length < sizeof hint; i++) {
        char place[TABLE_PLACE_SIZE];
        length += (size_t)snprintf(hint + length, sizeof hint - length, "%s %s", i == 0 ? "" : ",",
            table_column_get_place(columns, i, place));
    }
    return fail(err, STATUS_INPUT, hint, "'%s' has no column '%s'", path, reference);
}

enum status table_columns_find(const struct table_columns *columns, const char *path,
    const char *reference, size_t *index, struct error *err)
{
    size_t found = TABLE_NO_COLUMN;
    if (reference[0] != '\0' && strspn(reference, "0123456789") == strlen(reference)) {
        unsigned long number = strtoul(reference, NULL, 10);
        found = number >= 1 && number <= columns->count ? number - 1 : TABLE_NO_COLUMN;
    }
    for (size_t i = 0; i < columns->count && found == TABLE_NO_COLUMN; i++) {
        found = is_alike(columns->list[i].header, reference) ? i : TABLE_NO_COLUMN;
    }
    for (size_t i = 0; i < columns->count && found == TABLE_NO_COLUMN; i++) {
        found = is_alike(columns->list[i].name.name, reference) ? i : TABLE_NO_COLUMN;
    }
    if (found == TABLE_NO_COLUMN || reference[0] == '\0') {
        return fail_unknown(columns, path, reference, err);
    }
    *index = found;
    return STATUS_OK;
}

enum status table_columns_find_time(
    const struct table_columns *columns, const char *path, size_t *index, struct error *err)
{
    size_t found = TABLE_NO_COLUMN;
    for (size_t i = 0; i < columns->count; i++) {
        if (!table_name_is_time(&columns->list[i].name)) {
            continue;
        }
        if (found != TABLE_NO_COLUMN) {
            return fail(err, STATUS_INPUT,
                "say which in the rig: 'timing: {time: NUMBER}', columns counted from 1",
                "columns %zu and %zu of '%s' are both headed as time", found + 1, i + 1, path);
        }
        found = i;
    }
    *index = found;
    return STATUS_OK;
}

enum status table_column_check(
    const struct table_columns *columns, const char *path, size_t index, struct error *err)
{
    const struct table_column *column = &columns->list[index];
    char place[TABLE_PLACE_SIZE];
    char quote[TABLE_QUOTE_SIZE];
    table_column_get_place(columns, index, place);
    table_quote(quote, column->name.unit, strlen(column->name.unit));
    if (column->name.is_unit_unknown) {
        return fail(err, STATUS_INPUT,
            "write a unit in the header, as in 'u2 (mV)', or take the brackets away if they hold "
            "none",
            "line %zu of '%s', %s: '%s' is no unit that is known", columns->header_line, path,
            place, quote);
    }
    if (column->has_two_units) {
        return fail(err, STATUS_INPUT, "leave one of them",
            "line %zu of '%s', %s: its header has a unit, and the row of units another, '%s'",
            columns->header_line, path, place, quote);
    }
    return STATUS_OK;
}
