// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_HELP_H
#define LODECARD_CLI_HELP_H

#include "base/text.h"
#include "cli/command.h"

/* All that tells people how to use the program comes from the command table, so that help, manual
 * page and parser cannot disagree. */

/* The help of a command, or of one of its verbs (NULL: of the command); NULL: of the program. */
void help_write(struct text *out, const struct command *command, const struct command_verb *verb);

/* A manual page in man(7) markup: lodecard(1), or that of a command, lodecard-COMMAND(1). */
void manual_write(struct text *out, const struct command *command);

/* All commands, verbs, options and examples: the "lodecard-help/1" object. */
void help_write_json(struct text *out);

/* What a shell sources to complete command lines. */
void completion_write_bash(struct text *out);
void completion_write_zsh(struct text *out);

/* The paragraph of the description that tells of a verb, and its length; NULL: there is none. What
 * it says about it begins behind ": " at `about`. */
const char *help_find_verb(
    const struct command *command, const char *verb, size_t *length, const char **about);

/* The verb of that name; false: the command has none such. */
bool help_get_verb(const struct command *command, const char *name, struct command_verb *verb);

/* Whether an option acts with a verb: it is listed there, or nowhere. */
bool help_has_option(
    const struct command *command, const struct command_verb *verb, const struct option *option);

/* A verdict's own exit status, besides those of enum status. */
enum { QUALIFY_REJECTED = 10, QUALIFY_UNDECIDED = 11 };

/* What an exit status means; ends in an entry without meaning. */
struct exit_meaning {
    int status;
    const char *meaning;
};
extern const struct exit_meaning exit_meanings[];

#endif
