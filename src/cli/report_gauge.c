// SPDX-License-Identifier: GPL-3.0-or-later
/* A study of the bench itself as a report. */
#include "cli/report.h"
#include "paper/gauge_sheet.h"

static const char *const options_of_gauge[] = {
    REPORT_OPTIONS, REPORT_READING, "figure", "by", "limits", NULL};

struct parts {
    struct study list[FIGURE_COUNT];
    size_t count;
};

static void parts_clear(struct parts *parts)
{
    for (size_t i = 0; i < parts->count; i++) {
        study_clear(&parts->list[i]);
    }
}

static enum status fill(const struct report_command *options, const struct report_case *rings,
    struct parts *parts, struct error *err)
{
    enum study_by by;
    enum status status = qualify_find_study_by(&options->asked, &by, err);
    for (size_t i = 0; i < rings->figures.count && status == STATUS_OK; i++) {
        const enum figure figure = rings->figures.list[i];
        const struct limit *limit = &rings->limits.figures[figure];
        status = study_create(rings->input.items, rings->input.rigs, rings->input.count, by, figure,
            limit, &parts->list[parts->count++], err);
        if (status != STATUS_OK) {
            status = report_name_failure(figure, status, err);
        }
    }
    return status;
}

static enum status write(const struct report_command *options, const struct qualify_input *read,
    const struct parts *parts, struct error *err)
{
    struct report_result result = {0};
    enum status status = report_sources_create(&read->series, &result.sources, err);
    const struct gauge_sheet_input input = {.studies = parts->list,
        .count = parts->count,
        .inputs = result.sources.inputs,
        .input_count = result.sources.count,
        .words = report_get_words(options)};
    if (status == STATUS_OK) {
        status = gauge_sheet_create(&input, &result.sheet, err);
    }
    if (status == STATUS_OK) {
        status = gauge_sheet_write_data(&input, &result.data, err);
    }
    return report_finish_result(options, &result, status, err);
}

static int run_gauge(const void *data, int count, char **words, struct error *err)
{
    const struct report_command *options = data;
    struct report_case rings = {0};
    struct parts parts = {0};
    enum status status = report_case_read(options, words, count, &rings, err);
    if (status == STATUS_OK) {
        status = fill(options, &rings, &parts, err);
    }
    if (status == STATUS_OK) {
        status = write(options, &rings.input, &parts, err);
    }
    parts_clear(&parts);
    report_case_clear(&rings);
    return (int)status;
}

const struct verb report_gauge = {"gauge", options_of_gauge, run_gauge};
