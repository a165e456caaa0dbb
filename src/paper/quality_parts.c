// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/quality_parts.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "paper/markup.h"

#define MARGIN 0.08 /* of the axis of y, above and below */

struct quality_parts *quality_parts_create(void)
{
    struct quality_parts *parts = memory_create(1, sizeof *parts);
    for (size_t i = 0; parts != NULL && i < QUALITY_PANELS; i++) {
        parts->of[i].least = INFINITY;
        parts->of[i].most = -INFINITY;
    }
    return parts;
}

void quality_parts_destroy(struct quality_parts *parts)
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
    memory_destroy(parts->numbers);
    memory_destroy(parts->cells);
    memory_destroy(parts->styles);
    plot_texts_clear(&parts->texts);
    memory_destroy(parts);
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

void quality_finish_panel(struct quality_parts *parts, size_t panel)
{
    struct chart_panel *made = &parts->panels[panel];
    made->lines = parts->of[panel].lines;
    made->line_count = parts->of[panel].line_count;
    made->marks = parts->of[panel].marks;
    made->mark_count = parts->of[panel].mark_count;
    chart_axis_set_limits(&made->y, parts->of[panel].least, parts->of[panel].most, MARGIN);
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

struct chart_style quality_get_grey(enum chart_dash dash, double width)
{
    return (struct chart_style){
        .red = 0.3, .green = 0.3, .blue = 0.3, .dash = dash, .width = width};
}
