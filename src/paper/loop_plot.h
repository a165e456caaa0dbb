// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOOP_PLOT_H
#define LODECARD_PAPER_LOOP_PLOT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "loop/loop.h"

/* Pictures of loops: B against H with remanence and coercivity marked. One loop has its figures in
 * the heading and the marks labelled; several are laid over each other with a table of their
 * figures below. */
struct loop_plot_item {
    const struct loop *loop;
    const char *name; /* of the specimen or capture, as people write it */
};

/* Writes the picture of `count` loops to `path` (.svg, .png, .pdf). With `has_waveforms` H, B and
 * dB/dt over one cycle stand beside the loop, from the minimum of H; over the time when all loops
 * have the same frequency, else over the share of the cycle. Traces have no time and no waveforms:
 * with nothing but traces that is STATUS_USAGE. */
enum status loop_plot_write(const struct loop_plot_item *items, size_t count, bool has_waveforms,
    const char *path, struct error *err) MUST_CHECK;

#endif
