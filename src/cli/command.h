// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_COMMAND_H
#define LODECARD_CLI_COMMAND_H

#include "base/error.h"
#include "cli/options.h"

struct command_verb;

/* How to add a command: a const struct like this at the end of a file of its own
 * (src/cli/NAME.c), its declaration below, and its line in command_list (main.c). Help and manual
 * page, completion come from the struct. */
struct command {
    const char *name;
    const char *group;              /* heading under which the help lists it */
    const char *purpose;            /* some words for the list, at most 60 columns */
    const char *synopsis;           /* what follows the name: "[OPTION]... CAPTURE..." */
    const char *description;        /* paragraphs, parted by "\n\n"; wrapped by the help. One that
                                       begins with a verb's name tells what that does:
                                       "export: ...", "show KIND NAME: ..." */
    const struct option *options;   /* ends in an entry without a name; NULL: none */
    const struct example *examples; /* ends in an entry without a line */

    /* The verbs, by their place; false behind the last. NULL: the command has none. */
    bool (*get_verb)(size_t index, struct command_verb *verb);

    /* `words` are the arguments behind the command's name. Returns the exit status (enum status,
     * or a verdict's own). What stands in err is printed by main: a command that has told its
     * failures itself leaves err->message empty. Standard output is closed and checked by main. */
    int (*run)(const struct command *command, int count, char **words, struct error *err);
};

/* What a word behind the command's name chooses, with the options that it takes; those that no verb
 * lists are for all. */
struct command_verb {
    const char *name;           /* "": what the command does without one */
    const char *const *options; /* ends in NULL */
};

struct example {
    const char *line; /* a whole command line */
    const char *meaning;
};

/* All commands, in the order of the help; ends in NULL. */
extern const struct command *const command_list[];

/* The command of that name, or NULL with err filled (nearest name in the hint). */
const struct command *command_find(const char *name, struct error *err);

extern const struct command command_calibrate;
extern const struct command command_card;
extern const struct command command_help;
extern const struct command command_ledger;
extern const struct command command_look;
extern const struct command command_loop;
extern const struct command command_motor;
extern const struct command command_qualify;
extern const struct command command_report;
extern const struct command command_series;
extern const struct command command_virtual;

#endif
