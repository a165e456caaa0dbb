// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "cli/capture_paths.h"
#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/input.h"
#include "cli/loop_report.h"
#include "cli/loop_source.h"
#include "cli/output.h"
#include "paper/chart.h"
#include "setup/date.h"

#define POINTS_MOST 1e6

#define AT(member) .offset = offsetof(struct loop_command, member)
static const struct option loop_table[] = {
    {.name = "", .help = "What the capture is"},
    {.table = setup_options, AT(setup)},
    {.table = today_options, AT(reading)},
    {.table = excerpt_options, AT(reading.capture)},
    {.table = fit_options, AT(reading)},
    {.name = "", .help = "Where the result goes"},
    {.table = json_any_options, AT(json)},
    {.name = "csv",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        AT(csv),
        .help = "write a heading and one line a capture; FILE as above"},
    {.table = json_lines_options, AT(json_lines)},
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
    {.table = strict_options, AT(is_strict)},
    {.table = jobs_options, AT(threads)},
    {.name = "", .help = "Of large surveys (docs/surveys.md)"},
    {.name = "list",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(list),
        .help = "take the captures from a list of JSON lines ('-': standard input): \"capture\", "
                "and where they differ \"rig\", \"specimen\", \"start_s\", \"length_s\", "
                "\"decimal\", \"separator\", \"harmonics\", \"fundamental_Hz\""},
    {.name = "share",
        .value = "K/N",
        .type = OPTION_TEXT,
        AT(share),
        .help = "take every N-th capture from the K-th on: for N workers, each its own K"},
    {.name = "manifest",
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(manifest),
        .help = "keep each result in FILE at once; started again, take from it what was done "
                "already (known by the hashes of capture, rig and specimen, the options and the "
                "program's version)"},
    {.name = "done",
        .value = "FILE",
        .type = OPTION_TEXTS,
        AT(done),
        .help = "take results from this manifest as well, which another worker wrote; may be given "
                "often"},
    {.name = "retry",
        .type = OPTION_FLAG,
        AT(retries),
        .help = "try captures again that the manifest says failed"},
    {0},
};

static const struct example loop_examples[] = {
    {"lodecard loop ring.flac", "the figures of one capture, with rig.yaml and specimen.yaml from "
                                "its folder"},
    {"lodecard loop ring.flac --explain", "where each of them comes from, in plain words"},
    {"lodecard loop logger/ring.csv --json loop.json --plot loop.svg --waveforms",
        "the same as JSON and as a picture"},
    {"lodecard loop H2291-*.wav --rig bench.yaml -j 0 --csv heat.csv",
        "a line for each of many captures"},
    {"lodecard loop --list survey.jsonl --manifest survey.manifest -j 0 --json-lines results.jsonl",
        "a survey that can be stopped and started again"},
    {0},
};

