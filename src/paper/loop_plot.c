// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/loop_plot.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "paper/chart.h"
#include "paper/loop_curve.h"
#include "paper/markup.h"
#include "quantity/display.h"
#include "quantity/quantity.h"

#define LOOP_WIDTH 480.0 /* points */
#define LOOP_HEIGHT 410.0
#define OVERLAY_WIDTH 560.0 /* of several loops, whose table is wide */
#define OVERLAY_HEIGHT 430.0
#define WAVES_WIDTH 300.0 /* what the waveforms add */
#define DIGITS 4          /* of a figure in a picture */
#define MARKS 4
#define PANELS 4
#define WAVES 3 /* H, B, dB/dt */
#define TEXTS                                                                                      \
    (2 + MARKS + 2 + WAVES + 1) /* heading, marks, axes of the loop, axes of the waves             \
                                 */

/* Figures of the heading and of the table below several loops. */
static const enum figure shown[] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK,
    FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA};
#define SHOWN (sizeof shown / sizeof *shown)
#define COLUMNS (SHOWN + 1)

/* A quantity's scale in the whole picture. */
struct scale {
    double factor; /* SI per shown unit */
    const char *prefix;
};

struct plot {
    const struct loop_plot_item *items;
    size_t count;
    struct loop_curve *curves;
    struct scale field, flux, slope, time;
    bool has_common_period; /* waveforms over the time, not over the share of the cycle */
    struct text texts[TEXTS];
    size_t text_count;
    struct text *cell_texts; /* of the legend, its heading row first */
    const char **cells;
    struct chart_style *styles;
    struct chart_line *lines; /* PANELS * count */
    struct chart_mark *marks; /* MARKS * count */
    size_t mark_count;
    struct chart_panel panels[PANELS];
    struct chart chart;
};

static struct text *new_text(struct plot *plot)
{
    return &plot->texts[plot->text_count++];
}

/* Cells of the legend, headings included. */
static size_t get_cell_count(const struct plot *plot)
{
    return (plot->count + 1) * COLUMNS;
}

static const char *get_words(const struct text *text)
{
    return text->bytes ? text->bytes : "";
}

static struct scale find_scale(double most)
{
    struct scale scale = {.factor = 1, .prefix = ""};
    if (most > 0 && isfinite(most))
        scale.prefix = unit_get_prefix(most, &scale.factor);
    return scale;
}

static double find_most(const double *values, size_t count, double most)
{
    for (size_t i = 0; values && i < count; i++)
        most = fmax(most, fabs(values[i]));
    return most;
}

static void divide(double *values, size_t count, double factor)
{
    for (size_t i = 0; values && i < count; i++)
        values[i] /= factor;
}

/* One engineering prefix for each axis, and all curves in its unit. */
static void set_scales(struct plot *plot)
{
    double field = 0, flux = 0, slope = 0, period = 0;
    plot->has_common_period = true;
    for (size_t i = 0; i < plot->count; i++) {
        const struct loop_curve *curve = &plot->curves[i];
        field = find_most(curve->field, curve->count, field);
        flux = find_most(curve->flux_density, curve->count, flux);
        slope = find_most(curve->slope, curve->wave_count, slope);
        if (period > 0 && curve->period > 0 && fabs(curve->period / period - 1) > 1e-3)
            plot->has_common_period = false;
        period = fmax(period, curve->period);
    }
    plot->field = find_scale(field);
    plot->flux = find_scale(flux);
    plot->slope = find_scale(slope);
    plot->time = find_scale(period * 0.999); /* 1 s as 1000 ms */
    for (size_t i = 0; i < plot->count; i++) {
        struct loop_curve *curve = &plot->curves[i];
        divide(curve->field, curve->count, plot->field.factor);
        divide(curve->field_wave, curve->wave_count, plot->field.factor);
        divide(curve->flux_density, curve->count, plot->flux.factor);
        divide(curve->flux_wave, curve->wave_count, plot->flux.factor);
        divide(curve->slope, curve->wave_count, plot->slope.factor);
        divide(curve->time, curve->wave_count,
            plot->has_common_period ? plot->time.factor : curve->period);
    }
}

static const char *axis_label(
    struct plot *plot, const char *symbol, const struct scale *scale, const char *unit)
{
    struct text *text = new_text(plot);
    text_add_format(text, "%s (%s%s)", symbol, scale->prefix, unit);
    return get_words(text);
}

