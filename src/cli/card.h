// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_CARD_H
#define LODECARD_CLI_CARD_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"
#include "card/card.h"
#include "cli/options.h"
#include "series/series.h"

/* What the command line of `card` asks for. */
struct card_command {
    const char *output; /* "-": standard output; NULL: not given */
    /* make */
    const char *name, *date;
    double bound_relative;
    bool is_smoothed;
    struct series_options series;
    struct option_texts models;
    struct option_texts captures; /* check: folders */
    /* export */
    const char *to;               /* name of the exporter */
    const char *exporters;        /* the user's folder; NULL: $LODECARD_EXPORTERS, if it is set */
    struct option_texts settings; /* "units=cgs" */
    bool is_list;
};

/* What is done with a card. A row of the table in card.c. How to add one: copy card_show.c,
 * declare it below, list it in card.c with the options that are its own. */
struct card_verb {
    const char *name;
    const char *const *options; /* those that are its own; ends in NULL */
    /* `words` are the arguments behind the verb's name. Returns the exit status. */
    int (*run)(const struct card_command *options, int count, char **words, struct error *err);
};
extern const struct card_verb card_check_verb;
extern const struct card_verb card_diff_verb;
extern const struct card_verb card_export;
extern const struct card_verb card_make_verb;
extern const struct card_verb card_merge_verb;
extern const struct card_verb card_show;

/* Writes a card into options->output. */
enum status card_write_output(
    const struct card_command *options, const struct card *card, struct error *err) MUST_CHECK;

#endif
