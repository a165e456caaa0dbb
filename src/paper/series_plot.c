// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/series_plot.h"

#include <float.h>
#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "paper/chart.h"
#include "paper/markup.h"
#include "paper/plot_text.h"

#define WIDTH 640.0 /* points */
#define ROW_HEIGHT 300.0
#define PANELS 4
#define BANDS 3
#define CURVE_POINTS 101
#define LAW_LINES 3
#define COLUMNS 2
#define LEGEND_ROWS 9

enum { STYLE_LOOP = 0, STYLE_LINEAR = 1, STYLE_EXCESS = 2, STYLE_LAW = 3, STYLE_BLACK = 6 };

static const struct plot_scale plain = {1, ""};

struct series_plot {
    const struct series *series;
    struct plot_texts texts;
    struct plot_scale field, energy;
    double *room; /* every number that is drawn */
    size_t used;
    struct chart_line *lines;
    size_t line_count;
    struct chart_mark *marks;
    size_t mark_count;
    struct chart_band bands[BANDS];
    struct chart_panel panels[PANELS];
    size_t panel_count;
    const char *cells[COLUMNS * LEGEND_ROWS];
    struct chart_style styles[LEGEND_ROWS];
    size_t rows;
    struct chart chart;
};

static double *take(struct series_plot *plot, size_t count)
{
    double *list = plot->room + plot->used;
    plot->used += count;
    return list;
}

/* Measured curves are drawn through, whatever the style's number. */
static struct chart_style get_style(size_t index)
{
    struct chart_style style = chart_style_get(index);
    if (index == STYLE_BLACK)
        style.dash = CHART_SOLID;
    return style;
}

static void add_row(struct series_plot *plot, const char *name, const char *what, size_t style)
{
    if (plot->rows == LEGEND_ROWS)
        return;
    plot->styles[plot->rows] = get_style(style);
    plot->cells[COLUMNS * plot->rows] = name;
    plot->cells[COLUMNS * plot->rows + 1] = what;
    plot->rows++;
}

static const char *get_symbol(const struct series *series)
{
    return series->uses_polarization ? "J" : "B";
}

/* A new panel whose lines and marks begin here. */
static struct chart_panel *add_panel(struct series_plot *plot)
{
    struct chart_panel *panel = &plot->panels[plot->panel_count++];
    *panel = (struct chart_panel){
        .lines = plot->lines + plot->line_count, .marks = plot->marks + plot->mark_count};
    return panel;
}

static void add_line(struct series_plot *plot, struct chart_panel *panel, const double *x,
    const double *y, size_t count, size_t style)
{
    plot->lines[plot->line_count++] =
        (struct chart_line){.x = x, .y = y, .count = count, .style = get_style(style)};
    panel->line_count++;
}

static void add_mark(
    struct series_plot *plot, struct chart_panel *panel, double x, double y, size_t style)
{
    plot->marks[plot->mark_count++] =
        (struct chart_mark){.x = x, .y = y, .style = get_style(style)};
    panel->mark_count++;
}

/* Limits of a logarithmic axis: half a tick beyond either end. */
static void set_log(struct chart_axis *axis, double least, double most)
{
    const double margin = fmax(1.02, exp(0.06 * (log(most) - log(least))));
    axis->is_log = true;
    axis->least = fmax(least / margin, DBL_MIN); /* whatever a file tells */
    axis->most = fmin(most * margin, DBL_MAX);
}

/* --- loops and their tips ----------------------------------------------------------------------
 */

