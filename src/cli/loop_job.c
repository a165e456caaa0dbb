// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_job.h"

#include <errno.h>
#include <omp.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"

/* The setup file to read: the one given, or the one beside the capture. NULL with err filled. */
static char *find_setup(const char *given, const char *capture, const char *name, struct error *err)
{
    char *path = given ? memory_copy_text(given)
                       : file_path_beside(strcmp(capture, "-") ? capture : "", name);
    if (!path) {
        (void)fail_memory(err);
        return NULL;
    }
    if (given || file_exists(path))
        return path;
    char hint[200];
    snprintf(hint, sizeof hint, "write it there, or name one with --%.*s", (int)strcspn(name, "."),
        name);
    (void)fail(err, STATUS_IO, hint, "there is no '%s'", path);
    memory_destroy(path);
    return NULL;
}

static enum status read_setup(const struct loop_jobs *jobs, struct loop_job *job, struct error *err)
{
    char *path = find_setup(jobs->rig, job->path, "rig.yaml", err);
    if (!path)
        return err->status;
    enum status status = rig_read(path, &job->rig, err);
    memory_destroy(path);
    if (status)
        return status;
    path = find_setup(jobs->specimen, job->path, "specimen.yaml", err);
    if (!path)
        return err->status;
    status = specimen_read(path, &job->specimen, err);
    memory_destroy(path);
    return status;
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

static void run_job(const struct loop_jobs *jobs, struct loop_job *job)
{
    job->status = check_capture(job->path, &job->error);
    if (!job->status)
        job->status = read_setup(jobs, job, &job->error);
    if (!job->status)
        job->status = loop_read(
            job->path, &job->rig, &job->specimen, &jobs->options, &job->loop, &job->error);
    if (!job->status)
        job->status = set_budget(jobs, job);
}

void loop_jobs_run(struct loop_jobs *jobs, size_t threads)
{
    size_t reported = 0;
    int team = threads ? (int)threads : omp_get_num_procs();
#pragma omp parallel for schedule(dynamic, 1) num_threads(team) if (jobs->count > 1)
    for (size_t i = 0; i < jobs->count; i++) {
        run_job(jobs, &jobs->list[i]);
#pragma omp critical(loop_jobs_report)
        {
            jobs->list[i].is_done = true;
            while (reported < jobs->count && jobs->list[reported].is_done)
                jobs->report(&jobs->list[reported++], jobs->user);
        }
    }
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
}
