// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_TICKS_H
#define LODECARD_PAPER_TICKS_H

#include <stdbool.h>
#include <stddef.h>

/* Marks of an axis; of a linear one: the whole multiples of a step of 1, 2 or 5 times a power of
 * ten that lie within the limits. */
struct ticks {
    double step;
    long long first; /* the first tick is first * step */
    size_t count;
    int decimals; /* that their labels need */
    bool is_log;  /* of a logarithmic axis: multiples of powers of ten */
    double list[24];
};

/* About `wanted` ticks (at least 2), never more than 1.6 times as many. Limits must be finite,
 * least < most. */
void ticks_compute(double least, double most, size_t wanted, struct ticks *ticks);

/* Marks of a logarithmic axis, 0 < least < most: powers of ten (every n-th if there are many); with
 * their 2 and 5 times where there would be fewer than 4, and all nine multiples where fewer still.
 */
void ticks_compute_log(double least, double most, struct ticks *ticks);

double ticks_get(const struct ticks *ticks, size_t index);

/* The label of a tick, with a true minus sign (U+2212). */
#define TICK_LABEL_SIZE 40
const char *ticks_write_label(const struct ticks *ticks, size_t index, char label[TICK_LABEL_SIZE]);

#endif
