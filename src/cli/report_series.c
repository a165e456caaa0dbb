// SPDX-License-Identifier: GPL-3.0-or-later
/* The sheet of a steel, from what `series` takes. */
#include <stdio.h>
#include <string.h>

#include "cli/input.h"
#include "cli/report.h"
#include "cli/series_models.h"
#include "paper/series_sheet.h"

static const char *const options_of_series[] = {REPORT_OPTIONS, "at", "rig", "specimen", "density",
    "resistivity", "thickness", "only", "together", "initial", "separate-at", "terms", "up-to",
    "fit-linear", "exponent-of-B", "polarization", "model", "jobs", NULL};

static enum status check(
    const struct report_command *options, char *const *words, int count, struct error *err)
{
    if (count == 0) {
        return fail(err, STATUS_USAGE, "'lodecard report series loops.jsonl -o steel.pdf'",
            "'report series' needs captures, loop JSON or a table of measured loops");
    }
    if (input_check_stdin((const char *const *)words, (size_t)count, err) != STATUS_OK) {
        return STATUS_USAGE;
    }
    return report_check(options, words, count, err);
}

static enum status write(const struct report_command *options, const struct series *series,
    const struct series_models *models, struct error *err)
{
    struct report_sources sources = {0};
    struct document *document = NULL;
    struct text data = {0};
    enum status status = report_sources_create(series, &sources, err);
    const struct series_sheet_input input = {.series = series,
        .fits = models->fits,
        .fit_count = models->count,
        .fit_loops = models->loops,
        .fit_loop_count = models->loop_count,
        .inputs = sources.inputs,
        .words = report_get_words(options)};
    if (status == STATUS_OK) {
        status = series_sheet_create(&input, &document, err);
    }
    if (status == STATUS_OK) {
        status = series_sheet_write_data(&input, &data, err);
    }
    if (status == STATUS_OK) {
        status = report_write(options, document, &data, err);
    }
    text_clear(&data);
    document_destroy(document);
    report_sources_clear(&sources);
    return status;
}

static int run_series(const void *data, int count, char **words, struct error *err)
{
    const struct report_command *options = data;
    struct series_wants wants = options->wants;
    struct series_reading reading;
    struct series series = {0};
    struct series_models models = {0};
    wants.options.setup = options->asked.setup;
    wants.options.threads = options->threads;
    if (options->asked.at != NULL) {
        wants.at = (struct option_texts){.list = {options->asked.at}, .count = 1};
    }
    enum status status = check(options, words, count, err);
    if (status == STATUS_OK) {
        status = series_wants_read(&wants, &reading, err);
    }
    if (status == STATUS_OK) {
        status =
            series_read((const char *const *)words, (size_t)count, &reading.options, &series, err);
    }
    if (status == STATUS_OK) {
        status = series_models_create(&series, wants.models.list, wants.models.count, &models, err);
    }
    if (status == STATUS_OK) {
        status = write(options, &series, &models, err);
    }
    if (status == STATUS_OK) {
        printf("%zu loop%s\n", series.count, series.count == 1 ? "" : "s");
    }
    series_models_clear(&models);
    series_clear(&series);
    return (int)status;
}

const struct verb report_series = {"series", options_of_series, run_series};