static void add_loops(struct series_plot *plot, const struct series_curve *curve)
{
    const struct series *series = plot->series;
    struct chart_panel *panel = add_panel(plot);
    double most_x = 0, most_y = 0;
    for (size_t i = 0; i < curve->count; i++) {
        const struct series_loop *loop = &series->loops[curve->loop[i]];
        double *x = take(plot, loop->point_count), *y = take(plot, loop->point_count);
        for (size_t n = 0; n < loop->point_count; n++) {
            x[n] = loop->field[n] / plot->field.factor;
            y[n] = loop->flux_density[n];
        }
        if (!loop->point_count)
            continue;
        add_line(plot, panel, x, y, loop->point_count, STYLE_LOOP);
        plot->lines[plot->line_count - 1].is_closed = true;
        plot->lines[plot->line_count - 1].style.width = 0.8;
    }
    const bool has_loops = panel->line_count > 0;
    double *x = take(plot, curve->count), *y = take(plot, curve->count);
    for (size_t i = 0; i < curve->count; i++) {
        x[i] = curve->field_peak[i] / plot->field.factor;
        y[i] = curve->peak[i];
        most_x = fmax(most_x, x[i]);
        most_y = fmax(most_y, y[i]);
        add_mark(plot, panel, x[i], y[i], STYLE_BLACK);
    }
    add_line(plot, panel, x, y, curve->count, STYLE_BLACK);
    chart_axis_set_limits(&panel->x, has_loops ? -most_x : 0, most_x, 0.04);
    chart_axis_set_limits(&panel->y, has_loops ? -most_y : 0, most_y, 0.04);
    panel->x.has_zero = panel->y.has_zero = true;
    panel->x.label = plot_texts_add_label(&plot->texts, "H", &plot->field, "A/m");
    panel->y.label = series->uses_polarization ? "<i>J</i> (T)" : "<i>B</i> (T)";
    struct text *name = plot_texts_add(&plot->texts);
    text_add(name, "loops at ");
    plot_text_add_value(name, curve->frequency_Hz, "Hz");
    if (has_loops)
        add_row(plot, plot_text_get(name), "rebuilt from the captures", STYLE_LOOP);
    add_row(plot, "normal curve", "through the tips, at the lowest frequency", STYLE_BLACK);
}

static void add_permeability(struct series_plot *plot, const struct series_curve *curve)
{
    struct chart_panel *panel = add_panel(plot);
    double *x = take(plot, curve->count), *y = take(plot, curve->count);
    double least = INFINITY, most = 0, top = 0;
    for (size_t i = 0; i < curve->count; i++) {
        x[i] = curve->field_peak[i];
        y[i] = curve->permeability[i];
        least = fmin(least, x[i]);
        most = fmax(most, x[i]);
        top = fmax(top, y[i]);
        add_mark(plot, panel, x[i], y[i], STYLE_BLACK);
    }
    add_line(plot, panel, x, y, curve->count, STYLE_BLACK);
    set_log(&panel->x, least, most);
    chart_axis_set_limits(&panel->y, 0, top, 0.05);
    panel->y.least = 0;
    panel->x.label = plot_texts_add_label(&plot->texts, "Hm", &plain, "A/m");
    panel->y.label = "amplitude permeability";
}

/* --- energy over frequency ---------------------------------------------------------------------
 */

/* The separation to show: of those with the most frequencies and terms the one at the largest peak.
 */
static const struct series_separation *find_separation(const struct series *series)
{
    const struct series_separation *best = NULL;
    for (size_t i = 0; i < series->separation_count; i++) {
        const struct series_separation *it = &series->separations[i];
        if (!best || it->count + it->has_excess >= best->count + best->has_excess)
            best = it;
    }
    return best;
}

static void set_band(struct series_plot *plot, struct chart_panel *panel, const double *x,
    const double *lower, const double *upper, size_t style, double tint)
{
    plot->bands[panel->band_count++] = (struct chart_band){.x = x,
        .lower = lower,
        .upper = upper,
        .count = CURVE_POINTS,
        .style = get_style(style),
        .tint = tint};
}

static void add_separation(struct series_plot *plot, const struct series_separation *it)
{
    struct chart_panel *panel = add_panel(plot);
    double *x = take(plot, CURVE_POINTS), *edges[BANDS + 1];
    const double unit = plot->energy.factor, last = it->frequency_Hz[it->count - 1];
    double top = 0;
    for (size_t b = 0; b <= BANDS; b++)
        edges[b] = take(plot, CURVE_POINTS);
    for (size_t i = 0; i < CURVE_POINTS; i++) {
        const double f = 1.04 * last * (double)i / (CURVE_POINTS - 1);
        x[i] = f;
        edges[0][i] = 0;
        edges[1][i] = it->hysteresis_J_per_m3 / unit;
        edges[2][i] = edges[1][i] + it->excess_J_per_m3_per_sqrt_Hz * sqrt(f) / unit;
        edges[3][i] = edges[2][i] + it->linear_J_s_per_m3 * f / unit;
        top = fmax(top, edges[3][i]);
    }
    panel->bands = plot->bands;
    set_band(plot, panel, x, edges[0], edges[1], STYLE_LOOP, 0.18);
    set_band(plot, panel, x, edges[1], edges[2], STYLE_EXCESS, 0.75);
    set_band(plot, panel, x, edges[2], edges[3], STYLE_LINEAR, 0.42);
    add_line(plot, panel, x, edges[1], CURVE_POINTS, STYLE_LOOP);
    if (it->has_excess)
        add_line(plot, panel, x, edges[2], CURVE_POINTS, STYLE_EXCESS);
    add_line(plot, panel, x, edges[3], CURVE_POINTS, STYLE_LINEAR);
    for (size_t i = 0; i < it->count; i++) {
        top = fmax(top, it->energy[i] / unit);
        add_mark(plot, panel, it->frequency_Hz[i], it->energy[i] / unit, STYLE_BLACK);
    }
    panel->x.most = 1.04 * last;
    panel->y.most = 1.06 * top;
    struct text *label = plot_texts_add(&plot->texts);
    text_add_format(label, "<i>W</i> (%s%s) at %.4g T", plot->energy.prefix,
        plot->series->is_per_mass ? "J/kg" : "J/m³", it->peak_T);
    panel->y.label = plot_text_get(label);
    panel->x.label = "<i>f</i> (Hz)";
    add_row(plot, "hysteresis", "the same in every cycle", STYLE_LOOP);
    if (it->has_excess)
        add_row(plot, "excess", "with the root of the frequency", STYLE_EXCESS);
    add_row(plot, it->is_classical ? "eddy currents" : "linear",
        it->is_classical ? "computed from resistivity and thickness" : "with the frequency, fitted",
        STYLE_LINEAR);
}

