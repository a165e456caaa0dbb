// SPDX-License-Identifier: GPL-3.0-or-later
/* Two suppliers, or two heats, as a report. */
#include <stdio.h>

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

static enum status fill(const struct report_command *options, const struct report_case *rings,
    double confidence, struct parts *parts, struct error *err)
{
    enum sides_by by;
    enum status status = qualify_find_sides_by(&options->asked, &by, err);
    for (size_t i = 0; i < rings->figures.count && status == STATUS_OK; i++) {
        const enum figure figure = rings->figures.list[i];
        struct comparison_part *part = &parts->list[parts->count++];
        double margin = 0;
        status = qualify_read_value("--margin",
            options->margins.count > 0 ? options->margins.list[i] : NULL, figure, &margin, err);
        if (status == STATUS_OK) {
            status = compare(&rings->input, by, figure, margin, confidence, part, err);
            status = status == STATUS_OK ? status : report_name_failure(figure, status, err);
        }
        part->limit = limit_is_present(&rings->limits.figures[figure])
                          ? &rings->limits.figures[figure]
                          : NULL;
    }
    return status;
}

static enum status write(const struct report_command *options, const struct qualify_input *read,
    const struct parts *parts, double confidence, struct error *err)
{
    struct report_result result = {0};
    enum status status = report_sources_create(&read->series, &result.sources, err);
    const struct comparison_sheet_input input = {.parts = parts->list,
        .count = parts->count,
        .confidence = confidence,
        .inputs = result.sources.inputs,
        .input_count = result.sources.count,
        .alloy = report_find_common(&read->series, offsetof(struct series_steel, alloy)),
        .words = report_get_words(options)};
    if (status == STATUS_OK) {
        status = comparison_sheet_create(&input, &result.sheet, err);
    }
    if (status == STATUS_OK) {
        status = comparison_sheet_write_data(&input, &result.data, err);
    }
    status = report_finish_result(options, &result, status, err);
    if (status == STATUS_OK) {
        printf("verdict: %s\n", equivalence_get_name(comparison_sheet_get_verdict(&input)));
    }
    return status;
}

static int run_compare(const void *data, int count, char **words, struct error *err)
{
    const struct report_command *options = data;
    const struct quantity *wanted = &options->asked.confidence;
    const double confidence = wanted->is_present ? wanted->value : 0.95;
    struct report_case rings = {0};
    struct parts parts = {0};
    if (options->margins.count > 0 && options->margins.count != options->figures.count) {
        return (int)fail(err, STATUS_USAGE, "a margin for each --figure, or none at all",
            "there are %zu margins and %zu figures", options->margins.count,
            options->figures.count);
    }
    enum status status = report_case_read(options, words, count, &rings, err);
    if (status == STATUS_OK) {
        status = fill(options, &rings, confidence, &parts, err);
    }
    if (status == STATUS_OK) {
        status = write(options, &rings.input, &parts, confidence, err);
    }
    parts_clear(&parts);
    report_case_clear(&rings);
    return (int)status;
}

const struct verb report_compare = {"compare", options_of_compare, run_compare};
