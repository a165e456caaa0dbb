// SPDX-License-Identifier: GPL-3.0-or-later
/* Torque over slip and over load angle. */
#include "paper/motor_plot.h"

#include <math.h>

#include "base/memory.h"
#include "paper/chart.h"
#include "paper/markup.h"
#include "paper/motor_words.h"
#include "paper/plot_text.h"

#define WIDTH 600.0 /* points */
#define HEIGHT 330.0
#define SLIP_SHARE 0.62 /* of the width, beside the load angle */
#define PARTS STEEL_TERMS
#define COLUMNS 3
#define LOAD_STYLE 6 /* black */

/* From the bottom up; hysteresis is the same at every slip. */
static const struct {
    enum steel_term term;
    const char *name;
    double tint;
} parts[PARTS] = {{STEEL_HYSTERESIS, "hysteresis, the same at every slip", 0.18},
    {STEEL_EXCESS, "excess, with the root of the slip", 0.75},
    {STEEL_LINEAR, "eddy currents, with the slip", 0.42}};

struct slip_plot {
    const struct motor *motor;
    struct plot_texts texts;
    struct plot_scale scale;  /* of the torque */
    double *edges[PARTS + 1]; /* of the areas, in the picture's unit; the lowest is 0 */
    double *angle_torque;
    double load_x[2], load_y[2];
    double angle_load_x[2];
    struct chart_band bands[PARTS];
    struct chart_line lines[PARTS + 1];
    size_t band_count, line_count;
    struct chart_line angle_lines[2];
    struct chart_mark marks[1];
    const char *cells[COLUMNS * (PARTS + 1)];
    struct chart_style styles[PARTS + 1];
    size_t rows;
    struct chart_panel panels[2];
};

static bool has_term(const struct motor *motor, enum steel_term term)
{
    return term == STEEL_HYSTERESIS || motor->law.loss[term] > 0;
}

static enum status create_edges(struct slip_plot *plot, struct error *err)
{
    const struct motor_curve *curve = &plot->motor->curve;
    const struct motor_angles *angles = &plot->motor->angles;
    for (size_t i = 0; i <= PARTS; i++) {
        plot->edges[i] = memory_create(curve->count, sizeof *plot->edges[i]);
        if (!plot->edges[i])
            return fail_memory(err);
        for (size_t n = 0; i > 0 && n < curve->count; n++)
            plot->edges[i][n] =
                plot->edges[i - 1][n] + curve->term[parts[i - 1].term][n] / plot->scale.factor;
    }
    plot->angle_torque = memory_create(angles->count + 1, sizeof *plot->angle_torque);
    if (!plot->angle_torque)
        return fail_memory(err);
    for (size_t n = 0; n < angles->count; n++)
        plot->angle_torque[n] = angles->torque[n] / plot->scale.factor;
    return STATUS_OK;
}

static void add_row(struct slip_plot *plot, const char *name, double standing, double synchronous,
    struct chart_style style)
{
    const double values[COLUMNS - 1] = {standing, synchronous};
    const char **cells = plot->cells + COLUMNS * plot->rows;
    cells[0] = name;
    for (int i = 0; i < COLUMNS - 1; i++) {
        struct text *text = plot_texts_add(&plot->texts);
        plot_text_add_value(text, values[i], "N m");
        cells[i + 1] = plot_text_get(text);
    }
    plot->styles[plot->rows++] = style;
}

/* The areas with their upper edges; the legend from the top down, as they lie. */
static void set_parts(struct slip_plot *plot, bool is_separated)
{
    static const char unseparated[] = "all that the loop lost, an upper bound of hysteresis";
    const struct motor_curve *curve = &plot->motor->curve;
    size_t last = curve->count - 1;
    for (size_t i = 0; i < PARTS; i++) {
        struct chart_style style = chart_style_get(i);
        if (!has_term(plot->motor, parts[i].term))
            continue;
        plot->bands[plot->band_count++] = (struct chart_band){.x = curve->slip,
            .lower = plot->edges[i],
            .upper = plot->edges[i + 1],
            .count = curve->count,
            .style = style,
            .tint = parts[i].tint};
        plot->lines[plot->line_count++] = (struct chart_line){
            .x = curve->slip, .y = plot->edges[i + 1], .count = curve->count, .style = style};
    }
    for (size_t i = PARTS; i-- > 0;) {
        const double *torque = curve->term[parts[i].term];
        if (has_term(plot->motor, parts[i].term))
            add_row(plot, is_separated ? parts[i].name : unseparated, torque[last], torque[0],
                chart_style_get(i));
    }
}

