// SPDX-License-Identifier: GPL-3.0-or-later
/* The command table for programs: "lodecard-help/1". */
#include <string.h>

#include "base/json.h"
#include "base/version.h"
#include "cli/help.h"
#include "cli/option_walk.h"
#include "cli/takes.h"

/* The words of a text as a list. */
static void add_words(struct json *json, const char *key, const char *words)
{
    json_begin_array(json, key);
    for (const char *at = words ? words : ""; *at;) {
        const size_t length = strcspn(at, " ");
        struct text word = {0};
        text_add_bytes(&word, at, length);
        if (length > 0)
            json_add_text(json, NULL, word.bytes);
        text_clear(&word);
        at += length + (at[length] == ' ');
    }
    json_end_array(json);
}

static void add_verbs(struct json *json, const struct command *command)
{
    struct command_verb verb;
    json_begin_array(json, "verbs");
    for (size_t i = 0; command->get_verb && command->get_verb(i, &verb); i++) {
        const char *about = NULL;
        size_t length = 0;
        struct text words = {0};
        struct text takes = {0};
        const char *paragraph = help_find_verb(command, verb.name, &length, &about);
        takes_add_argument(&takes, command, verb.name);
        if (paragraph)
            text_add_bytes(&words, about, (size_t)(paragraph + length - about));
        json_begin_object(json, NULL);
        json_add_text(json, "name", verb.name);
        json_add_text(json, "help", words.bytes);
        add_words(json, "takes", takes.bytes);
        json_begin_array(json, "options");
        for (struct option_walk walk = option_walk_begin(command->options);
             option_walk_next(&walk);)
            if (walk.option.name[0] && help_has_option(command, &verb, &walk.option))
                json_add_text(json, NULL, walk.option.name);
        json_end_array(json);
        json_end_object(json);
        text_clear(&takes);
        text_clear(&words);
    }
    json_end_array(json);
}

static void add_option(struct json *json, const struct command *command,
    const struct option *option, const char *group)
{
    const char letter[2] = {option->letter, '\0'};
    struct text takes = {0};
    takes_add_option(&takes, command, option);
    json_begin_object(json, NULL);
    json_add_text(json, "name", option->name);
    json_add_text(json, "letter", option->letter ? letter : NULL);
    json_add_text(json, "value", option->value);
    json_add_text(json, "group", group);
    json_add_text(json, "help", option->help);
    add_words(json, "takes", takes.bytes);
    json_end_object(json);
    text_clear(&takes);
}

static void add_command(struct json *json, const struct command *command)
{
    const char *group = NULL;
    struct text takes = {0};
    takes_add_argument(&takes, command, "");
    json_begin_object(json, NULL);
    json_add_text(json, "name", command->name);
    json_add_text(json, "group", command->group);
    json_add_text(json, "purpose", command->purpose);
    json_add_text(json, "synopsis", command->synopsis);
    json_add_text(json, "description", command->description);
    add_words(json, "takes", takes.bytes);
    add_verbs(json, command);
    json_begin_array(json, "options");
    for (struct option_walk walk = option_walk_begin(command->options); option_walk_next(&walk);) {
        if (walk.option.name[0])
            add_option(json, command, &walk.option, group);
        else
            group = walk.option.help;
    }
    json_end_array(json);
    json_begin_array(json, "examples");
    for (const struct example *each = command->examples; each && each->line; each++) {
        json_begin_object(json, NULL);
        json_add_text(json, "line", each->line);
        json_add_text(json, "meaning", each->meaning);
        json_end_object(json);
    }
    json_end_array(json);
    json_end_object(json);
    text_clear(&takes);
}

void help_write_json(struct text *out)
{
    struct json json;
    json_init(&json, out, 2);
    json_begin_object(&json, NULL);
    json_add_text(&json, "schema", "lodecard-help/1");
    json_add_text(&json, "version", LODECARD_VERSION);
    json_begin_array(&json, "commands");
    for (const struct command *const *each = command_list; *each; each++)
        add_command(&json, *each);
    json_end_array(&json);
    json_begin_array(&json, "exit_status");
    for (const struct exit_meaning *exit = exit_meanings; exit->meaning; exit++) {
        json_begin_object(&json, NULL);
        json_add_integer(&json, "status", exit->status);
        json_add_text(&json, "meaning", exit->meaning);
        json_end_object(&json);
    }
    json_end_array(&json);
    json_end_object(&json);
    json_finish(&json);
}
