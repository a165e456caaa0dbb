// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/panel.h"

#include <math.h>

#include "base/memory.h"
#include "paper/polyline.h"
#include "paper/shape.h"
#include "paper/ticks.h"

#define TICK_TEXT 8.5  /* points */
#define LABEL_TEXT 9.5 /* axis labels and labels of marks */
#define TICK_LENGTH 3.5
#define TICK_GAP 2.5    /* between a tick and its number */
#define LABEL_GAP 4.0   /* between the numbers and the axis label */
#define MARK_GAP 5.0    /* between a mark and its label */
#define X_TICK_EVERY 62 /* points of axis for a tick */
#define Y_TICK_EVERY 45
#define TICKS_LEAST 3
#define SIMPLIFY 0.02   /* points: lines may be off by this */
#define ARROW_REACH 3.0 /* points of line that give an arrow its direction */

static const double ink = 0.15; /* grey of axes and texts */
static const double hair = 0.6; /* grey of the zero lines */

static void set_ticks(
    const struct chart_axis *axis, double length, double every, struct ticks *ticks)
{
    size_t wanted = length > every * TICKS_LEAST ? (size_t)(length / every) : TICKS_LEAST;
    if (axis->is_log)
        ticks_compute_log(axis->least, axis->most, ticks);
    else
        ticks_compute(axis->least, axis->most, wanted, ticks);
}

static double widest_label(
    struct canvas *canvas, const struct chart_axis *axis, const struct ticks *ticks)
{
    double widest = 0;
    char label[TICK_LABEL_SIZE];
    for (size_t i = 0; axis->names && i < axis->name_count; i++) {
        double width;
        double height;
        canvas_measure(canvas, axis->names[i], TICK_TEXT, &width, &height);
        widest = fmax(widest, width);
    }
    if (axis->names)
        return widest;
    for (size_t i = 0; i < ticks->count; i++) {
        double width;
        double height;
        canvas_measure(canvas, ticks_write_label(ticks, i, label), TICK_TEXT, &width, &height);
        widest = fmax(widest, width);
    }
    return widest;
}

struct margins panel_measure(struct canvas *canvas, const struct chart_panel *panel, double height)
{
    struct ticks ticks;
    struct margins margins = {.top = 6, .right = 12, .bottom = TICK_LENGTH + TICK_GAP};
    double wide;
    double high;
    canvas_measure(canvas, "0", TICK_TEXT, &wide, &high);
    if (!panel->x.is_bare)
        margins.bottom += high;
    if (panel->x.label) {
        canvas_measure(canvas, panel->x.label, LABEL_TEXT, &wide, &high);
        margins.bottom += LABEL_GAP + high;
    }
    if (panel->y.label) {
        canvas_measure(canvas, panel->y.label, LABEL_TEXT, &wide, &high);
        margins.top += high + LABEL_GAP;
    }
    set_ticks(&panel->y, height - margins.top - margins.bottom, Y_TICK_EVERY, &ticks);
    margins.left = TICK_LENGTH + TICK_GAP + widest_label(canvas, &panel->y, &ticks);
    return margins;
}

static double place(double value, const struct chart_axis *axis, double begin, double end)
{
    if (axis->is_log) /* what is not above 0 is nowhere */
        return begin + (value > 0 ? log(value / axis->least) : NAN) /
                           log(axis->most / axis->least) * (end - begin);
    return begin + (value - axis->least) / (axis->most - axis->least) * (end - begin);
}

static double place_x(
    const struct chart_panel *panel, const struct panel_frame *frame, double value)
{
    return place(value, &panel->x, frame->left, frame->right);
}

static double place_y(
    const struct chart_panel *panel, const struct panel_frame *frame, double value)
{
    return place(value, &panel->y, frame->bottom, frame->top);
}

static void set_pen(cairo_t *cr, double grey, double width)
{
    cairo_set_source_rgb(cr, grey, grey, grey);
    cairo_set_line_width(cr, width);
    cairo_set_dash(cr, NULL, 0, 0);
}

static void draw_segment(cairo_t *cr, double x1, double y1, double x2, double y2)
{
    cairo_move_to(cr, x1, y1);
    cairo_line_to(cr, x2, y2);
    cairo_stroke(cr);
}

static void draw_zero_lines(
    cairo_t *cr, const struct chart_panel *panel, const struct panel_frame *frame)
{
    set_pen(cr, hair, 0.6);
    if (panel->x.has_zero && panel->x.least < 0 && panel->x.most > 0) {
        double x = place_x(panel, frame, 0);
        draw_segment(cr, x, frame->top, x, frame->bottom);
    }
    if (panel->y.has_zero && panel->y.least < 0 && panel->y.most > 0) {
        double y = place_y(panel, frame, 0);
        draw_segment(cr, frame->left, y, frame->right, y);
    }
}

