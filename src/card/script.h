// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_SCRIPT_H
#define LODECARD_CARD_SCRIPT_H

#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "base/tree.h"

/* Runs an exporter: a small Lua 5.4 program that makes a text of a card. What it finds and what it
 * must give is told in docs/exporters.md.
 *
 * Guard rails, not a sandbox: a careless or hostile script ends with an error and harms nothing
 * that we know of, but the interpreter itself is trusted. It runs in a child process that can open
 * and create nothing, has no open file but the pipe for its result, and is limited in memory, in
 * instructions and in processor time. Of Lua it has the base, string, table and math libraries
 * without what loads code, prints, draws random numbers, or depends on addresses. */
struct script {
    const char *name; /* as messages call it: "csv.lua" */
    const char *bytes;
    size_t length;
};

/* What the command line says to the script: `--set units=cgs`. */
struct script_option {
    const char *key;
    const char *value;
};

struct script_input {
    const struct tree *card;
    const char *file;   /* the card's file name, without folders */
    const char *sha256; /* of the card's bytes, hexadecimal */
    const struct script_option *options;
    size_t option_count;
};

/* The limits of one run. */
#define SCRIPT_MEMORY                                                                              \
    ((size_t)64 << 20) /* bytes of the Lua state; the process has 256 MiB more                     \
                        */
#ifdef FUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION
#define SCRIPT_INSTRUCTIONS 100000L /* tests/fuzz/exporter.c runs in no process of its own */
#else
#define SCRIPT_INSTRUCTIONS 100000000L /* of Lua's virtual machine: about a second */
#endif
#define SCRIPT_PROCESSOR_SECONDS 2       /* for what counts no instructions, such as a pattern */
#define SCRIPT_SECONDS 20                /* by the clock, for a machine that is busy otherwise */
#define SCRIPT_RESULT ((size_t)48 << 20) /* bytes */

/* Adds the script's text to `out`. STATUS_INPUT names the script and its line, or says in the
 * script's own words why this card does not serve; STATUS_USAGE: the options are wrong. On failure
 * `out` is untouched. */
enum status script_run(const struct script *script, const struct script_input *input,
    struct text *out, struct error *err) MUST_CHECK;

#endif
