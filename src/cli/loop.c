// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/memory.h"
#include "cli/command.h"
#include "cli/loop_report.h"
#include "cli/output.h"
#include "paper/chart.h"
#include "setup/date.h"

#define POINTS_MOST 1e6

/* Names that cannot be captures: what follows --json-lines may be either. */
static const char *const line_endings[] = {".json", ".jsonl", ".ndjson", NULL};

#define AT(member) .offset = offsetof(struct loop_command, member)
static const struct option loop_table[] = {
    {.name = "", .help = "What the capture is"},
    {.name = "rig",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(rig),
        .help = "the bench (default: rig.yaml beside the capture; beside '-', in the current "
                "folder)"},
    {.name = "specimen",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(specimen),
        .help = "the ring (default: specimen.yaml beside the capture)"},
    {.name = "today",
        .value = "DATE",
        .type = OPTION_TEXT,
        AT(today),
        .help = "the day, such as 2026-11-25: a rig whose calibration is older than its interval "
                "gets a note"},
    {.name = "start",
        .value = "S",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_TIME,
        AT(start_s),
        .help = "leave out the first S seconds; '20 ms' works as well"},
    {.name = "length",
        .value = "S",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_TIME,
        AT(length_s),
        .help = "take S seconds (default: all)"},
    {.name = "decimal",
        .value = "C",
        .type = OPTION_LETTER,
        .letters = ".,",
        AT(decimal),
        .help = "decimal sign of a table: '.' or ',' (default: found from the file)"},
    {.name = "separator",
        .value = "C",
        .type = OPTION_LETTER,
        .letters = ",;\t ",
        AT(separator),
        .help = "what parts the cells of a table: ',', ';', tab or blank (default: found from the "
                "file)"},
    {.name = "harmonics",
        .value = "K",
        .type = OPTION_COUNT,
        .least = 1,
        .most = 1e5,
        AT(harmonics),
        .help = "fit harmonics 1 to K (default: as many as the capture holds)"},
    {.name = "fundamental",
        .value = "HZ",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_FREQUENCY,
        AT(fundamental_Hz),
        .help = "the drive's frequency, where a foreign tone is taken for it (default: found)"},
    {.name = "", .help = "Where the result goes"},
    {.name = "json",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        AT(json),
        .help = "write everything as JSON; without FILE or with '-': to standard output, instead "
                "of the table"},
    {.name = "csv",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        AT(csv),
        .help = "write a heading and one line a capture; FILE as above"},
    {.name = "json-lines",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        .endings = line_endings,
        AT(json_lines),
        .help = "write one line of JSON a capture, in their order; FILE ends in .json, .jsonl or "
                ".ndjson (any other: --json-lines=FILE)"},
    {.name = "points",
        .value = "N",
        .type = OPTION_COUNT,
        .least = 0,
        .most = POINTS_MOST,
        AT(points),
        .help = "put one mean cycle of N points into the JSON"},
    {.name = "plot",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(plot),
        .help = "draw the loops, laid over each other: FILE ends in .svg, .png or .pdf"},
    {.name = "waveforms",
        .type = OPTION_FLAG,
        AT(has_waveforms),
        .help = "draw H, B and dB/dt over the time beside the loop"},
    {.name = "", .help = "How well the figures are known"},
    {.name = "explain",
        .type = OPTION_FLAG,
        AT(has_explanation),
        .help = "instead of the table a page in plain words, for one capture: how each figure was "
                "made, with its numbers in the formulae, what limits it, what the notes mean"},
    {.name = "concise",
        .type = OPTION_FLAG,
        AT(is_concise),
        .help = "write the uncertainty into the value, as digits of its last places: 18.535(48) "
                "kA/m"},
    {.name = "budget",
        .type = OPTION_FLAG,
        AT(has_budget),
        .help = "show what the uncertainty of each figure is made of, largest first, and what "
                "would halve it; in the table and in the JSON"},
    {.name = "plot-budget",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(plot_budget),
        .help = "draw that as bars, for one capture: FILE ends in .svg, .png or .pdf"},
    {.name = "trials",
        .value = "N",
        .type = OPTION_TEXT,
        AT(trials),
        .help = "check the budget by N Monte Carlo trials, or 'auto': until two digits stand, "
                "at most 1e6; gives intervals of 95 % and says whether the linear result holds"},
    {.name = "", .help = "How"},
    {.name = "strict",
        .type = OPTION_FLAG,
        AT(is_strict),
        .help = "exit with 3 when a note is a warning; the results are written all the same"},
    {.name = "jobs",
        .letter = 'j',
        .value = "N",
        .type = OPTION_COUNT,
        .least = 0,
        .most = 1024,
        AT(threads),
        .help = "work on N captures at a time (default: 1; 0: one a processor)"},
    {0},
};

