// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_table.h"

#include <stdarg.h>
#include <stdio.h>

#include "base/memory.h"
#include "paper/markup.h"

void report_table_add_markup(struct report_table *table, const char *markup)
{
    char **cells =
        memory_reserve(table->cells, &table->capacity, table->count + 1, sizeof *table->cells);
    if (cells == NULL) {
        table->failed = true;
        return;
    }
    table->cells = cells;
    table->cells[table->count] = memory_copy_text(markup);
    table->failed = table->failed || table->cells[table->count] == NULL;
    table->count++;
}

void report_table_add(struct report_table *table, const char *format, ...)
{
    struct text markup = {0};
    va_list list, again;
    va_start(list, format);
    va_copy(again, list);
    const int length = vsnprintf(NULL, 0, format, list);
    char *words = memory_create(length > 0 ? (size_t)length + 1 : 1, 1);
    if (words != NULL && length > 0) {
        vsnprintf(words, (size_t)length + 1, format, again);
    }
    va_end(again);
    va_end(list);
    markup_add(&markup, words != NULL && words[0] != '\0' ? words : "\u2013");
    table->failed = table->failed || words == NULL || markup.failed;
    report_table_add_markup(table, markup.failed ? "" : markup.bytes);
    text_clear(&markup);
    memory_destroy(words);
}

static void clear(struct report_table *table, struct document *document)
{
    for (size_t i = 0; i < table->count; i++) {
        memory_destroy(table->cells[i]);
    }
    memory_destroy(table->cells);
    if (table->failed) {
        document_set_failed(document);
    }
    table->cells = NULL;
    table->count = table->capacity = 0;
}

void report_table_finish(struct report_table *table, struct document *document, const char *caption)
{
    const struct document_table made = {.caption = caption,
        .columns = table->columns,
        .rows = table->count / table->columns,
        .headings = table->headings,
        .cells = (const char *const *)table->cells,
        .is_number = table->is_number};
    if (!table->failed && made.rows > 0) {
        document_add_table(document, &made);
    }
    clear(table, document);
}

void report_table_finish_identity(struct report_table *table, struct document *document)
{
    const size_t rows = table->count / 2;
    const char **names = memory_create(2 * rows + 1, sizeof *names);
    const char **values = names != NULL ? names + rows : NULL;
    table->failed = table->failed || names == NULL;
    for (size_t i = 0; i < rows && !table->failed; i++) {
        names[i] = table->cells[2 * i];
        values[i] = table->cells[2 * i + 1];
    }
    if (!table->failed && rows > 0) {
        document_add_identity(document, names, values, rows);
    }
    memory_destroy(names);
    clear(table, document);
}
