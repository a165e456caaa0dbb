// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/loop_report.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "cli/loop_budget_plot.h"
#include "cli/loop_csv.h"
#include "cli/loop_explain.h"
#include "cli/loop_json.h"
#include "cli/loop_text.h"
#include "paper/loop_plot.h"

#define JSON_INDENT 2

static void keep_worst(struct loop_report *report, int status)
{
    if (status > report->worst)
        report->worst = status;
}

static void clear_progress(const struct loop_report *report)
{
    if (report->has_progress)
        fprintf(stderr, "\r\033[K");
}

static void show_progress(const struct loop_report *report)
{
    if (report->has_progress && report->expected == 0)
        fprintf(stderr, "%zu captures", report->reported);
    else if (report->has_progress && report->reported < report->expected)
        fprintf(stderr, "%zu of %zu captures", report->reported, report->expected);
}

/* Why a capture has no result, with the notes that may explain it. */
static void print_failure(struct loop_report *report, const struct loop_job *job)
{
    bool is_one_of_many = report->is_many;
    const char *name = text_base_name(job->path);
    bool needs_name =
        (is_one_of_many || job->status == STATUS_CAPTURE) && !strstr(job->error.message, name);
    output_tell_failure(needs_name ? name : NULL, &job->error);
    struct text notes = {0};
    loop_text_add_notes(&notes, &job->loop.notes, is_one_of_many ? name : NULL);
    output_tell_page(&notes);
    text_clear(&notes);
}

static void add_text(struct loop_report *report, const struct loop_job *job)
{
    struct text out = {0};
    if (!report->is_many && !job->status && report->options->has_explanation)
        loop_explain_add(&out, job);
    else if (!report->is_many && !job->status)
        loop_text_add(&out, job);
    if (report->is_many) {
        if (report->reported == 0)
            loop_text_add_heading(&out);
        loop_text_add_line(&out, job);
        if (!job->status)
            loop_text_add_notes(&report->notes, &job->loop.notes, text_base_name(job->path));
    }
    if (out.failed)
        keep_worst(report, (int)fail_memory(report->err));
    else
        output_add_page(&report->text, &out);
    text_clear(&out);
}

static void add_csv(struct loop_report *report, const struct loop_job *job)
{
    struct text out = {0};
    if (report->reported == 0)
        loop_csv_add_heading(&out);
    loop_csv_add_line(&out, job);
    if (out.failed)
        keep_worst(report, (int)fail_memory(report->err));
    else
        output_add(&report->csv, out.bytes, out.length);
    text_clear(&out);
}

static void add_json(
    struct loop_report *report, const struct loop_job *job, struct output *output, int indent)
{
    struct text out = {0};
    enum status status = STATUS_OK;
    if (job->result.length > 0 && indent == 0)
        text_add_format(&out, "%s\n", job->result.bytes);
    else
        status = loop_json_add(&out, job, report->options->points, indent, report->err);
    if (!status && out.failed)
        status = fail_memory(report->err);
    if (status)
        keep_worst(report, (int)status);
    else
        output_add(output, out.bytes, out.length);
    text_clear(&out);
}

void loop_report_init(struct loop_report *report, const struct loop_command *options,
    const struct loop_jobs *jobs, bool is_many, size_t expected, struct error *err)
{
    *report = (struct loop_report){.options = options,
        .jobs = jobs,
        .json.path = options->json,
        .csv.path = options->csv,
        .lines.path = options->json_lines,
        .is_many = is_many,
        .expected = expected,
        .has_progress = is_many && isatty(STDERR_FILENO),
        .err = err};
    if (!output_is_stdout(&report->json) && !output_is_stdout(&report->csv) &&
        !output_is_stdout(&report->lines))
        report->text.path = "-";
    show_progress(report);
}

