// SPDX-License-Identifier: GPL-3.0-or-later
/* Torque over a choice, with the field in the ring below. */
#include <math.h>

#include "base/memory.h"
#include "paper/chart.h"
#include "paper/motor_plot.h"
#include "paper/motor_words.h"
#include "paper/plot_text.h"

#define WIDTH 480.0 /* points */
#define HEIGHT 430.0
#define UPPER 0.58 /* share of the torque's panel */
#define COLUMNS 3
#define ROWS 2

/* A copy of `values` in a shown unit; NULL: no memory. */
static double *scale_values(const double *values, size_t count, double factor)
{
    double *scaled = memory_create(count, sizeof *scaled);
    for (size_t i = 0; scaled && i < count; i++)
        scaled[i] = values[i] / factor;
    return scaled;
}

struct sweep_plot {
    const struct motor_sweep *sweep;
    struct plot_texts texts;
    struct plot_scale x_scale, torque_scale, low_scale;
    double *x, *hysteresis, *starting, *low; /* in the picture's units */
    struct chart_line upper[2], lower[1];
    struct chart_mark best[2]; /* where each torque is largest */
    struct chart_panel panels[2];
};

/* Below the torque: the field that a thickness gets, or the flux density of a field. */
static const double *get_low(const struct motor_sweep *sweep)
{
    return sweep->kind == SWEEP_THICKNESS ? sweep->field : sweep->flux_density;
}

/* Where the largest is. */
static size_t find_best(const double *values, size_t count)
{
    size_t best = 0;
    for (size_t i = 1; i < count; i++)
        best = values[i] > values[best] ? i : best;
    return best;
}

static double find_most(const double *values, size_t count)
{
    return fmax(0, values[find_best(values, count)]);
}

static enum status create(struct sweep_plot *plot, struct error *err)
{
    const struct motor_sweep *sweep = plot->sweep;
    size_t count = sweep->count;
    plot->x_scale = plot_scale_find(sweep->variable[count - 1]);
    plot->torque_scale = plot_scale_find(find_most(sweep->starting, count));
    plot->low_scale = plot_scale_find(find_most(get_low(sweep), count));
    plot->x = scale_values(sweep->variable, count, plot->x_scale.factor);
    plot->hysteresis = scale_values(sweep->hysteresis, count, plot->torque_scale.factor);
    plot->starting = scale_values(sweep->starting, count, plot->torque_scale.factor);
    plot->low = scale_values(get_low(sweep), count, plot->low_scale.factor);
    bool is_done = plot->x && plot->hysteresis && plot->starting && plot->low;
    return is_done ? STATUS_OK : fail_memory(err);
}

static void set_panels(struct sweep_plot *plot)
{
    const struct motor_sweep *sweep = plot->sweep;
    bool is_field = sweep->kind == SWEEP_FIELD;
    size_t count = sweep->count;
    plot->upper[0] = (struct chart_line){
        .x = plot->x, .y = plot->hysteresis, .count = count, .style = chart_style_get(0)};
    plot->upper[1] = (struct chart_line){
        .x = plot->x, .y = plot->starting, .count = count, .style = chart_style_get(1)};
    plot->lower[0] = (struct chart_line){
        .x = plot->x, .y = plot->low, .count = count, .style = chart_style_get(2)};
    for (int i = 0; i < 2; i++) {
        const size_t best = find_best(plot->upper[i].y, count);
        plot->best[i] = (struct chart_mark){
            .x = plot->x[best], .y = plot->upper[i].y[best], .style = plot->upper[i].style};
    }
    struct chart_axis x = {0}, y = {0}, low = {0};
    chart_axis_set_limits(&x, plot->x[0], plot->x[count - 1], 0.02);
    chart_axis_set_limits(&y, 0, find_most(plot->starting, count), 0);
    chart_axis_set_limits(&low, 0, find_most(plot->low, count), 0);
    y.most *= 1.1;
    low.most *= 1.1;
    y.label = plot_texts_add_label(&plot->texts, "T", &plot->torque_scale, "N\u00A0m");
    low.label = is_field ? plot_texts_add_label(&plot->texts, "Bm", &plot->low_scale, "T")
                         : plot_texts_add_label(&plot->texts, "Hm", &plot->low_scale, "A/m");
    struct text *below = plot_texts_add(&plot->texts);
    text_add_format(below, is_field ? "peak field <i>H</i> (%sA/m)" : "thickness of the ring (%sm)",
        plot->x_scale.prefix);
    plot->panels[0] = (struct chart_panel){.width = 1,
        .height = UPPER,
        .x = x,
        .y = y,
        .lines = plot->upper,
        .line_count = plot->starting[0] > plot->hysteresis[0] ? 2 : 1,
        .marks = plot->best,
        .mark_count = plot->starting[0] > plot->hysteresis[0] ? 2 : 1};
    plot->panels[0].x.is_bare = true;
    x.label = plot_text_get(below);
    plot->panels[1] = (struct chart_panel){.top = UPPER,
        .width = 1,
        .height = 1 - UPPER,
        .x = x,
        .y = low,
        .lines = plot->lower,
        .line_count = 1};
}