/* 'loop --json a.wav b.wav' would take the first capture for the place of the result. */
static enum status check_place(const char *path, struct error *err)
{
    if (path && path_has_ending(path, capture_endings))
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

/* A line a capture, instead of a page. */
static bool is_many(const struct loop_command *options, int count)
{
    return count > 1 || options->list || options->share || options->manifest ||
           options->done.count > 0;
}

static enum status refuse_many(const char *name, int count, const char *hint, struct error *err)
{
    if (count > 1)
        return fail(
            err, STATUS_USAGE, hint, "%s is for one capture, and there are %d", name, count);
    return fail(err, STATUS_USAGE, hint, "%s is for one capture, not for a survey", name);
}

/* What changes the page of one capture has to have one. */
static enum status check_page(const struct loop_command *options, int count, struct error *err)
{
    const char *name = options->has_explanation ? "--explain" : "--concise";
    const char *places[] = {options->json, options->csv, options->json_lines};
    if (!options->has_explanation && !options->is_concise)
        return STATUS_OK;
    if (is_many(options, count))
        return refuse_many(
            name, count, "name one capture; --csv has the uncertainties of many", err);
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        if (places[i] && !strcmp(places[i], "-"))
            return fail(err, STATUS_USAGE, "give the JSON or CSV a file name, or leave it out",
                "%s has no place: standard output is taken", name);
    return STATUS_OK;
}

/* What draws needs the whole loops, which neither a list nor a manifest keeps. */
static enum status check_survey(const struct loop_command *options, int count, struct error *err)
{
    const bool has_manifest = options->manifest || options->done.count > 0;
    if (options->plot && (options->list || has_manifest))
        return fail(err, STATUS_USAGE, "draw the loops of captures on the command line",
            "--plot is not for %s", options->list ? "a list" : "a manifest");
    if (options->retries && !has_manifest)
        return fail(err, STATUS_USAGE, "add --manifest FILE", "--retry has no manifest");
    for (size_t i = 0; i < options->done.count && options->manifest; i++)
        if (!strcmp(options->done.list[i], options->manifest))
            return fail(err, STATUS_USAGE, "--manifest reads the file as well",
                "'%s' is given twice", options->manifest);
    if (count == 0 && !options->list)
        return fail(err, STATUS_USAGE, "'lodecard loop ring.wav'; '-' is standard input",
            "'loop' needs a capture");
    return STATUS_OK;
}

static enum status check_standard_input(
    const struct loop_command *options, int count, char **words, struct error *err)
{
    const bool is_listed = options->list && !strcmp(options->list, "-");
    const char *const twice[] = {"-", "-"};
    bool has_stdin = false;
    for (int i = 0; i < count; i++)
        has_stdin = has_stdin || !strcmp(words[i], "-");
    if (has_stdin && (options->manifest || options->done.count > 0))
        return fail(err, STATUS_USAGE, "name files",
            "a manifest is for captures that can be read again, not for '-'");
    return has_stdin && is_listed
               ? input_check_stdin(twice, 2, err)
               : input_check_stdin((const char *const *)words, (size_t)count, err);
}

static enum status check_options(
    const struct loop_command *options, int count, char **words, struct error *err)
{
    const char *paths[] = {options->json, options->csv, options->json_lines, options->plot,
        options->plot_budget, options->manifest};
    long day;
    if (check_survey(options, count, err))
        return STATUS_USAGE;
    if (options->reading.today && date_read(options->reading.today, &day, err))
        return err->status = STATUS_USAGE;
    if (check_standard_input(options, count, words, err))
        return STATUS_USAGE;
    if (options->json && is_many(options, count))
        return refuse_many("--json", count, "--json-lines writes one line a capture", err);
    if (check_page(options, count, err))
        return STATUS_USAGE;
    if (check_place(options->json, err) || check_place(options->json_lines, err) ||
        check_place(options->manifest, err))
        return STATUS_USAGE;
    if (options->points && !options->json && !options->json_lines && !options->manifest)
        return fail(err, STATUS_USAGE, "add --json FILE", "--points has no JSON to go into");
    if (options->has_waveforms && !options->plot)
        return fail(
            err, STATUS_USAGE, "add --plot FILE.svg", "--waveforms has no picture to go into");
    if (options->plot_budget && is_many(options, count))
        return refuse_many("--plot-budget", count, "name one capture", err);
    if ((options->plot && chart_check_path(options->plot, err)) ||
        (options->plot_budget && chart_check_path(options->plot_budget, err)))
        return STATUS_USAGE;
    return output_check(paths, sizeof paths / sizeof *paths, words, (size_t)count, err);
}

#define WINDOW 256 /* captures between the first that is not told yet and the last begun */

/* Opens what the captures come from, and the manifest. */
static enum status open_survey(const struct loop_command *options, struct loop_jobs *jobs,
    struct loop_source *source, struct error *err)
{
    enum status status = STATUS_OK;
    if (options->share)
        status = loop_source_read_share(source, options->share, err);
    if (!status && options->list)
        status = loop_list_open(options->list, &jobs->options, &source->list, err);
    if (!status && (options->manifest || options->done.count > 0))
        status = loop_manifest_open(
            options->manifest, options->done.list, options->done.count, &jobs->manifest, err);
    return status;
}

static int run_jobs(const struct loop_command *options, struct loop_jobs *jobs,
    struct loop_source *source, struct error *err)
{
    struct loop_report report;
    const size_t count = source->word_count;
    const bool has_all = options->plot || options->plot_budget; /* the loops are drawn at the end */
    jobs->count = has_all || (!options->list && count < WINDOW) ? count : WINDOW;
    jobs->list = memory_create(jobs->count, sizeof *jobs->list);
    if (!jobs->list)
        return (int)fail_memory(err);
    jobs->report = loop_report_add;
    jobs->user = &report;
    loop_report_init(&report, options, jobs, is_many(options, (int)count),
        options->list || options->share ? 0 : count, err);
    loop_jobs_run(jobs, options->threads);
    int worst = loop_report_finish(&report);
    for (size_t i = 0; i < jobs->count; i++)
        loop_job_clear(&jobs->list[i]);
    memory_destroy(jobs->list);
    loop_report_clear(&report);
    if (source->status)
        *err = source->error;
    return (int)source->status > worst ? (int)source->status : worst;
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
    struct loop_source source = {
        .words = words, .word_count = (size_t)count, .is_concise = options.is_concise};
    struct loop_jobs jobs = {.setup = options.setup,
        .options = options.reading,
        .has_budget = options.has_budget,
        .next = loop_source_next,
        .next_user = &source,
        .retries = options.retries,
        .points = options.points};
    status = read_trials(options.trials, &jobs, err);
    if (!status)
        status = open_survey(&options, &jobs, &source, err);
    const int worst = status ? (int)status : run_jobs(&options, &jobs, &source, err);
    loop_manifest_close(jobs.manifest);
    loop_source_clear(&source);
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
        "exit status is the highest of them. A survey of thousands comes from a list, is shared "
        "among workers, and goes on where it was when it was stopped.",
    .options = loop_table,
    .examples = loop_examples,
    .run = run_loop,
};
