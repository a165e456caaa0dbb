// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_SERIES_WANTS_H
#define LODECARD_CLI_SERIES_WANTS_H

#include "cli/options.h"
#include "series/series.h"

/* What a command line wants of a series, as words. */
struct series_wants {
    const char *rig, *specimen, *initial, *only;
    const char *density, *resistivity, *thickness;
    struct option_texts at, peaks, models;
    bool is_together, uses_polarization, is_free, has_varying;
    size_t terms, threads;
    double frequency_most_Hz;
};

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