static enum status draw(struct sweep_plot *plot, const struct motor_steel *steel,
    const struct motor_machine *machine, const char *path, struct error *err)
{
    const struct motor_sweep *sweep = plot->sweep;
    bool is_field = sweep->kind == SWEEP_FIELD;
    static const char *const headings[COLUMNS] = {"torque", "largest", "at"};
    const char *cells[COLUMNS * ROWS] = {
        "hysteresis torque", "", "", "torque at standstill", "", ""};
    const struct chart_style styles[ROWS] = {chart_style_get(0), chart_style_get(1)};
    const double *const torques[ROWS] = {sweep->hysteresis, sweep->starting};
    struct motor_machine shown = *machine;
    set_panels(plot);
    for (int i = 0; i < ROWS; i++) {
        const size_t best = find_best(torques[i], sweep->count);
        struct text *text = plot_texts_add(&plot->texts);
        plot_text_add_value(text, torques[i][best], "N m");
        cells[COLUMNS * i + 1] = plot_text_get(text);
        text = plot_texts_add(&plot->texts);
        plot_text_add_value(text, sweep->variable[best], is_field ? "A/m" : "m");
        cells[COLUMNS * i + 2] = plot_text_get(text);
    }
    const char *title = motor_words_add_title(&plot->texts,
        is_field ? "Torque over peak field" : "Torque over thickness of the ring", steel->name);
    struct text *subtitle = plot_texts_add(&plot->texts);
    if (is_field) {
        text_add(subtitle, motor_words_add_subtitle(&plot->texts, &shown, NULL));
    } else {
        text_add_format(subtitle, "%zu\u00A0pole\u00A0pair%s, ", shown.pole_pairs,
            shown.pole_pairs == 1 ? "" : "s");
        plot_text_add_value(subtitle, shown.supply.value, "Hz");
        text_add(subtitle, "; ");
        plot_text_add_value(subtitle, sweep->ampere_turns, "A");
        text_add(subtitle, " of ampere-turns, air gap ");
        plot_text_add_value(subtitle, sweep->air_gap, "m");
        text_add_format(subtitle, "; ring of %.4g\u00A0mm outer diameter, %.4g\u00A0mm high",
            1e3 * shown.outer_diameter.value, 1e3 * shown.height.value);
    }
    const struct chart chart = {.title = title,
        .subtitle = plot_text_get(subtitle),
        .panels = plot->panels,
        .panel_count = 2,
        .legend = {.columns = COLUMNS,
            .rows = plot->panels[0].line_count,
            .headings = headings,
            .cells = cells,
            .styles = styles},
        .width = WIDTH,
        .height = HEIGHT};
    return chart_write(&chart, path, err);
}

enum status motor_plot_write_sweep(const struct motor_steel *steel,
    const struct motor_machine *machine, const struct motor_sweep *sweep, const char *path,
    struct error *err)
{
    struct sweep_plot plot = {.sweep = sweep};
    enum status status = create(&plot, err);
    if (!status)
        status = draw(&plot, steel, machine, path, err);
    memory_destroy(plot.x);
    memory_destroy(plot.hysteresis);
    memory_destroy(plot.starting);
    memory_destroy(plot.low);
    plot_texts_clear(&plot.texts);
    return status;
}
