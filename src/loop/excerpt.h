// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_EXCERPT_H
#define LODECARD_LOOP_EXCERPT_H

#include <stddef.h>

#include "base/error.h"

/* The first frames of an even record of two channels, at most STRAY_FRAMES, kept for what is looked
 * for in the residual of its fit. A zeroed struct is empty. */
struct excerpt {
    double *values; /* two to a frame; NaN where missing */
    size_t count, capacity;
};

enum status excerpt_add(
    struct excerpt *excerpt, const double *values, size_t frames, struct error *err) MUST_CHECK;
enum status excerpt_add_missing(
    struct excerpt *excerpt, size_t frames, struct error *err) MUST_CHECK;
/* How many samples of channel m have the highest value (sign 1; -1: the lowest), and how many the
 * next one that occurs. */
void excerpt_count_extreme(
    const struct excerpt *excerpt, size_t m, double sign, size_t *outermost, size_t *next);

void excerpt_clear(struct excerpt *excerpt);

#endif
