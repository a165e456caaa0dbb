// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_HEAD_H
#define LODECARD_CAPTURE_TABLE_HEAD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "capture/table_text.h"

/* The first lines of a table under the supposition of one separator: what stands in every cell, and
 * where the rows of numbers are. */

#define TABLE_HEAD_LINES 500   /* lines that are looked at */
#define TABLE_SEARCH_LINES 200 /* of them, the rows must begin within these */
#define TABLE_COLUMN_LIMIT 1024

struct table_line {
    size_t offset; /* from the begin of the window's text */
    size_t number; /* from 1, as an editor counts */
    size_t count;  /* cells; 0: blank, or no line that can be taken apart */
    size_t first;  /* its cells' kinds begin here */
    size_t values; /* cells that are numbers or clocks */
    size_t broken; /* cells of TABLE_KIND_BROKEN */
    size_t texts;  /* cells of no kind */
    bool is_comment;
};

struct table_head {
    const struct table_text *text; /* borrowed: not to be filled meanwhile */
    char separator;
    char decimal;     /* '.' or ',' when that is known: numbers with the other are broken */
    bool joins_dates; /* see table_cell.h; set before reading */
    struct table_line *lines;
    size_t count;
    size_t capacity;
    unsigned char *kinds; /* enum table_kind of every cell */
    size_t kind_count;
    size_t kind_capacity;
    size_t wide_line; /* the first with more than TABLE_COLUMN_LIMIT cells; 0: there is none */
};

/* Takes the lines apart. `head` is zeroed but for separator, decimal and joins_dates. */
enum status table_head_read(
    struct table_head *head, const struct table_text *text, struct error *err) MUST_CHECK;
void table_head_clear(struct table_head *head); /* safe on a zeroed struct and twice */

/* The text of a line, and of cell `column` (from 0) of it: copies to be freed with memory_destroy;
 * NULL when out of memory. Blanks and line ends inside become single blanks. Of a comment the text
 * behind its sign is taken apart. */
char *table_head_copy_cell(const struct table_head *head, size_t line, size_t column);
char *table_head_copy_line(const struct table_head *head, size_t line);

#endif
