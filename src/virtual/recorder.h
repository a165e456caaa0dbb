// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_RECORDER_H
#define LODECARD_VIRTUAL_RECORDER_H

#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "loop/loop.h"
#include "virtual/clock.h"
#include "virtual/gaps.h"
#include "virtual/ring.h"
#include "virtual/signal.h"

/* The recording, row by row: both signals at their sampling instants, with the faults of the two
 * inputs. Any row is computed from its number alone. */
struct recorder {
    const struct ring *ring; /* borrowed */
    uint64_t seed;
    struct clock clock;
    struct signal signals[RING_INPUTS];
    struct gaps gaps;
    size_t rows; /* of the file */
};

enum status recorder_create(struct recorder *recorder, const struct ring *ring,
    const struct fourier_loop *waves, uint64_t seed, struct error *err) MUST_CHECK;
void recorder_clear(struct recorder *recorder);

/* Rows from `first` on, at most SIGNAL_BLOCK: values[input][i] in the unit of the input (volt, or
 * the column's in SI), NaN where blank; times[i] in s as the logger's clock has them (0 for a
 * trace). */
void recorder_compute(const struct recorder *recorder, size_t first, size_t count,
    double values[RING_INPUTS][SIGNAL_BLOCK], double times[SIGNAL_BLOCK]);

#endif
