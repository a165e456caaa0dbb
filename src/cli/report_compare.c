// SPDX-License-Identifier: GPL-3.0-or-later
/* Two suppliers, or two heats, as a report. */
#include <stdio.h>

#include "base/memory.h"
#include "cli/report.h"
#include "paper/comparison_sheet.h"

static const char *const options_of_compare[] = {
    REPORT_OPTIONS, REPORT_READING, "figure", "margin", "by", "confidence", "limits", "at", NULL};

struct parts {
    struct comparison_part list[FIGURE_COUNT];
    size_t count;
};

static void parts_clear(struct parts *parts)
{
    for (size_t i = 0; i < parts->count; i++) {
        sides_clear(&parts->list[i].sides);
    }
}

static enum status compare(const struct qualify_input *input, enum sides_by by, enum figure figure,
    double margin, double confidence, struct comparison_part *part, struct error *err)
{
    enum status status = sides_create(input->items, input->count, by, figure, &part->sides, err);
    if (status == STATUS_OK) {
        const struct sides *sides = &part->sides;
        status = comparison_compute((struct lot_sample){sides->values[0], sides->counts[0]},
            (struct lot_sample){sides->values[1], sides->counts[1]}, 0, margin, confidence,
            &part->comparison, err);
    }
    return status;
}

/* One of several figures: a failure names it. */
static enum status name_failure(enum figure figure, enum status status, struct error *err)
{
    const struct error inner = *err;
    return fail(err, status, inner.hint, "%s: %s", figure_table[figure].name, inner.message);
}

static enum status fill(const struct report_command *options, const struct qualify_input *input,
    const struct report_figures *figures, const struct limits *limits, double confidence,
    struct parts *parts, struct error *err)
{
    enum sides_by by;
    enum status status = qualify_find_sides_by(&options->asked, &by, err);
    for (size_t i = 0; i < figures->count && status == STATUS_OK; i++) {
        const enum figure figure = figures->list[i];
        struct comparison_part *part = &parts->list[parts->count++];
        double margin = 0;
        status = qualify_read_value("--margin",
            options->margins.count > 0 ? options->margins.list[i] : NULL, figure, &margin, err);
        if (status == STATUS_OK) {
            status = compare(input, by, figure, margin, confidence, part, err);
            status = status == STATUS_OK ? status : name_failure(figure, status, err);
        }
        part->limit = limit_is_present(&limits->figures[figure]) ? &limits->figures[figure] : NULL;
    }
    return status;
}

static enum status write(const struct report_command *options, const struct qualify_input *read,
    const struct parts *parts, double confidence, struct error *err)
{
    struct report_sources sources = {0};
    struct report_sheet sheet = {0};
    struct text data = {0};
    enum status status = report_sources_create(read, &sources, err);
    const struct comparison_sheet_input input = {.parts = parts->list,
        .count = parts->count,
        .confidence = confidence,
        .inputs = sources.inputs,
        .input_count = sources.count,
        .alloy = report_find_common(&read->series, offsetof(struct series_steel, alloy)),
        .words = report_get_words(options)};
    if (status == STATUS_OK) {
        status = comparison_sheet_create(&input, &sheet, err);
    }
    if (status == STATUS_OK) {
        status = comparison_sheet_write_data(&input, &data, err);
    }
    if (status == STATUS_OK) {
        status = report_write(options, sheet.document, &data, err);
    }
    if (status == STATUS_OK) {
        printf("verdict: %s\n", equivalence_get_name(comparison_sheet_get_verdict(&input)));
    }
    text_clear(&data);
    report_sheet_clear(&sheet);
    report_sources_clear(&sources);
    return status;
}

static enum status check(const struct report_command *options, char **words, int count,
    const struct report_figures *figures, struct error *err)
{
    if (options->margins.count > 0 && options->margins.count != options->figures.count) {
        return fail(err, STATUS_USAGE, "a margin for each figure, or none at all",
            "there are %zu margins and %zu figures", options->margins.count, figures->count);
    }
    return report_check(options, words, count, err);
}

static int run_compare(const void *data, int count, char **words, struct error *err)
{
    const struct report_command *options = data;
    const struct quantity *wanted = &options->asked.confidence;
    const double confidence = wanted->is_present ? wanted->value : 0.95;
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
        status = check(options, words, count, &figures, err);
    }
    if (status == STATUS_OK) {
        status = qualify_input_read(&options->asked, words, count, &input, err);
    }
    if (status == STATUS_OK) {
        status = fill(options, &input, &figures, &limits, confidence, &parts, err);
    }
    if (status == STATUS_OK) {
        status = write(options, &input, &parts, confidence, err);
    }
    parts_clear(&parts);
    qualify_input_clear(&input);
    limits_clear(&limits);
    return (int)status;
}

const struct verb report_compare = {"compare", options_of_compare, run_compare};
