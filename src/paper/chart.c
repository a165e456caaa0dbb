// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/chart.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "paper/canvas.h"
#include "paper/panel.h"

#define EDGE 14.0 /* white around the picture, points */
#define TITLE_TEXT 11.5
#define SUBTITLE_TEXT 8.4
#define HEADING_GAP 10.0
#define LEGEND_TEXT 8.5
#define LEGEND_ROW 14.0
#define LEGEND_GAP 14.0 /* between columns */
#define SWATCH 30.0

struct layout {
    double left, top, width, height; /* of the body: all panels */
    struct panel_frame *frames;
};

enum status chart_check_path(const char *path, struct error *err)
{
    if (canvas_find_format(path) != CANVAS_FORMAT_COUNT)
        return STATUS_OK;
    return fail(err, STATUS_USAGE, "the end of the name chooses the format: .svg, .png or .pdf",
        "cannot tell the format of the picture '%s'", path);
}

void chart_axis_set_limits(struct chart_axis *axis, double least, double most, double margin)
{
    if (!(most > least)) { /* flat data: some room about it */
        double room = fabs(least) > 0 ? fabs(least) / 2 : 1;
        least -= room;
        most += room;
    }
    double more = margin * (most - least);
    axis->least = least - more;
    axis->most = most + more;
}

static double legend_height(const struct chart_legend *legend)
{
    return legend->columns ? ((double)legend->rows + 1) * LEGEND_ROW + 6 : 0;
}

/* Adds a paragraph of the heading and gives its height. */
static double draw_heading(
    struct canvas *canvas, const char *markup, double size, double top, double width)
{
    if (!markup || !*markup)
        return 0;
    cairo_set_source_rgb(canvas->cr, 0.1, 0.1, 0.1);
    return canvas_add_paragraph(canvas, markup, size, EDGE, top, width);
}

/* Panels that begin at the same place share the widest left margin, so that their axes line up. */
static void place_panels(struct canvas *canvas, const struct chart *chart, struct layout *layout)
{
    for (size_t i = 0; i < chart->panel_count; i++) {
        const struct chart_panel *panel = &chart->panels[i];
        double width = panel->width * layout->width;
        double height = panel->height * layout->height;
        struct margins margins = panel_measure(canvas, panel, height);
        for (size_t j = 0; j < chart->panel_count; j++)
            if (fabs(chart->panels[j].left - panel->left) < 1e-6)
                margins.left = fmax(margins.left, panel_measure(canvas, &chart->panels[j],
                                                      chart->panels[j].height * layout->height)
                                                      .left);
        double left = layout->left + panel->left * layout->width;
        double top = layout->top + panel->top * layout->height;
        layout->frames[i] = (struct panel_frame){.left = left + margins.left,
            .right = left + width - margins.right,
            .top = top + margins.top,
            .bottom = top + height - margins.bottom};
    }
}

static void measure_legend(struct canvas *canvas, const struct chart_legend *legend, double *widths)
{
    for (size_t column = 0; column < legend->columns; column++) {
        double height;
        canvas_measure(canvas, legend->headings[column], LEGEND_TEXT, &widths[column], &height);
        for (size_t row = 0; row < legend->rows; row++) {
            double width;
            canvas_measure(canvas, legend->cells[row * legend->columns + column], LEGEND_TEXT,
                &width, &height);
            widths[column] = fmax(widths[column], width);
        }
    }
}

/* The first column holds names and stands left, the others, of numbers, stand right. Names give
 * way where the page is too narrow. */
static void fit_names(double *widths, size_t columns, double page_width)
{
    double room = page_width - 2 * EDGE - SWATCH - LEGEND_GAP / 2;
    for (size_t column = 1; column < columns; column++)
        room -= widths[column] + LEGEND_GAP;
    widths[0] = fmin(widths[0], fmax(room, 0));
}

