// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_PANEL_H
#define LODECARD_PAPER_PANEL_H

#include "paper/canvas.h"
#include "paper/chart.h"

/* One panel of a chart on a canvas. */
struct margins {
    double left, right, top, bottom;
};

/* Where the axes stand on the page, in points. */
struct panel_frame {
    double left, right, top, bottom;
};

/* What tick labels and axis labels need around the axes of a panel that is this high outside. */
struct margins panel_measure(struct canvas *canvas, const struct chart_panel *panel, double height);

enum status panel_draw(struct canvas *canvas, const struct chart_panel *panel,
    const struct panel_frame *frame, struct error *err) MUST_CHECK;

/* Swatch of a style, as lines and marks have it: from x to x + width at height y. */
void panel_draw_swatch(struct canvas *canvas, const struct chart_style *style, bool has_marker,
    double x, double y, double width);

#endif
