// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_CSV_H
#define LODECARD_CLI_LOOP_CSV_H

#include "base/text.h"
#include "cli/loop_job.h"

/* Loops as comma-separated values (RFC 4180, but lines end in LF): file, sha256, specimen, then
 * every figure of the table with its standard uncertainty, then the codes of the notes, parted by
 * blanks, and the error of a capture without a result. A figure that a loop does not have is an
 * empty cell; the columns are always the same. */
void loop_csv_add_heading(struct text *out);
void loop_csv_add_line(struct text *out, const struct loop_job *job);

#endif