/* A name below its tick; one that would meet its neighbours is cut. */
static void draw_x_name(struct canvas *canvas, const char *name, double x, double y, double room)
{
    double width;
    double height;
    canvas_measure(canvas, name, TICK_TEXT, &width, &height);
    if (width <= room)
        canvas_add_text(canvas, name, TICK_TEXT, x, y, 0.5, 0);
    else
        canvas_add_text_within(canvas, name, TICK_TEXT, x - room / 2, y, 0, room);
}

static void draw_x_names(
    struct canvas *canvas, const struct chart_panel *panel, const struct panel_frame *frame)
{
    double room = place_x(panel, frame, 2) - place_x(panel, frame, 1) - 6;
    for (size_t i = 0; i < panel->x.name_count; i++) {
        double x = place_x(panel, frame, (double)i + 1);
        draw_segment(canvas->cr, x, frame->bottom, x, frame->bottom + TICK_LENGTH);
        draw_x_name(canvas, panel->x.names[i], x, frame->bottom + TICK_LENGTH + TICK_GAP, room);
    }
}

static void draw_x_axis(
    struct canvas *canvas, const struct chart_panel *panel, const struct panel_frame *frame)
{
    struct ticks ticks;
    char label[TICK_LABEL_SIZE];
    set_ticks(&panel->x, frame->right - frame->left, X_TICK_EVERY, &ticks);
    if (panel->x.names)
        ticks.count = 0;
    set_pen(canvas->cr, ink, 0.8);
    draw_segment(canvas->cr, frame->left, frame->bottom, frame->right, frame->bottom);
    double under = frame->bottom + TICK_LENGTH + TICK_GAP;
    for (size_t i = 0; i < ticks.count; i++) {
        double x = place_x(panel, frame, ticks_get(&ticks, i));
        draw_segment(canvas->cr, x, frame->bottom, x, frame->bottom + TICK_LENGTH);
        if (!panel->x.is_bare)
            canvas_add_text(
                canvas, ticks_write_label(&ticks, i, label), TICK_TEXT, x, under, 0.5, 0);
    }
    if (panel->x.names)
        draw_x_names(canvas, panel, frame);
    if (!panel->x.label)
        return;
    double width;
    double height = 0;
    if (!panel->x.is_bare)
        canvas_measure(canvas, "0", TICK_TEXT, &width, &height);
    canvas_add_text(canvas, panel->x.label, LABEL_TEXT, (frame->left + frame->right) / 2,
        under + height + LABEL_GAP, 0.5, 0);
}

static void draw_y_axis(
    struct canvas *canvas, const struct chart_panel *panel, const struct panel_frame *frame)
{
    struct ticks ticks;
    char label[TICK_LABEL_SIZE];
    set_ticks(&panel->y, frame->bottom - frame->top, Y_TICK_EVERY, &ticks);
    set_pen(canvas->cr, ink, 0.8);
    draw_segment(canvas->cr, frame->left, frame->top, frame->left, frame->bottom);
    const bool has_names = panel->y.names != NULL;
    const size_t count = has_names ? panel->y.name_count : ticks.count;
    for (size_t i = 0; i < count; i++) {
        double y = place_y(panel, frame, has_names ? (double)i + 1 : ticks_get(&ticks, i));
        draw_segment(canvas->cr, frame->left - TICK_LENGTH, y, frame->left, y);
        canvas_add_text(canvas, has_names ? panel->y.names[i] : ticks_write_label(&ticks, i, label),
            TICK_TEXT, frame->left - TICK_LENGTH - TICK_GAP, y, 1, 0.5);
    }
    if (panel->y.label)
        canvas_add_text(canvas, panel->y.label, LABEL_TEXT, frame->left - TICK_LENGTH,
            frame->top - LABEL_GAP, 0, 1);
}

/* Makes the line the path, in points of the page. False: no memory. */
static bool trace_line(cairo_t *cr, const struct chart_panel *panel,
    const struct panel_frame *frame, const struct chart_line *line)
{
    double *x = memory_create(line->count, sizeof *x);
    double *y = memory_create(line->count, sizeof *y);
    cairo_new_path(cr);
    for (size_t i = 0; x && y && i < line->count; i++) {
        x[i] = place_x(panel, frame, line->x[i]);
        y[i] = place_y(panel, frame, line->y[i]);
    }
    bool is_done = x && y;
    size_t count = is_done ? polyline_simplify(x, y, line->count, SIMPLIFY) : 0;
    bool is_down = false; /* the pen */
    for (size_t i = 0; i < count; i++) {
        bool is_break = !isfinite(x[i]) || !isfinite(y[i]);
        if (is_down && !is_break)
            cairo_line_to(cr, x[i], y[i]);
        else if (!is_break)
            cairo_move_to(cr, x[i], y[i]);
        is_down = !is_break;
    }
    if (line->is_closed && is_down)
        cairo_close_path(cr);
    memory_destroy(x);
    memory_destroy(y);
    return is_done;
}

