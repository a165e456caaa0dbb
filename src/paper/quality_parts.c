// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/quality_parts.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "paper/markup.h"

#define WIDTH 520.0       /* of a picture, points */
#define MARGIN 0.08       /* of the axis of y, above and below */
#define GRID_HEIGHT 190.0 /* of a row of panels, points */

static struct quality_parts *create(void)
{
    struct quality_parts *parts = memory_create(1, sizeof *parts);
    for (size_t i = 0; parts != NULL && i < QUALITY_PANELS; i++) {
        parts->of[i].least = INFINITY;
        parts->of[i].most = -INFINITY;
    }
    return parts;
}

static void destroy(struct quality_parts *parts)
{
    if (parts == NULL) {
        return;
    }
    for (size_t i = 0; i < QUALITY_PANELS; i++) {
        memory_destroy(parts->of[i].lines);
        memory_destroy(parts->of[i].marks);
    }
    for (size_t i = 0; i < parts->number_count; i++) {
        memory_destroy(parts->numbers[i]);
    }
    for (size_t i = 0; i < parts->name_count; i++) {
        memory_destroy(parts->names[i]);
    }
    memory_destroy(parts->names);
    memory_destroy(parts->numbers);
    memory_destroy(parts->cells);
    memory_destroy(parts->styles);
    plot_texts_clear(&parts->texts);
    memory_destroy(parts);
}

void quality_chart_clear(struct quality_chart *made)
{
    destroy(made->parts);
    *made = (struct quality_chart){0};
}

enum status quality_begin(struct quality_chart *made, struct error *err)
{
    *made = (struct quality_chart){.parts = create()};
    return made->parts != NULL ? STATUS_OK : fail_memory(err);
}

/* Sets the panel's lines and marks, and an axis of y that shows all of them. */
static void finish_panel(struct quality_parts *parts, size_t panel)
{
    struct chart_panel *made = &parts->panels[panel];
    made->lines = parts->of[panel].lines;
    made->line_count = parts->of[panel].line_count;
    made->marks = parts->of[panel].marks;
    made->mark_count = parts->of[panel].mark_count;
    const bool is_empty = parts->of[panel].least > parts->of[panel].most;
    chart_axis_set_limits(&made->y, is_empty ? 0 : parts->of[panel].least,
        is_empty ? 1 : parts->of[panel].most, MARGIN);
}

enum status quality_finish(
    struct quality_chart *made, size_t panels, double height, struct error *err)
{
    for (size_t i = 0; i < panels; i++) {
        finish_panel(made->parts, i);
        if (made->parts->panels[i].height == 0) {
            made->parts->panels[i].width = 1;
            made->parts->panels[i].height = 1 / (double)panels;
            made->parts->panels[i].top = (double)i / (double)panels;
        }
    }
    made->chart.panels = made->parts->panels;
    made->chart.panel_count = panels;
    made->chart.width = WIDTH;
    made->chart.height = height;
    if (made->parts->failed) {
        quality_chart_clear(made);
        return fail_memory(err);
    }
    return STATUS_OK;
}

static double *keep(struct quality_parts *parts, const double *numbers, size_t count)
{
    double **grown = memory_reserve(
        parts->numbers, &parts->number_capacity, parts->number_count + 1, sizeof *grown);
    double *copy = memory_create(count + 1, sizeof *copy);
    if (grown != NULL) {
        parts->numbers = grown;
    }
    if (grown == NULL || copy == NULL) {
        parts->failed = true;
        memory_destroy(copy);
        return NULL;
    }
    memcpy(copy, numbers, count * sizeof *copy);
    parts->numbers[parts->number_count++] = copy;
    return copy;
}

static void extend(struct quality_parts *parts, size_t panel, double y)
{
    parts->of[panel].least = fmin(parts->of[panel].least, y);
    parts->of[panel].most = fmax(parts->of[panel].most, y);
}

