// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_COLUMNS_H
#define LODECARD_CLI_COLUMNS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

/* A table for the terminal: cells are added one after the other, row by row; columns become as wide
 * as they must be, two blanks apart. A zeroed struct with `columns` set is an empty table. */
#define COLUMNS_MOST 16
struct columns {
    size_t columns;
    bool is_right[COLUMNS_MOST]; /* numbers */
    struct text words;           /* the cells, each behind the other with a zero byte between */
    size_t count;                /* of cells */
};

/* Adds a cell; printf's format, up to 199 bytes. Zero bytes end it. */
void columns_add(struct columns *table, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/* Adds a cell of any length; "-" for NULL and "". */
void columns_add_text(struct columns *table, const char *words);

/* Adds the table to a text, each line behind `indent` blanks, and clears it. */
void columns_finish(struct columns *table, size_t indent, struct text *out);

#endif
