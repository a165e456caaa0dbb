// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_RUN_H
#define LODECARD_CAPTURE_TABLE_RUN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "capture/table_head.h"

/* Where in the head the rows are: the longest run of consecutive rows with the usual number of
 * cells. Rows ahead of it that a short, long or odd line cuts off belong to the table
 * too; what stands above a line that names columns does not. */

/* What the cells of one column are, over the rows of a run. */
struct table_tally {
    size_t values; /* numbers and clocks */
    size_t numbers;
    size_t points;  /* numbers that must have a decimal point */
    size_t commas;  /* numbers that must have a decimal comma */
    size_t grouped; /* of them, those that may be thousands */
    size_t broken;
    size_t texts;
    size_t empty;
};

struct table_run {
    size_t begin;                /* index of the first row */
    size_t end;                  /* behind the last */
    size_t columns;              /* of most rows; 0: there is no run */
    size_t rows;                 /* that have so many */
    size_t values;               /* in columns of numbers */
    size_t texts;                /* in columns of numbers */
    bool is_viable;              /* there is a column of numbers, and none of broken cells */
    struct table_tally *tallies; /* a column each, over the rows with that many cells */
};

enum status table_run_find(
    struct table_run *run, const struct table_head *head, struct error *err) MUST_CHECK;
void table_run_clear(struct table_run *run); /* safe on a zeroed struct and twice */

/* The line ahead of `index` that is neither blank nor a comment nor a ruler (only dashes and the
 * like); TABLE_NO_LINE when there is none. */
#define TABLE_NO_LINE ((size_t)-1)
size_t table_line_step_back(const struct table_head *head, size_t index);
bool table_line_is_ruler(const struct table_head *head, size_t index);

/* A column of which most cells are numbers. */
bool table_tally_is_number(const struct table_tally *tally);

/* A line that may name columns: at least two cells, all text and no two alike. */
enum status table_line_is_header(
    const struct table_head *head, size_t index, bool *is_header, struct error *err) MUST_CHECK;

#endif
