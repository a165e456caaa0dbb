// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_TIME_H
#define LODECARD_CAPTURE_TABLE_TIME_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "capture/table_scale.h"

/* The time column of a table, row by row, in seconds.
 *
 * The first cell that can be read says how the others are: as numbers, or as clocks
 * (table_clock.h). Numbers are given as they stand, scaled by their unit. Clocks, and counts with
 * ten digits or more ahead of the decimal sign (seconds since 1970 and the like), are given since
 * the first row, so that no digit is lost. A clock without a date that falls back by more than half
 * a day (without hours: half an hour) has passed midnight (the full hour). */
struct table_time {
    struct table_scale scale; /* of the header's unit; of no meaning to clocks */
    enum { TABLE_TIME_NEW, TABLE_TIME_NUMBER, TABLE_TIME_COUNT, TABLE_TIME_CLOCK } form;
    /* numbers: what was printed, over all rows */
    int decimals;       /* most digits behind the decimal sign, exponents taken in */
    int digits;         /* most significant digits */
    int exponent;       /* of ten, of the largest value */
    int64_t base_whole; /* counts */
    double base_rest;
    /* clocks */
    int64_t base_seconds;
    int64_t base_attoseconds;
    int64_t last_seconds;
    int64_t carry_seconds;
    double clock_quantum_s; /* the finest seen */
    bool has_date;
    bool has_zone;
    bool has_hours;
};

void table_time_init(struct table_time *time, struct table_scale scale);

/* Reads one cell; false when it is no time of the column's form. */
bool table_time_read(
    struct table_time *time, const char *text, size_t length, char decimal, double *seconds);

/* The step of the last printed digit where the times are largest; 0 when none was read.
 *
 * Rows may drop trailing zeros (0.5 among 0.512), and with a fixed number of significant digits the
 * step grows with the time: it is the larger of 10^-(most decimals) and the last of the most
 * significant digits at the largest time. */
double table_time_get_quantum(const struct table_time *time);

#endif
