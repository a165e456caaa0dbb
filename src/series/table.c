// SPDX-License-Identifier: GPL-3.0-or-later
/* Tables with text cells and gaps, such as `lodecard loop --csv` and spreadsheets write. The cells
 * are taken by the reader of captures (capture/table_cell.h). */
#include "series/table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "capture/table_text.h"

static bool is_text(enum table_role role)
{
    return role == TABLE_ROLE_FILE || role == TABLE_ROLE_DIGEST || role == TABLE_ROLE_SPECIMEN ||
           role == TABLE_ROLE_ERROR;
}

/* The separator that parts the header into the most cells. */
static char find_separator(const char *line, const char *limit)
{
    static const char separators[] = {'\t', ';', ','};
    size_t most = 0;
    char best = ',';
    for (size_t i = 0; i < sizeof separators; i++) {
        struct table_cursor cursor;
        struct table_cell cell;
        size_t count = 0;
        table_cursor_init(&cursor, line, limit, separators[i]);
        while (table_cursor_take(&cursor, &cell) == TABLE_TAKE_CELL)
            count++;
        if (count > most) {
            most = count;
            best = separators[i];
        }
    }
    return best;
}

/* A decimal comma where some cell is a number with nothing but one, and none has a point. */
static char find_decimal(const char *at, const char *limit, char separator)
{
    struct table_cursor cursor;
    struct table_cell cell;
    size_t commas = 0, points = 0;
    if (separator == ',')
        return '.';
    table_cursor_init(&cursor, at, limit, separator);
    while (cursor.at < limit) {
        enum table_take take = table_cursor_take(&cursor, &cell);
        if (take == TABLE_TAKE_END) {
            const char *next = table_skip_line_end(cursor.at, limit);
            table_cursor_init(&cursor, next, limit, separator);
            continue;
        }
        if (take != TABLE_TAKE_CELL)
            break;
        unsigned kind = table_cell_find_kind(&cell) & TABLE_KIND_NUMBER;
        commas += kind == TABLE_KIND_COMMA;
        points += kind == TABLE_KIND_POINT;
    }
    return commas > points ? ',' : '.';
}

static bool is_blank(const char *at, const char *limit)
{
    while (at < limit && (*at == ' ' || *at == '\t' || *at == ';' || *at == ','))
        at++;
    return at >= limit || *at == '\n' || *at == '\r';
}

/* Moves to the first line from `at` on that is neither blank nor a comment. */
static const char *find_line(const char *at, const char *limit, char separator, size_t *line)
{
    while (at < limit && (is_blank(at, limit) || table_is_comment(at, separator))) {
        while (at < limit && *at != '\n' && *at != '\r')
            at++;
        at = at < limit ? table_skip_line_end(at, limit) : limit;
        (*line)++;
    }
    return at;
}

static enum status add_column(
    struct loop_table *table, const struct table_cell *cell, struct error *err)
{
    char words[TABLE_QUOTE_SIZE], full[TABLE_CELL_LIMIT + 1];
    struct error inner;
    if (table->count == TABLE_COLUMNS)
        return fail(err, STATUS_INPUT, "keep the columns that matter",
            "%s:%zu: more than %d columns", table->path, table->line, TABLE_COLUMNS);
    snprintf(full, sizeof full, "%.*s", (int)cell->length, cell->text);
    struct table_role_column *column = &table->columns[table->count++];
    if (table_role_read(full, column, &inner))
        return fail(
            err, STATUS_INPUT, inner.hint, "%s:%zu: %s", table->path, table->line, inner.message);
    for (size_t i = 0; column->role != TABLE_ROLE_NONE && i + 1 < table->count; i++)
        if (table->columns[i].role == column->role && table->columns[i].figure == column->figure)
            return fail(err, STATUS_INPUT, "keep one of them",
                "%s:%zu: two columns hold the same, the second is '%s'", table->path, table->line,
                table_quote(words, cell->text, cell->length));
    if (column->role == TABLE_ROLE_NONE && cell->length && strcmp(full, "notes"))
        text_add_format(&table->unused, "%s'%s'", table->unused.length ? ", " : "",
            table_quote(words, cell->text, cell->length));
    return STATUS_OK;
}

