// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdict of `qualify` as a report. */
#include <stdio.h>
#include <string.h>

#include "cli/help.h"
#include "cli/report.h"
#include "paper/lot_sheet.h"

static const char *const options_of_lot[] = {REPORT_OPTIONS, REPORT_READING, "limits", "at", NULL};

static enum status write(const struct report_command *options, const struct qualify_input *read,
    const struct qualification *made, struct error *err)
{
    struct report_result result = {0};
    enum status status = report_sources_create(&read->series, &result.sources, err);
    const struct lot_sheet_input input = {.qualification = made,
        .inputs = result.sources.inputs,
        .input_count = result.sources.count,
        .alloy = report_find_common(&read->series, offsetof(struct series_steel, alloy)),
        .condition = report_find_common(&read->series, offsetof(struct series_steel, condition)),
        .words = report_get_words(options)};
    if (status == STATUS_OK) {
        status = lot_sheet_create(&input, &result.sheet, err);
    }
    if (status == STATUS_OK) {
        status = lot_sheet_write_data(&input, &result.data, err);
    }
    return report_finish_result(options, &result, status, err);
}

static int run_lot(const void *data, int count, char **words, struct error *err)
{
    static const int statuses[] = {[VERDICT_ACCEPTED] = 0,
        [VERDICT_UNDECIDED] = QUALIFY_UNDECIDED,
        [VERDICT_REJECTED] = QUALIFY_REJECTED};
    const struct report_command *options = data;
    struct limits limits = {0};
    struct qualify_input input = {0};
    struct qualification made = {0};
    if (options->asked.limits == NULL) {
        return (int)fail(err, STATUS_USAGE, "docs/qualify.md shows one",
            "'report lot' needs an acceptance file: --limits limits.yaml");
    }
    enum status status = report_check(options, words, count, err);
    if (status == STATUS_OK) {
        status = limits_read(options->asked.limits, &limits, err);
    }
    if (status == STATUS_OK) {
        status = qualify_input_read(&options->asked, words, count, &input, err);
    }
    if (status == STATUS_OK) {
        status = qualification_create(input.items, input.count, &limits, &made, err);
    }
    if (status == STATUS_OK) {
        made.loops = input.loops;
        made.loop_count = input.loop_count;
        status = write(options, &input, &made, err);
    }
    if (status == STATUS_OK) {
        printf("verdict: %s\n", verdict_get_name(made.verdict));
    }
    const int exit_status = status == STATUS_OK ? statuses[made.verdict] : (int)status;
    qualification_clear(&made);
    qualify_input_clear(&input);
    limits_clear(&limits);
    return exit_status;
}

const struct verb report_lot = {"lot", options_of_lot, run_lot};
