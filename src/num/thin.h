// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_THIN_H
#define LODECARD_NUM_THIN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Which points of the polygon y(x) may be left out, so that the straight lines between those that
 * stay leave none of the others by more than `bound` (in y). x rises strictly. `keep` is true on
 * entry for points that must stay; the two ends always do. */
enum status thin_compute(const double *x, const double *y, size_t count, double bound, bool *keep,
    struct error *err) MUST_CHECK;

#endif
