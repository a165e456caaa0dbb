// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_RING_TEXT_H
#define LODECARD_TESTS_RING_TEXT_H

#include "virtual/ring.h"

/* A ring.yaml in parts: a part that is NULL is the plain one (a tanh loop of 60 kA/m at 20 Hz, a
 * sound card of 48 kHz with 64-bit samples, 40.3 cycles from 35 degree on). */
struct ring_text {
    const char *source;
    const char *recording;
    const char *rig;
    const char *specimen;
    const char *faults; /* NULL: none */
};

/* Reads it, or fails the test. */
void ring_text_read(const struct ring_text *text, struct ring *ring);

/* Reads it and returns the failure's message, "" when there is none. Valid until the next call. */
const char *ring_text_get_error(const struct ring_text *text);

#endif
