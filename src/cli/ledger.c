// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/ledger.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/output.h"
#include "cli/verb.h"
#include "setup/date.h"

static const struct ledger_mode *const mode_list[] = {
    &ledger_mode_add,
    &ledger_mode_list,
    &ledger_mode_find,
    &ledger_mode_show,
    &ledger_mode_history,
    &ledger_mode_remark,
    &ledger_mode_tag,
    &ledger_mode_undo,
    &ledger_mode_check,
    &ledger_mode_recompute,
    &ledger_mode_export,
    &ledger_mode_import,
    &ledger_mode_backup,
    NULL,
};

#define AT(member) .offset = offsetof(struct ledger_command, member)
static const struct option ledger_table[] = {
    {.name = "", .help = "The ledger"},
    {.table = ledger_file_options, AT(choice)},
    {.name = "date",
        .value = "DATE",
        .type = OPTION_TEXT,
        AT(day),
        .help = "the day, such as 2026-11-25, that the journal tells of a change (default: none: "
                "the program asks no clock)"},
    {.name = "by", .value = "NAME", .type = OPTION_TEXT, AT(person), .help = "who made the change"},
    {.name = "", .help = "Of add"},
    {.table = setup_options, AT(setup)},
    {.table = excerpt_options, AT(reading.capture)},
    {.table = fit_options, AT(reading)},
    {.name = "points",
        .value = "N",
        .type = OPTION_COUNT,
        .least = 0,
        .most = 1e5,
        AT(points),
        .help = "keep N points of the mean cycle too (default: none)"},
    {.name = "bytes",
        .type = OPTION_FLAG,
        AT(keeps_bytes),
        .help = "keep the capture's bytes too, not only its hash and where it lies"},
    {.table = jobs_options, AT(threads)},
    {.name = "quiet",
        .letter = 'q',
        .type = OPTION_FLAG,
        AT(is_quiet),
        .help = "tell the sum only"},
    {.name = "", .help = "Of find, export, recompute: which loops"},
    {.table = ledger_choice_options, AT(choice)},
    {.name = "old",
        .type = OPTION_FLAG,
        AT(has_old),
        .help = "also loops that were computed anew since"},
    {.name = "", .help = "Of find and export: how they are told"},
    {.name = "columns",
        .value = "LIST",
        .type = OPTION_TEXT,
        AT(columns),
        .help = "the figures to show, such as coercivity,loop_area"},
    {.name = "sort",
        .value = "FIGURE",
        .type = OPTION_TEXT,
        AT(sort),
        .help = "smallest first (default: in the order of arrival)"},
    {.name = "falling", .type = OPTION_FLAG, AT(is_falling), .help = "the other way round"},
    {.name = "limit",
        .value = "N",
        .type = OPTION_COUNT,
        .least = 0,
        .most = 1e12,
        AT(limit),
        .help = "show N loops at most (default: 100; 0: all)"},
    {.name = "statistics",
        .type = OPTION_FLAG,
        AT(has_statistics),
        .help =
            "instead of loops: how many, mean, standard deviation, least and most of each heat"},
    {.name = "csv",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        AT(csv),
        .help = "export all figures as CSV; without FILE or with '-': to standard output"},
    {.name = "json-lines",
        .value = "[FILE]",
        .type = OPTION_PLACE,
        .endings = json_lines_endings,
        AT(json_lines),
        .help = "export a line of JSON a loop, as 'ledger add' reads them"},
    {.name = "folder",
        .value = "FOLDER",
        .type = OPTION_TEXT,
        AT(folder),
        .help = "export the whole ledger as text files, which 'ledger import' reads"},
    {.name = "", .help = "Of recompute"},
    {.name = "dry-run",
        .letter = 'n',
        .type = OPTION_FLAG,
        AT(is_dry),
        .help = "only tell what would change"},
    {.name = "", .help = "Of tag"},
    {.name = "remove", .type = OPTION_FLAG, AT(removes), .help = "take the tag away"},
    {.name = "", .help = "Of check"},
    {.name = "head",
        .value = "HASH",
        .type = OPTION_TEXT,
        AT(head),
        .help = "the head of the journal as an earlier check told it: is it still in the chain?"},
    {.name = "captures",
        .type = OPTION_FLAG,
        AT(reads_captures),
        .help = "read the captures where they lay and compare their hashes"},
    {0},
};

