// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_COLUMNS_H
#define LODECARD_VIRTUAL_COLUMNS_H

#include <stddef.h>

#include "base/error.h"
#include "capture/writer.h"
#include "virtual/ring.h"

#define COLUMN_HEADER_SIZE 360

/* Where the two inputs stand in the file, by what factor, and under which headers: what the rig
 * says (channel numbers, or header texts with or without a unit) read backwards. */
struct columns {
    size_t count;                /* value columns or audio channels */
    size_t index[RING_INPUTS];   /* of them */
    double divisor[RING_INPUTS]; /* full scale of audio, or the unit of the column */
    char headers[RING_INPUTS][COLUMN_HEADER_SIZE]; /* tables */
    char time_header[COLUMN_HEADER_SIZE];          /* tables; "": no time column */
};

/* STATUS_INPUT when a header's unit is not that of its input. */
enum status columns_init(
    struct columns *columns, const struct ring *ring, struct error *err) MUST_CHECK;

/* The writer of the ring's capture, at that path. */
enum status columns_create_writer(const struct columns *columns, const struct ring *ring,
    const char *path, struct writer **writer, struct error *err) MUST_CHECK;

#endif