/* The scale of a figure in the whole picture: that of its axis, or one for all loops. */
static struct scale get_figure_scale(const struct plot *plot, enum figure figure)
{
    const char *unit = figure_table[figure].unit;
    if (!strcmp(unit, "A/m"))
        return plot->field;
    if (!strcmp(unit, "T"))
        return plot->flux;
    double most = 0;
    for (size_t i = 0; i < plot->count; i++)
        most = fmax(most, fabs(plot->items[i].loop->figures.list[figure].value));
    return find_scale(most);
}

/* A figure's value in the picture's unit; false when the loop does not have it. */
static bool add_value(
    struct text *text, const struct plot *plot, size_t item, enum figure figure, int sign)
{
    struct figure_value value = plot->items[item].loop->figures.list[figure];
    if (!value.is_present)
        return false;
    value.has_u = false; /* the picture is no table: a few digits */
    value.value *= sign / get_figure_scale(plot, figure).factor;
    struct display display;
    display_set(&display, &value, "", false, DIGITS);
    bool is_negative = display.value[0] == '-';
    text_add_format(text, "%s%s", is_negative ? "\u2212" : "", display.value + is_negative);
    return true;
}

/* The unit of a figure in the picture. A line never ends behind its '/'. */
static void add_unit(struct text *text, const struct plot *plot, enum figure figure)
{
    text_add(text, get_figure_scale(plot, figure).prefix);
    for (const char *at = figure_table[figure].unit; *at; at++) {
        text_add_bytes(text, at, 1);
        if (*at == '/')
            text_add(text, "\u2060"); /* word joiner */
    }
}

/* "Br = 0.951 T" of one loop. The name is that of the figure of which this is one side; without a
 * name only the value. */
static bool add_figure(
    struct text *text, const struct plot *plot, enum figure figure, const char *symbol, int sign)
{
    const struct figure_value *value = &plot->items[0].loop->figures.list[figure];
    if (!value->is_present)
        return false;
    if (symbol) {
        markup_add_symbol(text, symbol);
        text_add(text, "\u00A0=\u00A0");
    }
    add_value(text, plot, 0, figure, sign);
    text_add(text, "\u00A0");
    add_unit(text, plot, figure);
    return true;
}

static void add_mark(struct plot *plot, const struct loop *loop, enum figure figure,
    enum figure name, int sign, enum chart_side side)
{
    const struct figure_value *value = &loop->figures.list[figure];
    if (!value->is_present)
        return;
    bool is_field = name == FIGURE_COERCIVITY;
    double place = sign * value->value / (is_field ? plot->field.factor : plot->flux.factor);
    struct chart_mark *mark = &plot->marks[plot->mark_count];
    *mark = (struct chart_mark){.x = is_field ? place : 0,
        .y = is_field ? 0 : place,
        .side = side,
        .may_switch = is_field,
        .style = plot->styles[plot->mark_count / MARKS]};
    if (plot->count == 1) {
        struct text *text = new_text(plot);
        add_figure(text, plot, figure, sign > 0 ? figure_table[name].symbol : NULL, sign);
        mark->label = get_words(text);
    }
    plot->mark_count++;
}

static void set_marks(struct plot *plot)
{
    for (size_t i = 0; i < plot->count; i++) {
        const struct loop *loop = plot->items[i].loop;
        add_mark(plot, loop, FIGURE_REMANENCE_FALLING, FIGURE_REMANENCE, 1, CHART_ABOVE_LEFT);
        add_mark(plot, loop, FIGURE_REMANENCE_RISING, FIGURE_REMANENCE, -1, CHART_BELOW_RIGHT);
        add_mark(plot, loop, FIGURE_COERCIVITY_FALLING, FIGURE_COERCIVITY, -1, CHART_ABOVE_LEFT);
        add_mark(plot, loop, FIGURE_COERCIVITY_RISING, FIGURE_COERCIVITY, 1, CHART_BELOW_RIGHT);
    }
}

static void set_limits(
    struct chart_axis *axis, const struct chart_line *lines, size_t count, bool is_x, double margin)
{
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < lines[i].count; j++) {
            double value = is_x ? lines[i].x[j] : lines[i].y[j];
            least = fmin(least, value);
            most = fmax(most, value);
        }
    chart_axis_set_limits(axis, least, most, margin);
}

