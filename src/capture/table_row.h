// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_ROW_H
#define LODECARD_CAPTURE_TABLE_ROW_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "capture/table_cell.h"
#include "capture/table_column.h"
#include "capture/table_text.h"
#include "capture/table_time.h"

/* The rows of a table, one by one.
 *
 * What is a row:
 *     a line with a number or a clock in any column: a row; cells that it lacks are missing
 *     a blank line, a comment: none
 *     other text, or nothing but empty cells: a row of missing cells when rows follow, a footer
 *         (no row) when none does
 *     a line that names columns again, followed by rows: an error, the file holds two tables
 * More cells than the table has columns are an error, unless those are empty. */

#define TABLE_SLOT_NONE (-1)
#define TABLE_SLOT_TIME (-2)

#define TABLE_PENDING_LINES 16 /* whose numbers are kept */

/* The cells of one wanted column that were no numbers. */
struct table_fault {
    int64_t count;
    size_t line; /* of the first */
    char quote[TABLE_QUOTE_SIZE];
};

struct table_rows {
    struct table_text *text; /* borrowed, like the next */
    const struct table_columns *columns;
    char separator;
    char decimal;
    bool joins_dates;
    size_t line; /* number of the line at the begin of the window */
    int *slots;  /* a column each: where its value goes, or TABLE_SLOT_NONE or _TIME */
    size_t slot_count;
    struct table_scale *scales; /* a slot each */
    struct table_time time;
    bool ends_cell[256];  /* separators and line ends */
    bool starts_odd[256]; /* a line that begins so is not read the plain way */
    struct table_cursor cursor;
    /* the row read last */
    double *values;  /* a slot each, NaN where missing; behind them the time in seconds */
    size_t row_line; /* 0: not known, of a line of text behind many others */
    bool is_missing; /* a wanted cell is no number */
    /* lines of text, whose meaning depends on whether rows follow */
    size_t pending;
    size_t pending_lines[TABLE_PENDING_LINES];
    size_t second_header_line; /* 0: none */
    bool is_held;              /* a row waits in held_values until the pending ones are out */
    double *held_values;
    size_t held_line;
    bool is_held_missing;
    int64_t count;              /* rows read */
    struct table_fault *faults; /* a slot each, the time behind them */
};

/* Prepares for the columns whose slots are given: `slots` (columns->count of them) is taken over.
 * The struct must be zeroed but for text, columns, separator, decimal, joins_dates, line
 * and time; `columns`
 * must outlive it. table_rows_clear it in any case. */
enum status table_rows_init(
    struct table_rows *rows, int *slots, size_t slot_count, struct error *err) MUST_CHECK;
void table_rows_clear(struct table_rows *rows); /* safe on a zeroed struct and twice */

/* Reads the next row into values, row_line and is_missing; *got is false at the end. */
enum status table_rows_next(struct table_rows *rows, bool *got, struct error *err) MUST_CHECK;

/* The two ways to read the line at the begin of the window, of which whole lines are there. The
 * plain one takes a row of nothing but plain cells and returns false where it cannot: the careful
 * one then says what the line is. Both go on to the next line. */
enum table_line_form {
    TABLE_LINE_ROW,
    TABLE_LINE_NONE,  /* blank, or a comment */
    TABLE_LINE_TEXT,  /* text or nothing but empty cells */
    TABLE_LINE_NAMES, /* text that names columns again */
    TABLE_LINE_CUT,   /* a quote does not close in the window: fill it and come again */
};
bool table_row_read_plain(struct table_rows *rows);
enum status table_row_read_careful(
    struct table_rows *rows, enum table_line_form *form, struct error *err) MUST_CHECK;

/* At the end: an error when most cells of a wanted column are no numbers. */
enum status table_rows_check(const struct table_rows *rows, struct error *err) MUST_CHECK;

#endif
