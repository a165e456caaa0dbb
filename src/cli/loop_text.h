// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_TEXT_H
#define LODECARD_CLI_LOOP_TEXT_H

#include "base/text.h"
#include "cli/loop_job.h"

/* Loops as tables that people read, 80 columns wide. */

/* One capture: what was read, all its figures, the two sides of the loop, its notes. */
void loop_text_add(struct text *out, const struct loop_job *job);

/* Several captures: a line each with the figures that people compare, and their notes below. */
void loop_text_add_heading(struct text *out);
void loop_text_add_line(struct text *out, const struct loop_job *job);

/* The notes of one capture. Fatal ones are left out: they are the error. With several captures
 * `name` goes ahead of each note, and notes for information come without their hints; else NULL. */
void loop_text_add_notes(struct text *out, const struct notes *notes, const char *name);

#endif
