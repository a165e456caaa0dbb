// SPDX-License-Identifier: GPL-3.0-or-later
/* Manual pages: lodecard(1) and one a command, in man(7) markup, from the table that the help is
 * from. */
#include <ctype.h>
#include <string.h>

#include "base/version.h"
#include "cli/help.h"
#include "cli/option_walk.h"

/* The first `length` bytes of a text, with what man(7) would read as markup made harmless. */
static void add_bytes(struct text *out, const char *words, size_t length)
{
    bool is_start = true; /* of a line */
    for (const char *at = words; at < words + length && *at; at++) {
        if (is_start && (*at == '.' || *at == '\''))
            text_add(out, "\\&");
        if (*at == '\\')
            text_add(out, "\\e");
        else if (*at == '-')
            text_add(out, "\\-");
        else if (*at == '\'')
            text_add(out, "\\(aq");
        else if (*at == '`')
            text_add(out, "\\(ga");
        else if (*at == '^')
            text_add(out, "\\(ha");
        else if (*at == '~')
            text_add(out, "\\(ti");
        else
            text_add_bytes(out, at, 1);
        is_start = *at == '\n';
    }
}

static void add_plain(struct text *out, const char *words)
{
    add_bytes(out, words, strlen(words));
}

static void add_upper(struct text *out, const char *words)
{
    for (; *words; words++) {
        const char letter = (char)toupper((unsigned char)*words);
        text_add_bytes(out, &letter, 1);
    }
}

/* The title, and the name as whatis(1) wants it. */
static void add_head(struct text *out, const struct command *command)
{
    text_add(out, ".\\\" SPDX-License-Identifier: GPL-3.0-or-later\n"
                  ".\\\" Written by 'lodecard help --manual");
    text_add_format(out, "%s%s'.\n.TH LODECARD", command ? " " : "", command ? command->name : "");
    if (command) {
        text_add(out, "\\-");
        add_upper(out, command->name);
    }
    text_add_format(
        out, " 1 \"\" \"lodecard %s\" \"User commands\"\n.SH NAME\nlodecard", LODECARD_VERSION);
    if (command)
        text_add_format(out, "\\-%s", command->name);
    text_add(out, " \\- ");
    add_plain(out, command
                       ? command->purpose
                       : "B-H loops and figures of magnetic steel rings from recorded waveforms");
    text_add(out, "\n");
}

static bool is_verb(const struct command *command, const char *at)
{
    struct command_verb verb;
    const char *about;
    size_t length;
    for (size_t i = 0; command->get_verb && command->get_verb(i, &verb); i++)
        if (help_find_verb(command, verb.name, &length, &about) == at)
            return true;
    return false;
}

/* "export: all figures as CSV" as an item. */
static void add_verb(struct text *out, const char *at, size_t length)
{
    const size_t name = (size_t)(strstr(at, ": ") - at);
    text_add(out, ".TP\n.B ");
    add_bytes(out, at, name);
    text_add(out, "\n");
    add_bytes(out, at + name + 2, length - name - 2);
    text_add(out, "\n");
}

static void add_description(struct text *out, const struct command *command)
{
    text_add(out, ".SH DESCRIPTION\n");
    for (const char *at = command->description; *at;) {
        const char *end = strstr(at, "\n\n");
        const size_t length = end ? (size_t)(end - at) : strlen(at);
        if (is_verb(command, at))
            add_verb(out, at, length);
        else {
            text_add(out, at == command->description ? "" : ".PP\n");
            add_bytes(out, at, length);
            text_add(out, "\n");
        }
        at += length + (end ? 2 : 0);
    }
}

/* Which verbs an option is for, where that is not all of them. */
static void add_verbs_of(
    struct text *out, const struct command *command, const struct option *option)
{
    struct command_verb verb;
    struct text names = {0};
    bool is_of_all = true;
    for (size_t i = 0; command->get_verb && command->get_verb(i, &verb); i++) {
        if (!help_has_option(command, &verb, option))
            is_of_all = false;
        else
            text_add_format(&names, "%s%s", names.length ? ", " : "",
                verb.name[0] && verb.name[0] != '-' ? verb.name : "no verb");
    }
    if (!is_of_all && names.length > 0) {
        text_add(out, " (of ");
        add_plain(out, names.bytes);
        text_add(out, ")");
    }
    text_clear(&names);
}

