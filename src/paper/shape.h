// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_SHAPE_H
#define LODECARD_PAPER_SHAPE_H

#include "paper/canvas.h"
#include "paper/chart.h"

/* The strokes of a chart in points of the page: what a style looks like. */
void shape_set_style(cairo_t *cr, const struct chart_style *style);
void shape_draw_marker(cairo_t *cr, const struct chart_style *style, double x, double y);

/* An arrowhead whose tip is at (x, y), pointing along (dx, dy). */
void shape_draw_arrow(
    cairo_t *cr, const struct chart_style *style, double x, double y, double dx, double dy);

/* The style's colour as a tint, for areas: its share in white, 0 for the usual light one. */
void shape_set_tint(cairo_t *cr, const struct chart_style *style, double share);

#endif
