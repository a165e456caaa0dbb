// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_job.h"

#include <errno.h>
#include <omp.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "cli/loop_kept.h"

struct setup_paths loop_job_get_setup(const struct loop_jobs *jobs, const struct loop_job *job)
{
    return (struct setup_paths){.rig = job->item.rig ? job->item.rig : jobs->setup.rig,
        .specimen = job->item.specimen ? job->item.specimen : jobs->setup.specimen};
}

/* Ahead of the setup beside it: a slip in the name is told as what it is. */
static enum status check_capture(const char *path, struct error *err)
{
    if (!strcmp(path, "-") || file_exists(path))
        return STATUS_OK;
    return fail(err, STATUS_IO, "check the path and the permissions", "cannot read '%s': %s", path,
        strerror(errno));
}

static enum status set_budget(const struct loop_jobs *jobs, struct loop_job *job)
{
    enum status status =
        loop_budget_create(&job->loop, &job->rig, &job->specimen, &job->budget, &job->error);
    if (status)
        return status;
    loop_budget_set_figures(job->budget, &job->loop.figures);
    job->shows_budget = jobs->has_budget;
    return jobs->has_trials ? loop_budget_try(job->budget, &jobs->trials, &job->error) : STATUS_OK;
}

static void compute(const struct loop_jobs *jobs, struct loop_job *job)
{
    const struct loop_options *options = job->item.path ? &job->item.options : &jobs->options;
    const struct setup_paths setup = loop_job_get_setup(jobs, job);
    job->status = setup_read(&setup, job->path, &job->rig, &job->specimen, &job->error);
    if (!job->status)
        job->status =
            loop_read(job->path, &job->rig, &job->specimen, options, &job->loop, &job->error);
    if (!job->status)
        job->status = set_budget(jobs, job);
}

static void run_job(struct loop_jobs *jobs, struct loop_job *job)
{
    struct loop_kept kept = {0};
    job->status = check_capture(job->path, &job->error);
    if (!job->status && jobs->manifest)
        job->status = loop_kept_find(&kept, jobs, job, &job->error);
    if (!job->status && !job->kept) {
        compute(jobs, job);
        if (jobs->manifest && loop_kept_add(&kept, jobs, job))
            jobs->is_stopped = true;
    }
    loop_kept_clear(&kept);
}

/* --- many at a time --------------------------------------------------------------------------- */

/* Jobs are begun in their order and told in their order; the list is a ring of those between. */
struct run {
    struct loop_jobs *jobs;
    size_t begun, told;
    bool has_ended;
    pthread_mutex_t next; /* held while the next job is awaited, which may be long */
    pthread_mutex_t state;
    pthread_cond_t has_room;
};

static bool find_next(struct run *run, struct loop_job *job)
{
    struct loop_jobs *jobs = run->jobs;
    if (jobs->is_stopped)
        return false;
    if (!jobs->next)
        return run->begun < jobs->count;
    struct loop_job found = {0}; /* only then: its place may still hold one that is to be drawn */
    if (!jobs->next(&found, jobs->next_user))
        return false;
    *job = found;
    return true;
}

/* The next job, or NULL. */
static struct loop_job *take(struct run *run)
{
    struct loop_job *job = NULL;
    pthread_mutex_lock(&run->next);
    pthread_mutex_lock(&run->state);
    while (run->begun - run->told >= run->jobs->count && !run->has_ended)
        pthread_cond_wait(&run->has_room, &run->state);
    pthread_mutex_unlock(&run->state);
    if (!run->has_ended) {
        job = &run->jobs->list[run->begun % run->jobs->count];
        const bool is_found = find_next(run, job);
        pthread_mutex_lock(&run->state);
        run->begun += is_found;
        run->has_ended = !is_found;
        pthread_mutex_unlock(&run->state);
        job = is_found ? job : NULL;
    }
    pthread_mutex_unlock(&run->next);
    return job;
}

static void tell(struct run *run, struct loop_job *job)
{
    struct loop_jobs *jobs = run->jobs;
    pthread_mutex_lock(&run->state);
    job->is_done = true;
    while (run->told < run->begun && jobs->list[run->told % jobs->count].is_done) {
        job = &jobs->list[run->told % jobs->count];
        jobs->report(job, jobs->user);
        job->is_done = false;
        run->told++;
    }
    pthread_cond_broadcast(&run->has_room);
    pthread_mutex_unlock(&run->state);
}

static void work(struct run *run)
{
    for (struct loop_job *job = take(run); job; job = take(run)) {
        if (!job->status)
            run_job(run->jobs, job);
        tell(run, job);
    }
}

void loop_jobs_run(struct loop_jobs *jobs, size_t threads)
{
    struct run run = {.jobs = jobs,
        .next = PTHREAD_MUTEX_INITIALIZER,
        .state = PTHREAD_MUTEX_INITIALIZER,
        .has_room = PTHREAD_COND_INITIALIZER};
    int team = threads ? (int)threads : omp_get_num_procs();
    if ((size_t)team > jobs->count)
        team = (int)jobs->count;
#pragma omp parallel num_threads(team) if (team > 1)
    work(&run);
}

void loop_job_add_name(struct text *out, const struct loop_job *job)
{
    const struct specimen *specimen = &job->specimen;
    if (!specimen->name) {
        text_add(out, text_base_name(job->path));
        return;
    }
    text_add(out, specimen->name);
    const char *separator = " \u00B7 ";
    if (specimen->alloy) {
        text_add_format(out, "%s%s", separator, specimen->alloy);
        separator = ", ";
    }
    if (specimen->heat)
        text_add_format(out, "%sheat %s", separator, specimen->heat);
}

const struct note *loop_job_find_warning(const struct loop_job *job)
{
    const struct notes *notes = &job->loop.notes;
    for (size_t i = 0; i < notes->count; i++)
        if (notes->list[i].level == NOTE_WARNING)
            return &notes->list[i];
    return NULL;
}

void loop_job_clear(struct loop_job *job)
{
    loop_budget_destroy(job->budget);
    job->budget = NULL;
    rig_clear(&job->rig);
    specimen_clear(&job->specimen);
    loop_clear(&job->loop);
    loop_item_clear(&job->item);
    text_clear(&job->result);
    tree_destroy(job->kept); /* behind the loop, whose notes point into it */
    job->kept = NULL;
}