static void set_load(struct slip_plot *plot, double load)
{
    struct chart_style style = chart_style_get(LOAD_STYLE);
    style.dash = CHART_DASH_DOTTED;
    plot->load_x[1] = 1;
    plot->load_y[0] = plot->load_y[1] = load / plot->scale.factor;
    plot->lines[plot->line_count++] =
        (struct chart_line){.x = plot->load_x, .y = plot->load_y, .count = 2, .style = style};
    add_row(plot, "load", load, load, style);
}

static void set_slip_panel(struct slip_plot *plot, double width)
{
    const double *top = plot->edges[PARTS];
    double most = fmax(top[plot->motor->curve.count - 1], plot->load_y[0]);
    plot->panels[0] = (struct chart_panel){.width = width,
        .height = 1,
        .x = {.label = "slip <i>s</i>", .least = 0, .most = 1},
        .y = {.label = plot_texts_add_label(&plot->texts, "T", &plot->scale, "N\u00A0m"),
            .least = 0,
            .most = 1.12 * most},
        .bands = plot->bands,
        .band_count = plot->band_count,
        .lines = plot->lines,
        .line_count = plot->line_count};
}

/* At synchronism; the mark is where it pulls out. */
static void set_angle_panel(struct slip_plot *plot, double load)
{
    const struct motor_angles *angles = &plot->motor->angles;
    size_t last = angles->count - 1;
    struct chart_panel *panel = &plot->panels[1];
    struct text *label = plot_texts_add(&plot->texts);
    text_add(label, "pull-out");
    plot->angle_lines[0] = (struct chart_line){.x = angles->angle,
        .y = plot->angle_torque,
        .count = angles->count,
        .style = chart_style_get(0)};
    plot->marks[0] = (struct chart_mark){.x = angles->angle[last],
        .y = plot->angle_torque[last],
        .label = plot_text_get(label),
        .side = CHART_ABOVE_LEFT,
        .style = chart_style_get(0)};
    plot->angle_load_x[1] = angles->angle[last];
    plot->angle_lines[1] = (struct chart_line){.x = plot->angle_load_x,
        .y = plot->load_y,
        .count = 2,
        .style = plot->lines[plot->line_count - 1].style};
    *panel = (struct chart_panel){.left = SLIP_SHARE,
        .width = 1 - SLIP_SHARE,
        .height = 1,
        .x = {.label = "load angle at synchronism (\u00B0)", .most = 1.08 * angles->angle[last]},
        .y = plot->panels[0].y,
        .lines = plot->angle_lines,
        .line_count = load > 0 ? 2 : 1,
        .marks = plot->marks,
        .mark_count = 1};
}

static enum status draw(struct slip_plot *plot, const struct motor_steel *steel,
    const struct motor_machine *machine, const char *path, struct error *err)
{
    static const char *const headings[COLUMNS] = {
        "torque", "at standstill", "close to synchronism"};
    const struct motor *motor = plot->motor;
    const double load = machine->load_torque.value;
    bool has_angles = motor->angles.count > 0;
    const char *title = motor_words_add_title(&plot->texts, "Torque over slip", steel->name);
    const char *subtitle = motor_words_add_subtitle(&plot->texts, machine, &motor->state.point);
    set_parts(plot, steel->is_separated || steel->frequency_most == 0);
    if (load > 0)
        set_load(plot, load);
    set_slip_panel(plot, has_angles ? SLIP_SHARE : 1);
    if (has_angles)
        set_angle_panel(plot, load);
    const struct chart chart = {.title = title,
        .subtitle = subtitle,
        .panels = plot->panels,
        .panel_count = has_angles ? 2 : 1,
        .legend = {.columns = COLUMNS,
            .rows = plot->rows,
            .headings = headings,
            .cells = plot->cells,
            .styles = plot->styles},
        .width = WIDTH,
        .height = HEIGHT};
    return chart_write(&chart, path, err);
}

enum status motor_plot_write(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct motor *motor, const char *path, struct error *err)
{
    struct slip_plot plot = {.motor = motor};
    plot.scale = plot_scale_find(torque_compute(&motor->law, 1));
    enum status status = create_edges(&plot, err);
    if (!status)
        status = draw(&plot, steel, machine, path, err);
    for (size_t i = 0; i <= PARTS; i++)
        memory_destroy(plot.edges[i]);
    memory_destroy(plot.angle_torque);
    plot_texts_clear(&plot.texts);
    return status;
}
