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

/* The parts of verb_run, for commands that have something to do between them; the verbs are those
 * of command->get_verb. The place of the first word; refuses what is none, and no word at all. */
enum status verb_find(const struct command *command, int count, char **words, size_t *index,
    struct error *err) MUST_CHECK;

/* Refuses options that are another verb's own: they would be believed to act. Those that no verb
 * names are everybody's. */
enum status verb_check_options(const struct command *command, size_t index, const void *options,
    const void *untouched, struct error *err) MUST_CHECK;

/* The three at once: reads the options, finds the verb, refuses options of others. */
enum status verb_read(const struct command *command, void *options, const void *untouched,
    int *count, char **words, size_t *index, struct error *err) MUST_CHECK;

/* Reads the options into `options`, which begins as a copy of `untouched`, finds the verb, refuses
 * options of other verbs, and runs it. `fallback` is run when the first word is no verb; NULL: that
 * is refused. */
int verb_run(const struct command *command, const struct verb *const *list,
    const struct verb *fallback, void *options, const void *untouched, int count, char **words,
    struct error *err);

#endif