enum status loop_table_init(
    struct loop_table *table, const char *path, const char *bytes, size_t length, struct error *err)
{
    const char *limit = bytes + length;
    *table = (struct loop_table){.path = path, .line = 1};
    if (!strncmp(bytes, "\xEF\xBB\xBF", 3))
        bytes += 3;
    const char *header = find_line(bytes, limit, ',', &table->line);
    if (header >= limit)
        return fail(err, STATUS_INPUT, "the first line names the columns", "'%s' is empty", path);
    table->separator = find_separator(header, limit);
    struct table_cell cell;
    enum table_take take;
    enum status status = STATUS_OK;
    table_cursor_init(&table->cursor, header, limit, table->separator);
    while (!status && (take = table_cursor_take(&table->cursor, &cell)) == TABLE_TAKE_CELL)
        status = add_column(table, &cell, err);
    if (!status && take != TABLE_TAKE_END)
        status = fail(err, STATUS_INPUT, "the header must be one line",
            "%s:%zu: the header has a %s", path, table->line,
            take == TABLE_TAKE_OPEN ? "quote that does not close" : "cell of over 4 kB");
    if (!status)
        table->decimal = find_decimal(table->cursor.at, limit, table->separator);
    if (!status && table->unused.failed)
        status = fail_memory(err);
    if (status)
        loop_table_clear(table);
    return status;
}

void loop_table_clear(struct loop_table *table)
{
    text_clear(&table->unused);
}

bool loop_table_has(const struct loop_table *table, enum table_role role, enum figure figure)
{
    for (size_t i = 0; i < table->count; i++)
        if (table->columns[i].role == role && table->columns[i].figure == figure)
            return true;
    return false;
}

bool loop_table_next(struct loop_table *table)
{
    const char *limit = table->cursor.limit;
    if (table->cursor.at >= limit)
        return false;
    const char *at = table_skip_line_end(table->cursor.at, limit);
    table->line += 1 + table->cursor.newlines;
    at = find_line(at, limit, table->separator, &table->line);
    if (at >= limit)
        return false;
    table_cursor_init(&table->cursor, at, limit, table->separator);
    return true;
}

static enum status take_cell(struct loop_table *table, size_t place, const struct table_cell *cell,
    loop_table_take *take, void *user, struct error *err)
{
    const struct table_role_column *column = &table->columns[place];
    char words[TABLE_CELL_LIMIT + 1], quote[TABLE_QUOTE_SIZE];
    double number = NAN;
    snprintf(words, sizeof words, "%.*s", (int)cell->length, cell->text);
    if (column->role == TABLE_ROLE_NONE || !cell->length)
        return STATUS_OK;
    if (!is_text(column->role) &&
        !table_cell_read_number(cell->text, cell->length, table->decimal, &number))
        return fail(err, STATUS_INPUT, "leave a cell empty where there is no value",
            "%s:%zu: '%s' in column %zu is no number", table->path, table->line,
            table_quote(quote, cell->text, cell->length), place + 1);
    return take(column, words, column->factor * number + column->offset, user, err);
}

enum status loop_table_read_row(
    struct loop_table *table, loop_table_take *take, void *user, struct error *err)
{
    struct table_cell cell;
    enum table_take got;
    enum status status = STATUS_OK;
    for (size_t place = 0;
         !status && (got = table_cursor_take(&table->cursor, &cell)) != TABLE_TAKE_END; place++) {
        if (got != TABLE_TAKE_CELL)
            return fail(err, STATUS_INPUT, "look at the quotes of that line",
                "%s:%zu: a cell does not end", table->path, table->line);
        if (place < table->count)
            status = take_cell(table, place, &cell, take, user, err);
        else if (cell.length)
            status = fail(err, STATUS_INPUT, "give each column a header",
                "%s:%zu: more cells than the header has columns (%zu)", table->path, table->line,
                table->count);
    }
    return status;
}