static void draw_legend_row(struct canvas *canvas, const struct chart_legend *legend,
    const char *const *cells, const double *widths, double y)
{
    double x = EDGE + SWATCH + LEGEND_GAP / 2;
    cairo_set_source_rgb(canvas->cr, 0.1, 0.1, 0.1);
    canvas_add_text_within(canvas, cells[0], LEGEND_TEXT, x, y, 0.5, widths[0]);
    for (size_t column = 1; column < legend->columns; column++) {
        x += widths[column - 1] + LEGEND_GAP;
        if (legend->has_words)
            canvas_add_text(canvas, cells[column], LEGEND_TEXT, x, y, 0, 0.5);
        else
            canvas_add_text(canvas, cells[column], LEGEND_TEXT, x + widths[column], y, 1, 0.5);
    }
}

static bool is_alike(const struct chart_style *a, const struct chart_style *b)
{
    return a->marker == b->marker && a->red == b->red && a->green == b->green && a->blue == b->blue;
}

static bool has_marks(const struct chart *chart, const struct chart_style *style)
{
    for (size_t i = 0; i < chart->panel_count; i++) {
        const struct chart_panel *panel = &chart->panels[i];
        for (size_t mark = 0; mark < panel->mark_count; mark++) {
            if (!panel->marks[mark].label && is_alike(&panel->marks[mark].style, style))
                return true;
        }
    }
    return false;
}

static enum status draw_legend(struct canvas *canvas, const struct chart *chart, struct error *err)
{
    const struct chart_legend *legend = &chart->legend;
    if (!legend->columns)
        return STATUS_OK;
    double *widths = memory_create(legend->columns, sizeof *widths);
    if (!widths)
        return fail_memory(err);
    measure_legend(canvas, legend, widths);
    fit_names(widths, legend->columns, chart->width);
    double y = chart->height + LEGEND_ROW / 2;
    draw_legend_row(canvas, legend, legend->headings, widths, y);
    for (size_t row = 0; row < legend->rows; row++) {
        y += LEGEND_ROW;
        panel_draw_swatch(
            canvas, &legend->styles[row], has_marks(chart, &legend->styles[row]), EDGE, y, SWATCH);
        draw_legend_row(canvas, legend, &legend->cells[row * legend->columns], widths, y);
    }
    memory_destroy(widths);
    return STATUS_OK;
}

static enum status draw(
    struct canvas *canvas, const struct chart *chart, struct layout *layout, struct error *err)
{
    layout->width = chart->width - 2 * EDGE;
    double top = EDGE + draw_heading(canvas, chart->title, TITLE_TEXT, EDGE, layout->width);
    top += draw_heading(canvas, chart->subtitle, SUBTITLE_TEXT, top + 3, layout->width);
    top += top > EDGE ? HEADING_GAP : -EDGE / 2;
    layout->left = EDGE;
    layout->top = top;
    layout->height = chart->height - EDGE - top;
    place_panels(canvas, chart, layout);
    for (size_t i = 0; i < chart->panel_count; i++) {
        enum status status = panel_draw(canvas, &chart->panels[i], &layout->frames[i], err);
        if (status)
            return status;
    }
    return draw_legend(canvas, chart, err);
}

double chart_get_height(const struct chart *chart)
{
    double height = chart->height + legend_height(&chart->legend);
    return chart->legend.columns ? height + EDGE : height;
}

enum status chart_draw(struct canvas *canvas, const struct chart *chart, struct error *err)
{
    struct layout layout = {0};
    layout.frames = memory_create(chart->panel_count, sizeof *layout.frames);
    enum status status = layout.frames ? draw(canvas, chart, &layout, err) : fail_memory(err);
    memory_destroy(layout.frames);
    return status;
}

enum status chart_write(const struct chart *chart, const char *path, struct error *err)
{
    struct canvas canvas;
    enum status status = chart_check_path(path, err);
    if (status)
        return status;
    status = canvas_create(&canvas, canvas_find_format(path), chart->width, chart_get_height(chart),
        chart->title, err);
    if (status)
        return status;
    status = chart_draw(&canvas, chart, err);
    if (!status)
        status = canvas_write(&canvas, path, err);
    canvas_destroy(&canvas);
    return status;
}
