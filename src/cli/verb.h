// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_VERB_H
#define LODECARD_CLI_VERB_H

#include "cli/command.h"

/* Commands that do several things: the word behind the command's name says which. Their options are
 * one table and one struct; each verb names those that are its own. */
struct verb {
    const char *name;
    const char *const *options; /* those that are its own; ends in NULL */
    /* `options`: the command's struct. `words`: what stands behind the verb. Returns the exit
     * status. */
    int (*run)(const void *options, int count, char **words, struct error *err);
};

/* The entry at `index` for command.get_verb: those of the list, and behind them the fallback, if
 * there is one. */
bool verb_get(const struct verb *const *list, const struct verb *fallback, size_t index,
    struct command_verb *verb);

/* Reads the options into `options`, which begins as a copy of `untouched`, finds the verb, refuses
 * options of other verbs, and runs it. `fallback` is run when the first word is no verb; NULL: that
 * is refused. */
int verb_run(const struct command *command, const struct verb *const *list,
    const struct verb *fallback, void *options, const void *untouched, int count, char **words,
    struct error *err);

#endif
