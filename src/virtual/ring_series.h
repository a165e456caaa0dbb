// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_RING_SERIES_H
#define LODECARD_VIRTUAL_RING_SERIES_H

#include "base/error.h"
#include "virtual/ring.h"

/* Reads series->words, one term a line (or between semicolons), "harmonic: amplitude, phase":
 *
 *     1: 8 kA/m, 0 deg
 *     3: 900 A/m, 0.3 rad
 *
 * into its terms. Harmonic 0 is a constant and has no phase; only
 * a field may have one. STATUS_INPUT names the term. */
enum status ring_series_read(
    struct ring_series *series, enum dimension dimension, struct error *err) MUST_CHECK;

void ring_series_clear(struct ring_series *series); /* but for its words */

/* The highest harmonic; 0 when there are no terms. */
size_t ring_series_get_harmonics(const struct ring_series *series);

#endif