void loop_report_add(struct loop_job *job, void *user)
{
    struct loop_report *report = user;
    clear_progress(report);
    if (report->text.path)
        add_text(report, job);
    if (report->csv.path)
        add_csv(report, job);
    if (report->lines.path)
        add_json(report, job, &report->lines, 0);
    if (report->json.path && !job->status)
        add_json(report, job, &report->json, JSON_INDENT);
    if (job->status)
        print_failure(report, job);
    keep_worst(report, (int)job->status);
    report->kept += job->kept != NULL;
    report->failed += job->status != STATUS_OK;
    if (report->options->is_strict && !job->status && loop_job_find_warning(job))
        keep_worst(report, STATUS_CAPTURE);
    if (!report->options->plot && !report->options->plot_budget)
        loop_job_clear(job);
    report->reported++;
    show_progress(report);
}

/* The captures with a result, laid over each other. */
static enum status write_plot(struct loop_report *report, struct error *err)
{
    size_t count = 0;
    struct loop_plot_item *items = memory_create(report->reported, sizeof *items);
    struct text *names = memory_create(report->reported, sizeof *names);
    enum status status = items && names ? STATUS_OK : fail_memory(err);
    for (size_t i = 0; !status && i < report->reported; i++) {
        const struct loop_job *job = &report->jobs->list[i];
        if (job->status)
            continue;
        if (!report->is_many)
            loop_job_add_name(&names[count], job);
        else
            text_add_format(&names[count], "%s%s%s", job->specimen.name ? job->specimen.name : "",
                job->specimen.name ? " \u00B7 " : "", text_base_name(job->path));
        if (names[count].failed)
            status = fail_memory(err);
        items[count].name = names[count].bytes;
        items[count++].loop = &job->loop;
    }
    if (!status && count > 0)
        status = loop_plot_write(
            items, count, report->options->has_waveforms, report->options->plot, err);
    for (size_t i = 0; names && i < report->reported; i++)
        text_clear(&names[i]);
    memory_destroy(names);
    memory_destroy(items);
    return status;
}

/* Of the one capture, if it has a result. */
static enum status write_budget_plot(struct loop_report *report, struct error *err)
{
    const struct loop_job *job = &report->jobs->list[0];
    struct text name = {0};
    if (job->status || !job->budget)
        return STATUS_OK;
    loop_job_add_name(&name, job);
    const enum status status =
        name.failed
            ? fail_memory(err)
            : loop_budget_plot_write(name.length > 0 ? name.bytes : text_base_name(job->path),
                  job->budget, report->options->plot_budget, err);
    text_clear(&name);
    return status;
}

/* Of a survey: what was there and what was done. */
static void tell_sum(const struct loop_report *report)
{
    const size_t torn = loop_manifest_get_torn(report->jobs->manifest);
    fprintf(stderr, "%zu captures: %zu were done before, %zu now", report->reported, report->kept,
        report->reported - report->kept);
    if (report->failed > 0)
        fprintf(stderr, "; %zu have no result", report->failed);
    if (torn > 0)
        fprintf(stderr, "; lines of the manifest that were torn and did not count: %zu", torn);
    fprintf(stderr, "\n");
}

/* Files appear when all captures are through. A JSON file of a capture without a result does not
 * appear at all. */
int loop_report_finish(struct loop_report *report)
{
    struct output *outputs[] = {&report->json, &report->csv, &report->lines};
    clear_progress(report);
    if (report->notes.failed)
        keep_worst(report, (int)fail_memory(report->err));
    if (report->notes.length && report->text.path) {
        output_add(&report->text, "\nNotes\n", 7);
        output_add_page(&report->text, &report->notes);
    }
    for (size_t i = 0; i < sizeof outputs / sizeof *outputs; i++)
        if (outputs[i] != &report->json || report->json.kept.length)
            keep_worst(report, (int)output_finish(outputs[i], report->err));
    if (report->options->plot)
        keep_worst(report, (int)write_plot(report, report->err));
    if (report->options->plot_budget)
        keep_worst(report, (int)write_budget_plot(report, report->err));
    if (report->options->manifest || report->options->done.count > 0)
        tell_sum(report);
    return report->worst;
}

void loop_report_clear(struct loop_report *report)
{
    output_clear(&report->json);
    output_clear(&report->csv);
    output_clear(&report->lines);
    text_clear(&report->notes);
}
