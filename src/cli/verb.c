// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/verb.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "cli/option_walk.h"

#define VERBS_MOST 16

/* Whether an option is some verb's own; the others are everybody's. */
static bool is_owned(const struct command *command, const char *name)
{
    struct command_verb verb;
    for (size_t i = 0; command->get_verb(i, &verb); i++) {
        if (option_is_listed(verb.options, name)) {
            return true;
        }
    }
    return false;
}

enum status verb_check_options(const struct command *command, size_t index, const void *options,
    const void *untouched, struct error *err)
{
    struct command_verb verb = {0};
    (void)command->get_verb(index, &verb);
    for (struct option_walk walk = option_walk_begin(command->options); option_walk_next(&walk);) {
        const struct option *option = &walk.option;
        if (option->name[0] != '\0' && option_is_given(option, options, untouched) &&
            !option_is_listed(verb.options, option->name) && is_owned(command, option->name)) {
            char hint[80];
            snprintf(hint, sizeof hint, "'lodecard help %s' lists the options", command->name);
            return fail(err, STATUS_USAGE, hint, "option '--%s' is not for '%s%s%s'", option->name,
                command->name, verb.name[0] != '\0' ? " " : "", verb.name);
        }
    }
    return STATUS_OK;
}

static enum status refuse_none(const struct command *command, struct error *err)
{
    struct command_verb first = {0};
    char hint[80];
    (void)command->get_verb(0, &first);
    snprintf(hint, sizeof hint, "'lodecard help %s' tells what each is for", command->name);
    return fail(err, STATUS_USAGE, hint, "'%s' needs to know what to do, such as '%s %s'",
        command->name, command->name, first.name);
}

enum status verb_find(
    const struct command *command, int count, char **words, size_t *index, struct error *err)
{
    const char *names[VERBS_MOST + 1] = {0};
    struct command_verb verb;
    char hint[160];
    if (count == 0) {
        return refuse_none(command, err);
    }
    for (size_t i = 0; command->get_verb(i, &verb); i++) {
        if (verb.name[0] != '\0' && strcmp(verb.name, words[0]) == 0) {
            *index = i;
            return STATUS_OK;
        }
        names[i < VERBS_MOST ? i : VERBS_MOST - 1] = verb.name;
    }
    const char *nearest = text_nearest(words[0], names);
    if (nearest != NULL) {
        snprintf(hint, sizeof hint, "did you mean '%s'?", nearest);
    } else {
        snprintf(hint, sizeof hint, "'lodecard help %s' tells what each is for", command->name);
    }
    return fail(err, STATUS_USAGE, hint, "'%s' does not know '%.80s'", command->name, words[0]);
}

enum status verb_read(const struct command *command, void *options, const void *untouched,
    int *count, char **words, size_t *index, struct error *err)
{
    enum status status = options_read(command->name, command->options, options, count, words, err);
    if (status == STATUS_OK) {
        status = verb_find(command, *count, words, index, err);
    }
    return status == STATUS_OK ? verb_check_options(command, *index, options, untouched, err)
                               : status;
}

int verb_run(const struct command *command, const struct verb *const *list,
    const struct verb *fallback, void *options, const void *untouched, int count, char **words,
    struct error *err)
{
    size_t index = 0;
    bool is_named = true;
    enum status status = options_read(command->name, command->options, options, &count, words, err);
    if (status != STATUS_OK) {
        return (int)status;
    }
    status = verb_find(command, count, words, &index, err);
    if (status != STATUS_OK && fallback != NULL) { /* which stands behind the list */
        for (index = 0; list[index] != NULL; index++) {
        }
        is_named = false;
        status = STATUS_OK;
        *err = (struct error){0};
    }
    if (status == STATUS_OK) {
        status = verb_check_options(command, index, options, untouched, err);
    }
    if (status != STATUS_OK) {
        return (int)status;
    }
    return is_named ? list[index]->run(options, count - 1, words + 1, err)
                    : fallback->run(options, count, words, err);
}

bool verb_get(const struct verb *const *list, const struct verb *fallback, size_t index,
    struct command_verb *verb)
{
    size_t count = 0;
    while (list[count] != NULL) {
        count++;
    }
    if (index < count) {
        *verb = (struct command_verb){list[index]->name, list[index]->options};
    } else if (index == count && fallback != NULL) {
        *verb = (struct command_verb){"", fallback->options};
    } else {
        return false;
    }
    return true;
}
