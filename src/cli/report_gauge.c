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

static enum status fill(const struct report_command *options, const struct qualify_input *input,
    const struct report_figures *figures, const struct limits *limits, struct parts *parts,
    struct error *err)
{
    enum study_by by;
    enum status status = qualify_find_study_by(&options->asked, &by, err);
    for (size_t i = 0; i < figures->count && status == STATUS_OK; i++) {
        const enum figure figure = figures->list[i];
        const struct limit *limit = &limits->figures[figure];
        status = study_create(input->items, input->rigs, input->count, by, figure, limit,
            &parts->list[parts->count++], err);
        if (status != STATUS_OK) {
            const struct error inner = *err;
            status =
                fail(err, status, inner.hint, "%s: %s", figure_table[figure].name, inner.message);
        }
    }
    return status;
}

static enum status write(const struct report_command *options, const struct qualify_input *read,
    const struct parts *parts, struct error *err)
{
    struct report_sources sources = {0};
    struct report_sheet sheet = {0};
    struct text data = {0};
    enum status status = report_sources_create(read, &sources, err);
    const struct gauge_sheet_input input = {.studies = parts->list,
        .count = parts->count,
        .inputs = sources.inputs,
        .input_count = sources.count,
        .words = report_get_words(options)};
    if (status == STATUS_OK) {
        status = gauge_sheet_create(&input, &sheet, err);
    }
    if (status == STATUS_OK) {
        status = gauge_sheet_write_data(&input, &data, err);
    }
    if (status == STATUS_OK) {
        status = report_write(options, sheet.document, &data, err);
    }
    text_clear(&data);
    report_sheet_clear(&sheet);
    report_sources_clear(&sources);
    return status;
}

static int run_gauge(const void *data, int count, char **words, struct error *err)
{
    const struct report_command *options = data;
    struct limits limits = {0};
    struct report_figures figures;
    struct qualify_input input = {0};
    struct parts parts = {0};
    enum status status = STATUS_OK;
    if (options->asked.limits != NULL) {
        status = limits_read(options->asked.limits, &limits, err);
    }
    if (status == STATUS_OK) {
        status = report_find_figures(
            options, options->asked.limits != NULL ? &limits : NULL, &figures, err);
    }
    if (status == STATUS_OK) {
        status = report_check(options, words, count, err);
    }
    if (status == STATUS_OK) {
        status = qualify_input_read(&options->asked, words, count, &input, err);
    }
    if (status == STATUS_OK) {
        status = fill(options, &input, &figures, &limits, &parts, err);
    }
    if (status == STATUS_OK) {
        status = write(options, &input, &parts, err);
    }
    parts_clear(&parts);
    qualify_input_clear(&input);
    limits_clear(&limits);
    return (int)status;
}

const struct verb report_gauge = {"gauge", options_of_gauge, run_gauge};
