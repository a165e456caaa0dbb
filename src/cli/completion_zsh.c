// SPDX-License-Identifier: GPL-3.0-or-later
/* Completion for zsh (zshcompsys(1), "_arguments"), from the command table. */
#include <string.h>

#include "cli/help.h"
#include "cli/option_walk.h"
#include "cli/takes.h"

/* Words within single quotes and square brackets. */
static void add_words(struct text *out, const char *words, const char *escaped)
{
    for (; *words; words++) {
        if (*words == '\'')
            text_add(out, "'\\''");
        else {
            if (strchr(escaped, *words))
                text_add(out, "\\");
            text_add_bytes(out, words, 1);
        }
    }
}

/* What completes a value: an action of _arguments. */
static void add_action(struct text *out, const char *takes)
{
    struct text endings = {0}, words = {0};
    bool has_any = false, has_folder = false;
    for (const char *at = takes; *at;) {
        const size_t length = strcspn(at, " ");
        if (length == 1 && *at == '*')
            has_any = true;
        else if (length == 1 && *at == '/')
            has_folder = true;
        else if (length > 1 && *at == '.') {
            text_add(&endings, endings.length ? "|" : "");
            text_add_bytes(&endings, at + 1, length - 1);
        } else {
            text_add(&words, words.length ? " " : "");
            text_add_bytes(&words, at, length);
        }
        at += length + (at[length] == ' ');
    }
    if (has_any)
        text_add(out, "_files");
    else if (endings.length > 0 && strchr(endings.bytes, '|'))
        text_add_format(out, "_files -g \"*.(%s)\"", endings.bytes);
    else if (endings.length > 0) /* one in brackets would be taken for qualifiers */
        text_add_format(out, "_files -g \"*.%s\"", endings.bytes);
    else if (has_folder)
        text_add(out, "_files -/");
    else if (words.length > 0)
        text_add_format(out, "(%s)", words.bytes);
    else
        text_add(out, " ");
    text_clear(&endings);
    text_clear(&words);
}

static void add_option(struct text *out, const struct command *command, const struct option *option)
{
    struct text takes = {0};
    const char *often = option->type == OPTION_TEXTS ? "*" : "";
    const bool has_value = option->type != OPTION_FLAG;
    takes_add_option(&takes, command, option);
    for (int form = 0; form < 2; form++) { /* the letter, the name */
        if (form == 0 && !option->letter)
            continue;
        text_add_format(out, " \\\n        '%s", often);
        if (option->letter && !*often)
            text_add_format(out, "(-%c --%s)", option->letter, option->name);
        if (form == 0)
            text_add_format(out, "-%c%s", option->letter, has_value ? "+" : "");
        else
            text_add_format(out, "--%s%s", option->name, has_value ? "=" : "");
        text_add(out, "[");
        add_words(out, option->help, "[]\\");
        text_add(out, "]");
        if (has_value) {
            text_add(out, option->type == OPTION_PLACE ? "::" : ":");
            add_words(out, option->value, ":\\");
            text_add(out, ":");
            add_action(out, takes.bytes ? takes.bytes : "");
        }
        text_add(out, "'");
    }
    text_clear(&takes);
}

/* The options of a verb (NULL: all), then what stands between them. */
static void add_arguments(
    struct text *out, const struct command *command, const struct command_verb *verb)
{
    for (struct option_walk walk = option_walk_begin(command->options); option_walk_next(&walk);)
        if (walk.option.name[0] && (!verb || help_has_option(command, verb, &walk.option)))
            add_option(out, command, &walk.option);
    if (command->get_verb && !verb) {
        text_add(out, " \\\n        '1:verb:->verb' '*::word:->words'\n");
        return;
    }
    struct text takes = {0};
    takes_add_argument(&takes, command, verb ? verb->name : "");
    text_add(out, " \\\n        '*:file:");
    add_action(out, takes.bytes ? takes.bytes : "");
    text_add(out, "'\n");
    text_clear(&takes);
}

static void add_verbs(struct text *out, const struct command *command)
{
    struct command_verb verb;
    struct text takes = {0};
    text_add(out, "    case $state in\n    verb)\n        verbs=(");
    for (size_t i = 0; command->get_verb(i, &verb); i++) {
        const char *about = "", *paragraph;
        size_t length = 0;
        if (!verb.name[0])
            continue;
        paragraph = help_find_verb(command, verb.name, &length, &about);
        struct text words = {0};
        text_add_bytes(&words, about, paragraph ? (size_t)(paragraph + length - about) : 0);
        text_add_format(out, "\n            '%s:", verb.name);
        add_words(out, words.bytes ? words.bytes : "", "");
        text_add(out, "'");
        text_clear(&words);
    }
    text_add(out, "\n        )\n        _describe -t verbs verb verbs\n");
    takes_add_argument(&takes, command, "");
    if (takes.length > 0) {
        text_add(out, "        _alternative 'files:file:");
        add_action(out, takes.bytes);
        text_add(out, "'\n");
    }
    text_clear(&takes);
    text_add(out, "        ;;\n    words)\n        case $words[1] in\n");
    for (size_t i = 0; command->get_verb(i, &verb); i++) {
        if (!verb.name[0])
            continue;
        text_add_format(out, "        %s) _arguments -s", verb.name);
        add_arguments(out, command, &verb);
        text_add(out, "        ;;\n");
    }
    text_add(out, "        esac\n        ;;\n    esac\n");
}

static void add_command(struct text *out, const struct command *command)
{
    text_add_format(out,
        "_lodecard_%s() {\n    local state state_descr line context\n    local -a verbs\n"
        "    typeset -A opt_args\n    _arguments -C -s",
        command->name);
    add_arguments(out, command, NULL);
    if (command->get_verb)
        add_verbs(out, command);
    text_add(out, "}\n\n");
}

void completion_write_zsh(struct text *out)
{
    text_add(out, "#compdef lodecard\n# SPDX-License-Identifier: GPL-3.0-or-later\n"
                  "# zsh completion, written by 'lodecard help --completion zsh'.\n\n");
    for (const struct command *const *each = command_list; *each; each++)
        add_command(out, *each);
    text_add(out, "_lodecard() {\n    local state state_descr line context\n"
                  "    local -a commands\n    typeset -A opt_args\n    commands=(");
    for (const struct command *const *each = command_list; *each; each++) {
        text_add_format(out, "\n        '%s:", (*each)->name);
        add_words(out, (*each)->purpose, "");
        text_add(out, "'");
    }
    text_add(out, "\n    )\n    _arguments -C '(- *)'{-h,--help}'[what the commands do]' \\\n"
                  "        '(- *)--version[the version]' '1:command:->command' '*::word:->words'\n"
                  "    case $state in\n    command) _describe -t commands command commands ;;\n"
                  "    words) (( $+functions[_lodecard_$words[1]] )) && _lodecard_$words[1] ;;\n"
                  "    esac\n}\n\n_lodecard \"$@\"\n");
}
