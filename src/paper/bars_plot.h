// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_BARS_PLOT_H
#define LODECARD_PAPER_BARS_PLOT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Shares as horizontal bars, group below group in two columns, readable in black and white: every
 * bar has its number beside it. */
struct bars_bar {
    const char *name;  /* plain words */
    const char *words; /* beside the share: "8.3 A/m"; NULL: none */
    double share;      /* -1 ... 1; a negative one is drawn empty */
    bool is_rest;      /* what was not listed: drawn empty */
};

struct bars_group {
    const char *symbol; /* set as in a trade journal; see markup_add_symbol */
    const char *words;  /* behind it */
    const struct bars_bar *bars;
    size_t count;
};

/* Writes the picture to `path` (.svg, .png, .pdf). */
enum status bars_plot_write(const char *title, const char *below, const struct bars_group *groups,
    size_t count, const char *path, struct error *err) MUST_CHECK;

#endif
