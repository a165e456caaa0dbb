// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/help.h"

#include <stdio.h>
#include <string.h>

#include "cli/option_walk.h"
#include "cli/wrap.h"

#define COMMAND_COLUMN 12 /* where the purposes stand in the overview */
#define OPTION_COLUMN 26  /* where the explanations stand in a command's help */

const struct exit_meaning exit_meanings[] = {
    {STATUS_OK, "done"},
    {STATUS_USAGE, "the command line is wrong"},
    {STATUS_INPUT, "an input file is wrong"},
    {STATUS_CAPTURE, "the capture cannot support a result"},
    {STATUS_IO, "reading or writing failed (disk full, permission)"},
    {STATUS_FAULT, "a fault of the program"},
    {QUALIFY_REJECTED, "rejected (qualify)"},
    {QUALIFY_UNDECIDED, "undecided (qualify)"},
    {0, NULL},
};

static void write_group(struct text *out, const char *group)
{
    text_add_format(out, "\n%s\n", group);
    for (const struct command *const *each = command_list; *each; each++) {
        if (strcmp((*each)->group, group))
            continue;
        text_add_format(out, "  %-*s", COMMAND_COLUMN - 2, (*each)->name);
        wrap_add(out, (*each)->purpose, COMMAND_COLUMN, COMMAND_COLUMN);
    }
}

static void write_overview(struct text *out)
{
    text_add(out, "Usage: lodecard COMMAND [OPTION]... [FILE]...\n\n");
    wrap_add(out,
        "Turns the waveforms of an excitation current and a pickup coil, recorded on a ring of "
        "magnetic steel, into B-H loops and figures, and these into what a steel does: losses, "
        "models, a material card, the torque of a motor, a verdict on a supplier.",
        0, 0);
    const char *last = "";
    for (const struct command *const *each = command_list; *each; each++) {
        const char *group = (*each)->group;
        if (strcmp(group, last))
            write_group(out, group);
        last = group;
    }
    text_add(out, "\nExit status\n");
    for (const struct exit_meaning *exit = exit_meanings; exit->meaning; exit++)
        text_add_format(out, "  %-*d%s\n", COMMAND_COLUMN - 2, exit->status, exit->meaning);
    text_add(out, "\n'lodecard help COMMAND' tells what a command takes, with examples.\n");
}

static void write_option(struct text *out, const struct option *option)
{
    if (!option->name[0]) {
        text_add_format(out, "\n%s\n", option->help);
        return;
    }
    char form[64];
    int length = option->letter ? snprintf(form, sizeof form, "  -%c, ", option->letter)
                                : snprintf(form, sizeof form, "      ");
    snprintf(form + length, sizeof form - (size_t)length, "--%s%s%s", option->name,
        option->value ? " " : "", option->value ? option->value : "");
    text_add(out, form);
    size_t column = text_width(form);
    if (column + 2 > OPTION_COLUMN) {
        text_add(out, "\n");
        column = 0;
    }
    wrap_add_blanks(out, OPTION_COLUMN - column);
    wrap_add(out, option->help, OPTION_COLUMN, OPTION_COLUMN);
}

static void write_examples(struct text *out, const struct command *command, const char *begin)
{
    bool is_first = true;
    for (const struct example *each = command->examples; each && each->line; each++) {
        if (begin && !strstr(each->line, begin))
            continue;
        if (is_first)
            text_add(out, "\nExamples\n");
        is_first = false;
        text_add_format(out, "  %s\n      ", each->line);
        wrap_add(out, each->meaning, 6, 6);
    }
}

static void write_command(struct text *out, const struct command *command)
{
    text_add_format(out, "Usage: lodecard %s %s\n\n", command->name, command->synopsis);
    wrap_add(out, command->description, 0, 0);
    bool is_first = true;
    for (struct option_walk walk = option_walk_begin(command->options); option_walk_next(&walk);) {
        if (is_first && walk.option.name[0])
            text_add(out, "\nOptions\n");
        is_first = false;
        write_option(out, &walk.option);
    }
    write_examples(out, command, NULL);
}

/* What belongs to one verb: its paragraph, its options, its examples. */
static void write_verb(
    struct text *out, const struct command *command, const struct command_verb *verb)
{
    const char *about;
    size_t length = 0;
    const char *paragraph = help_find_verb(command, verb->name, &length, &about);
    struct text words = {0};
    char begin[80];
    bool is_first = true;
    snprintf(begin, sizeof begin, "lodecard %s %s", command->name, verb->name);
    text_add_format(out, "Usage: %s [OPTION]...\n\n", begin);
    text_add_bytes(&words, paragraph ? paragraph : "", length);
    wrap_add(out, words.bytes ? words.bytes : "", 0, 0);
    out->failed = out->failed || words.failed;
    text_clear(&words);
    for (struct option_walk walk = option_walk_begin(command->options); option_walk_next(&walk);) {
        if (!walk.option.name[0] || !help_has_option(command, verb, &walk.option))
            continue;
        if (is_first)
            text_add(out, "\nOptions\n");
        is_first = false;
        write_option(out, &walk.option);
    }
    write_examples(out, command, begin);
    text_add_format(out, "\n'lodecard help %s' tells all of it.\n", command->name);
}

void help_write(struct text *out, const struct command *command, const struct command_verb *verb)
{
    if (verb)
        write_verb(out, command, verb);
    else if (command)
        write_command(out, command);
    else
        write_overview(out);
}
