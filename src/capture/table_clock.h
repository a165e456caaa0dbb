// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_CLOCK_H
#define LODECARD_CAPTURE_TABLE_CLOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A time of day, an elapsed time or a date with a time, as loggers write them:
 *
 *     [date blank-or-T] clock [zone]
 *     date   YYYY-MM-DD, YYYY/MM/DD or DD.MM.YYYY (ISO 8601 and the form with points)
 *     clock  hh:mm:ss[.fff] or mm:ss[.fff]; with a date also hh:mm; the fraction after . or ,
 *     zone   Z, +hh:mm, +hhmm or +hh, likewise -
 *
 * Dates like 5/1/2024, whose day and month change places between countries, are not read. */
struct table_clock {
    int64_t seconds;     /* since 1970-01-01 UTC, or midnight, or the full hour (mm:ss) */
    int64_t attoseconds; /* the fraction: 1e-18 s, below one second */
    double quantum_s;    /* the step of the last printed digit */
    bool has_date;
    bool has_zone;
    bool has_hours;
};

/* Reads a cell that is a clock and nothing else. */
bool table_clock_read(const char *text, size_t length, struct table_clock *clock);

/* A date in one of the forms above or with strokes, alone or with a time that is not read. */
bool table_is_date(const char *text, size_t length);

#endif
