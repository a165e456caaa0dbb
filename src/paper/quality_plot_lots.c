// SPDX-License-Identifier: GPL-3.0-or-later
/* The rings of lots. */
#include <math.h>

#include "base/memory.h"
#include "paper/markup.h"
#include "paper/quality_parts.h"

#define EXPANDED 2    /* k of the bars */
#define NAMES_MOST 18 /* rings that are named below the axis */

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
        status = quality_finish(made, 1, QUALITY_PANEL_HEIGHT, err);
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
        status = quality_finish(&made, panels, 60 + QUALITY_PANEL_HEIGHT * (double)panels, err);
    }
    return status == STATUS_OK ? quality_write(&made, path, err) : status;
}
