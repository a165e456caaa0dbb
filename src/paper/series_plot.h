// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_SERIES_PLOT_H
#define LODECARD_PAPER_SERIES_PLOT_H

#include "base/error.h"
#include "paper/chart.h"
#include "series/series.h"

/* A series in up to four panels, those that its data carry: the loops of the normal curve's
 * frequency with the curve through their tips, amplitude permeability against field, energy per
 * cycle against frequency with its parts as areas, and the exponent plot with its laws. */
struct series_plot;

/* The picture as a chart; the series is borrowed until it is destroyed. STATUS_INPUT when there is
 * nothing to draw. */
enum status series_plot_create(
    const struct series *series, struct series_plot **plot, struct error *err) MUST_CHECK;
const struct chart *series_plot_get_chart(const struct series_plot *plot);
void series_plot_destroy(struct series_plot *plot); /* NULL is allowed */

/* Format by the end of `path`: .svg, .png or .pdf. */
enum status series_plot_write(
    const struct series *series, const char *path, struct error *err) MUST_CHECK;

#endif
