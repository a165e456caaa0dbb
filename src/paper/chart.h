// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_CHART_H
#define LODECARD_PAPER_CHART_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* A picture as data: panels of lines and marks over two linear axes, a title, and a legend that is
 * a small table. chart_write lays it out and draws it. Everything here is borrowed. Lengths on the
 * page are in points (1/72 inch). Texts are Pango markup (paper/markup.h makes it). */

enum chart_dash { CHART_SOLID, CHART_DASHED, CHART_DOTTED, CHART_DASH_DOTTED, CHART_DASH_COUNT };
enum chart_marker { CHART_DISC, CHART_SQUARE, CHART_TRIANGLE, CHART_DIAMOND, CHART_MARKER_COUNT };

/* How a line and its marks look: a colour, and a dash and a marker for print without colours. */
struct chart_style {
    double red, green, blue; /* 0 ... 1 */
    enum chart_dash dash;
    enum chart_marker marker;
    double width; /* of the line, points; 0 in a legend: marks without a line */
};

/* The look of the n-th line of a picture, from 0. */
struct chart_style chart_style_get(size_t index);

struct chart_line {
    const double *x;
    const double *y; /* NaN: the line is broken there */
    size_t count;
    struct chart_style style;
    bool is_closed;
    bool is_filled;       /* its inside, in a light tint */
    const size_t *arrows; /* points at which an arrowhead shows the way to the next point */
    size_t arrow_count;
};

/* Where a label stands, seen from its point. */
enum chart_side { CHART_ABOVE_LEFT, CHART_BELOW_RIGHT };

struct chart_mark {
    double x;
    double y;
    const char *label; /* NULL: none */
    enum chart_side side;
    bool may_switch; /* all such labels of a panel change sides when one would leave the panel */
    struct chart_style style;
};

/* The area between two curves over one x. */
struct chart_band {
    const double *x;
    const double *lower;
    const double *upper;
    size_t count;
    struct chart_style style;
    double tint; /* share of the style's colour in white, 0 ... 1; 0: the light one of areas. Bands
                    that lie on each other take tints far enough apart for print without colours */
};

struct chart_axis {
    const char *label; /* symbol and unit: "<i>H</i> (kA/m)"; NULL: none */
    double least;
    double most;
    bool is_log;              /* logarithmic: 0 < least < most */
    bool is_bare;             /* ticks without numbers: the panel below has them */
    bool has_zero;            /* a thin line where this axis' value is 0 */
    const char *const *names; /* markup that stands at 1, 2 ... instead of numbers; NULL: numbers */
    size_t name_count;
};

struct chart_panel {
    double left, top, width, height; /* outer box, as fractions of the picture's body */
    struct chart_axis x;
    struct chart_axis y;
    const struct chart_band *bands;
    size_t band_count;
    const struct chart_line *lines;
    size_t line_count;
    const struct chart_mark *marks;
    size_t mark_count;
};

/* A table below the panels: a heading row, then one row a line, each behind its swatch,
 * which has its style's marker when a panel has marks of that colour and shape that no
 * label explains. */
struct chart_legend {
    size_t columns; /* 0: no legend */
    size_t rows;
    const char *const *headings;      /* columns */
    const char *const *cells;         /* rows * columns */
    const struct chart_style *styles; /* rows */
    bool has_words;                   /* in all columns: they stand left; else numbers, right */
};

struct chart {
    const char *title;    /* NULL: none */
    const char *subtitle; /* NULL: none */
    const struct chart_panel *panels;
    size_t panel_count;
    struct chart_legend legend;
    double width;
    double height; /* without the legend, which adds to it */
};

/* Whether `path` ends in .svg, .png or .pdf (letters' case ignored); else STATUS_USAGE. */
enum status chart_check_path(const char *path, struct error *err) MUST_CHECK;

/* Draws and writes the picture: whole or not at all, the same bytes for the same chart. PNG has two
 * pixels a point. */
enum status chart_write(const struct chart *chart, const char *path, struct error *err) MUST_CHECK;

/* Height of the whole picture, legend included. */
double chart_get_height(const struct chart *chart);

/* Draws it at the top left corner of a canvas: for pictures within documents. */
struct canvas;
enum status chart_draw(
    struct canvas *canvas, const struct chart *chart, struct error *err) MUST_CHECK;

/* Limits of an axis that shows least ... most with a margin of `margin` times their distance at
 * either end; never empty. */
void chart_axis_set_limits(struct chart_axis *axis, double least, double most, double margin);

#endif
