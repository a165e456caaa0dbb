// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_TICKS_H
#define LODECARD_PAPER_TICKS_H

#include <stddef.h>

/* Marks of a linear axis: the whole multiples of a step of 1, 2 or 5 times a power of ten that lie
 * within the limits. */
struct ticks {
    double step;
    long long first; /* the first tick is first * step */
    size_t count;
    int decimals; /* that their labels need */
};

/* About `wanted` ticks (at least 2), never more than 1.6 times as many. Limits must be finite,
 * least < most. */
void ticks_compute(double least, double most, size_t wanted, struct ticks *ticks);

double ticks_get(const struct ticks *ticks, size_t index);

/* The label of a tick, with a true minus sign (U+2212). */
#define TICK_LABEL_SIZE 40
const char *ticks_write_label(const struct ticks *ticks, size_t index, char label[TICK_LABEL_SIZE]);

#endif