/* --- laws --------------------------------------------------------------------------------------
 */

static void add_law(struct series_plot *plot, struct chart_panel *panel,
    const struct series_power_law *law, size_t style, const char *what)
{
    if (!law->is_present)
        return;
    double *x = take(plot, CURVE_POINTS), *y = take(plot, CURVE_POINTS);
    for (size_t i = 0; i < CURVE_POINTS; i++) {
        x[i] = law->least_T * pow(law->most_T / law->least_T, (double)i / (CURVE_POINTS - 1));
        y[i] = law->coefficient * pow(x[i], law->exponent + law->exponent_per_T * x[i]) /
               plot->energy.factor;
    }
    add_line(plot, panel, x, y, CURVE_POINTS, style);
    struct text *name = plot_texts_add(&plot->texts);
    text_add_format(name, law->is_varying ? "exponent %.3g %+.2g · <i>%s</i>" : "exponent %.3g",
        law->exponent, law->exponent_per_T, get_symbol(plot->series));
    add_row(plot, plot_text_get(name), what, style);
}

static void add_point(struct series_plot *plot, struct chart_panel *panel, double peak,
    double energy, double limits[4])
{
    if (!(energy > 0))
        return;
    add_mark(plot, panel, peak, energy / plot->energy.factor, STYLE_BLACK);
    limits[0] = fmin(limits[0], peak);
    limits[1] = fmax(limits[1], peak);
    limits[2] = fmin(limits[2], energy / plot->energy.factor);
    limits[3] = fmax(limits[3], energy / plot->energy.factor);
}

static void add_laws(struct series_plot *plot)
{
    const struct series *series = plot->series;
    struct chart_panel *panel = add_panel(plot);
    double limits[4] = {INFINITY, 0, INFINITY, 0};
    const struct series_separation *separations = series->separations;
    const size_t separated = series->is_separated && separations ? series->separation_count : 0;
    for (size_t i = 0; i < separated; i++)
        add_point(plot, panel, separations[i].peak_T, separations[i].hysteresis_J_per_m3, limits);
    const size_t normal = series->normal == SERIES_NONE ? 0 : series->normal;
    const struct series_curve *curve = &series->curves[normal];
    for (size_t i = 0; !series->is_separated && i < curve->count; i++)
        add_point(plot, panel, curve->peak[i], series->loops[curve->loop[i]].energy, limits);
    add_law(plot, panel, &series->free, STYLE_LAW, "free exponent");
    add_law(plot, panel, &series->fixed, STYLE_LAW + 1, "the historical one");
    add_law(plot, panel, &series->varying, STYLE_LAW + 2, "varying");
    set_log(&panel->x, limits[0], limits[1]);
    set_log(&panel->y, limits[2], limits[3]);
    panel->y.label = plot_texts_add_label(&plot->texts, series->is_separated ? "Wh" : "W",
        &plot->energy, series->is_per_mass ? "J/kg" : "J/m³");
    panel->x.label =
        plot_texts_add_label(&plot->texts, series->uses_polarization ? "Jm" : "Bm", &plain, "T");
}

/* --- the picture -------------------------------------------------------------------------------
 */

