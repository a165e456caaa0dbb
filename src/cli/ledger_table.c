// SPDX-License-Identifier: GPL-3.0-or-later
/* Tables of the ledger, for people. */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/visible.h"
#include "cli/ledger.h"
#include "cli/wrap.h"
#include "quantity/display.h"

#define DIGITS 4
#define COLUMNS_MOST 32

void ledger_table_add(struct ledger_table *table, const char *words)
{
    char **cells = memory_reserve(table->cells, &table->capacity, table->count + 1, sizeof *cells);
    if (cells)
        table->cells = cells;
    struct text cell = {0};
    visible_add(&cell, words && *words ? words : "-", words && *words ? strlen(words) : 1, "");
    if (cells && !cell.failed)
        table->cells[table->count++] = cell.bytes;
    else {
        text_clear(&cell);
        table->failed = true;
    }
}

void ledger_table_add_number(struct ledger_table *table, long long number)
{
    char cell[32];
    snprintf(cell, sizeof cell, "%lld", number);
    ledger_table_add(table, cell);
}

void ledger_table_add_figure(
    struct ledger_table *table, enum figure figure, const struct figure_value *value)
{
    char cell[2 * DISPLAY_SIZE] = "";
    struct figure_value plain = *value;
    plain.has_u = false;
    if (plain.is_present) {
        struct display display;
        display_set_figure(&display, figure, &plain, DIGITS);
        snprintf(
            cell, sizeof cell, "%s%s%s", display.value, *display.unit ? " " : "", display.unit);
    }
    ledger_table_add(table, cell);
}

void ledger_table_write(struct text *out, const struct ledger_table *table)
{
    size_t widths[COLUMNS_MOST] = {0};
    if (table->failed)
        out->failed = true;
    for (size_t i = 0; i < table->count; i++) {
        size_t width = text_width(table->cells[i]);
        if (width > widths[i % table->columns])
            widths[i % table->columns] = width;
    }
    for (size_t i = 0; i < table->count; i++) {
        size_t column = i % table->columns, width = text_width(table->cells[i]);
        bool is_last = column + 1 == table->columns, is_right = table->right >> column & 1;
        size_t blanks = widths[column] - width;
        if (is_right)
            wrap_add_blanks(out, blanks);
        text_add(out, table->cells[i]);
        if (!is_right && !is_last)
            wrap_add_blanks(out, blanks);
        text_add(out, is_last ? "\n" : "  ");
    }
}

void ledger_table_clear(struct ledger_table *table)
{
    for (size_t i = 0; i < table->count; i++)
        memory_destroy(table->cells[i]);
    memory_destroy(table->cells);
    *table = (struct ledger_table){0};
}