static void add_option(struct text *out, const struct command *command, const struct option *option)
{
    text_add(out, ".TP\n");
    if (option->letter)
        text_add_format(out, "\\fB\\-%c\\fR, ", option->letter);
    text_add(out, "\\fB\\-\\-");
    add_plain(out, option->name);
    text_add(out, "\\fR");
    if (option->value) {
        text_add(out, " \\fI");
        add_plain(out, option->value);
        text_add(out, "\\fR");
    }
    text_add(out, "\n");
    add_plain(out, option->help);
    add_verbs_of(out, command, option);
    text_add(out, "\n");
}

static void add_options(struct text *out, const struct command *command)
{
    text_add(out, ".SH OPTIONS\n"); /* every command has some */
    for (struct option_walk walk = option_walk_begin(command->options); option_walk_next(&walk);) {
        if (walk.option.name[0]) {
            add_option(out, command, &walk.option);
            continue;
        }
        text_add(out, ".SS ");
        add_plain(out, walk.option.help);
        text_add(out, "\n");
    }
}

static void add_examples(struct text *out, const struct command *command)
{
    const struct example *each = command->examples;
    if (each && each->line)
        text_add(out, ".SH EXAMPLES\n");
    for (; each && each->line; each++) {
        text_add(out, ".TP\n.B ");
        add_plain(out, each->line);
        text_add(out, "\n");
        add_plain(out, each->meaning);
        text_add(out, "\n");
    }
}

static void add_exit_status(struct text *out)
{
    text_add(out, ".SH EXIT STATUS\n");
    for (const struct exit_meaning *exit = exit_meanings; exit->meaning; exit++) {
        text_add_format(out, ".TP\n%d\n", exit->status);
        add_plain(out, exit->meaning);
        text_add(out, "\n");
    }
}

/* Every page has it: who reads one of them may be at the bench. */
static void add_safety(struct text *out)
{
    text_add(out, ".SH SAFETY\n"
                  "Excitation windings store energy and can carry dangerous voltage; rings and "
                  "shunts get hot. Isolate, limit the current, discharge, never open a driven "
                  "winding, and connect nothing that is tied to the mains to a sound card. Local "
                  "codes and qualified persons have the last word.\n");
}

static void write_command(struct text *out, const struct command *command)
{
    text_add_format(out, ".SH SYNOPSIS\n.B lodecard %s\n", command->name);
    add_plain(out, command->synopsis);
    text_add(out, "\n");
    add_description(out, command);
    add_options(out, command);
    add_examples(out, command);
    add_exit_status(out);
    add_safety(out);
    text_add(out, ".SH SEE ALSO\n.BR lodecard (1)\n");
}

static void add_commands(struct text *out)
{
    const char *group = "";
    text_add(out, ".SH COMMANDS\nEach has a page of its own:\n.BR lodecard\\-loop (1)\n"
                  "and so on.\n");
    for (const struct command *const *each = command_list; *each; each++) {
        if (strcmp(group, (*each)->group)) {
            group = (*each)->group;
            text_add(out, ".SS ");
            add_plain(out, group);
            text_add(out, "\n");
        }
        text_add_format(out, ".TP\n.B %s\n", (*each)->name);
        add_plain(out, (*each)->purpose);
        text_add(out, "\n");
    }
}

static void write_program(struct text *out)
{
    text_add(out,
        ".SH SYNOPSIS\n.B lodecard\n.I COMMAND\n[\\fIOPTION\\fR]... [\\fIFILE\\fR]...\n.br\n"
        ".B lodecard help\n[\\fICOMMAND\\fR [\\fIVERB\\fR]]\n.SH DESCRIPTION\n"
        "Turns the waveforms of an excitation current and a pickup coil, recorded on a ring of "
        "magnetic steel, into B\\-H loops and figures, and these into what a steel does: losses, "
        "models, a material card, the torque of a motor, a verdict on a supplier.\n");
    add_commands(out);
    add_exit_status(out);
    text_add(out, ".SH ENVIRONMENT\n.TP\n.B LODECARD_LEDGER\nthe ledger, where \\-\\-ledger does "
                  "not name one\n.TP\n.B LODECARD_EXPORTERS\na folder of your own exporters, where "
                  "\\-\\-exporters does not name one\n");
    add_safety(out);
    text_add(out, ".SH SEE ALSO\n");
    for (const struct command *const *each = command_list; *each; each++)
        text_add_format(out, ".BR lodecard\\-%s (1)%s\n", (*each)->name, each[1] ? "," : "");
}

void manual_write(struct text *out, const struct command *command)
{
    add_head(out, command);
    if (command)
        write_command(out, command);
    else
        write_program(out);
}