static const struct example loop_examples[] = {
    {"lodecard loop ring.flac", "the figures of one capture, with rig.yaml and specimen.yaml from "
                                "its folder"},
    {"lodecard loop ring.flac --explain", "where each of them comes from, in plain words"},
    {"lodecard loop ring.csv --json loop.json --plot loop.svg --waveforms",
        "the same as JSON and as a picture"},
    {"lodecard loop H2291-*.wav --rig bench.yaml -j 0 --csv heat.csv",
        "a line for each of many captures"},
    {0},
};

/* 'loop --json a.wav b.wav' would take the first capture for the place of the result. */
static enum status check_place(const char *path, struct error *err)
{
    static const char *const endings[] = {".wav", ".w64", ".rf64", ".aif", ".aiff", ".caf", ".flac",
        ".au", ".csv", ".tsv", ".txt", NULL};
    const char *dot = path ? strrchr(path, '.') : NULL;
    for (size_t i = 0; dot && endings[i]; i++)
        if (!strcasecmp(dot, endings[i]))
            return fail(err, STATUS_USAGE, "name the captures first, or say '--json -'",
                "JSON would be written over '%s', which looks like a capture", path);
    return STATUS_OK;
}

#define TRIALS_LEAST 1000
#define TRIALS_MOST 1e9
#define TRIALS_MOST_AUTO 1000000

/* "100000", "1e6" or "auto". */
static enum status read_trials(const char *words, struct loop_jobs *jobs, struct error *err)
{
    double count = 0;
    if (!words)
        return STATUS_OK;
    jobs->has_budget = jobs->has_trials = true;
    jobs->trials = (struct trials_options){
        .most = TRIALS_MOST_AUTO, .probability = 0.95, .digits = 2, .seed = 1};
    if (!strcmp(words, "auto"))
        return STATUS_OK;
    size_t length = text_read_number(words, strlen(words), &count);
    if (!length || words[length] || count < TRIALS_LEAST || count > TRIALS_MOST ||
        count != floor(count))
        return fail(err, STATUS_USAGE, "'--trials 100000', or '--trials auto'",
            "'--trials %s': expected a whole number from %d to 1e9, or 'auto'", words,
            TRIALS_LEAST);
    jobs->trials.count = (size_t)count;
    return STATUS_OK;
}

/* What changes the page of one capture has to have one. */
static enum status check_page(const struct loop_command *options, int count, struct error *err)
{
    const char *name = options->has_explanation ? "--explain" : "--concise";
    const char *places[] = {options->json, options->csv, options->json_lines};
    if (!options->has_explanation && !options->is_concise)
        return STATUS_OK;
    if (count > 1)
        return fail(err, STATUS_USAGE, "name one capture; --csv has the uncertainties of many",
            "%s is for one capture, and there are %d", name, count);
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        if (places[i] && !strcmp(places[i], "-"))
            return fail(err, STATUS_USAGE, "give the JSON or CSV a file name, or leave it out",
                "%s has no place: standard output is taken", name);
    return STATUS_OK;
}

