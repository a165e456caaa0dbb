// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_SERIES_WANTS_H
#define LODECARD_CLI_SERIES_WANTS_H

#include "cli/options.h"
#include "series/series.h"

/* What a command line wants of a series, as words. */
struct series_wants {
    struct series_options options; /* but for wishes and peaks, which stand here as words */
    struct option_texts at, peaks, models;
};

/* The options that ask for it; --at and --model for themselves, which not all commands have. */
extern const struct option steel_options[];         /* struct series_options: --density ... */
extern const struct option series_choice_options[]; /* struct series_options: --only, --initial */
extern const struct option separation_options[];    /* struct series_wants */
extern const struct option model_options[];         /* struct option_texts */

/* The same as series_read takes it; the texts are borrowed. Keep it where it is: options point into
 * it. */
struct series_reading {
    struct series_options options;
    struct series_wish wishes[OPTION_TEXTS_MOST];
    double peaks[OPTION_TEXTS_MOST];
};
enum status series_wants_read(
    const struct series_wants *wants, struct series_reading *reading, struct error *err) MUST_CHECK;

#endif
