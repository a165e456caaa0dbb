// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_JOB_H
#define LODECARD_CLI_LOOP_JOB_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "base/tree.h"
#include "budget/loop_budget.h"
#include "cli/loop_list.h"
#include "cli/loop_manifest.h"
#include "loop/loop.h"

/* One capture of the command `loop`: its setup, its loop, and how that went. */
struct loop_job {
    const char *path;
    struct rig rig;
    struct specimen specimen;
    struct loop loop;
    struct loop_budget *budget; /* NULL without a result */
    bool shows_budget;
    bool is_concise; /* u stands in parentheses in the value */
    enum status status;
    struct error error; /* with a status other than STATUS_OK */
    bool is_done;
    /* of a survey */
    struct loop_item item; /* from a list: what it says instead of what all share; else zeroed */
    struct text result;    /* with a manifest: the line of JSON */
    struct tree *kept;     /* the same, read: it was done before, and of the loop only what tables
                              tell is filled; NULL: it was done now */
};

/* What all captures of a call share. */
struct loop_jobs {
    struct setup_paths setup;
    struct loop_options options;
    bool has_budget; /* the results show it */
    bool has_trials; /* Monte Carlo as well */
    struct trials_options trials;
    /* The captures, `count` of them; or, with `next`, room for so many at a time. */
    struct loop_job *list;
    size_t count;
    /* Fills a zeroed job (path, item; or status and error of what is no capture) and returns true,
     * or returns false: there is no other. Called by one thread at a time. */
    bool (*next)(struct loop_job *job, void *user);
    void *next_user;
    /* Of a survey: what was done before is not done again, unless it failed and is to be tried
     * again. A manifest that cannot be written to stops the run. */
    struct loop_manifest *manifest; /* NULL: none */
    bool retries;
    size_t points;           /* of the JSON that it keeps */
    _Atomic bool is_stopped; /* no job is begun any more */
    /* Called once for each job, in the order of the list, as soon as it and those before it are
     * done; never by two threads at once. May clear the job's loop. */
    void (*report)(struct loop_job *job, void *user);
    void *user;
};

/* Rebuilds all loops and works out the uncertainty of their figures, `threads` captures at a time
 * (0: as many as there are processors). A job that fails stops no other. */
void loop_jobs_run(struct loop_jobs *jobs, size_t threads);

/* The setup files of a job: those of the list, where it names some, else those of all. */
struct setup_paths loop_job_get_setup(const struct loop_jobs *jobs, const struct loop_job *job);

/* The name people know the capture's specimen by: "R-17 · RS-36, heat H2291"; the file's name when
 * the specimen has none. */
void loop_job_add_name(struct text *out, const struct loop_job *job);

const struct note *loop_job_find_warning(const struct loop_job *job); /* the first one, or NULL */
void loop_job_clear(struct loop_job *job); /* safe on a zeroed struct and twice */

#endif
