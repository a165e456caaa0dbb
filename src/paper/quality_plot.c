// SPDX-License-Identifier: GPL-3.0-or-later
/* Rings of lots, control charts, operating characteristics, differences. */
#include "paper/quality_plot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "num/normality.h"
#include "paper/markup.h"
#include "paper/quality_parts.h"

#define PANEL_HEIGHT 210.0
#define EXPANDED 2    /* k of the bars */
#define NAMES_MOST 18 /* rings that are named below the axis */

static enum status write(struct quality_chart *made, const char *path, struct error *err)
{
    enum status status = chart_write(&made->chart, path, err);
    quality_chart_clear(made);
    return status;
}

/* --- rings of lots -----------------------------------------------------------------------------
 */

static double find_most(const struct qualification *qualification, size_t index)
{
    const struct limit *limit = &qualification->limits->figures[qualification->figures[index]];
    double most =
        fmax(limit->has_lower ? fabs(limit->lower) : 0, limit->has_upper ? fabs(limit->upper) : 0);
    for (size_t i = 0; i < qualification->specimen_count; i++) {
        const double value = qualification->specimens[i].checks[index].decision.value;
        most = isfinite(value) ? fmax(most, fabs(value)) : most;
    }
    return most;
}

static void add_level(
    struct quality_parts *parts, size_t panel, double value, double end, struct chart_style style)
{
    if (isfinite(value)) {
        quality_add_stroke(parts, panel, (const double[]){0.4, value, end, value}, style);
    }
}

/* The limits, and dotted the acceptance limits at the mean uncertainty. */
static void add_limits(struct quality_parts *parts, size_t panel,
    const struct qualification *qualification, size_t index, double factor)
{
    const struct limits *limits = qualification->limits;
    const struct limit *limit = &limits->figures[qualification->figures[index]];
    const double end = (double)qualification->specimen_count + 0.6;
    double squares = 0, count = 0;
    for (size_t i = 0; i < qualification->specimen_count; i++) {
        const struct check *check = &qualification->specimens[i].checks[index];
        if (check->loops > 0) {
            squares += check->decision.u * check->decision.u;
            count += 1;
        }
    }
    const double guard =
        limits->rule == RULE_GUARDED && count > 0 ? GUARD_FACTOR * sqrt(squares / count) : 0;
    const struct chart_style solid = quality_get_grey(CHART_SOLID, 1.2);
    const struct chart_style dotted = quality_get_grey(CHART_DOTTED, 1);
    add_level(parts, panel, limit->lower / factor, end, solid);
    add_level(parts, panel, limit->upper / factor, end, solid);
    if (guard > 0) {
        add_level(parts, panel, (limit->lower + guard) / factor, end, dotted);
        add_level(parts, panel, (limit->upper - guard) / factor, end, dotted);
    }
}

static void add_rings(struct quality_parts *parts, size_t panel,
    const struct qualification *qualification, size_t index, double factor)
{
    for (size_t h = 0; h < qualification->heat_count; h++) {
        const struct heat_verdict *heat = &qualification->heats[h];
        struct chart_style bar = chart_style_get(h), mark = chart_style_get(h);
        bar.dash = CHART_SOLID;
        for (size_t s = heat->first; s < heat->first + heat->count; s++) {
            const struct decision *decision = &qualification->specimens[s].checks[index].decision;
            const double x = (double)s + 1, y = decision->value / factor;
            const double reach = EXPANDED * decision->u / factor;
            if (isfinite(y)) {
                quality_add_stroke(parts, panel, (const double[]){x, y - reach, x, y + reach}, bar);
                quality_add_mark(parts, panel, x, y, mark);
            }
        }
    }
}

