// SPDX-License-Identifier: GPL-3.0-or-later
/* Rows of nothing but plain cells: nearly all of them, so this is written to be fast. Whatever is
 * unusual is left to the careful way. */
#include <math.h>

#include "base/text.h"
#include "capture/table_row.h"

#define VALUE_LIMIT 9.8e37 /* SCPI instruments write no value as 9.9e37 and 9.91e37 */

static bool is_line_end(char c)
{
    return c == '\n' || c == '\r';
}

static inline const char *skip_blanks(const struct table_rows *rows, const char *at)
{
    while (*at == ' ' || (*at == '\t' && rows->separator != '\t')) {
        at++;
    }
    return at;
}

/* A number with a decimal point. Returns where it ends; NULL when it is not plain. */
static inline const char *read_point_number(
    struct table_rows *rows, const char *at, const char *limit, int slot)
{
    double number;
    size_t size = text_read_number(at, (size_t)(limit - at), &number);
    if (size == 0 || size > TABLE_CELL_LIMIT || !(fabs(number) < VALUE_LIMIT)) {
        return NULL;
    }
    rows->values[slot] = table_scale_apply(&rows->scales[slot], number);
    return at + size;
}

/* Any other cell. Returns where it ends; NULL when it is not plain. */
static const char *read_cell(struct table_rows *rows, const char *at, int slot)
{
    const char *end = at;
    while (!rows->ends_cell[(unsigned char)*end]) {
        end++;
    }
    size_t length = (size_t)(end - at);
    if (*at == '"' || length > TABLE_CELL_LIMIT) {
        return NULL;
    }
    if (slot == TABLE_SLOT_NONE) {
        return end;
    }
    while (length > 0 && (at[length - 1] == ' ' || at[length - 1] == '\t')) {
        length--;
    }
    if (slot == TABLE_SLOT_TIME) {
        double *seconds = &rows->values[rows->slot_count];
        return table_time_read(&rows->time, at, length, rows->decimal, seconds) ? end : NULL;
    }
    double number;
    if (!table_cell_read_number(at, length, rows->decimal, &number)) {
        return NULL;
    }
    rows->values[slot] = table_scale_apply(&rows->scales[slot], number);
    return end;
}

/* Goes from the end of a cell to the begin of the next; NULL when there is none. */
static inline const char *step(const struct table_rows *rows, const char *at)
{
    if (rows->separator == ' ') {
        bool is_parted = rows->ends_cell[(unsigned char)*at];
        at = skip_blanks(rows, at);
        return is_parted && !is_line_end(*at) ? at : NULL;
    }
    at = skip_blanks(rows, at);
    return *at == rows->separator ? skip_blanks(rows, at + 1) : NULL;
}

bool table_row_read_plain(struct table_rows *rows)
{
    const char *begin = rows->text->bytes + rows->text->begin;
    const char *limit = rows->text->bytes + rows->text->complete;
    size_t count = rows->columns->count;
    const char *at = skip_blanks(rows, begin);
    if (rows->joins_dates || rows->starts_odd[(unsigned char)*at]) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        int slot = rows->slots[i];
        bool is_fast = slot >= 0 && rows->decimal == '.';
        at = i > 0 ? step(rows, at) : at;
        if (at != NULL) {
            at = is_fast ? read_point_number(rows, at, limit, slot) : read_cell(rows, at, slot);
        }
        if (at == NULL) {
            return false;
        }
    }
    at = skip_blanks(rows, at);
    if (!is_line_end(*at) || (size_t)(at - begin) > TABLE_LINE_LIMIT) {
        return false;
    }
    rows->text->begin += (size_t)(table_skip_line_end(at, limit) - begin);
    rows->row_line = rows->line++;
    rows->is_missing = false;
    return true;
}
