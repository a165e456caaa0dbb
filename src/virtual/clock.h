// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_CLOCK_H
#define LODECARD_VIRTUAL_CLOCK_H

#include <stddef.h>

#include "virtual/ring.h"

/* Where in the cycle a row of the recording was sampled. */
struct clock {
    double frequency_Hz;         /* of the drive; 0: a trace */
    double true_rate_Hz;         /* rows a second, clock error included */
    double turns_per_row;        /* trace */
    double start_turns;          /* phase of the first row */
    double frequency_drift;      /* relative, per second */
    double middle_s;             /* of the recording */
    double delay_s[RING_INPUTS]; /* by how much later each input samples */
};

void clock_init(struct clock *clock, const struct ring *ring);

/* The phase, in turns and within [0, 1), of an input's sample in a row, and `offset_s` later (a
 * jitter). Right to 2e-16 turns at any row: the number of cycles before it is formed in twofold
 * precision. */
double clock_get_turns(
    const struct clock *clock, enum ring_input input, size_t row, double offset_s);

/* Seconds from the middle of the recording, and the momentary frequency over the nominal one. */
double clock_get_age(const struct clock *clock, size_t row);
double clock_get_pace(const struct clock *clock, size_t row);

#endif
