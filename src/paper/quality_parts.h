// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_QUALITY_PARTS_H
#define LODECARD_PAPER_QUALITY_PARTS_H

#include "paper/plot_text.h"
#include "paper/quality_plot.h"

/* Panels, lines and numbers of a picture of decisions, in arrays that grow while it is put
 * together. */
#define QUALITY_PANELS 12
#define QUALITY_PANEL_HEIGHT 210.0 /* points, of one that has the width for itself */
struct quality_parts {
    struct plot_texts texts;
    struct chart_panel panels[QUALITY_PANELS];
    struct {
        struct chart_line *lines;
        size_t line_count, line_capacity;
        struct chart_mark *marks;
        size_t mark_count, mark_capacity;
        double least, most; /* of all y */
    } of[QUALITY_PANELS];
    double **numbers; /* what lines point into */
    size_t number_count, number_capacity;
    const char **cells;
    char **names; /* what stands at the ticks of an axis */
    size_t name_count;
    struct chart_style *styles;
    bool failed; /* out of memory */
};

/* A chart without panels; and its end: axes, and places where none are set, one above the other. On
 * failure it is cleared. */
enum status quality_begin(struct quality_chart *made, struct error *err) MUST_CHECK;
enum status quality_finish(
    struct quality_chart *made, size_t panels, double height, struct error *err) MUST_CHECK;

/* Writes a chart that is finished, and clears it in any case. */
enum status quality_write(
    struct quality_chart *made, const char *path, struct error *err) MUST_CHECK;

/* A line through (x[i], y[i]), which are copied. */
void quality_add_line(struct quality_parts *parts, size_t panel, const double *x, const double *y,
    size_t count, struct chart_style style);

/* A straight line from (x0, y0) to (x1, y1). */
void quality_add_stroke(
    struct quality_parts *parts, size_t panel, const double ends[4], struct chart_style style);

void quality_add_mark(
    struct quality_parts *parts, size_t panel, double x, double y, struct chart_style style);

/* Places the panels two by two; gives the height of the picture. */
double quality_set_grid(struct quality_parts *parts, size_t panels);

/* "<i>H</i>cB (kA/m)" and the scale that goes with it, for values up to `most`. */
const char *quality_add_figure_label(
    struct quality_parts *parts, enum figure figure, double most, struct plot_scale *scale);

/* Plain words as the names of an axis at 1, 2 ...; one such list a chart. */
void quality_set_names(
    struct quality_parts *parts, struct chart_axis *axis, const char *const *names, size_t count);

/* A style without colour: `dash` of a thin grey line. */
struct chart_style quality_get_grey(enum chart_dash dash, double width);

#endif
