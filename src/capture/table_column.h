// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_COLUMN_H
#define LODECARD_CAPTURE_TABLE_COLUMN_H

#include <stddef.h>

#include "base/error.h"
#include "capture/table_dialect.h"
#include "capture/table_name.h"
#include "capture/table_scale.h"

struct table_column {
    char *header; /* the cell as it stands; "" when there is none */
    struct table_name name;
    bool has_two_units; /* in its header and, another one, in the row of units */
    bool is_text;       /* the head of the table has no number in it */
};

struct table_columns {
    struct table_column *list;
    size_t count;
    size_t header_line; /* for messages; 0: there is no header */
};

/* The columns of a dialect. The struct must be zeroed; table_columns_clear it in any case. */
enum status table_columns_init(struct table_columns *columns, const struct table_dialect *dialect,
    struct error *err) MUST_CHECK;
void table_columns_clear(struct table_columns *columns); /* safe on a zeroed struct and twice */

#define TABLE_NO_COLUMN ((size_t)-1)

/* The column (from 0) that a reference names: a number from 1, or a header text with or without its
 * unit, letters' case and blanks ignored. `path` is for messages. */
enum status table_columns_find(const struct table_columns *columns, const char *path,
    const char *reference, size_t *index, struct error *err) MUST_CHECK;

/* The column headed time or t; TABLE_NO_COLUMN when there is none. Two are an error. */
enum status table_columns_find_time(const struct table_columns *columns, const char *path,
    size_t *index, struct error *err) MUST_CHECK;

/* Where a column is, for messages: "column 3 'u2 (mV)'". */
#define TABLE_PLACE_SIZE 128
const char *table_column_get_place(
    const struct table_columns *columns, size_t index, char buffer[TABLE_PLACE_SIZE]);

/* Refuses a column whose unit cannot be read, or of which the header says two. */
enum status table_column_check(const struct table_columns *columns, const char *path, size_t index,
    struct error *err) MUST_CHECK;

/* Why a column cannot be read, in a few words; NULL when it can, as far as the head shows. */
const char *table_column_get_trouble(const struct table_column *column);

struct table_scale table_column_get_scale(const struct table_column *column);

#endif