static void set_loop_panel(struct plot *plot, double width)
{
    struct chart_panel *panel = &plot->panels[0];
    for (size_t i = 0; i < plot->count; i++) {
        struct loop_curve *curve = &plot->curves[i];
        plot->lines[i] = (struct chart_line){.x = curve->field,
            .y = curve->flux_density,
            .count = curve->count,
            .style = plot->styles[i],
            .is_closed = true,
            .is_filled = plot->count == 1,
            .arrows = curve->arrows,
            .arrow_count = plot->count == 1 ? curve->arrow_count : 0};
    }
    *panel = (struct chart_panel){.width = width,
        .height = 1,
        .x = {.label = axis_label(plot, "<i>H</i>", &plot->field, "A/m"), .has_zero = true},
        .y = {.label = axis_label(plot, "<i>B</i>", &plot->flux, "T"), .has_zero = true},
        .lines = plot->lines,
        .line_count = plot->count,
        .marks = plot->marks,
        .mark_count = plot->mark_count};
    set_limits(&panel->x, panel->lines, plot->count, true, 0.06);
    set_limits(&panel->y, panel->lines, plot->count, false, 0.07);
}

static size_t set_wave_lines(struct plot *plot, struct chart_line *lines, int wave)
{
    size_t count = 0;
    for (size_t i = 0; i < plot->count; i++) {
        const struct loop_curve *curve = &plot->curves[i];
        if (!curve->time)
            continue;
        const double *const values[WAVES] = {curve->field_wave, curve->flux_wave, curve->slope};
        lines[count++] = (struct chart_line){.x = curve->time,
            .y = values[wave],
            .count = curve->wave_count,
            .style = plot->styles[i]};
    }
    return count;
}

static void set_wave_panels(struct plot *plot, double left)
{
    /* the lowest panel carries the numbers and the label of the time axis */
    static const double heights[WAVES] = {0.305, 0.305, 0.39};
    double top = 0;
    const char *labels[WAVES] = {axis_label(plot, "<i>H</i>", &plot->field, "A/m"),
        axis_label(plot, "<i>B</i>", &plot->flux, "T"),
        axis_label(plot, "d<i>B</i>/d<i>t</i>", &plot->slope, "T/s")};
    struct text *time = new_text(plot);
    if (plot->has_common_period)
        text_add_format(time, "<i>t</i> (%ss)", plot->time.prefix);
    else
        text_add(time, "<i>f t</i> (cycles)");
    for (int wave = 0; wave < WAVES; wave++) {
        bool is_last = wave == WAVES - 1;
        struct chart_line *lines = plot->lines + (size_t)(wave + 1) * plot->count;
        struct chart_panel *panel = &plot->panels[wave + 1];
        *panel = (struct chart_panel){.left = left,
            .top = top,
            .width = 1 - left,
            .height = heights[wave],
            .x = {.label = is_last ? get_words(time) : NULL, .is_bare = !is_last},
            .y = {.label = labels[wave], .has_zero = true},
            .lines = lines,
            .line_count = set_wave_lines(plot, lines, wave)};
        set_limits(&panel->x, lines, panel->line_count, true, 0);
        set_limits(&panel->y, lines, panel->line_count, false, 0.07);
        top += heights[wave];
    }
}

/* One loop: its figures under the title. */
static void set_heading(struct plot *plot)
{
    struct text *title = new_text(plot);
    struct text *figures = new_text(plot);
    if (plot->count > 1)
        return;
    text_add(title, "<b>");
    markup_add(title, plot->items[0].name);
    text_add(title, "</b>");
    for (size_t i = 0; i < SHOWN; i++)
        if (add_figure(figures, plot, shown[i], figure_table[shown[i]].symbol, 1))
            text_add(figures, "\u2002 ");
    plot->chart.title = get_words(title);
    plot->chart.subtitle = get_words(figures);
}

