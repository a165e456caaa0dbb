// SPDX-License-Identifier: GPL-3.0-or-later
/* Steels side by side over the peak field. */
#include <math.h>

#include "base/memory.h"
#include "motor/torque.h"
#include "paper/chart.h"
#include "paper/markup.h"
#include "paper/motor_plot.h"
#include "paper/motor_words.h"
#include "paper/plot_text.h"

#define WIDTH 520.0 /* points */
#define HEIGHT 440.0
#define UPPER 0.56 /* share of the torque's panel */
#define COLUMNS 5
#define CURVE_POINTS 101

/* One steel's curves, in the picture's units. */
struct curve {
    double *field, *torque, *per_field;
    size_t count;
};

struct compare_plot {
    const struct comparison_row *rows;
    size_t count;
    const struct motor_machine *machine;
    struct plot_scale field_scale, torque_scale;
    double field_least, field_most, torque_most, per_field_most; /* SI */
    struct curve *curves;
    struct text *cell_texts;
    const char **cells;
    struct chart_style *styles;
    struct chart_line *lines; /* torque, then Wh/Hm */
    struct chart_mark *marks; /* the best amplitude of each, in either panel */
    struct plot_texts texts;
};

static double compute_torque(const struct motor_machine *machine, double energy)
{
    const struct torque_law law = {.pole_pairs = (double)machine->pole_pairs,
        .volume = machine->volume.value,
        .supply = machine->supply.value,
        .loss = {energy}};
    return torque_compute_term(&law, STEEL_HYSTERESIS, 0);
}

static void find_limits(struct compare_plot *plot)
{
    plot->field_least = INFINITY;
    for (size_t i = 0; i < plot->count; i++) {
        const struct motor_steel *steel = plot->rows[i].steel;
        for (size_t n = 0; n < steel->count; n++) {
            const struct steel_point *point = &steel->points[n];
            double energy = point->loss[STEEL_HYSTERESIS];
            plot->field_least = fmin(plot->field_least, point->field_peak);
            plot->field_most = fmax(plot->field_most, point->field_peak);
            plot->torque_most = fmax(plot->torque_most, compute_torque(plot->machine, energy));
            plot->per_field_most = fmax(plot->per_field_most, energy / point->field_peak);
        }
    }
    plot->field_scale = plot_scale_find(plot->field_most);
    plot->torque_scale = plot_scale_find(plot->torque_most);
}

static enum status create_curve(struct compare_plot *plot, size_t index, struct error *err)
{
    const struct motor_steel *steel = plot->rows[index].steel;
    const double low = steel->points[0].field_peak;
    const double high = steel->points[steel->count - 1].field_peak;
    struct curve *curve = &plot->curves[index];
    curve->count = steel->count > 1 ? CURVE_POINTS : 1;
    curve->field = memory_create(curve->count, sizeof *curve->field);
    curve->torque = memory_create(curve->count, sizeof *curve->torque);
    curve->per_field = memory_create(curve->count, sizeof *curve->per_field);
    if (!curve->field || !curve->torque || !curve->per_field)
        return fail_memory(err);
    for (size_t n = 0; n < curve->count; n++) {
        double field = low + (high - low) * (double)n / (CURVE_POINTS - 1);
        const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = field};
        struct steel_state state;
        enum status status = motor_steel_find(steel, &wanted, &state, err);
        if (status)
            return status;
        double energy = state.point.loss[STEEL_HYSTERESIS];
        curve->field[n] = field / plot->field_scale.factor;
        curve->torque[n] = compute_torque(plot->machine, energy) / plot->torque_scale.factor;
        curve->per_field[n] = energy / field;
    }
    return STATUS_OK;
}

static enum status create(struct compare_plot *plot, struct error *err)
{
    size_t count = plot->count;
    plot->curves = memory_create(count, sizeof *plot->curves);
    plot->cell_texts = memory_create(count * COLUMNS, sizeof *plot->cell_texts);
    plot->cells = memory_create(count * COLUMNS, sizeof *plot->cells);
    plot->styles = memory_create(count, sizeof *plot->styles);
    plot->lines = memory_create(2 * count, sizeof *plot->lines);
    plot->marks = memory_create(2 * count, sizeof *plot->marks);
    if (!plot->curves || !plot->cell_texts || !plot->cells || !plot->styles || !plot->lines ||
        !plot->marks)
        return fail_memory(err);
    find_limits(plot);
    for (size_t i = 0; i < count; i++) {
        plot->styles[i] = chart_style_get(i);
        enum status status = create_curve(plot, i, err);
        if (status)
            return status;
    }
    return STATUS_OK;
}

static void clear(struct compare_plot *plot)
{
    for (size_t i = 0; plot->curves && i < plot->count; i++) {
        memory_destroy(plot->curves[i].field);
        memory_destroy(plot->curves[i].torque);
        memory_destroy(plot->curves[i].per_field);
    }
    for (size_t i = 0; plot->cell_texts && i < plot->count * COLUMNS; i++)
        text_clear(&plot->cell_texts[i]);
    memory_destroy(plot->curves);
    memory_destroy(plot->cell_texts);
    memory_destroy(plot->cells);
    memory_destroy(plot->styles);
    memory_destroy(plot->lines);
    memory_destroy(plot->marks);
    plot_texts_clear(&plot->texts);
}

