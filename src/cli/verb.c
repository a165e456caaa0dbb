// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/verb.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"

#define VERBS_MOST 16

static bool is_own(const struct verb *verb, const char *name)
{
    for (const char *const *own = verb->options; *own != NULL; own++) {
        if (strcmp(*own, name) == 0) {
            return true;
        }
    }
    return false;
}

static size_t get_size(enum option_type type)
{
    static const size_t sizes[] = {
        [OPTION_FLAG] = sizeof(bool),
        [OPTION_TEXT] = sizeof(const char *),
        [OPTION_TEXTS] = sizeof(struct option_texts),
        [OPTION_PLACE] = sizeof(const char *),
        [OPTION_NUMBER] = sizeof(double),
        [OPTION_COUNT] = sizeof(size_t),
        [OPTION_LETTER] = sizeof(char),
        [OPTION_QUANTITY] = sizeof(struct quantity),
    };
    return sizes[type];
}

/* Whether a member is no longer zero. */
static bool is_given(const void *options, const struct option *option)
{
    const char *member = (const char *)options + option->offset;
    for (size_t i = 0; i < get_size(option->type); i++) {
        if (member[i] != 0) {
            return true;
        }
    }
    return false;
}

/* An option of another verb would be believed to act. */
static enum status check_options(
    const struct command *command, const struct verb *verb, const void *options, struct error *err)
{
    for (const struct option *option = command->options; option->name != NULL; option++) {
        if (option->name[0] != '\0' && is_given(options, option) && !is_own(verb, option->name)) {
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
    const struct verb *fallback, void *options, size_t size, int count, char **words,
    struct error *err)
{
    memset(options, 0, size);
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
    status = check_options(command, verb, options, err);
    if (status != STATUS_OK) {
        return (int)status;
    }
    return verb == fallback ? verb->run(options, count, words, err)
                            : verb->run(options, count - 1, words + 1, err);
}
