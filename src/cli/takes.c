// SPDX-License-Identifier: GPL-3.0-or-later
/* Options of one name take the same in all commands, but for those that name their command here. */
#include "cli/takes.h"

#include <stdio.h>
#include <string.h>

#include "card/exporter_list.h"
#include "ledger/kind.h"
#include "model/model.h"
#include "quantity/figure.h"

#define AUDIO ".wav .w64 .rf64 .aif .aiff .caf .flac .au"
#define CAPTURES AUDIO " .csv .tsv .txt"
#define RESULTS ".json .jsonl .ndjson"

static void add_models(struct text *out)
{
    for (size_t i = 0; model_list[i] != NULL; i++)
        text_add_format(out, "%s%s", i ? " " : "", model_list[i]->name);
}

static void add_exporters(struct text *out)
{
    for (const struct exporter_source *each = exporter_list; each->name; each++)
        text_add_format(out, "%s%s", each > exporter_list ? " " : "", each->name);
}

static void add_figures(struct text *out)
{
    for (int i = 0; i < FIGURE_COUNT; i++)
        text_add_format(out, "%s%s", i ? " " : "", figure_table[i].word);
}

static void add_kinds(struct text *out)
{
    for (int i = 0; i < LEDGER_KIND_COUNT; i++)
        text_add_format(out, "%s%s", i ? " " : "", ledger_kind_get_name((enum ledger_kind)i));
}

static void add_plurals(struct text *out)
{
    for (int i = 0; i < LEDGER_KIND_COUNT; i++)
        text_add_format(out, "%s%s", i ? " " : "", ledger_kind_get_plural((enum ledger_kind)i));
}

static void add_commands(struct text *out)
{
    for (size_t i = 0; command_list[i] != NULL; i++)
        text_add_format(out, "%s%s", i ? " " : "", command_list[i]->name);
}

struct entry {
    const char *command; /* NULL: all others */
    const char *name;    /* of the option, or of the verb; NULL: all others */
    const char *words;   /* or */
    void (*add)(struct text *out);
};

static const struct entry options[] = {
    {"calibrate", "crosstalk", CAPTURES, NULL},
    {"card", "output", "*", NULL},
    {"card", "captures", "/", NULL},
    {"card", "to", NULL, add_exporters},
    {"ledger", "columns", NULL, add_figures},
    {"ledger", "sort", NULL, add_figures},
    {"motor", "sweep", "field thickness", NULL},
    {"motor", "compare", RESULTS " " CAPTURES, NULL},
    {"qualify", "kind", "individuals ranges deviations", NULL},
    {"ledger", "by", "", NULL},
    {"report", "output", ".pdf .html", NULL},
    {"report", "page", "a4 letter", NULL},
    {"help", "completion", "bash zsh", NULL},
    {NULL, "by", "supplier heat rig", NULL},
    {NULL, "initial", CAPTURES " " RESULTS, NULL},
    {NULL, "rig", ".yaml .yml", NULL},
    {NULL, "specimen", ".yaml .yml", NULL},
    {NULL, "limits", ".yaml .yml", NULL},
    {NULL, "json", ".json", NULL},
    {NULL, "json-lines", ".jsonl .ndjson .json", NULL},
    {NULL, "list", ".jsonl .ndjson .json", NULL},
    {NULL, "csv", ".csv", NULL},
    {NULL, "plot", ".svg .png .pdf", NULL},
    {NULL, "plot-budget", ".svg .png .pdf", NULL},
    {NULL, "trials", "auto", NULL},
    {NULL, "ledger", "*", NULL},
    {NULL, "model", NULL, add_models},
    {NULL, "figure", NULL, add_figures},
};

static const struct entry arguments[] = {
    {"look", NULL, CAPTURES, NULL},
    {"loop", NULL, CAPTURES, NULL},
    {"calibrate", NULL, CAPTURES, NULL},
    {"series", NULL, CAPTURES " " RESULTS, NULL},
    {"card", "make", CAPTURES " " RESULTS, NULL},
    {"card", NULL, ".json", NULL},
    {"motor", NULL, RESULTS " " CAPTURES, NULL},
    {"qualify", "plan", "", NULL},
    {"qualify", NULL, CAPTURES " " RESULTS, NULL},
    {"report", "verify", ".pdf .html", NULL},
    {"report", NULL, CAPTURES " " RESULTS, NULL},
    {"ledger", "add", CAPTURES " " RESULTS " /", NULL},
    {"ledger", "import", "/", NULL},
    {"ledger", "backup", "*", NULL},
    {"ledger", "list", NULL, add_plurals},
    {"ledger", "show", NULL, add_kinds},
    {"ledger", "history", NULL, add_kinds},
    {"ledger", "remark", NULL, add_kinds},
    {"ledger", "tag", NULL, add_kinds},
    {"ledger", NULL, "", NULL},
    {"virtual", NULL, ".yaml .yml", NULL},
    {"help", NULL, NULL, add_commands},
};

static const struct entry *find(
    const struct entry *list, size_t count, const char *command, const char *name)
{
    for (size_t i = 0; i < count; i++)
        if ((!list[i].command || !strcmp(list[i].command, command)) &&
            (!list[i].name || !strcmp(list[i].name, name)))
            return &list[i];
    return NULL;
}

static void add_entry(struct text *out, const struct entry *entry)
{
    if (entry->add)
        entry->add(out);
    else
        text_add(out, entry->words);
}

/* One of some letters, as people may write them. */
static void add_letters(struct text *out, const char *letters)
{
    for (const char *letter = letters; *letter; letter++) {
        const char *name = *letter == '\t'  ? "tab"
                           : *letter == ' ' ? "blank"
                           : *letter == ';' ? "semicolon" /* which a shell would end the line at */
                                            : NULL;
        text_add_format(out, "%s", letter > letters ? " " : "");
        if (name)
            text_add(out, name);
        else
            text_add_bytes(out, letter, 1);
    }
}

void takes_add_option(struct text *out, const struct command *command, const struct option *option)
{
    const struct entry *entry =
        find(options, sizeof options / sizeof *options, command->name, option->name);
    if (option->type == OPTION_FLAG)
        return;
    if (entry)
        add_entry(out, entry);
    else if (option->letters)
        add_letters(out, option->letters);
    else if (strstr(option->value, "FOLDER"))
        text_add(out, "/");
    else if (strstr(option->value, "FILE") || strstr(option->value, "CAPTURE"))
        text_add(out, "*");
}

void takes_add_argument(struct text *out, const struct command *command, const char *verb)
{
    const struct entry *entry =
        find(arguments, sizeof arguments / sizeof *arguments, command->name, verb);
    if (entry)
        add_entry(out, entry);
}