static enum status reserve(struct series_plot *plot, struct error *err)
{
    const struct series *series = plot->series;
    size_t points = 0;
    double energy = 0, field = 0;
    for (size_t i = 0; i < series->count; i++) {
        points += 2 * series->loops[i].point_count + 8;
        energy = fmax(energy, isnan(series->loops[i].energy) ? 0 : series->loops[i].energy);
        field = fmax(field, series->loops[i].figures.list[FIGURE_FIELD_PEAK].value);
    }
    plot->energy = plot_scale_find(energy);
    plot->field = plot_scale_find(field);
    plot->room = memory_create(points + 20 * CURVE_POINTS, sizeof *plot->room);
    plot->lines = memory_create(series->count + 16, sizeof *plot->lines);
    plot->marks =
        memory_create(4 * series->count + series->separation_count + 16, sizeof *plot->marks);
    return plot->room && plot->lines && plot->marks ? STATUS_OK : fail_memory(err);
}

/* Two in a row; a single last one takes the whole row. */
static void place_panels(struct series_plot *plot)
{
    const size_t rows = (plot->panel_count + 1) / 2;
    for (size_t i = 0; i < plot->panel_count; i++) {
        struct chart_panel *panel = &plot->panels[i];
        const bool is_wide = i + 1 == plot->panel_count && i % 2 == 0;
        panel->left = i % 2 ? 0.51 : 0;
        panel->width = is_wide ? 1 : 0.49;
        const size_t row = i / 2;
        panel->top = (double)row / (double)rows;
        panel->height = 0.98 / (double)rows;
    }
}

static const char *add_title(struct series_plot *plot)
{
    const struct series_steel *steel = &plot->series->steel;
    struct text *title = plot_texts_add(&plot->texts);
    const char *names[] = {steel->specimen, steel->alloy, steel->heat};
    for (size_t i = 0; i < 3; i++) {
        if (!names[i])
            continue;
        text_add(title, title->length ? ", " : "");
        text_add(title, i == 2 ? "heat " : "");
        markup_add(title, names[i]);
    }
    if (!title->length)
        text_add(title, "A series of loops");
    return plot_text_get(title);
}

/* What the marks are of the panels that have no line through them. */
static void add_energy_row(struct series_plot *plot)
{
    const bool is_separated = plot->series->is_separated;
    add_row(plot, "energies",
        is_separated ? "measured; over the peak, of hysteresis alone" : "measured", STYLE_BLACK);
    plot->styles[plot->rows - 1].width = 0;
}

static void add_panels(struct series_plot *plot)
{
    const struct series *series = plot->series;
    const struct series_separation *separation = find_separation(series);
    if (series->normal != SERIES_NONE && series->curves[series->normal].count > 1) {
        add_loops(plot, &series->curves[series->normal]);
        add_permeability(plot, &series->curves[series->normal]);
    }
    if (separation)
        add_separation(plot, separation);
    if (series->free.is_present)
        add_laws(plot);
    if (separation || series->free.is_present)
        add_energy_row(plot);
    place_panels(plot);
}

const struct chart *series_plot_get_chart(const struct series_plot *plot)
{
    return &plot->chart;
}

static void set_chart(struct series_plot *plot)
{
    static const char *const headings[] = {"line", "what it is"};
    const size_t rows = (plot->panel_count + 1) / 2;
    plot->chart = (struct chart){.title = add_title(plot),
        .panels = plot->panels,
        .panel_count = plot->panel_count,
        .legend = {.columns = COLUMNS,
            .rows = plot->rows,
            .headings = headings,
            .cells = plot->cells,
            .styles = plot->styles,
            .has_words = true},
        .width = WIDTH,
        .height = ROW_HEIGHT * (double)rows};
}

enum status series_plot_create(
    const struct series *series, struct series_plot **plot, struct error *err)
{
    struct series_plot *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    made->series = series;
    enum status status = reserve(made, err);
    if (!status)
        add_panels(made);
    if (!status && made->panel_count == 0)
        status = fail(err, STATUS_INPUT, "give loops of several amplitudes or frequencies",
            "the series has no curve to draw");
    if (status) {
        series_plot_destroy(made);
        return status;
    }
    set_chart(made);
    *plot = made;
    return STATUS_OK;
}

void series_plot_destroy(struct series_plot *plot)
{
    if (!plot)
        return;
    plot_texts_clear(&plot->texts);
    memory_destroy(plot->room);
    memory_destroy(plot->lines);
    memory_destroy(plot->marks);
    memory_destroy(plot);
}

enum status series_plot_write(const struct series *series, const char *path, struct error *err)
{
    struct series_plot *plot;
    enum status status = series_plot_create(series, &plot, err);
    if (status)
        return status;
    status = chart_write(&plot->chart, path, err);
    series_plot_destroy(plot);
    return status;
}
