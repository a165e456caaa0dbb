// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_RING_LAYOUT_H
#define LODECARD_VIRTUAL_RING_LAYOUT_H

#include "setup/schema.h"
#include "virtual/ring.h"

/* The part of ring_check that is about the recording: its time axis, its length, its columns and
 * how many harmonics it carries. Sets is_table, has_time_column, sample_rate_Hz, frequency_Hz, rows
 * and harmonics. */
void ring_layout_check(struct schema_reading *reading, struct ring *ring);

/* The column or channel, from 0, of an input: what the rig's number says, or, where the rig names a
 * header text, the first that is free. */
size_t ring_layout_get_column(const struct ring *ring, enum ring_input input);

/* How many value columns (a table's time column is not counted) or audio channels there are. */
size_t ring_layout_get_columns(const struct ring *ring);

#endif
