// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_LEDGER_JOBS_H
#define LODECARD_TESTS_LEDGER_JOBS_H

#include <stdbool.h>
#include <stdint.h>

#include "ledger/ledger.h"

/* Everything that is done with a ledger, as jobs that can be made to fail. */
struct ledger_job {
    const char *name;
    enum status (*run)(struct ledger *ledger, struct error *err);
    bool changes; /* runs between begin and commit */
    bool is_new;  /* of an empty ledger */
};
enum { LEDGER_JOBS = 28 };
extern const struct ledger_job ledger_jobs[LEDGER_JOBS];

/* Makes "test.ledger" in the scratch folder, with a row of every kind, its capture, and "folder",
 * which it was exported to. */
void ledger_jobs_prepare(void);

/* "test.ledger" as it was then, or no file. */
void ledger_jobs_restore(bool is_new);

/* The job with all that belongs to it. */
enum status ledger_job_run(
    const struct ledger_job *job, struct ledger *ledger, struct error *err) MUST_CHECK;

/* A sum over all that jobs have read since it was set to 0. */
extern uint64_t ledger_jobs_sum;

#endif
