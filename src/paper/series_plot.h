// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_SERIES_PLOT_H
#define LODECARD_PAPER_SERIES_PLOT_H

#include "base/error.h"
#include "series/series.h"

/* A series in up to four panels, those that its data carry: the loops of the normal curve's
 * frequency with the curve through their tips, amplitude permeability against field, energy per
 * cycle against frequency with its parts as areas, and the exponent plot with its laws.
 * STATUS_INPUT when there is nothing to draw. Format by the end of `path`: .svg, .png or .pdf. */
enum status series_plot_write(
    const struct series *series, const char *path, struct error *err) MUST_CHECK;

#endif
