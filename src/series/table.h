// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SERIES_TABLE_H
#define LODECARD_SERIES_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "capture/table_cell.h"
#include "series/table_column.h"

/* A table whose first line, comments apart, names its columns: of measured loops, or of the points
 * of a curve. Commas, semicolons or tabs part the cells; with the latter two decimals may be
 * commas. */
#define TABLE_COLUMNS 256

struct loop_table {
    const char *path; /* for messages */
    char separator;
    char decimal;
    struct table_role_column columns[TABLE_COLUMNS];
    size_t count;
    struct text unused; /* names of columns that are not read, in quotes */
    struct table_cursor cursor;
    size_t line; /* of the row that is being read, from 1 */
};

/* Reads the header; the last of `bytes` is a line end. STATUS_INPUT names file, line and column. */
enum status loop_table_init(struct loop_table *table, const char *path, const char *bytes,
    size_t length, struct error *err) MUST_CHECK;
void loop_table_clear(struct loop_table *table);

bool loop_table_has(const struct loop_table *table, enum table_role role, enum figure figure);

/* Goes to the next row that is neither blank nor a comment; false at the end. */
bool loop_table_next(struct loop_table *table);

/* Calls `take` for each cell of the row that has a role and is not empty. `value` is in SI; NaN
 * for texts. STATUS_INPUT for a cell that should be a number and is none, and for more cells than
 * columns. */
typedef enum status loop_table_take(const struct table_role_column *column, const char *words,
    double value, void *user, struct error *err);
enum status loop_table_read_row(
    struct loop_table *table, loop_table_take *take, void *user, struct error *err) MUST_CHECK;

#endif
