// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/shape.h"

#include <math.h>

#define MARKER_RADIUS 2.8
#define ARROW_LENGTH 8.0
#define ARROW_HALF_WIDTH 3.0
#define TINT 0.10 /* share of the colour in white */

static const double pi = 3.14159265358979323846;

static const struct {
    double lengths[4];
    int count;
} dashes[CHART_DASH_COUNT] = {
    [CHART_SOLID] = {{0}, 0},
    [CHART_DASHED] = {{6, 2.5}, 2},
    [CHART_DOTTED] = {{1.5, 2}, 2},
    [CHART_DASH_DOTTED] = {{7, 2, 1.5, 2}, 4},
};

void shape_set_style(cairo_t *cr, const struct chart_style *style)
{
    cairo_set_source_rgb(cr, style->red, style->green, style->blue);
    cairo_set_line_width(cr, style->width);
    cairo_set_dash(cr, dashes[style->dash].lengths, dashes[style->dash].count, 0);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
}

void shape_set_tint(cairo_t *cr, const struct chart_style *style, double share)
{
    double tint = share > 0 ? share : TINT;
    cairo_set_source_rgb(cr, 1 - tint * (1 - style->red), 1 - tint * (1 - style->green),
        1 - tint * (1 - style->blue));
}

static void add_polygon(cairo_t *cr, double x, double y, int corners, double radius, double turn)
{
    for (int i = 0; i < corners; i++) {
        double angle = turn + 2 * pi * i / corners;
        cairo_line_to(cr, x + radius * cos(angle), y + radius * sin(angle));
    }
    cairo_close_path(cr);
}

void shape_draw_marker(cairo_t *cr, const struct chart_style *style, double x, double y)
{
    cairo_new_path(cr);
    switch (style->marker) {
    case CHART_SQUARE:
        add_polygon(cr, x, y, 4, MARKER_RADIUS * 1.25, pi / 4);
        break;
    case CHART_TRIANGLE:
        add_polygon(cr, x, y, 3, MARKER_RADIUS * 1.4, -pi / 2);
        break;
    case CHART_DIAMOND:
        add_polygon(cr, x, y, 4, MARKER_RADIUS * 1.4, 0);
        break;
    case CHART_DISC:
    case CHART_MARKER_COUNT:
        cairo_arc(cr, x, y, MARKER_RADIUS, 0, 2 * pi);
        break;
    }
    cairo_set_dash(cr, NULL, 0, 0);
    cairo_set_line_width(cr, 1.2);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_fill_preserve(cr);
    cairo_set_source_rgb(cr, style->red, style->green, style->blue);
    cairo_stroke(cr);
}

void shape_draw_arrow(
    cairo_t *cr, const struct chart_style *style, double x, double y, double dx, double dy)
{
    double length = hypot(dx, dy);
    if (!(length > 0))
        return;
    dx /= length;
    dy /= length;
    double back_x = x - ARROW_LENGTH * dx;
    double back_y = y - ARROW_LENGTH * dy;
    cairo_new_path(cr);
    cairo_move_to(cr, x, y);
    cairo_line_to(cr, back_x - ARROW_HALF_WIDTH * dy, back_y + ARROW_HALF_WIDTH * dx);
    cairo_line_to(cr, back_x + ARROW_HALF_WIDTH * dy, back_y - ARROW_HALF_WIDTH * dx);
    cairo_close_path(cr);
    cairo_set_source_rgb(cr, style->red, style->green, style->blue);
    cairo_fill(cr);
}
