// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_HELP_H
#define LODECARD_CLI_HELP_H

#include "base/text.h"
#include "cli/command.h"

/* All that tells people how to use the program comes from the command table, so that help, manual
 * page and parser cannot disagree. */

/* The help of a command; NULL: of the program. */
void help_write(struct text *out, const struct command *command);

/* The manual page in man(7) markup: docs/lodecard.1 is this text. */
void manual_write(struct text *out);

/* A verdict's own exit status, besides those of enum status. */
enum { QUALIFY_REJECTED = 10, QUALIFY_UNDECIDED = 11 };

/* What an exit status means; ends in an entry without meaning. */
struct exit_meaning {
    int status;
    const char *meaning;
};
extern const struct exit_meaning exit_meanings[];

#endif