/* Few rings are called by their names; panels above each other share them. */
static void set_ring_names(
    struct quality_parts *parts, size_t panel, const struct qualification *qualification)
{
    const char *names[NAMES_MOST];
    struct chart_axis *axis = &parts->panels[panel].x;
    if (qualification->specimen_count > NAMES_MOST) {
        return;
    }
    for (size_t i = 0; i < qualification->specimen_count; i++) {
        names[i] = qualification->specimens[i].specimen;
    }
    if (panel == 0) {
        quality_set_names(parts, axis, names, qualification->specimen_count);
    } else {
        axis->names = parts->panels[0].x.names;
        axis->name_count = parts->panels[0].x.name_count;
    }
    axis->label = "ring";
}

static void set_lot_panel(struct quality_parts *parts, size_t panel,
    const struct qualification *qualification, size_t index)
{
    struct plot_scale scale;
    struct chart_panel *made = &parts->panels[panel];
    made->y.label = quality_add_figure_label(
        parts, qualification->figures[index], find_most(qualification, index), &scale);
    made->x = (struct chart_axis){.label = "ring, in the order of the table",
        .least = 0.4,
        .most = (double)qualification->specimen_count + 0.6};
    set_ring_names(parts, panel, qualification);
    add_limits(parts, panel, qualification, index, scale.factor);
    add_rings(parts, panel, qualification, index, scale.factor);
}

/* A row of the legend a heat. */
static void set_heat_legend(struct quality_chart *made, const struct qualification *qualification)
{
    static const char *const headings[] = {"heat"};
    struct quality_parts *parts = made->parts;
    const size_t rows = qualification->heat_count < 8 ? qualification->heat_count : 8;
    parts->cells = memory_create(rows, sizeof *parts->cells);
    parts->styles = memory_create(rows, sizeof *parts->styles);
    if (parts->cells == NULL || parts->styles == NULL) {
        parts->failed = true;
        return;
    }
    for (size_t h = 0; h < rows; h++) {
        struct text *words = plot_texts_add(&parts->texts);
        markup_add(words, qualification->heats[h].supplier);
        text_add(words, ", ");
        markup_add(words, qualification->heats[h].heat);
        parts->cells[h] = plot_text_get(words);
        parts->styles[h] = chart_style_get(h);
        parts->styles[h].dash = CHART_SOLID;
    }
    made->chart.legend = (struct chart_legend){.columns = 1,
        .rows = rows,
        .headings = headings,
        .cells = parts->cells,
        .styles = parts->styles};
}

enum status quality_chart_create_lots(const struct qualification *qualification, size_t index,
    struct quality_chart *made, struct error *err)
{
    enum status status = quality_begin(made, err);
    if (status == STATUS_OK) {
        set_lot_panel(made->parts, 0, qualification, index);
        if (qualification->heat_count > 1) {
            set_heat_legend(made, qualification);
        }
        status = quality_finish(made, 1, PANEL_HEIGHT, err);
    }
    return status;
}

enum status quality_plot_lots(
    const struct qualification *qualification, const char *path, struct error *err)
{
    struct quality_chart made;
    size_t panels = qualification->figure_count;
    panels = panels < QUALITY_PANELS ? panels : QUALITY_PANELS;
    enum status status = quality_begin(&made, err);
    for (size_t i = 0; i < panels && status == STATUS_OK; i++) {
        set_lot_panel(made.parts, i, qualification, i);
    }
    if (status == STATUS_OK) {
        struct text *title = plot_texts_add(&made.parts->texts);
        markup_add(title, qualification->limits->name != NULL ? qualification->limits->name : "");
        made.chart.title = plot_text_get(title);
        made.chart.subtitle = "bars: expanded uncertainty (<i>k</i> = 2); lines: limits; dotted: "
                              "acceptance limits";
        set_heat_legend(&made, qualification);
        status = quality_finish(&made, panels, 60 + PANEL_HEIGHT * (double)panels, err);
    }
    return status == STATUS_OK ? write(&made, path, err) : status;
}

/* --- normal plot -------------------------------------------------------------------------------
 */

