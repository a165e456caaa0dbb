// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LOOP_REPORT_H
#define LODECARD_CLI_LOOP_REPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "cli/loop_job.h"
#include "cli/options.h"
#include "cli/output.h"

/* What the command line of `loop` asks for. */
struct loop_command {
    struct setup_paths setup;
    struct loop_options reading;
    size_t points, threads;
    const char *json, *csv, *json_lines, *plot, *plot_budget;
    bool has_waveforms, is_strict, has_budget, has_explanation, is_concise;
    const char *trials; /* a number, "auto", or NULL */
    /* surveys */
    const char *list, *share, *manifest;
    struct option_texts done;
    bool retries;
};

/* Where the results of a run go, and what is kept until its end. */
struct loop_report {
    const struct loop_command *options;
    const struct loop_jobs *jobs;
    struct output text, json, csv, lines;
    struct text notes; /* of several captures: they stand below the table */
    bool is_many;      /* a line a capture, also when it turns out to be one */
    size_t expected;   /* captures; 0: not known */
    size_t reported;
    size_t kept, failed; /* of these: found in the manifest; without a result */
    bool has_progress;
    int worst; /* exit status */
    struct error *err;
};

void loop_report_init(struct loop_report *report, const struct loop_command *options,
    const struct loop_jobs *jobs, bool is_many, size_t expected, struct error *err);

/* Puts a capture's result where it belongs: the `report` of struct loop_jobs. */
void loop_report_add(struct loop_job *job, void *user);

/* Writes the files and the picture once all captures are through, and gives the exit status. */
int loop_report_finish(struct loop_report *report);
void loop_report_clear(struct loop_report *report);

#endif
