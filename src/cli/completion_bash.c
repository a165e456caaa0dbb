// SPDX-License-Identifier: GPL-3.0-or-later
/* Completion for bash (its manual, "Programmable Completion"), from the command table. It needs
 * nothing but bash. A value that may be left out is marked by "?" ahead of what it takes. */
#include "cli/help.h"
#include "cli/option_walk.h"
#include "cli/takes.h"

static const char head[] =
    "# SPDX-License-Identifier: GPL-3.0-or-later\n"
    "# bash completion for lodecard, written by 'lodecard help --completion bash'.\n\n";

/* How the tables above it are used. */
static const char machine[] =
    "\n# Adds what WORDS tell: endings of files, '*' for any, '/' for folders, other words.\n"
    "_lodecard_reply() {\n"
    "    local each found files=''\n"
    "    local -a list\n"
    "    read -ra list <<<\"$1\"\n"
    "    for each in \"${list[@]}\"; do\n"
    "        case $each in\n"
    "        '?') continue ;;\n"
    "        '*') found=$(compgen -f -- \"$cur\") files=yes ;;\n"
    "        /) found='' files=yes ;;\n"
    "        .?*) found=$(compgen -f -X \"!*$each\" -- \"$cur\") files=yes ;;\n"
    "        *) found=$(compgen -W \"$each\" -- \"$cur\") ;;\n"
    "        esac\n"
    "        while IFS= read -r each; do\n"
    "            [ -z \"$each\" ] || COMPREPLY+=(\"$each\")\n"
    "        done <<<\"$found\"\n"
    "    done\n"
    "    [ -n \"$files\" ] || return\n"
    "    compopt -o filenames 2>/dev/null\n"
    "    while IFS= read -r each; do\n"
    "        [ -z \"$each\" ] || [[ \" ${COMPREPLY[*]} \" == *\" $each \"* ]] || "
    "COMPREPLY+=(\"$each\")\n"
    "    done <<<\"$(compgen -d -- \"$cur\")\"\n"
    "}\n\n"
    "_lodecard() {\n"
    "    local cur=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]} verb='' verbs option takes "
    "i\n"
    "    COMPREPLY=()\n"
    "    if [ \"$COMP_CWORD\" -le 1 ]; then\n"
    "        _lodecard_reply \"$_lodecard_commands --help --version\"\n"
    "        return\n"
    "    fi\n"
    "    verbs=$(_lodecard_verbs \"$command\")\n"
    "    for ((i = 2; i < COMP_CWORD; i++)); do\n"
    "        if [[ -n ${COMP_WORDS[i]} && \" $verbs \" == *\" ${COMP_WORDS[i]} \"* ]]; then\n"
    "            verb=${COMP_WORDS[i]}\n"
    "            break\n"
    "        fi\n"
    "    done\n"
    "    option=${COMP_WORDS[COMP_CWORD - 1]}\n"
    "    if [ \"$cur\" = = ]; then\n"
    "        cur=''\n"
    "    elif [ \"$option\" = = ]; then\n"
    "        option=${COMP_WORDS[COMP_CWORD - 2]}\n"
    "    elif [[ $cur == -* ]]; then\n"
    "        _lodecard_reply \"$(_lodecard_options \"$command\" \"$verb\") --help\"\n"
    "        return\n"
    "    fi\n"
    "    if [[ $option == -?* ]] && takes=$(_lodecard_takes \"$command\" \"$option\"); then\n"
    "        _lodecard_reply \"$takes\"\n"
    "        [[ $takes == '?'* ]] || return\n"
    "    fi\n"
    "    [ -n \"$verb\" ] || _lodecard_reply \"$verbs\"\n"
    "    _lodecard_reply \"$(_lodecard_argument \"$command\" \"$verb\")\"\n"
    "}\n"
    "complete -F _lodecard lodecard\n";

static void add_verbs(struct text *out)
{
    text_add(out, "_lodecard_verbs() {\n    case $1 in\n");
    for (const struct command *const *each = command_list; *each; each++) {
        struct command_verb verb;
        if (!(*each)->get_verb)
            continue;
        text_add_format(out, "    %s) echo '", (*each)->name);
        for (size_t i = 0; (*each)->get_verb(i, &verb); i++)
            if (verb.name[0])
                text_add_format(out, "%s%s", i ? " " : "", verb.name);
        text_add(out, "' ;;\n");
    }
    text_add(out, "    esac\n}\n\n");
}

/* The options of a verb; NULL: of the whole command. */
static void add_options_of(
    struct text *out, const struct command *command, const struct command_verb *verb)
{
    text_add_format(out, "    '%s %s') echo '", command->name, verb ? verb->name : "");
    bool is_first = true;
    for (struct option_walk walk = option_walk_begin(command->options); option_walk_next(&walk);) {
        const struct option *option = &walk.option;
        if (!option->name[0] || (verb && !help_has_option(command, verb, option)))
            continue;
        text_add_format(out, "%s--%s", is_first ? "" : " ", option->name);
        is_first = false;
    }
    text_add(out, "' ;;\n");
}

static void add_options(struct text *out)
{
    text_add(out, "_lodecard_options() {\n    case \"$1 $2\" in\n");
    for (const struct command *const *each = command_list; *each; each++) {
        struct command_verb verb;
        add_options_of(out, *each, NULL);
        for (size_t i = 0; (*each)->get_verb && (*each)->get_verb(i, &verb); i++)
            if (verb.name[0])
                add_options_of(out, *each, &verb);
    }
    text_add(out, "    esac\n}\n\n");
}

/* What an option takes; a failure: it takes nothing, or is none. */
static void add_takes(struct text *out)
{
    text_add(out, "_lodecard_takes() {\n    case \"$1 $2\" in\n");
    for (const struct command *const *each = command_list; *each; each++) {
        for (struct option_walk walk = option_walk_begin((*each)->options);
             option_walk_next(&walk);) {
            const struct option *option = &walk.option;
            if (!option->name[0] || option->type == OPTION_FLAG)
                continue;
            text_add_format(out, "    '%s --%s'", (*each)->name, option->name);
            if (option->letter)
                text_add_format(out, " | '%s -%c'", (*each)->name, option->letter);
            text_add_format(out, ") echo '%s", option->type == OPTION_PLACE ? "? " : "");
            takes_add_option(out, *each, option);
            text_add(out, "' ;;\n");
        }
    }
    text_add(out, "    *) return 1 ;;\n    esac\n}\n\n");
}

static void add_argument(struct text *out, const struct command *command, const char *verb)
{
    text_add_format(out, "    '%s %s') echo '", command->name, verb);
    takes_add_argument(out, command, verb);
    text_add(out, "' ;;\n");
}

static void add_arguments(struct text *out)
{
    text_add(out, "_lodecard_argument() {\n    case \"$1 $2\" in\n");
    for (const struct command *const *each = command_list; *each; each++) {
        struct command_verb verb;
        add_argument(out, *each, "");
        for (size_t i = 0; (*each)->get_verb && (*each)->get_verb(i, &verb); i++)
            if (verb.name[0])
                add_argument(out, *each, verb.name);
    }
    text_add(out, "    esac\n}\n");
}

void completion_write_bash(struct text *out)
{
    text_add(out, head);
    text_add(out, "_lodecard_commands='");
    for (const struct command *const *each = command_list; *each; each++)
        text_add_format(out, "%s%s", (*each)->name, each[1] ? " " : "'\n\n");
    add_verbs(out);
    add_options(out);
    add_takes(out);
    add_arguments(out);
    text_add(out, machine);
}