static int compare_numbers(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static void set_normal_panel(struct quality_parts *parts, size_t at, enum figure figure,
    const struct lot_figure *lot, double *values, size_t count)
{
    struct plot_scale scale;
    struct chart_panel *panel = &parts->panels[at];
    const double first = normality_compute_score(0, count), last = -first;
    qsort(values, count, sizeof *values, compare_numbers);
    panel->y.label = quality_add_figure_label(
        parts, figure, fmax(fabs(values[0]), fabs(values[count - 1])), &scale);
    panel->x = (struct chart_axis){.label = "score of a normal population"};
    chart_axis_set_limits(&panel->x, first, last, 0.08);
    const double mean = lot->summary.mean / scale.factor;
    const double slope = lot->summary.deviation / scale.factor;
    quality_add_stroke(parts, at,
        (const double[]){first, mean + slope * first, last, mean + slope * last},
        quality_get_grey(CHART_DASHED, 1));
    for (size_t i = 0; i < count; i++) {
        quality_add_mark(parts, at, normality_compute_score(i, count), values[i] / scale.factor,
            chart_style_get(0));
    }
}

/* The values of the rings that were measured; gives their number. */
static size_t copy_values(const struct qualification *qualification,
    const struct heat_verdict *heat, size_t index, double *values)
{
    size_t count = 0;
    for (size_t s = 0; s < heat->count; s++) {
        const struct check *check = &qualification->specimens[heat->first + s].checks[index];
        if (check->loops > 0) {
            values[count++] = check->decision.value;
        }
    }
    return count;
}

enum status quality_chart_create_normal(const struct qualification *qualification, size_t heat,
    struct quality_chart *made, struct error *err)
{
    const struct heat_verdict *verdict = &qualification->heats[heat];
    double *values = memory_create(verdict->count, sizeof *values);
    size_t panels = 0;
    enum status status = values != NULL ? quality_begin(made, err) : fail_memory(err);
    for (size_t f = 0; status == STATUS_OK && f < qualification->figure_count; f++) {
        const size_t count = copy_values(qualification, verdict, f, values);
        if (count > 1 && panels < QUALITY_PANELS) {
            set_normal_panel(made->parts, panels++, qualification->figures[f],
                &verdict->figures[f].lot, values, count);
        }
    }
    if (status == STATUS_OK && panels == 0) {
        quality_chart_clear(made);
        status = fail(err, STATUS_INPUT, "measure two rings at least",
            "no normal plot of %zu rings", verdict->count);
    }
    if (status == STATUS_OK) {
        status = quality_finish(made, panels, quality_set_grid(made->parts, panels), err);
    }
    memory_destroy(values);
    return status;
}

/* --- control chart -----------------------------------------------------------------------------
 */

static void add_steps(struct quality_parts *parts, size_t panel, const struct control *control,
    double factor, bool is_upper, bool is_spread)
{
    for (size_t i = 0; i < control->count; i++) {
        const struct control_point *point = &control->points[i];
        const double y = is_spread ? (is_upper ? point->spread_upper : point->spread_lower)
                                   : (is_upper ? point->upper : point->lower);
        const double x = (double)i + 1;
        quality_add_stroke(parts, panel, (const double[]){x - 0.5, y / factor, x + 0.5, y / factor},
            quality_get_grey(CHART_DASHED, 1.1));
    }
}

static void set_control_panel(
    struct quality_parts *parts, const struct control *control, double factor, bool is_spread)
{
    const size_t panel = is_spread ? 1 : 0;
    const struct chart_style line = chart_style_get(0);
    add_steps(parts, panel, control, factor, true, is_spread);
    add_steps(parts, panel, control, factor, false, is_spread);
    double before = NAN;
    for (size_t i = 0; i < control->count; i++) {
        const struct control_point *point = &control->points[i];
        const double y = (is_spread ? point->spread : point->value) / factor;
        const bool is_found = is_spread ? point->is_spread_beyond : point->rules != 0;
        struct chart_style mark = chart_style_get(is_found ? 1 : 0);
        mark.marker = is_found ? CHART_SQUARE : CHART_DISC;
        if (isfinite(y) && isfinite(before)) {
            quality_add_stroke(
                parts, panel, (const double[]){(double)i, before, (double)i + 1, y}, line);
        }
        if (isfinite(y)) {
            quality_add_mark(parts, panel, (double)i + 1, y, mark);
        }
        before = y;
    }
}

enum status quality_chart_create_control(enum figure figure, const struct control *control,
    const char *const *heats, struct quality_chart *made, struct error *err)
{
    static const char *const spreads[] = {[CONTROL_INDIVIDUALS] = "moving range",
        [CONTROL_RANGES] = "range",
        [CONTROL_DEVIATIONS] = "standard deviation"};
    struct plot_scale scale;
    const double end = (double)control->count + 0.5;
    enum status status = quality_begin(made, err);
    if (status != STATUS_OK) {
        return status;
    }
    struct quality_parts *parts = made->parts;
    struct text *label = plot_texts_add(&parts->texts), *subtitle = plot_texts_add(&parts->texts);
    parts->panels[0].y.label =
        quality_add_figure_label(parts, figure, fabs(control->centre), &scale);
    parts->panels[0].x = (struct chart_axis){.least = 0.5, .most = end, .is_bare = true};
    parts->panels[1].x =
        (struct chart_axis){.label = "heat, in the order given", .least = 0.5, .most = end};
    text_add_format(label, "%s", spreads[control->kind]);
    parts->panels[1].y.label = plot_text_get(label);
    quality_add_stroke(parts, 0,
        (const double[]){0.5, control->centre / scale.factor, end, control->centre / scale.factor},
        quality_get_grey(CHART_SOLID, 0.8));
    set_control_panel(parts, control, scale.factor, false);
    set_control_panel(parts, control, scale.factor, true);
    text_add(subtitle, "heats ");
    markup_add(subtitle, heats[0]);
    text_add(subtitle, " to ");
    markup_add(subtitle, heats[control->count - 1]);
    text_add(subtitle, "; dashed: limits at three standard deviations; squares: a test found them");
    made->chart.subtitle = plot_text_get(subtitle);
    parts->panels[0].width = parts->panels[1].width = 1;
    parts->panels[0].height = parts->panels[1].top = 0.62;
    parts->panels[1].height = 0.38;
    return quality_finish(made, 2, 380, err);
}

enum status quality_plot_control(enum figure figure, const struct control *control,
    const char *const *heats, const char *path, struct error *err)
{
    struct quality_chart made;
    enum status status = quality_chart_create_control(figure, control, heats, &made, err);
    if (status == STATUS_OK) {
        struct text *title = plot_texts_add(&made.parts->texts);
        text_add_format(title, "Control chart: %s", figure_table[figure].name);
        made.chart.title = plot_text_get(title);
        status = write(&made, path, err);
    }
    return status;
}

/* --- operating characteristic ------------------------------------------------------------------
 */

#define PLAN_POINTS 81

enum status quality_chart_create_plan(
    const struct plan *plan, double good, double bad, struct quality_chart *made, struct error *err)
{
    double x[PLAN_POINTS], y[PLAN_POINTS];
    const double most = fmin(0.5, 2.5 * bad);
    const double shares[] = {good, bad};
    enum status status = quality_begin(made, err);
    if (status != STATUS_OK) {
        return status;
    }
    for (int i = 0; i < PLAN_POINTS; i++) {
        const double share = most * i / (PLAN_POINTS - 1);
        x[i] = 100 * share;
        y[i] = plan_compute_acceptance(plan, share);
    }
    quality_add_line(made->parts, 0, x, y, PLAN_POINTS, chart_style_get(0));
    for (int i = 0; i < 2; i++) {
        const double accepted = plan_compute_acceptance(plan, shares[i]);
        quality_add_stroke(made->parts, 0,
            (const double[]){100 * shares[i], 0, 100 * shares[i], accepted},
            quality_get_grey(CHART_DASHED, 1));
        quality_add_mark(made->parts, 0, 100 * shares[i], accepted, chart_style_get((size_t)i + 1));
    }
    made->parts->panels[0].x =
        (struct chart_axis){.label = "nonconforming (%)", .least = 0, .most = 100 * most};
    made->parts->panels[0].y.label = "probability of acceptance";
    return quality_finish(made, 1, PANEL_HEIGHT + 40, err);
}

enum status quality_plot_plan(
    const struct plan *plan, double good, double bad, const char *path, struct error *err)
{
    struct quality_chart made;
    enum status status = chart_check_path(path, err);
    if (status == STATUS_OK) {
        status = quality_chart_create_plan(plan, good, bad, &made, err);
    }
    if (status == STATUS_OK) {
        struct text *title = plot_texts_add(&made.parts->texts);
        text_add_format(title, "Operating characteristic: %zu rings, <i>k</i> = %.3f", plan->count,
            plan->factor);
        made.chart.title = plot_text_get(title);
        status = write(&made, path, err);
    }
    return status;
}

/* --- two sides ---------------------------------------------------------------------------------
 */

enum status quality_chart_create_comparison(enum figure figure, const struct comparison *comparison,
    const char *const names[2], struct quality_chart *made, struct error *err)
{
    struct plot_scale scale;
    enum status status = quality_begin(made, err);
    if (status != STATUS_OK) {
        return status;
    }
    struct quality_parts *parts = made->parts;
    const double most =
        fmax(comparison->margin, fmax(fabs(comparison->lower), fabs(comparison->upper)));
    struct chart_axis *x = &parts->panels[0].x;
    const char *label = quality_add_figure_label(parts, figure, most, &scale);
    const double factor = scale.factor;
    *x = (struct chart_axis){.label = label, .has_zero = true};
    chart_axis_set_limits(x, -most / factor, most / factor, 0.15);
    if (comparison->margin > 0) {
        for (int sign = -1; sign <= 1; sign += 2) {
            const double at = sign * comparison->margin / factor;
            quality_add_stroke(
                parts, 0, (const double[]){at, -1, at, 1}, quality_get_grey(CHART_DASHED, 1.2));
        }
    }
    quality_add_stroke(parts, 0,
        (const double[]){comparison->lower / factor, 0, comparison->upper / factor, 0},
        chart_style_get(0));
    if (comparison->margin > 0) {
        quality_add_stroke(parts, 0,
            (const double[]){
                comparison->inner_lower / factor, 0, comparison->inner_upper / factor, 0},
            quality_get_grey(CHART_SOLID, 5));
    }
    quality_add_mark(parts, 0, comparison->difference / factor, 0, chart_style_get(0));
    quality_add_stroke(parts, 0, (const double[]){0, -1, 0, 1}, quality_get_grey(CHART_SOLID, 0.6));
    static const char *const none[] = {""};
    parts->panels[0].y.names = none;
    struct text *subtitle = plot_texts_add(&parts->texts);
    markup_add(subtitle, figure_table[figure].name);
    text_add(subtitle, ", ");
    markup_add(subtitle, names[1]);
    text_add(subtitle, " less ");
    markup_add(subtitle, names[0]);
    text_add(subtitle, ": difference with its interval");
    if (comparison->margin > 0) {
        text_add(subtitle, "; thick: the interval that decides, dashed: margins");
    }
    made->chart.subtitle = plot_text_get(subtitle);
    return quality_finish(made, 1, 140, err);
}

enum status quality_plot_comparison(enum figure figure, const struct comparison *comparison,
    const char *const names[2], const char *path, struct error *err)
{
    struct quality_chart made;
    enum status status = chart_check_path(path, err);
    if (status == STATUS_OK) {
        status = quality_chart_create_comparison(figure, comparison, names, &made, err);
    }
    if (status == STATUS_OK) {
        struct text *title = plot_texts_add(&made.parts->texts);
        text_add_format(title, "Difference of %s", figure_table[figure].name);
        made.chart.title = plot_text_get(title);
        status = write(&made, path, err);
    }
    return status;
}
