// SPDX-License-Identifier: GPL-3.0-or-later
#include <string.h>

#include "base/version.h"
#include "cli/help.h"

/* Text with what man(7) would read as markup made harmless. */
static void add_plain(struct text *out, const char *words)
{
    bool is_start = true; /* of a line */
    for (const char *at = words; *at; at++) {
        if (is_start && (*at == '.' || *at == '\''))
            text_add(out, "\\&");
        if (*at == '\\')
            text_add(out, "\\e");
        else if (*at == '-')
            text_add(out, "\\-");
        else
            text_add_bytes(out, at, 1);
        is_start = *at == '\n';
    }
}

static void add_paragraphs(struct text *out, const char *words)
{
    for (const char *at = words; *at;) {
        const char *end = strstr(at, "\n\n");
        size_t length = end ? (size_t)(end - at) : strlen(at);
        struct text paragraph = {0};
        text_add_bytes(&paragraph, at, length);
        text_add(out, ".PP\n");
        add_plain(out, paragraph.bytes ? paragraph.bytes : "");
        text_add(out, "\n");
        text_clear(&paragraph);
        at += length + (end ? 2 : 0);
    }
}

static void add_option(struct text *out, const struct option *option)
{
    if (!option->name[0]) {
        text_add_format(out, ".PP\n.I %s\n", option->help);
        return;
    }
    text_add(out, ".TP\n");
    if (option->letter)
        text_add_format(out, "\\fB\\-%c\\fR, ", option->letter);
    text_add(out, "\\fB\\-\\-");
    add_plain(out, option->name);
    text_add(out, "\\fR");
    if (option->value)
        text_add_format(out, " \\fI%s\\fR", option->value);
    text_add(out, "\n");
    add_plain(out, option->help);
    text_add(out, "\n");
}

static void add_command(struct text *out, const struct command *command)
{
    text_add_format(
        out, ".SS %s: %s\n.B lodecard %s\n", command->name, command->purpose, command->name);
    add_plain(out, command->synopsis);
    text_add(out, "\n");
    add_paragraphs(out, command->description);
    for (const struct option *option = command->options; option && option->name; option++)
        add_option(out, option);
    for (const struct example *each = command->examples; each && each->line; each++) {
        text_add(out, ".PP\n.nf\n.RS\n");
        add_plain(out, each->line);
        text_add(out, "\n.RE\n.fi\n.RS 8\n");
        add_plain(out, each->meaning);
        text_add(out, "\n.RE\n");
    }
}

void manual_write(struct text *out)
{
    text_add_format(out,
        ".\\\" SPDX-License-Identifier: GPL-3.0-or-later\n"
        ".\\\" Written by 'lodecard help --manual'.\n"
        ".TH LODECARD 1 \"\" \"lodecard %s\" \"User commands\"\n"
        ".SH NAME\nlodecard \\- B\\-H loops and figures of magnetic steel rings from recorded "
        "waveforms\n.SH SYNOPSIS\n.B lodecard\n.I COMMAND\n[\\fIOPTION\\fR]... "
        "[\\fIFILE\\fR]...\n.SH DESCRIPTION\nTurns the waveforms of an excitation current and a "
        "pickup coil, recorded on a ring of magnetic steel, into B\\-H loops and figures.\n"
        ".SH COMMANDS\n",
        LODECARD_VERSION);
    for (const struct command *const *each = command_list; *each; each++)
        add_command(out, *each);
    text_add(out, ".SH EXIT STATUS\n");
    for (const struct exit_meaning *exit = exit_meanings; exit->meaning; exit++)
        text_add_format(out, ".TP\n%d\n%s\n", exit->status, exit->meaning);
    text_add(out, ".SH SAFETY\n"
                  "Excitation windings store energy and can carry dangerous voltage; rings and "
                  "shunts get hot. Isolate, limit the current, discharge, never open a driven "
                  "winding, and connect nothing that is tied to the mains to a sound card. Local "
                  "codes and qualified persons have the last word.\n");
}