static enum status check_options(
    const struct loop_command *options, int count, char **words, struct error *err)
{
    const char *paths[] = {
        options->json, options->csv, options->json_lines, options->plot, options->plot_budget};
    int from_stdin = 0;
    long day;
    if (count == 0)
        return fail(err, STATUS_USAGE, "'lodecard loop ring.wav'; '-' is standard input",
            "'loop' needs a capture");
    if (options->today && date_read(options->today, &day, err))
        return err->status = STATUS_USAGE;
    for (int i = 0; i < count; i++)
        from_stdin += !strcmp(words[i], "-");
    if (from_stdin > 1)
        return fail(err, STATUS_USAGE, "give '-' once", "standard input can be read only once");
    if (options->json && count > 1)
        return fail(err, STATUS_USAGE, "--json-lines writes one line a capture",
            "--json is for one capture, and there are %d", count);
    if (check_page(options, count, err))
        return STATUS_USAGE;
    if (check_place(options->json, err) || check_place(options->json_lines, err))
        return STATUS_USAGE;
    if (options->points && !options->json && !options->json_lines)
        return fail(err, STATUS_USAGE, "add --json FILE", "--points has no JSON to go into");
    if (options->has_waveforms && !options->plot)
        return fail(
            err, STATUS_USAGE, "add --plot FILE.svg", "--waveforms has no picture to go into");
    if (options->plot_budget && count > 1)
        return fail(err, STATUS_USAGE, "name one capture",
            "--plot-budget is for one capture, and there are %d", count);
    if ((options->plot && chart_check_path(options->plot, err)) ||
        (options->plot_budget && chart_check_path(options->plot_budget, err)))
        return STATUS_USAGE;
    return output_check(paths, sizeof paths / sizeof *paths, words, (size_t)count, err);
}

static int run_loop(const struct command *command, int count, char **words, struct error *err)
{
    struct loop_command options = {.threads = 1};
    enum status status =
        options_read(command->name, command->options, &options, &count, words, err);
    if (!status)
        status = check_options(&options, count, words, err);
    if (status)
        return (int)status;
    struct loop_report report;
    struct loop_jobs jobs = {.rig = options.rig,
        .specimen = options.specimen,
        .options = {.harmonics = options.harmonics,
            .frequency_Hz = options.fundamental_Hz,
            .today = options.today,
            .capture = {.start_s = options.start_s,
                .length_s = options.length_s,
                .decimal = options.decimal,
                .separator = options.separator}},
        .list = memory_create((size_t)count, sizeof *jobs.list),
        .count = (size_t)count,
        .has_budget = options.has_budget,
        .report = loop_report_add,
        .user = &report};
    if (!jobs.list)
        return (int)fail_memory(err);
    status = read_trials(options.trials, &jobs, err);
    if (status) {
        memory_destroy(jobs.list);
        return (int)status;
    }
    for (int i = 0; i < count; i++) {
        jobs.list[i].path = words[i];
        jobs.list[i].is_concise = options.is_concise;
    }
    loop_report_init(&report, &options, &jobs, err);
    loop_jobs_run(&jobs, options.threads);
    int worst = loop_report_finish(&report);
    for (int i = 0; i < count; i++)
        loop_job_clear(&jobs.list[i]);
    memory_destroy(jobs.list);
    loop_report_clear(&report);
    return worst;
}

const struct command command_loop = {
    .name = "loop",
    .group = "From a recording to a loop",
    .purpose = "captures to loops: figures, notes, JSON, CSV, a picture",
    .synopsis = "[OPTION]... CAPTURE...",
    .description =
        "Rebuilds the B-H loop of a ring from a capture: an audio file or a logger table with the "
        "excitation current and the pickup voltage ('-': standard input). Prints its figures: "
        "peak values, remanence, coercivity, loop area, loss, lag angle and more, each with its "
        "standard uncertainty where the capture shows one, and notes on what may be wrong with "
        "the recording.\n\nrig.yaml tells what the inputs are, specimen.yaml what the ring is. "
        "Several captures become a line each; one that fails does not stop the others, and the "
        "exit status is the highest of them.",
    .options = loop_table,
    .examples = loop_examples,
    .run = run_loop,
};
