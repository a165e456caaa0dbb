// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/help.h"

#include <stdio.h>
#include <string.h>

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
        if (strcmp((*each)->group, last))
            write_group(out, (*each)->group);
        last = (*each)->group;
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

static void write_command(struct text *out, const struct command *command)
{
    text_add_format(out, "Usage: lodecard %s %s\n\n", command->name, command->synopsis);
    wrap_add(out, command->description, 0, 0);
    const struct option *options = command->options;
    if (options && options->name && options->name[0])
        text_add(out, "\nOptions\n");
    for (const struct option *option = options; option && option->name; option++)
        write_option(out, option);
    if (command->examples)
        text_add(out, "\nExamples\n");
    for (const struct example *each = command->examples; each && each->line; each++) {
        text_add_format(out, "  %s\n      ", each->line);
        wrap_add(out, each->meaning, 6, 6);
    }
}

void help_write(struct text *out, const struct command *command)
{
    if (command)
        write_command(out, command);
    else
        write_overview(out);
}

struct help_options {
    bool is_manual;
};

static const struct option help_table[] = {
    {.name = "manual",
        .type = OPTION_FLAG,
        .offset = offsetof(struct help_options, is_manual),
        .help = "write the manual page (man markup) of the whole program"},
    {0},
};

static const struct example help_examples[] = {
    {"lodecard help loop", "what 'loop' takes"},
    {"lodecard help --manual | man -l -", "the manual page on the screen"},
    {0},
};

static int run_help(const struct command *command, int count, char **words, struct error *err)
{
    struct help_options options = {0};
    enum status status =
        options_read(command->name, command->options, &options, &count, words, err);
    if (status)
        return (int)status;
    if (count > 1)
        return (int)fail(err, STATUS_USAGE, "'lodecard help loop'", "'help' takes one command");
    const struct command *subject = NULL;
    if (count == 1) {
        subject = command_find(words[0], err);
        if (!subject)
            return STATUS_USAGE;
    }
    struct text out = {0};
    if (options.is_manual)
        manual_write(&out);
    else
        help_write(&out, subject);
    status = out.failed ? fail_memory(err) : STATUS_OK;
    if (!status)
        fputs(out.bytes, stdout);
    text_clear(&out);
    return (int)status;
}

const struct command command_help = {
    .name = "help",
    .group = "About",
    .purpose = "what the commands do and take",
    .synopsis = "[COMMAND]",
    .description = "Lists the commands, or tells what one of them does, what it takes, and how it "
                   "is used. 'lodecard COMMAND --help' is the same.",
    .options = help_table,
    .examples = help_examples,
    .run = run_help,
};
