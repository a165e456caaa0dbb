// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_TRUTH_H
#define LODECARD_VIRTUAL_TRUTH_H

#include <stdint.h>

#include "base/error.h"
#include "base/text.h"
#include "loop/loop.h"
#include "quantity/figure.h"
#include "virtual/ring.h"

/* The figures of the waves themselves, without any fault: those that a loop read from the
 * recording can have (a trace has no frequency, and nothing that needs one). */
enum status truth_compute(const struct ring *ring, const struct fourier_loop *waves,
    struct figures *figures, struct error *err) MUST_CHECK;

/* Adds the "lodecard-truth/1" object: figures, the series, how they were made, and the faults of
 * the recording. `file` is the capture's name, `rows` how many it has. */
enum status truth_write_json(const struct ring *ring, const struct fourier_loop *waves,
    const char *file, size_t rows, uint64_t seed, struct text *out, struct error *err) MUST_CHECK;

#endif
