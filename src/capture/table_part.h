// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_PART_H
#define LODECARD_CAPTURE_TABLE_PART_H

#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"
#include "capture/capture.h"

/* The part of a table that is asked for (start and length), row by row.
 *
 * With a sample rate it is counted in rows, rounded as for recordings. With a time column it begins
 * at the first row whose time is `start` after the first known one, and ends ahead of the row that
 * is `length` later; rows with unknown times belong to what is around them. */
struct table_part {
    double start_s;
    double length_s;       /* 0: to the end */
    double sample_rate_Hz; /* 0: by times */
    double first_s;        /* the first known time; NaN before */
    double last_s;
    int64_t rows; /* seen so far */
    bool has_begun;
};

enum table_place { TABLE_PLACE_AHEAD, TABLE_PLACE_INSIDE, TABLE_PLACE_BEHIND };

/* `sample_rate_Hz` 0: rows have times. */
void table_part_init(
    struct table_part *part, const struct capture_options *options, double sample_rate_Hz);

/* Where the next row is; `seconds` is its time, NaN when unknown, of no meaning with a rate. */
enum table_place table_part_find(struct table_part *part, double seconds);

/* At the table's end: an error when the part never began. */
enum status table_part_check(
    const struct table_part *part, const char *path, struct error *err) MUST_CHECK;

#endif
