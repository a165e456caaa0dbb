// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_CAPTURE_TEXT_H
#define LODECARD_TESTS_CAPTURE_TEXT_H

#include "base/error.h"
#include "base/text.h"
#include "capture/capture.h"

/* Writes down all that a capture gives, for tests that compare it with what they expect:
 *
 *     commas, decimal points, UTF-8; time in steps of 0.001 s
 *     2 u2 [mV: voltage], 3 i [A: current], 4 status
 *     0: 0.0015 2 -
 *     missing 1: line 2
 *
 * A channel is its column, name and unit; a row its time and values, - where missing. The steps are
 * those of the whole table. All channels, or those whose columns `only` lists (ends in 0). */
enum status capture_text_describe(const char *path, const struct capture_options *options,
    const size_t *only, struct text *out, struct error *err);

#endif
