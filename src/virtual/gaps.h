// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_GAPS_H
#define LODECARD_VIRTUAL_GAPS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "virtual/ring.h"

/* Runs of rows that a recording lost: dropped (the rows after them move up; a table's time column
 * jumps), blank (empty cells; silence in audio), held (the row before the gap, again and again), or
 * repeated (the rows before them once more).
 * Their places are random, one in each of as many equal parts of the recording. */
struct gaps {
    enum ring_missing kind;
    size_t *starts; /* ascending rows of the undisturbed recording */
    size_t count;
    size_t length; /* rows of each */
};

enum status gaps_create(
    struct gaps *gaps, const struct ring *ring, uint64_t seed, struct error *err) MUST_CHECK;
void gaps_clear(struct gaps *gaps);

/* How many rows are left of `rows`. */
size_t gaps_get_rows(const struct gaps *gaps, size_t rows);

/* The row of the undisturbed recording that stands at a place, and whether it is blank. */
size_t gaps_find_row(const struct gaps *gaps, size_t place, bool *is_blank);

#endif
