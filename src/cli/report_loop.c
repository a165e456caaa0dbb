// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops of captures as a report, read as `loop` reads them. */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "cli/input.h"
#include "cli/loop_job.h"
#include "cli/output.h"
#include "cli/report.h"
#include "paper/loop_sheet.h"
#include "setup/date.h"

#define POINTS 128 /* of each loop, among the numbers in the report's file */

static const char *const options_of_loop[] = {REPORT_OPTIONS, "rig", "specimen", "today", "start",
    "length", "decimal", "separator", "harmonics", "fundamental", "jobs", NULL};

/* What did not become a loop is told as `loop` tells it; the others make the report. */
static void tell(struct loop_job *job, void *user)
{
    const char *name = text_base_name(job->path);
    (void)user;
    if (job->status != STATUS_OK) {
        const bool needs_name = strstr(job->error.message, name) == NULL;
        output_tell_failure(needs_name ? name : NULL, &job->error);
    }
}

static enum status check(
    const struct report_command *options, char *const *words, int count, struct error *err)
{
    long day;
    if (count == 0) {
        return fail(err, STATUS_USAGE, "'lodecard report loop ring.flac -o ring.pdf'",
            "'report loop' needs a capture");
    }
    if (input_check_stdin((const char *const *)words, (size_t)count, err) != STATUS_OK) {
        return STATUS_USAGE;
    }
    if (options->reading.today != NULL &&
        date_read(options->reading.today, &day, err) != STATUS_OK) {
        return err->status = STATUS_USAGE;
    }
    return report_check(options, words, count, err);
}

static struct loop_sheet_item get_item(const struct loop_job *job)
{
    return (struct loop_sheet_item){.file = text_base_name(job->path),
        .loop = &job->loop,
        .rig = &job->rig,
        .specimen = &job->specimen,
        .budget = job->budget,
        .failure = job->status != STATUS_OK ? job->error.message : NULL};
}

static enum status write(const struct report_command *options, const struct loop_job *jobs,
    size_t count, struct error *err)
{
    const struct report_words words = report_get_words(options);
    struct loop_sheet_item *items = memory_create(count, sizeof *items);
    struct document *document = NULL;
    struct text data = {0};
    if (items == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < count; i++) {
        items[i] = get_item(&jobs[i]);
    }
    enum status status = loop_sheet_create(items, count, &words, &document, err);
    if (status == STATUS_OK) {
        status = loop_sheet_write_data(items, count, POINTS, &data, err);
    }
    if (status == STATUS_OK) {
        status = report_write(options, document, &data, err);
    }
    text_clear(&data);
    document_destroy(document);
    memory_destroy(items);
    return status;
}

/* The highest status of all; `*results`: how many have a loop. */
static enum status find_worst(const struct loop_job *jobs, size_t count, size_t *results)
{
    enum status worst = STATUS_OK;
    *results = 0;
    for (size_t i = 0; i < count; i++) {
        worst = jobs[i].status > worst ? jobs[i].status : worst;
        *results += jobs[i].status == STATUS_OK;
    }
    return worst;
}

static int run_loop(const void *data, int count, char **words, struct error *err)
{
    const struct report_command *options = data;
    enum status status = check(options, words, count, err);
    if (status != STATUS_OK) {
        return (int)status;
    }
    struct loop_jobs jobs = {.setup = options->asked.setup,
        .options = options->reading,
        .list = memory_create((size_t)count, sizeof *jobs.list),
        .count = (size_t)count,
        .has_budget = true,
        .report = tell};
    if (jobs.list == NULL) {
        return (int)fail_memory(err);
    }
    for (int i = 0; i < count; i++) {
        jobs.list[i].path = words[i];
    }
    loop_jobs_run(&jobs, options->threads);
    size_t results;
    const enum status worst = find_worst(jobs.list, jobs.count, &results);
    if (results > 0) {
        status = write(options, jobs.list, jobs.count, err);
    }
    if (status == STATUS_OK && results > 0) {
        printf("%zu of %d captures have a loop\n", results, count);
    }
    for (int i = 0; i < count; i++) {
        loop_job_clear(&jobs.list[i]);
    }
    memory_destroy(jobs.list);
    return status != STATUS_OK ? (int)status : (int)worst;
}

const struct verb report_loop = {"loop", options_of_loop, run_loop};
