// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_CELL_H
#define LODECARD_CAPTURE_TABLE_CELL_H

#include <stdbool.h>
#include <stddef.h>

/* The cells of one line of a logger table, and what stands in them. */

#define TABLE_CELL_LIMIT 4096 /* bytes */
#define TABLE_ONE_COLUMN '\n' /* a separator that never stands in a line: the line is one cell */
#define TABLE_DECIMAL_UNKNOWN '\0' /* whole numbers only so far */

/* Goes over a line cell by cell. `limit` stands behind a line end, so that every walk ends there.
 * Blanks as separators: runs of blanks and tabs count as one, at either end of the line as none. */
struct table_cursor {
    const char *at;
    const char *limit;
    char separator;   /* ',' ';' '\t' ' ' or TABLE_ONE_COLUMN */
    size_t newlines;  /* line ends inside quotes so far */
    bool joins_dates; /* blanks do not part a date from its clock; false after init */
    bool is_cell_due; /* at the line's begin, or behind a separator */
    char unquoted[TABLE_CELL_LIMIT]; /* of a cell with "" inside */
};

struct table_cell {
    const char *text; /* without quotes and the blanks around; valid until the next cell is taken */
    size_t length;
    bool is_quoted;
};

enum table_take {
    TABLE_TAKE_CELL,
    TABLE_TAKE_END, /* the line has no more: cursor->at is on its end, see table_cursor_next_line */
    TABLE_TAKE_OPEN, /* a quote does not close before the limit */
    TABLE_TAKE_LONG, /* the cell is longer than TABLE_CELL_LIMIT */
};

void table_cursor_init(
    struct table_cursor *cursor, const char *at, const char *limit, char separator);
enum table_take table_cursor_take(struct table_cursor *cursor, struct table_cell *cell);

/* Where the line behind `at` (which is on a line end) begins. */
const char *table_skip_line_end(const char *at, const char *limit);

/* A line that begins like a comment: with #, %, // or (unless that is the separator) ;. The rows
 * "#N/A,1.5" and the like are told apart by their first cell, which is TABLE_KIND_MISSING. */
bool table_is_comment(const char *at, char separator);

/* What stands in a cell: bits, because a whole number is one with either decimal sign. */
enum table_kind {
    TABLE_KIND_POINT = 1, /* a number with a decimal point, or a whole number */
    TABLE_KIND_COMMA = 2, /* a number with a decimal comma, or a whole number */
    TABLE_KIND_CLOCK = 4, /* a clock, or a date with a clock */
    TABLE_KIND_DATE = 8,  /* a date alone */
    TABLE_KIND_EMPTY = 16,
    TABLE_KIND_MISSING = 32, /* empty, or a word that loggers write for a missing value */
    TABLE_KIND_GROUPED = 64, /* the comma may as well part thousands: 1,234 */
    TABLE_KIND_BROKEN = 128, /* digits and signs, and yet no number: 1,234.5 or 1;2 */
};
#define TABLE_KIND_NUMBER (TABLE_KIND_POINT | TABLE_KIND_COMMA)
#define TABLE_KIND_WHOLE (TABLE_KIND_POINT | TABLE_KIND_COMMA) /* both of them */
#define TABLE_KIND_VALUE (TABLE_KIND_NUMBER | TABLE_KIND_CLOCK)

/* The bits of a cell; 0 for other text. */
unsigned table_cell_find_kind(const struct table_cell *cell);

/* Reads a cell that is a number and nothing else. `decimal` is '.', ',' or TABLE_DECIMAL_UNKNOWN.
 * Infinite values, and those that SCPI instruments write for an overload or no value (9.9e37,
 * 9.91e37), are not read. */
bool table_cell_read_number(const char *text, size_t length, char decimal, double *value);

#endif
