// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_row.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"

static void find_slots(struct table_rows *rows)
{
    for (size_t i = 0; i < rows->columns->count; i++) {
        if (rows->slots[i] >= 0) {
            rows->scales[rows->slots[i]] = table_column_get_scale(&rows->columns->list[i]);
        }
    }
}

enum status table_rows_init(
    struct table_rows *rows, int *slots, size_t slot_count, struct error *err)
{
    rows->slots = slots;
    rows->slot_count = slot_count;
    rows->values = memory_create(slot_count + 1, sizeof *rows->values);
    rows->held_values = memory_create(slot_count + 1, sizeof *rows->held_values);
    rows->scales = memory_create(slot_count, sizeof *rows->scales);
    rows->faults = memory_create(slot_count + 1, sizeof *rows->faults);
    if (rows->values == NULL || rows->held_values == NULL || rows->scales == NULL ||
        rows->faults == NULL) {
        return fail_memory(err);
    }
    find_slots(rows);
    rows->ends_cell[(unsigned char)rows->separator] = true;
    rows->ends_cell['\t'] = rows->separator == ' ' || rows->separator == '\t';
    rows->ends_cell['\n'] = rows->ends_cell['\r'] = true;
    for (const char *c = "#%/;\n\r"; *c != '\0'; c++) {
        rows->starts_odd[(unsigned char)*c] = true;
    }
    return STATUS_OK;
}

void table_rows_clear(struct table_rows *rows)
{
    memory_destroy(rows->slots);
    memory_destroy(rows->values);
    memory_destroy(rows->held_values);
    memory_destroy(rows->scales);
    memory_destroy(rows->faults);
    *rows = (struct table_rows){0};
}

/* --- lines ------------------------------------------------------------------------------------
 */

/* Sees to it that a whole line is in the window; *is_end when there are no more. */
static enum status get_line(struct table_rows *rows, bool *is_end, struct error *err)
{
    struct table_text *text = rows->text;
    enum status status = STATUS_OK;
    while (status == STATUS_OK && text->begin >= text->complete && !text->is_at_end) {
        if (text->end - text->begin > TABLE_LINE_LIMIT) {
            return table_text_fail_long(rows->text, rows->line, err);
        }
        status = table_text_fill(text, err);
    }
    *is_end = text->begin >= text->complete;
    return status;
}

/* Reads the line at the begin of the window, with more of the file if its quotes ask for it. */
static enum status read_line(struct table_rows *rows, enum table_line_form *form, struct error *err)
{
    *form = TABLE_LINE_ROW;
    if (table_row_read_plain(rows)) {
        return STATUS_OK;
    }
    enum status status = table_row_read_careful(rows, form, err);
    while (status == STATUS_OK && *form == TABLE_LINE_CUT) {
        if (rows->text->end - rows->text->begin > TABLE_LINE_LIMIT + TABLE_CELL_LIMIT) {
            return table_text_fail_long(rows->text, rows->line, err);
        }
        status = table_text_fill(rows->text, err);
        if (status == STATUS_OK) {
            status = table_row_read_careful(rows, form, err);
        }
    }
    return status;
}

/* --- rows -------------------------------------------------------------------------------------
 */

static void add_pending(struct table_rows *rows, enum table_line_form form, size_t line)
{
    if (rows->pending < TABLE_PENDING_LINES) {
        rows->pending_lines[rows->pending] = line;
    }
    if (form == TABLE_LINE_NAMES && rows->second_header_line == 0) {
        rows->second_header_line = line;
    }
    rows->pending++;
}

static void swap_held(struct table_rows *rows)
{
    double *values = rows->values;
    rows->values = rows->held_values;
    rows->held_values = values;
}

/* Gives a row of missing cells for a line of text, and the row behind them at last. */
static void get_pending(struct table_rows *rows)
{
    if (rows->pending == 0) {
        swap_held(rows);
        rows->row_line = rows->held_line;
        rows->is_missing = rows->is_held_missing;
        rows->is_held = false;
        return;
    }
    for (size_t i = 0; i <= rows->slot_count; i++) {
        rows->values[i] = NAN;
        if (rows->faults[i].count++ == 0) {
            rows->faults[i].line = rows->pending_lines[0];
        }
    }
    rows->row_line = rows->pending_lines[0];
    memmove(rows->pending_lines, rows->pending_lines + 1,
        sizeof rows->pending_lines - sizeof rows->pending_lines[0]);
    rows->pending_lines[TABLE_PENDING_LINES - 1] = 0;
    rows->is_missing = true;
    rows->pending--;
}

static void hold(struct table_rows *rows)
{
    swap_held(rows);
    rows->held_line = rows->row_line;
    rows->is_held_missing = rows->is_missing;
    rows->is_held = true;
    get_pending(rows);
}

enum status table_rows_next(struct table_rows *rows, bool *got, struct error *err)
{
    enum table_line_form form = TABLE_LINE_NONE;
    *got = true;
    if (rows->is_held) {
        get_pending(rows);
        rows->count++;
        return STATUS_OK;
    }
    while (form != TABLE_LINE_ROW) {
        bool is_end = true;
        enum status status = get_line(rows, &is_end, err);
        if (status != STATUS_OK || is_end) {
            *got = false;
            return status;
        }
        size_t line = rows->line;
        status = read_line(rows, &form, err);
        if (status != STATUS_OK) {
            return status;
        }
        if (form == TABLE_LINE_TEXT || form == TABLE_LINE_NAMES) {
            add_pending(rows, form, line);
        }
    }
    if (rows->second_header_line > 0) {
        return fail(err, STATUS_INPUT, "split the file: one table each",
            "line %zu of '%s' names columns amid the rows: another table begins there",
            rows->second_header_line, rows->text->path);
    }
    if (rows->pending > 0) {
        hold(rows);
    }
    rows->count++;
    return STATUS_OK;
}

/* --- the end ----------------------------------------------------------------------------------
 */

static size_t find_column(const struct table_rows *rows, int slot)
{
    size_t column = 0;
    while (column < rows->columns->count && rows->slots[column] != slot) {
        column++;
    }
    return column;
}

enum status table_rows_check(const struct table_rows *rows, struct error *err)
{
    for (size_t i = 0; i <= rows->slot_count; i++) {
        const struct table_fault *fault = &rows->faults[i];
        bool is_time = i == rows->slot_count;
        size_t column = find_column(rows, is_time ? TABLE_SLOT_TIME : (int)i);
        if (column == rows->columns->count || fault->count * 2 <= rows->count) {
            continue;
        }
        char place[TABLE_PLACE_SIZE];
        char first[TABLE_QUOTE_SIZE + 64] = "";
        if (fault->line > 0) {
            snprintf(
                first, sizeof first, ", the first on line %zu: '%s'", fault->line, fault->quote);
        }
        return fail(err, STATUS_INPUT,
            is_time ? "times are numbers, hh:mm:ss.sss, mm:ss.s, or dates such as 2024-01-31 "
                      "10:00:00.000"
                    : "choose a column of numbers; units belong into the header, not into the "
                      "cells",
            "%s of '%s' is no %s: %lld of its %lld cells hold none%s",
            table_column_get_place(rows->columns, column, place), rows->text->path,
            is_time ? "time" : "column of numbers", (long long)fault->count, (long long)rows->count,
            first);
    }
    return STATUS_OK;
}
