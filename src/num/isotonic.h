// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_ISOTONIC_H
#define LODECARD_NUM_ISOTONIC_H

#include <stddef.h>

#include "base/error.h"

/* The sequence that never falls and is nearest to `values` in the sense of least squares, into
 * `fit` (which may be `values`). */
enum status isotonic_compute(
    const double *values, size_t count, double *fit, struct error *err) MUST_CHECK;

#endif