/* Several loops: a row for each below the picture, under symbols and units. */
static void set_legend(struct plot *plot)
{
    if (plot->count == 1)
        return;
    for (size_t i = 0; i < SHOWN; i++) {
        struct text *text = &plot->cell_texts[i + 1];
        struct scale scale = get_figure_scale(plot, shown[i]);
        markup_add_symbol(text, figure_table[shown[i]].symbol);
        text_add_format(text, " (%s%s)", scale.prefix, figure_table[shown[i]].unit);
    }
    for (size_t item = 0; item < plot->count; item++) {
        struct text *texts = plot->cell_texts + (item + 1) * COLUMNS;
        markup_add(&texts[0], plot->items[item].name);
        for (size_t i = 0; i < SHOWN; i++)
            if (!add_value(&texts[i + 1], plot, item, shown[i], 1))
                text_add(&texts[i + 1], "\u2013");
    }
    for (size_t i = 0; i < get_cell_count(plot); i++)
        plot->cells[i] = get_words(&plot->cell_texts[i]);
    plot->chart.legend = (struct chart_legend){.columns = COLUMNS,
        .rows = plot->count,
        .headings = plot->cells,
        .cells = plot->cells + COLUMNS,
        .styles = plot->styles};
}

static enum status create(struct plot *plot, struct error *err)
{
    plot->curves = memory_create(plot->count, sizeof *plot->curves);
    plot->cell_texts = memory_create(get_cell_count(plot), sizeof *plot->cell_texts);
    plot->cells = memory_create(get_cell_count(plot), sizeof *plot->cells);
    plot->styles = memory_create(plot->count, sizeof *plot->styles);
    plot->lines = memory_create(plot->count * PANELS, sizeof *plot->lines);
    plot->marks = memory_create(plot->count * MARKS, sizeof *plot->marks);
    if (!plot->curves || !plot->cell_texts || !plot->cells || !plot->styles || !plot->lines ||
        !plot->marks)
        return fail_memory(err);
    for (size_t i = 0; i < plot->count; i++) {
        plot->styles[i] = chart_style_get(i);
        enum status status = loop_curve_create(plot->items[i].loop, &plot->curves[i], err);
        if (status)
            return status;
    }
    return STATUS_OK;
}

static void clear(struct plot *plot)
{
    for (size_t i = 0; i < plot->text_count; i++)
        text_clear(&plot->texts[i]);
    for (size_t i = 0; plot->cell_texts && i < get_cell_count(plot); i++)
        text_clear(&plot->cell_texts[i]);
    for (size_t i = 0; plot->curves && i < plot->count; i++)
        loop_curve_clear(&plot->curves[i]);
    memory_destroy(plot->curves);
    memory_destroy(plot->cell_texts);
    memory_destroy(plot->cells);
    memory_destroy(plot->styles);
    memory_destroy(plot->lines);
    memory_destroy(plot->marks);
}

static bool has_any_wave(const struct plot *plot)
{
    for (size_t i = 0; i < plot->count; i++)
        if (plot->curves[i].time)
            return true;
    return false;
}

static void compose(struct plot *plot, bool has_waveforms)
{
    set_scales(plot);
    set_marks(plot);
    set_heading(plot);
    set_legend(plot);
    double loop_width = plot->count > 1 ? OVERLAY_WIDTH : LOOP_WIDTH;
    double width = has_waveforms ? loop_width + WAVES_WIDTH : loop_width;
    double share = loop_width / width;
    set_loop_panel(plot, share);
    if (has_waveforms)
        set_wave_panels(plot, share);
    plot->chart.panels = plot->panels;
    plot->chart.panel_count = has_waveforms ? 1 + WAVES : 1;
    plot->chart.width = width;
    plot->chart.height = plot->count > 1 ? OVERLAY_HEIGHT : LOOP_HEIGHT;
}

enum status loop_plot_write(const struct loop_plot_item *items, size_t count, bool has_waveforms,
    const char *path, struct error *err)
{
    if (count == 0)
        return fail(err, STATUS_USAGE, "", "there is no loop to draw in '%s'", path);
    struct plot plot = {.items = items, .count = count};
    enum status status = create(&plot, err);
    if (!status && has_waveforms && !has_any_wave(&plot))
        status = fail(err, STATUS_USAGE, "leave out --waveforms",
            "a trace has no time axis: there are no waveforms to draw in '%s'", path);
    if (!status) {
        compose(&plot, has_waveforms);
        status = chart_write(&plot.chart, path, err);
    }
    clear(&plot);
    return status;
}
