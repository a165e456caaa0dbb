// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_TAKES_H
#define LODECARD_CLI_TAKES_H

#include "base/text.h"
#include "cli/command.h"

/* What a value of the command line may be, as far as a shell can complete it: words parted by
 * blanks, each an ending of files (".yaml"), "*" (any file), "/" (a folder) or a word that stands
 * for itself. Nothing: it cannot be guessed (numbers, names). */

void takes_add_option(struct text *out, const struct command *command, const struct option *option);

/* Of the words that are no options; `verb` "" without one. */
void takes_add_argument(struct text *out, const struct command *command, const char *verb);

#endif
