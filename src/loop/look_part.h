// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_LOOK_PART_H
#define LODECARD_LOOP_LOOK_PART_H

#include "capture/capture.h"
#include "loop/look.h"

/* The parts of look_read; look.c puts them together. */

/* Reads the capture once and fills the channels first ... first + count - 1 (at most LOOK_GROUP),
 * which are selected in it, and the sampling. Finishes the capture. */
enum status look_take_group(struct capture *capture, struct look *look, size_t first, size_t count,
    struct error *err) MUST_CHECK;

/* Finds the excitation and the pickup among the channels. */
void look_find_pair(struct look *look);

/* Adds what the user should know. */
void look_add_notes(struct look *look);

#endif
