// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_HEADER_H
#define LODECARD_CAPTURE_TABLE_HEADER_H

#include <stddef.h>

#include "base/error.h"
#include "capture/table_head.h"
#include "capture/table_run.h"

/* The line above the rows that names the columns, and the row of units below it. */

struct table_cells {
    char **list;
    size_t count;
};

struct table_header {
    size_t line; /* index of the line; TABLE_NO_LINE: there is none */
    struct table_cells names;
    struct table_cells units; /* count 0: there is no row of units */
    size_t columns;           /* of the table: those that are named, or those of most rows */
};

/* Finds the header of a run: the nearest line above it with as many cells, or a comment with as
 * many; a line of nothing but units between it and the rows. A line that clearly is a header (it
 * has units, or a column called time) and has fewer cells than the rows is an error. The struct
 * must be zeroed; table_header_clear it in any case. */
enum status table_header_find(struct table_header *header, const struct table_head *head,
    const struct table_run *run, struct error *err) MUST_CHECK;
void table_header_clear(struct table_header *header); /* safe on a zeroed struct and twice */

#endif
