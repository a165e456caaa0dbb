// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdio.h>
#include <string.h>

#include "cli/help.h"

struct help_options {
    bool is_manual, is_list, is_json;
    const char *completion;
};

#define AT(member) .offset = offsetof(struct help_options, member)
static const struct option help_table[] = {
    {.name = "manual",
        .type = OPTION_FLAG,
        AT(is_manual),
        .help = "write the manual page, in the markup of man: of the program, or of the command"},
    {.name = "completion",
        .value = "SHELL",
        .type = OPTION_TEXT,
        AT(completion),
        .help = "write what completes command lines in that shell: bash or zsh"},
    {.name = "list", .type = OPTION_FLAG, AT(is_list), .help = "write the commands' names only"},
    {.name = "json",
        .type = OPTION_FLAG,
        AT(is_json),
        .help = "write all commands, verbs, options and examples as JSON"},
    {0},
};

static const struct example help_examples[] = {
    {"lodecard help loop", "what 'loop' takes"},
    {"lodecard help card export", "what one of the verbs of 'card' takes"},
    {"lodecard help loop --manual >lodecard-loop.1",
        "its manual page, for 'man ./lodecard-loop.1'"},
    {"lodecard help --completion bash >lodecard.bash",
        "commands, options and values are completed once that is sourced; 'make install' puts it "
        "where bash and zsh find it"},
    {0},
};

static enum status find_verb(
    const struct command *command, const char *name, struct command_verb *verb, struct error *err)
{
    char hint[120];
    if (help_get_verb(command, name, verb))
        return STATUS_OK;
    snprintf(hint, sizeof hint, "'lodecard help %s'", command->name);
    return fail(err, STATUS_USAGE, hint, "'%s' does not know '%.80s'", command->name, name);
}

static enum status write_list(struct text *out)
{
    for (const struct command *const *each = command_list; *each; each++)
        text_add_format(out, "%s\n", (*each)->name);
    return STATUS_OK;
}

static enum status write_completion(struct text *out, const char *shell, struct error *err)
{
    if (!strcmp(shell, "bash"))
        completion_write_bash(out);
    else if (!strcmp(shell, "zsh"))
        completion_write_zsh(out);
    else
        return fail(err, STATUS_USAGE, "bash or zsh", "there is no completion for '%.80s'", shell);
    return STATUS_OK;
}

static enum status check_options(const struct help_options *options, int count, struct error *err)
{
    const bool is_whole = options->is_list || options->is_json || options->completion;
    const int kinds =
        options->is_manual + options->is_list + options->is_json + (options->completion != NULL);
    if (kinds > 1)
        return fail(err, STATUS_USAGE, "one at a time",
            "--manual, --completion, --list and --json exclude each other");
    if (is_whole && count > 0)
        return fail(err, STATUS_USAGE, "leave out the command", "that is of the whole program");
    if (count > (options->is_manual ? 1 : 2))
        return fail(err, STATUS_USAGE, "'lodecard help loop'", "'help' takes one command");
    return STATUS_OK;
}

static enum status write(struct text *out, const struct help_options *options, int count,
    char **words, struct error *err)
{
    const struct command *subject = count > 0 ? command_find(words[0], err) : NULL;
    struct command_verb verb;
    if (count > 0 && !subject)
        return STATUS_USAGE;
    if (count > 1 && find_verb(subject, words[1], &verb, err))
        return STATUS_USAGE;
    if (options->completion)
        return write_completion(out, options->completion, err);
    if (options->is_list)
        return write_list(out);
    if (options->is_json)
        help_write_json(out);
    else if (options->is_manual)
        manual_write(out, subject);
    else
        help_write(out, subject, count > 1 ? &verb : NULL);
    return STATUS_OK;
}

static int run_help(const struct command *command, int count, char **words, struct error *err)
{
    struct help_options options = {0};
    struct text out = {0};
    enum status status =
        options_read(command->name, command->options, &options, &count, words, err);
    if (!status)
        status = check_options(&options, count, err);
    if (!status)
        status = write(&out, &options, count, words, err);
    if (!status && out.failed)
        status = fail_memory(err);
    if (!status)
        fputs(out.bytes, stdout);
    text_clear(&out);
    return (int)status;
}

const struct command command_help = {
    .name = "help",
    .group = "About",
    .purpose = "what the commands do and take",
    .synopsis = "[COMMAND [VERB]]",
    .description = "Lists the commands, or tells what one of them does, what it takes, and how it "
                   "is used. 'lodecard COMMAND --help' is the same.",
    .options = help_table,
    .examples = help_examples,
    .run = run_help,
};