/* A steel's name and what it does at its best amplitude. */
static void set_row(struct compare_plot *plot, size_t index)
{
    const struct comparison_row *row = &plot->rows[index];
    struct text *texts = plot->cell_texts + COLUMNS * index;
    markup_add(&texts[0], row->steel->name);
    plot_text_add_value(&texts[1], row->best.point.field_peak, "A/m");
    plot_text_add_value(&texts[2], row->best.torque, "N m");
    plot_text_add_value(&texts[3], row->best.per_field, "T");
    if (row->best.point.squareness > 0)
        plot_text_add_value(&texts[4], row->best.point.squareness, "");
    for (size_t i = 0; i < COLUMNS; i++)
        plot->cells[COLUMNS * index + i] = plot_text_get(&texts[i]);
}

static void set_lines(struct compare_plot *plot)
{
    for (size_t i = 0; i < plot->count; i++) {
        const struct curve *curve = &plot->curves[i];
        const struct comparison_entry *best = &plot->rows[i].best;
        double field = best->point.field_peak / plot->field_scale.factor;
        for (size_t panel = 0; panel < 2; panel++) {
            plot->lines[panel * plot->count + i] = (struct chart_line){.x = curve->field,
                .y = panel == 0 ? curve->torque : curve->per_field,
                .count = curve->count,
                .style = plot->styles[i]};
            plot->marks[panel * plot->count + i] = (struct chart_mark){.x = field,
                .y = panel == 0 ? best->torque / plot->torque_scale.factor : best->per_field,
                .style = plot->styles[i]};
        }
        set_row(plot, i);
    }
}

static enum status draw(struct compare_plot *plot, const char *path, struct error *err)
{
    static const char *const headings[COLUMNS] = {"steel, at its mark",
        "<i>H</i><span size=\"x-small\" rise=\"-2pt\">m</span>",
        "<i>T</i><span size=\"x-small\" rise=\"-2pt\">h</span>",
        "<i>W</i><span size=\"x-small\" rise=\"-2pt\">h</span>/<i>H</i>"
        "<span size=\"x-small\" rise=\"-2pt\">m</span>",
        "<i>B</i><span size=\"x-small\" rise=\"-2pt\">r</span>/<i>B</i>"
        "<span size=\"x-small\" rise=\"-2pt\">m</span>"};
    struct chart_panel panels[2] = {
        {.width = 1,
            .height = UPPER,
            .y = {.label =
                      plot_texts_add_label(&plot->texts, "Th", &plot->torque_scale, "N\u00A0m"),
                .most = 1.1 * plot->torque_most / plot->torque_scale.factor},
            .lines = plot->lines,
            .marks = plot->marks},
        {.top = UPPER,
            .width = 1,
            .height = 1 - UPPER,
            .y = {.label = "<i>W</i><span size=\"x-small\" rise=\"-2pt\">h</span>/<i>H</i>"
                           "<span size=\"x-small\" rise=\"-2pt\">m</span> (T): torque per volume "
                           "and ampere-turn",
                .most = 1.1 * plot->per_field_most},
            .lines = plot->lines + plot->count,
            .marks = plot->marks + plot->count},
    };
    struct text *below = plot_texts_add(&plot->texts);
    text_add_format(below, "peak field <i>H</i> (%sA/m)", plot->field_scale.prefix);
    for (int i = 0; i < 2; i++) {
        panels[i].line_count = panels[i].mark_count = plot->count;
        panels[i].x.is_bare = i == 0;
        panels[i].x.label = i == 0 ? NULL : plot_text_get(below);
        chart_axis_set_limits(&panels[i].x, plot->field_least / plot->field_scale.factor,
            plot->field_most / plot->field_scale.factor, 0.04);
    }
    const struct chart chart = {
        .title = motor_words_add_title(&plot->texts, "Hysteresis torque over peak field", NULL),
        .subtitle = motor_words_add_subtitle(&plot->texts, plot->machine, NULL),
        .panels = panels,
        .panel_count = 2,
        .legend = {.columns = COLUMNS,
            .rows = plot->count,
            .headings = headings,
            .cells = plot->cells,
            .styles = plot->styles},
        .width = WIDTH,
        .height = HEIGHT};
    return chart_write(&chart, path, err);
}

enum status motor_plot_write_comparison(const struct comparison_row *rows, size_t count,
    const struct motor_machine *machine, const char *path, struct error *err)
{
    struct compare_plot plot = {.rows = rows, .count = count, .machine = machine};
    enum status status = create(&plot, err);
    if (!status) {
        set_lines(&plot);
        status = draw(&plot, path, err);
    }
    clear(&plot);
    return status;
}