static void draw_arrows(cairo_t *cr, const struct chart_panel *panel,
    const struct panel_frame *frame, const struct chart_line *line)
{
    for (size_t i = 0; i < line->arrow_count; i++) {
        size_t at = line->arrows[i];
        double x = place_x(panel, frame, line->x[at]);
        double y = place_y(panel, frame, line->y[at]);
        for (size_t ahead = 1; ahead < line->count; ahead++) {
            size_t next = (at + ahead) % line->count;
            double dx = place_x(panel, frame, line->x[next]) - x;
            double dy = place_y(panel, frame, line->y[next]) - y;
            if (hypot(dx, dy) < ARROW_REACH)
                continue;
            shape_draw_arrow(cr, &line->style, x + dx, y + dy, dx, dy);
            break;
        }
    }
}

static void draw_band(cairo_t *cr, const struct chart_panel *panel, const struct panel_frame *frame,
    const struct chart_band *band)
{
    cairo_new_path(cr);
    for (size_t i = 0; i < band->count; i++)
        cairo_line_to(cr, place_x(panel, frame, band->x[i]), place_y(panel, frame, band->upper[i]));
    for (size_t i = band->count; i-- > 0;)
        cairo_line_to(cr, place_x(panel, frame, band->x[i]), place_y(panel, frame, band->lower[i]));
    cairo_close_path(cr);
    shape_set_tint(cr, &band->style, band->tint);
    cairo_fill(cr);
}

/* Whether a label that may switch sides would leave the panel on its own. */
static bool is_cramped(
    struct canvas *canvas, const struct chart_mark *mark, const struct panel_frame *frame, double x)
{
    double width;
    double height;
    if (!mark->label || !mark->may_switch)
        return false;
    canvas_measure(canvas, mark->label, LABEL_TEXT, &width, &height);
    double room = mark->side == CHART_ABOVE_LEFT ? x - frame->left : frame->right - x;
    return room < width + MARK_GAP;
}

static void draw_mark_label(
    struct canvas *canvas, const struct chart_mark *mark, double x, double y, bool is_switched)
{
    bool is_left = (mark->side == CHART_ABOVE_LEFT) != (mark->may_switch && is_switched);
    canvas_add_text(canvas, mark->label, LABEL_TEXT, is_left ? x - MARK_GAP : x + MARK_GAP,
        is_left ? y - MARK_GAP / 2 : y + MARK_GAP / 2, is_left ? 1 : 0, is_left ? 1 : 0);
}

static bool draw_lines(
    cairo_t *cr, const struct chart_panel *panel, const struct panel_frame *frame)
{
    bool is_done = true;
    for (size_t i = 0; i < panel->line_count; i++) {
        if (!panel->lines[i].is_filled)
            continue;
        is_done = trace_line(cr, panel, frame, &panel->lines[i]) && is_done;
        shape_set_tint(cr, &panel->lines[i].style, 0);
        cairo_fill(cr);
    }
    draw_zero_lines(cr, panel, frame);
    for (size_t i = 0; i < panel->line_count; i++) {
        is_done = trace_line(cr, panel, frame, &panel->lines[i]) && is_done;
        shape_set_style(cr, &panel->lines[i].style);
        cairo_stroke(cr);
        draw_arrows(cr, panel, frame, &panel->lines[i]);
    }
    return is_done;
}

/* Labels that may switch sides do so together, for the sake of symmetry. */
static void draw_marks(
    struct canvas *canvas, const struct chart_panel *panel, const struct panel_frame *frame)
{
    bool is_switched = false;
    for (size_t i = 0; i < panel->mark_count; i++)
        if (is_cramped(canvas, &panel->marks[i], frame, place_x(panel, frame, panel->marks[i].x)))
            is_switched = true;
    for (size_t i = 0; i < panel->mark_count; i++) {
        const struct chart_mark *mark = &panel->marks[i];
        double x = place_x(panel, frame, mark->x);
        double y = place_y(panel, frame, mark->y);
        shape_draw_marker(canvas->cr, &mark->style, x, y);
        set_pen(canvas->cr, ink, 1);
        if (mark->label)
            draw_mark_label(canvas, mark, x, y, is_switched);
    }
}

enum status panel_draw(struct canvas *canvas, const struct chart_panel *panel,
    const struct panel_frame *frame, struct error *err)
{
    cairo_t *cr = canvas->cr;
    cairo_save(cr);
    cairo_rectangle(
        cr, frame->left, frame->top, frame->right - frame->left, frame->bottom - frame->top);
    cairo_clip(cr);
    for (size_t i = 0; i < panel->band_count; i++)
        draw_band(cr, panel, frame, &panel->bands[i]);
    bool is_done = draw_lines(cr, panel, frame);
    cairo_restore(cr);
    draw_x_axis(canvas, panel, frame);
    draw_y_axis(canvas, panel, frame);
    draw_marks(canvas, panel, frame);
    return is_done ? STATUS_OK : fail_memory(err);
}

void panel_draw_swatch(struct canvas *canvas, const struct chart_style *style, bool has_marker,
    double x, double y, double width)
{
    shape_set_style(canvas->cr, style);
    if (style->width > 0)
        draw_segment(canvas->cr, x, y, x + width, y);
    if (has_marker)
        shape_draw_marker(canvas->cr, style, x + width / 2, y);
}
