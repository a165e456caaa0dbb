// SPDX-License-Identifier: GPL-3.0-or-later
#include "series/series.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/input.h"
#include "cli/output.h"
#include "cli/series_models.h"
#include "cli/series_text.h"
#include "cli/series_wants.h"
#include "paper/chart.h"
#include "paper/model_plot.h"
#include "paper/series_plot.h"

#define JSON_INDENT 2

struct series_command {
    struct series_wants wants;
    bool has_points, is_strict;
    const char *json, *csv, *plot;
};

#define AT(member) .offset = offsetof(struct series_command, member)
static const struct option series_table[] = {
    {.name = "", .help = "What the loops are of"},
    {.table = setup_options, AT(wants.options.setup)},
    {.table = steel_options, AT(wants.options)},
    {.table = series_choice_options, AT(wants.options)},
    {.name = "", .help = "What is worked out"},
    {.name = "at",
        .value = "PEAK",
        .type = OPTION_TEXTS,
        AT(wants.at),
        .help = "figures interpolated to a peak, such as '40 kA/m' or '1 T'; may be given often"},
    {.table = separation_options, AT(wants)},
    {.table = model_options, AT(wants.models)},
    {.name = "", .help = "Where the result goes"},
    {.table = json_options, AT(json)},
    {.name = "points",
        .type = OPTION_FLAG,
        AT(has_points),
        .help = "put the points of the loops into the JSON, where there are"},
    {.name = "csv",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        AT(csv),
        .help = "write a heading and a line a loop; FILE as above"},
    {.name = "plot",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(plot),
        .help = "draw the loops with the normal curve, permeability against field, losses against "
                "frequency as areas, and the exponent plot; with --model instead the last model "
                "over the "
                "loops: FILE ends in .svg, .png or .pdf"},
    {.name = "", .help = "How"},
    {.table = strict_options, AT(is_strict)},
    {.table = jobs_options, AT(wants.options.threads)},
    {0},
};

static const struct example series_examples[] = {
    {"lodecard series H2291/*.flac", "captures over amplitude and frequency, as a page"},
    {"lodecard series sine.csv --density '7600 kg/m3' --at '1 T'",
        "a table of measured loops, and figures at 1 T"},
    {"lodecard series loops/*.json --model preisach --plot model.svg",
        "a model of hysteresis, drawn over the loops it was fitted to"},
    {"lodecard series loops.jsonl --json series.json", "from 'lodecard loop --json-lines'"},
    {0},
};

static enum status check_command(
    const struct series_command *command, int count, char **words, struct error *err)
{
    const char *paths[] = {command->json, command->csv, command->plot};
    if (count == 0)
        return fail(err, STATUS_USAGE, "'lodecard series *.flac'; '-' is standard input",
            "'series' needs captures, loop JSON or a table of measured loops");
    if (command->has_points && !command->json)
        return fail(err, STATUS_USAGE, "add --json FILE", "--points has no JSON to go into");
    if (command->plot && chart_check_path(command->plot, err))
        return STATUS_USAGE;
    if (input_check_stdin((const char *const *)words, (size_t)count, err))
        return STATUS_USAGE;
    return output_check(paths, sizeof paths / sizeof *paths, words, (size_t)count, err);
}

static void add_json(struct text *out, const struct series *series,
    const struct series_models *models, bool has_points)
{
    struct json json;
    json_init(&json, out, JSON_INDENT);
    json_begin_object(&json, NULL);
    series_write_members(&json, series, has_points);
    json_begin_array(&json, "models");
    for (size_t i = 0; i < models->count; i++)
        model_fit_write_json(&json, &models->fits[i]);
    json_end_array(&json);
    notes_write_json(&json, "notes", &series->notes);
    json_end_object(&json);
    json_finish(&json);
}

static enum status report(const struct series_command *command, const struct series *series,
    const struct series_models *models, struct error *err)
{
    struct text page = {0}, json = {0}, csv = {0};
    const struct output places[] = {{.path = command->json}, {.path = command->csv}};
    enum status status = STATUS_OK;
    if (!output_is_stdout(&places[0]) && !output_is_stdout(&places[1])) {
        series_text_add(&page, series);
        series_models_add_text(&page, models);
        status = output_print(&page, err);
    }
    if (!status && command->json) {
        add_json(&json, series, models, command->has_points);
        status = output_write(command->json, &json, err);
    }
    if (!status && command->csv) {
        series_csv_add(&csv, series);
        status = output_write(command->csv, &csv, err);
    }
    if (!status && command->plot && models->count)
        status = model_plot_write(&models->fits[models->count - 1], models->loops,
            models->loop_count, command->plot, err);
    else if (!status && command->plot)
        status = series_plot_write(series, command->plot, err);
    text_clear(&page);
    text_clear(&json);
    text_clear(&csv);
    return status;
}

static bool has_warning(const struct series *series)
{
    for (size_t i = 0; i < series->notes.count; i++)
        if (series->notes.list[i].level == NOTE_WARNING)
            return true;
    return false;
}

static int run_series(const struct command *command, int count, char **words, struct error *err)
{
    struct series_command given = {.wants.options.threads = 1};
    struct series_reading reading;
    struct series series = {0};
    struct series_models models = {0};
    enum status status = options_read(command->name, command->options, &given, &count, words, err);
    if (!status)
        status = check_command(&given, count, words, err);
    if (!status)
        status = series_wants_read(&given.wants, &reading, err);
    if (!status)
        status =
            series_read((const char *const *)words, (size_t)count, &reading.options, &series, err);
    if (!status)
        status = series_models_create(
            &series, given.wants.models.list, given.wants.models.count, &models, err);
    if (!status)
        status = report(&given, &series, &models, err);
    if (!status && given.is_strict && has_warning(&series))
        status = STATUS_CAPTURE;
    series_models_clear(&models);
    series_clear(&series);
    return (int)status;
}

const struct command command_series = {
    .name = "series",
    .group = "From loops to the steel",
    .purpose = "loops over amplitude and frequency: curve, losses, laws",
    .synopsis = "[OPTION]... IN...",
    .description =
        "Takes loops of one specimen over amplitude and frequency and works out what follows: the "
        "normal curve through their tips with its permeability, saturation where the data carry "
        "it, the separation of losses at equal peak flux density, W(f) = Wh + kc f + kx sqrt(f), "
        "and the power law of the hysteresis loss; each with its uncertainty, residuals and "
        "range.\n\n"
        "IN is a capture, a loop's JSON, JSON lines ('-': standard input), the JSON of a series, "
        "or a table of measured loops: a row a loop, columns headed 'frequency (Hz)', 'flux "
        "density peak (T)', 'field strength peak (A/m)', 'specific total loss (W/kg)' and so on, "
        "or with the keys of the JSON; --specimen tells tables, and JSON without a specimen, what "
        "their ring is. Loops that do not belong together (two specimens, two "
        "temperatures, two answers at one working point) are refused.",
    .options = series_table,
    .examples = series_examples,
    .run = run_series,
};