void quality_add_line(struct quality_parts *parts, size_t panel, const double *x, const double *y,
    size_t count, struct chart_style style)
{
    struct chart_line *grown = memory_reserve(parts->of[panel].lines,
        &parts->of[panel].line_capacity, parts->of[panel].line_count + 1, sizeof *grown);
    const double *own_x = keep(parts, x, count), *own_y = keep(parts, y, count);
    if (grown != NULL) {
        parts->of[panel].lines = grown;
    }
    if (grown == NULL || own_x == NULL || own_y == NULL) {
        parts->failed = true;
        return;
    }
    grown[parts->of[panel].line_count++] =
        (struct chart_line){.x = own_x, .y = own_y, .count = count, .style = style};
    for (size_t i = 0; i < count; i++) {
        extend(parts, panel, y[i]);
    }
}

void quality_add_stroke(
    struct quality_parts *parts, size_t panel, const double ends[4], struct chart_style style)
{
    const double x[] = {ends[0], ends[2]}, y[] = {ends[1], ends[3]};
    quality_add_line(parts, panel, x, y, 2, style);
}

void quality_add_mark(
    struct quality_parts *parts, size_t panel, double x, double y, struct chart_style style)
{
    struct chart_mark *grown = memory_reserve(parts->of[panel].marks,
        &parts->of[panel].mark_capacity, parts->of[panel].mark_count + 1, sizeof *grown);
    if (grown == NULL) {
        parts->failed = true;
        return;
    }
    parts->of[panel].marks = grown;
    grown[parts->of[panel].mark_count++] = (struct chart_mark){.x = x, .y = y, .style = style};
    extend(parts, panel, y);
}

double quality_set_grid(struct quality_parts *parts, size_t panels)
{
    const size_t columns = panels > 1 ? 2 : 1, rows = (panels + 1) / 2;
    for (size_t i = 0; i < panels; i++) {
        const size_t row = i / columns, column = i % columns;
        parts->panels[i].left = (double)column / (double)columns;
        parts->panels[i].top = (double)row / (double)rows;
        parts->panels[i].width = 1 / (double)columns;
        parts->panels[i].height = 1 / (double)rows;
    }
    return (double)rows * GRID_HEIGHT;
}

const char *quality_add_figure_label(
    struct quality_parts *parts, enum figure figure, double most, struct plot_scale *scale)
{
    const struct figure_entry *entry = &figure_table[figure];
    struct text *label = plot_texts_add(&parts->texts);
    *scale =
        entry->has_prefix ? plot_scale_find(most) : (struct plot_scale){.factor = 1, .prefix = ""};
    markup_add_symbol(label, entry->symbol);
    if (entry->unit[0] != '\0') {
        text_add_format(label, " (%s%s)", scale->prefix, entry->unit);
    }
    return plot_text_get(label);
}

void quality_set_names(
    struct quality_parts *parts, struct chart_axis *axis, const char *const *names, size_t count)
{
    parts->names = memory_create(count, sizeof *parts->names);
    parts->failed = parts->failed || parts->names == NULL;
    for (size_t i = 0; i < count && !parts->failed; i++) {
        struct text words = {0};
        markup_add(&words, names[i]);
        parts->names[i] = memory_copy_text(words.bytes != NULL ? words.bytes : "");
        parts->failed = words.failed || parts->names[i] == NULL;
        parts->name_count++;
        text_clear(&words);
    }
    axis->names = (const char *const *)parts->names;
    axis->name_count = parts->name_count;
}

struct chart_style quality_get_grey(enum chart_dash dash, double width)
{
    return (struct chart_style){
        .red = 0.3, .green = 0.3, .blue = 0.3, .dash = dash, .width = width};
}

enum status quality_write(struct quality_chart *made, const char *path, struct error *err)
{
    const enum status status = chart_write(&made->chart, path, err);
    quality_chart_clear(made);
    return status;
}
