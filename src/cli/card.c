// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/card.h"

#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "cli/command.h"
#include "cli/common_options.h"
#include "cli/output.h"
#include "cli/series_wants.h"
#include "cli/verb.h"

static const struct card_verb *const verb_list[] = {&card_make_verb, &card_show, &card_check_verb,
    &card_diff_verb, &card_merge_verb, &card_export, NULL};

#define AT(member) .offset = offsetof(struct card_command, member)
static const struct option card_table[] = {
    {.name = "", .help = "What is written"},
    {.name = "output",
        .letter = 'o',
        .value = "FILE",
        .type = OPTION_TEXT,
        AT(output),
        .help = "the file to write; '-' is standard output"},
    {.name = "", .help = "Of export"},
    {.name = "to",
        .value = "NAME",
        .type = OPTION_TEXT,
        AT(to),
        .help = "the exporter: what the file is for"},
    {.name = "list",
        .type = OPTION_FLAG,
        AT(is_list),
        .help = "print the names of all exporters, with a line each"},
    {.name = "set",
        .value = "KEY=VALUE",
        .type = OPTION_TEXTS,
        AT(settings),
        .help = "an option of the exporter, such as table=losses of csv; several may be given"},
    {.name = "exporters",
        .value = "FOLDER",
        .type = OPTION_TEXT,
        AT(exporters),
        .help = "a folder of your own exporters, NAME.lua (default: what LODECARD_EXPORTERS "
                "names)"},
    {.name = "", .help = "What make puts into it"},
    {.name = "name",
        .value = "TEXT",
        .type = OPTION_TEXT,
        AT(name),
        .help = "what people call the steel (default: alloy and heat)"},
    {.name = "date",
        .value = "DATE",
        .type = OPTION_TEXT,
        AT(date),
        .help = "the day of the card, such as 2026-11-25 (default: none, so that the same input "
                "gives the same bytes)"},
    {.name = "bound",
        .value = "X",
        .type = OPTION_NUMBER,
        .dimension = DIMENSION_NUMBER,
        .least = 1e-6,
        .most = 0.1,
        AT(bound_relative),
        .help = "leave out points of a branch that the straight lines between the others meet "
                "within this part of the peak flux density (default: 0.0002)"},
    {.name = "smooth",
        .type = OPTION_FLAG,
        AT(is_smoothed),
        .help = "smooth the curve for solvers as far as the uncertainty of its tips allows"},
    {.table = model_options, AT(models)},
    {.name = "", .help = "How make reads its series"},
    {.table = setup_options, AT(series.setup)},
    {.table = steel_options, AT(series)},
    {.name = "jobs",
        .letter = 'j',
        .value = "N",
        .type = OPTION_COUNT,
        .least = 0,
        .most = 1024,
        AT(series.threads),
        .help = "work on N captures at a time (default: one a processor)"},
    {.name = "", .help = "Of check"},
    {.name = "captures",
        .value = "FOLDER",
        .type = OPTION_TEXTS,
        AT(captures),
        .help = "where the card's captures lie, to compare their SHA-256 (the card's own folder is "
                "looked into anyway); may be given several times"},
    {0},
};

static const struct example card_examples[] = {
    {"lodecard card make H2291/*.flac -o rs36.json", "a card of all captures of a ring"},
    {"lodecard card show rs36.json", "a page about a card"},
    {"lodecard card check rs36.json --captures H2291", "whether a card can be true"},
    {"lodecard card diff rs36.json other.json", "which figures of two steels differ"},
    {"lodecard card export --list", "what a card can be exported to"},
    {"lodecard card export rs36.json --to getdp -o steel.pro", "for a finite-element program"},
    {0},
};

enum status card_write_output(
    const struct card_command *options, const struct card *card, struct error *err)
{
    struct text out = {0};
    enum status status = card_write(card, &out, err);
    if (!status)
        status = output_write(options->output, &out, err);
    text_clear(&out);
    return status;
}

static bool get_verb(size_t index, struct command_verb *verb)
{
    if (index >= sizeof verb_list / sizeof *verb_list - 1)
        return false;
    *verb = (struct command_verb){verb_list[index]->name, verb_list[index]->options};
    return true;
}

static int run_card(const struct command *command, int count, char **words, struct error *err)
{
    static const struct card_command nothing;
    struct card_command options = nothing;
    size_t index = 0;
    enum status status =
        options_read(command->name, command->options, &options, &count, words, err);
    if (status)
        return (int)status;
    /* 'lodecard card ring.flac -o card.json' makes one as well */
    const bool is_file = count > 0 && file_exists(words[0]) && strpbrk(words[0], "./");
    char make[] = "make", *as_make[] = {make};
    status = verb_find(command, is_file ? 1 : count, is_file ? as_make : words, &index, err);
    if (!status)
        status = verb_check_options(command, index, &options, &nothing, err);
    if (status)
        return (int)status;
    return verb_list[index]->run(&options, count - !is_file, words + !is_file, err);
}

const struct command command_card = {
    .name = "card",
    .group = "From loops to a material card",
    .purpose = "the material card of a steel: make, show, check, compare, export",
    .synopsis = "VERB [OPTION]... FILE...",
    .description =
        "A card is one JSON file about one steel: figures with uncertainty, loops, "
        "curves, loss laws, models, and where each number came from. docs/card.md "
        "explains it. VERB is\n\n"
        "make: a card of captures, loop JSON or tables of measured loops, as 'lodecard "
        "series' takes them. 'card FILE...' alone makes one as well.\n\n"
        "show: a page about a card.\n\n"
        "check: whether it can be true: physics, curves, and the hashes of captures that "
        "are at hand.\n\n"
        "diff: two cards, figure by figure: same, different, or cannot tell.\n\n"
        "merge: the cards of several rings of a heat become one: means, spread, number.\n\n"
        "export: writes what a design program reads, by an exporter: a small Lua script "
        "that came with the program, or your own (docs/exporters.md). --list names all.",
    .options = card_table,
    .examples = card_examples,
    .get_verb = get_verb,
    .run = run_card,
};
