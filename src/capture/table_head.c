// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_head.h"

#include <string.h>

#include "base/memory.h"
#include "capture/table_cell.h"

void table_head_clear(struct table_head *head)
{
    memory_destroy(head->lines);
    memory_destroy(head->kinds);
    *head = (struct table_head){0};
}

static const char *skip_line(const char *at, const char *limit)
{
    while (*at != '\n' && *at != '\r') {
        at++;
    }
    return table_skip_line_end(at, limit);
}

/* Counts a cell under what it is; false when out of memory. */
static bool add_cell(
    struct table_head *head, struct table_line *line, const struct table_cell *cell)
{
    unsigned char *kinds =
        memory_reserve(head->kinds, &head->kind_capacity, head->kind_count + 1, 1);
    if (kinds == NULL) {
        return false;
    }
    unsigned kind = table_cell_find_kind(cell);
    unsigned wrong = head->decimal == '.' ? TABLE_KIND_COMMA : TABLE_KIND_POINT;
    if (head->decimal != TABLE_DECIMAL_UNKNOWN && (kind & TABLE_KIND_NUMBER) == wrong) {
        kind = TABLE_KIND_BROKEN;
    }
    head->kinds = kinds;
    head->kinds[head->kind_count++] = (unsigned char)kind;
    line->count++;
    line->values += (kind & TABLE_KIND_VALUE) != 0;
    line->broken += kind == TABLE_KIND_BROKEN;
    line->texts += kind == 0;
    return true;
}

/* Takes the line at the cursor apart, as far as that goes; false when out of memory. */
static bool read_cells(struct table_head *head, struct table_cursor *cursor,
    struct table_line *line, enum table_take *take)
{
    struct table_cell cell;
    *take = table_cursor_take(cursor, &cell);
    while (*take == TABLE_TAKE_CELL && line->count <= TABLE_COLUMN_LIMIT) {
        if (!add_cell(head, line, &cell)) {
            return false;
        }
        *take = table_cursor_take(cursor, &cell);
    }
    return true;
}

/* A blank line, and one that cannot be taken apart, has no cells. */
static void drop_cells(struct table_head *head, struct table_line *line)
{
    *line =
        (struct table_line){.offset = line->offset, .number = line->number, .first = line->first};
    head->kind_count = line->first;
}

static bool add_line(struct table_head *head, const struct table_line *line)
{
    struct table_line *lines =
        memory_reserve(head->lines, &head->capacity, head->count + 1, sizeof *lines);
    if (lines != NULL) {
        head->lines = lines;
        lines[head->count++] = *line;
    }
    return lines != NULL;
}

/* Reads the line at `*at`, which then is where the next begins; NULL when this one does not end in
 * the window. */
static enum status read_line(
    struct table_head *head, const char **at, size_t *number, struct error *err)
{
    const char *limit = head->text->bytes + head->text->complete;
    const char *base = head->text->bytes + head->text->begin;
    struct table_line line = {
        .offset = (size_t)(*at - base), .number = *number, .first = head->kind_count};
    struct table_cursor cursor;
    enum table_take take;
    table_cursor_init(&cursor, *at, limit, head->separator);
    cursor.joins_dates = head->joins_dates;
    if (!read_cells(head, &cursor, &line, &take)) {
        return fail_memory(err);
    }
    if (take == TABLE_TAKE_OPEN && !head->text->is_at_end) {
        *at = NULL;
        return STATUS_OK;
    }
    unsigned first_kind = line.count > 0 ? head->kinds[line.first] : 0;
    line.is_comment = table_is_comment(*at, head->separator) && !(first_kind & TABLE_KIND_MISSING);
    bool is_wide = line.count > TABLE_COLUMN_LIMIT;
    bool is_whole = take == TABLE_TAKE_END && !is_wide;
    bool is_empty = line.count == 1 && (first_kind & TABLE_KIND_EMPTY) != 0;
    *at = is_whole ? table_skip_line_end(cursor.at, limit) : skip_line(*at, limit);
    *number += 1 + (is_whole ? cursor.newlines : 0);
    if (is_wide && head->wide_line == 0) {
        head->wide_line = line.number;
    }
    if (!is_whole || is_empty) {
        drop_cells(head, &line);
    }
    return add_line(head, &line) ? STATUS_OK : fail_memory(err);
}

enum status table_head_read(
    struct table_head *head, const struct table_text *text, struct error *err)
{
    const char *at = text->bytes + text->begin;
    const char *limit = text->bytes + text->complete;
    size_t number = 1;
    enum status status = STATUS_OK;
    head->text = text;
    while (status == STATUS_OK && at != NULL && at < limit && head->count < TABLE_HEAD_LINES) {
        status = read_line(head, &at, &number, err);
    }
    return status;
}

/* Puts the cursor onto a line; behind the sign of a comment. */
static void start_line(const struct table_head *head, size_t index, struct table_cursor *cursor)
{
    const struct table_text *text = head->text;
    const struct table_line *line = &head->lines[index];
    const char *at = text->bytes + text->begin + line->offset;
    if (line->is_comment) {
        at += strspn(at, " \t");
        at += strspn(at, "#%;/");
    }
    table_cursor_init(cursor, at, text->bytes + text->complete, head->separator);
    cursor->joins_dates = head->joins_dates;
}

/* A copy in which blanks, line ends and other controls are single blanks. */
static char *copy_plainly(const struct table_cell *cell)
{
    char *copy = memory_create(cell->length + 1, 1);
    size_t count = 0;
    if (copy == NULL) {
        return NULL;
    }
    for (size_t i = 0; i < cell->length; i++) {
        bool is_blank = (unsigned char)cell->text[i] <= ' ';
        if (!is_blank) {
            copy[count++] = cell->text[i];
        } else if (count > 0 && copy[count - 1] != ' ') {
            copy[count++] = ' ';
        }
    }
    count -= count > 0 && copy[count - 1] == ' ';
    copy[count] = '\0';
    return copy;
}

char *table_head_copy_cell(const struct table_head *head, size_t line, size_t column)
{
    struct table_cursor cursor;
    struct table_cell cell = {0};
    start_line(head, line, &cursor);
    for (size_t i = 0; i <= column; i++) {
        if (table_cursor_take(&cursor, &cell) != TABLE_TAKE_CELL) {
            return memory_copy_text("");
        }
    }
    return copy_plainly(&cell);
}

char *table_head_copy_line(const struct table_head *head, size_t line)
{
    struct table_cursor cursor;
    start_line(head, line, &cursor);
    size_t length = 0;
    while (cursor.at[length] != '\n' && cursor.at[length] != '\r') {
        length++;
    }
    char *copy = memory_create(length + 1, 1);
    if (copy != NULL) {
        memcpy(copy, cursor.at, length);
    }
    return copy;
}