static const struct example ledger_examples[] = {
    {"lodecard ledger add captures/ -j 0 --date 2026-11-25 --by 'A. Technician'",
        "all captures of a folder, each with the rig.yaml and specimen.yaml beside it"},
    {"lodecard ledger find --supplier 'Northgate Foundry' --where 'coercivity > 18 kA/m'",
        "loops of a supplier above a limit"},
    {"lodecard ledger find --alloy RS-36 --statistics --columns coercivity,remanence",
        "its heats side by side"},
    {"lodecard ledger check --captures", "is everything as it was written?"},
    {0},
};

void ledger_keep_worst(int *worst, int status)
{
    if (status > *worst)
        *worst = status;
}

enum status ledger_print(struct text *out, struct error *err)
{
    const enum status status = output_print(out, err);
    text_clear(out);
    return status;
}

#define LIMIT_DEFAULT 100
static const struct ledger_command untouched = {.threads = 1, .limit = LIMIT_DEFAULT};

static enum status check_day(const struct ledger_command *options, struct error *err)
{
    long day;
    if (options->day && date_read(options->day, &day, err))
        return err->status = STATUS_USAGE;
    return STATUS_OK;
}

static enum status check_words(const struct ledger_mode *mode, int count, struct error *err)
{
    if (count < mode->least)
        return fail(err, STATUS_USAGE, "'lodecard help ledger' shows examples",
            "'ledger %s' needs %s", mode->name, mode->needs);
    if (mode->most >= 0 && count > mode->most)
        return fail(err, STATUS_USAGE, "put words with blanks in quotes",
            "'ledger %s' takes %s, and there are %d words", mode->name,
            mode->needs ? mode->needs : "none", count);
    return STATUS_OK;
}

static int run_mode(const struct ledger_mode *mode, const struct ledger_command *options, int count,
    char **words, struct error *err)
{
    const struct ledger_change change = {mode->name, options->day, options->person};
    struct ledger *ledger = NULL;
    enum status status =
        ledger_open(ledger_choice_get_path(&options->choice), mode->access, &change, &ledger, err);
    if (status)
        return (int)status;
    int result = mode->run(options, ledger, count, words, err);
    ledger_close(ledger);
    return result;
}

static bool get_verb(size_t index, struct command_verb *verb)
{
    if (index >= sizeof mode_list / sizeof *mode_list - 1)
        return false;
    *verb = (struct command_verb){mode_list[index]->name, mode_list[index]->options};
    return true;
}

static int run_ledger(const struct command *command, int count, char **words, struct error *err)
{
    struct ledger_command options = untouched;
    size_t index = 0;
    enum status status = verb_read(command, &options, &untouched, &count, words, &index, err);
    if (!status)
        status = check_day(&options, err);
    if (!status)
        status = check_words(mode_list[index], count - 1, err);
    return status ? (int)status : run_mode(mode_list[index], &options, count - 1, words + 1, err);
}

const struct command command_ledger = {
    .name = "ledger",
    .group = "Keeping what was found",
    .purpose = "the store of alloys, heats, rings, recordings, loops",
    .synopsis = "MODE [OPTION]... [WORD]...",
    .description =
        "Keeps loops with all that they were found from, in one file. MODE says what to do:\n\n"
        "add CAPTURE|FOLDER|JSON...: put loops in. What is there already is recognised by the hash "
        "of the capture. JSON is what 'lodecard loop' writes (also a series, card or verdict); "
        "'-': lines of it from standard "
        "input.\n\n"
        "list [KIND]: what is in it; KIND is heats, suppliers, alloys, specimens, rigs, captures, "
        "series, cards, verdicts, remarks, tags or changes.\n\n"
        "find: loops that fulfil conditions, or statistics of their heats.\n\n"
        "show KIND NAME: one loop, capture, specimen, heat, rig, series, card, verdict or change "
        "with all that is known "
        "of "
        "it. NAME is its number or its name, of a capture its hash or the begin of it.\n\n"
        "history KIND NAME: what happened to it, and by which change.\n\n"
        "remark KIND NAME WORDS: words of people on it.\n\n"
        "tag KIND NAME WORD: a word on it, by which 'find' and 'export' choose.\n\n"
        "undo: take back the last change; again: the one before.\n\n"
        "recompute: loops once more with this program; what comes out differently is told against "
        "its uncertainty and becomes current, the old loop stays.\n\n"
        "export: all figures as CSV, loops as JSON, or the whole ledger as a folder of text "
        "files.\n\n"
        "import FOLDER: such a folder back, into a new ledger.\n\n"
        "backup FILE: a copy as of one moment, while others go on writing.\n\n"
        "check: is the file sound, is every number the one that was written, does all fit "
        "together?\n\n"
        "docs/ledger.md has examples.",
    .options = ledger_table,
    .examples = ledger_examples,
    .get_verb = get_verb,
    .run = run_ledger,
};
