// SPDX-License-Identifier: GPL-3.0-or-later
/* What the command table tells of a command's verbs. */
#include <string.h>

#include "cli/help.h"

const char *help_find_verb(
    const struct command *command, const char *verb, size_t *length, const char **about)
{
    const size_t name = strlen(verb);
    for (const char *at = command->description; name > 0 && *at;) {
        const char *end = strstr(at, "\n\n");
        const size_t count = end ? (size_t)(end - at) : strlen(at);
        const char *colon = strstr(at, ": ");
        if (!strncmp(at, verb, name) && (at[name] == ':' || at[name] == ' ') && colon &&
            colon < at + count) {
            *length = count;
            *about = colon + 2;
            return at;
        }
        at += count + (end ? 2 : 0);
    }
    return NULL;
}

bool help_get_verb(const struct command *command, const char *name, struct command_verb *verb)
{
    for (size_t i = 0; command->get_verb && command->get_verb(i, verb); i++)
        if (name[0] && !strcmp(verb->name, name))
            return true;
    return false;
}

bool help_has_option(
    const struct command *command, const struct command_verb *verb, const struct option *option)
{
    struct command_verb other;
    if (option_is_listed(verb->options, option->name))
        return true;
    for (size_t i = 0; command->get_verb(i, &other); i++)
        if (option_is_listed(other.options, option->name))
            return false;
    return true;
}
