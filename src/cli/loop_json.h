// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_JSON_H
#define LODECARD_CLI_LOOP_JSON_H

#include "base/text.h"
#include "cli/loop_job.h"

/* A loop as the "lodecard-loop/1" object; `indent` 0: one line. A capture without a result has
 * "error" instead of figures: its exit status, message and hint, and the notes there were. */
enum status loop_json_add(struct text *out, const struct loop_job *job, size_t points, int indent,
    struct error *err) MUST_CHECK;

#endif
