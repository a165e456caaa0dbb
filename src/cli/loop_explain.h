// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_EXPLAIN_H
#define LODECARD_CLI_LOOP_EXPLAIN_H

#include "base/text.h"
#include "cli/loop_job.h"

/* A page in plain words about one capture, 80 columns wide: how each figure was made, with the
 * numbers of this capture in the formulae; what limits it; what its notes mean. */
void loop_explain_add(struct text *out, const struct loop_job *job);

#endif
