// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/columns.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/visible.h"
#include "cli/wrap.h"

#define CELL_SIZE 200
#define GAP 2

static void add(struct columns *table, const char *cell)
{
    visible_add(&table->words, cell, strlen(cell), ""); /* names come from files */
    text_add_bytes(&table->words, "", 1);
    table->count++;
}

void columns_add(struct columns *table, const char *format, ...)
{
    char cell[CELL_SIZE];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(cell, sizeof cell, format, arguments);
    va_end(arguments);
    add(table, cell);
}

void columns_add_text(struct columns *table, const char *words)
{
    add(table, words != NULL && words[0] != '\0' ? words : "-");
}

static const char *next(const char *cell)
{
    return cell + strlen(cell) + 1;
}

void columns_finish(struct columns *table, size_t indent, struct text *out)
{
    size_t widths[COLUMNS_MOST] = {0};
    const char *cell = table->words.bytes;
    if (table->words.failed) { /* cells are missing */
        out->failed = true;
        table->count = 0;
    }
    for (size_t i = 0; i < table->count; i++, cell = next(cell)) {
        const size_t width = text_width(cell), column = i % table->columns;
        widths[column] = width > widths[column] ? width : widths[column];
    }
    cell = table->words.bytes;
    for (size_t i = 0; i < table->count; i++, cell = next(cell)) {
        const size_t column = i % table->columns, width = text_width(cell);
        const bool is_last = column + 1 == table->columns;
        wrap_add_blanks(out, column == 0 ? indent : GAP);
        wrap_add_blanks(out, table->is_right[column] ? widths[column] - width : 0);
        text_add(out, cell);
        wrap_add_blanks(out, table->is_right[column] || is_last ? 0 : widths[column] - width);
        if (is_last) {
            text_add(out, "\n");
        }
    }
    text_clear(&table->words);
    table->count = 0;
}
