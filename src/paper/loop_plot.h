// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_LOOP_PLOT_H
#define LODECARD_PAPER_LOOP_PLOT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "loop/loop.h"
#include "paper/chart.h"

/* Pictures of loops: B against H with remanence and coercivity marked. One loop has its figures in
 * the heading and the marks labelled; several are laid over each other with a table of their
 * figures below. */
struct loop_plot_item {
    const struct loop *loop;
    const char *name; /* of the specimen or capture, as people write it */
};

/* What is in the picture. Waveforms: H, B and dB/dt over one cycle from the minimum of H; over the
 * time when all loops have the same frequency, else over the share of the cycle. They stand beside
 * the loop, or alone. */
struct loop_plot_options {
    bool has_waveforms;
    bool has_no_loop;    /* the waveforms alone */
    bool has_no_heading; /* for documents, which have their own */
};

/* The picture as a chart; items, loops and names are borrowed until it is destroyed. Traces have no
 * time and no waveforms: with nothing but traces that is STATUS_USAGE. */
struct loop_picture;
enum status loop_picture_create(const struct loop_plot_item *items, size_t count,
    const struct loop_plot_options *options, struct loop_picture **picture,
    struct error *err) MUST_CHECK;
const struct chart *loop_picture_get_chart(const struct loop_picture *picture);
void loop_picture_destroy(struct loop_picture *picture); /* NULL is allowed */

/* Writes the picture of `count` loops to `path` (.svg, .png, .pdf). */
enum status loop_plot_write(const struct loop_plot_item *items, size_t count, bool has_waveforms,
    const char *path, struct error *err) MUST_CHECK;

#endif
