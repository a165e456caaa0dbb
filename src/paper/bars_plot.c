// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/bars_plot.h"

#include <math.h>

#include "paper/canvas.h"
#include "paper/markup.h"

/* points */
#define WIDTH 640.0
#define MARGIN 14.0
#define GAP 24.0    /* between the columns */
#define NAMES 132.0 /* width of the names */
#define NUMBERS 74.0
#define ROW 12.5
#define HEADING 17.0
#define SPACE 9.0 /* below a group */
#define TITLE 20.0
#define BELOW 22.0 /* two lines */
#define BAR 8.0
#define COLUMN ((WIDTH - 2 * MARGIN - GAP) / 2)
#define BARS (COLUMN - NAMES - NUMBERS)

#define TITLE_SIZE 11.0
#define HEADING_SIZE 9.0
#define ROW_SIZE 7.5

static double get_height(const struct bars_group *group)
{
    return HEADING + ROW * (double)group->count + SPACE;
}

/* The first group of the right column: the columns come out as even as whole groups allow. */
static size_t find_break(const struct bars_group *groups, size_t count, double *height)
{
    double all = 0.0, left = 0.0, best = INFINITY;
    size_t first = count;
    for (size_t i = 0; i < count; i++) {
        all += get_height(&groups[i]);
    }
    for (size_t i = 0; i < count; i++) {
        left += get_height(&groups[i]);
        if (fmax(left, all - left) < best) {
            best = fmax(left, all - left);
            first = i + 1;
        }
    }
    *height = count > 0 ? best : 0.0;
    return first;
}

static void add_words(struct canvas *canvas, const char *words, double x, double y, double width)
{
    struct text markup = {0};
    markup_add(&markup, words);
    if (!markup.failed) {
        canvas_add_text_within(canvas, markup.bytes, ROW_SIZE, x, y, 0.5, width);
    }
    text_clear(&markup);
}

static void draw_bar(struct canvas *canvas, const struct bars_bar *bar, double x, double y)
{
    cairo_t *cr = canvas->cr;
    const double length = BARS * fmin(fabs(bar->share), 1.0);
    struct text number = {0};
    add_words(canvas, bar->name, x, y, NAMES - 6.0);
    cairo_set_line_width(cr, 0.6);
    cairo_rectangle(cr, x + NAMES, y - 0.5 * BAR, length, BAR);
    if (bar->share >= 0.0 && !bar->is_rest) {
        cairo_set_source_rgb(cr, 0.45, 0.45, 0.45);
        cairo_fill_preserve(cr);
    }
    cairo_set_source_rgb(cr, 0.0, 0.0, 0.0);
    cairo_stroke(cr);
    text_add_format(&number, "%.1f %%%s%s", 100.0 * bar->share, bar->words != NULL ? "  " : "",
        bar->words != NULL ? bar->words : "");
    if (!number.failed) {
        add_words(canvas, number.bytes, x + NAMES + length + 4.0, y, BARS + NUMBERS - length - 4.0);
    }
    text_clear(&number);
}

/* The line from which bars go, and lines at the halves. */
static void draw_grid(struct canvas *canvas, double x, double top, double bottom)
{
    cairo_t *cr = canvas->cr;
    for (int i = 0; i <= 2; i++) {
        const double at = x + NAMES + 0.5 * BARS * i, grey = i == 0 ? 0.0 : 0.8;
        cairo_set_source_rgb(cr, grey, grey, grey);
        cairo_set_line_width(cr, i == 0 ? 0.8 : 0.5);
        cairo_move_to(cr, at, top);
        cairo_line_to(cr, at, bottom);
        cairo_stroke(cr);
    }
    cairo_set_source_rgb(cr, 0.0, 0.0, 0.0);
}

static void draw_group(struct canvas *canvas, const struct bars_group *group, double x, double y)
{
    struct text heading = {0};
    const double top = y + HEADING, bottom = top + ROW * (double)group->count;
    text_add(&heading, "<b>");
    markup_add_symbol(&heading, group->symbol);
    text_add(&heading, "</b>  ");
    markup_add(&heading, group->words);
    if (!heading.failed) {
        canvas_add_text_within(
            canvas, heading.bytes, HEADING_SIZE, x, y + 0.45 * HEADING, 0.5, COLUMN);
    }
    text_clear(&heading);
    draw_grid(canvas, x, top, bottom);
    for (size_t i = 0; i < group->count; i++) {
        draw_bar(canvas, &group->bars[i], x, top + ROW * ((double)i + 0.5));
    }
}

static void add_below(struct canvas *canvas, const char *words, double y)
{
    struct text markup = {0};
    markup_add(&markup, words);
    if (!markup.failed) {
        (void)canvas_add_paragraph(canvas, markup.bytes, ROW_SIZE, MARGIN, y, WIDTH - 2.0 * MARGIN);
    }
    text_clear(&markup);
}

enum status bars_plot_write(const char *title, const char *below, const struct bars_group *groups,
    size_t count, const char *path, struct error *err)
{
    struct canvas canvas = {0};
    struct text markup = {0};
    double height;
    const size_t first = find_break(groups, count, &height);
    markup_add(&markup, title);
    if (markup.failed) {
        text_clear(&markup);
        return fail_memory(err);
    }
    const double page = MARGIN + TITLE + height + BELOW + MARGIN;
    enum status status =
        canvas_create(&canvas, canvas_find_format(path), WIDTH, page, markup.bytes, err);
    if (status == STATUS_OK) {
        cairo_set_source_rgb(canvas.cr, 0.0, 0.0, 0.0);
        double y[2] = {MARGIN + TITLE, MARGIN + TITLE};
        canvas_add_text_within(
            &canvas, markup.bytes, TITLE_SIZE, MARGIN, MARGIN + 6.0, 0.5, WIDTH - 2.0 * MARGIN);
        for (size_t i = 0; i < count; i++) {
            const int column = i >= first;
            draw_group(&canvas, &groups[i], MARGIN + column * (COLUMN + GAP), y[column]);
            y[column] += get_height(&groups[i]);
        }
        add_below(&canvas, below, page - MARGIN - BELOW);
        status = canvas_write(&canvas, path, err);
    }
    canvas_destroy(&canvas);
    text_clear(&markup);
    return status;
}
