// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_KEPT_H
#define LODECARD_CLI_LOOP_KEPT_H

#include "cli/loop_job.h"

/* A job and what the manifest keeps of it. */
struct loop_kept {
    struct loop_origin origin;
    struct text options; /* what origin.options points to */
};

/* Sets what the job's result is made from, and looks for it in the manifest: what was found is
 * filled into the job (result, kept, status, error, and what tables tell). A failure is one of
 * reading. */
enum status loop_kept_find(struct loop_kept *kept, const struct loop_jobs *jobs,
    struct loop_job *job, struct error *err) MUST_CHECK;

/* Keeps the result that was computed, or how the capture failed; that a file could not be read or
 * that there was no memory says nothing about the capture and is not kept. When the manifest cannot
 * be written to, that is the job's failure as well. */
enum status loop_kept_add(
    struct loop_kept *kept, const struct loop_jobs *jobs, struct loop_job *job) MUST_CHECK;
void loop_kept_clear(struct loop_kept *kept); /* safe on a zeroed struct and twice */

#endif
