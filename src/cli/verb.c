// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/verb.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"

#define VERBS_MOST 16

/* An option of another verb would be believed to act. */
static enum status check_options(const struct command *command, const struct verb *verb,
    const void *options, const void *untouched, struct error *err)
{
    for (const struct option *option = command->options; option->name != NULL; option++) {
        if (option->name[0] != '\0' && option_is_given(option, options, untouched) &&
            !option_is_listed(verb->options, option->name)) {
            char hint[80];
            snprintf(hint, sizeof hint, "'lodecard help %s' lists the options", command->name);
            return fail(err, STATUS_USAGE, hint, "option '--%s' is not for '%s %s'", option->name,
                command->name, verb->name);
        }
    }
    return STATUS_OK;
}

static const struct verb *find_verb(const struct command *command, const struct verb *const *list,
    const struct verb *fallback, const char *name, struct error *err)
{
    const char *names[VERBS_MOST + 1] = {0};
    char hint[160];
    for (size_t i = 0; list[i] != NULL; i++) {
        if (strcmp(list[i]->name, name) == 0) {
            return list[i];
        }
        names[i < VERBS_MOST ? i : VERBS_MOST - 1] = list[i]->name;
    }
    if (fallback != NULL) {
        return fallback;
    }
    const char *nearest = text_nearest(name, names);
    if (nearest != NULL) {
        snprintf(hint, sizeof hint, "did you mean '%s'?", nearest);
    } else {
        snprintf(hint, sizeof hint, "'lodecard help %s' tells what each is for", command->name);
    }
    (void)fail(err, STATUS_USAGE, hint, "'%s' does not know '%.80s'", command->name, name);
    return NULL;
}

int verb_run(const struct command *command, const struct verb *const *list,
    const struct verb *fallback, void *options, const void *untouched, int count, char **words,
    struct error *err)
{
    enum status status = options_read(command->name, command->options, options, &count, words, err);
    if (status != STATUS_OK) {
        return (int)status;
    }
    if (count == 0 && fallback == NULL) {
        char hint[80];
        snprintf(hint, sizeof hint, "'lodecard help %s' tells what each is for", command->name);
        return (int)fail(err, STATUS_USAGE, hint, "'%s' needs to know what to do, such as '%s %s'",
            command->name, command->name, list[0]->name);
    }
    const struct verb *verb =
        count == 0 ? fallback : find_verb(command, list, fallback, words[0], err);
    if (verb == NULL) {
        return STATUS_USAGE;
    }
    status = check_options(command, verb, options, untouched, err);
    if (status != STATUS_OK) {
        return (int)status;
    }
    return verb == fallback ? verb->run(options, count, words, err)
                            : verb->run(options, count - 1, words + 1, err);
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
