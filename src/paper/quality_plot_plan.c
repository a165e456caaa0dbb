// SPDX-License-Identifier: GPL-3.0-or-later
/* Operating characteristics. */
#include <math.h>

#include "base/memory.h"
#include "paper/quality_parts.h"

#define PLAN_POINTS 81
#define COLUMNS 3

/* Of the good share and the bad one: the line below the curve, and its mark. */
static struct chart_style get_style(size_t index)
{
    struct chart_style style = quality_get_grey(CHART_DASHED, 1);
    style.marker = index == 0 ? CHART_SQUARE : CHART_TRIANGLE;
    return style;
}

/* The two shares, which the picture marks, with the risks at them. */
static void set_legend(struct quality_chart *made, const struct plan *plan, const double shares[2])
{
    static const char *const headings[COLUMNS] = {"nonconforming", "accepted", "rejected"};
    struct quality_parts *parts = made->parts;
    parts->cells = memory_create(2 * COLUMNS, sizeof *parts->cells);
    parts->styles = memory_create(2, sizeof *parts->styles);
    if (parts->cells == NULL || parts->styles == NULL) {
        parts->failed = true;
        return;
    }
    for (size_t i = 0; i < 2; i++) {
        const double accepted = plan_compute_acceptance(plan, shares[i]);
        const double values[COLUMNS] = {shares[i], accepted, 1 - accepted};
        for (size_t k = 0; k < COLUMNS; k++) {
            struct text *words = plot_texts_add(&parts->texts);
            text_add_format(words, k == 0 ? "%.3g\u00A0%%" : "%.1f\u00A0%%", 100 * values[k]);
            parts->cells[COLUMNS * i + k] = plot_text_get(words);
        }
        parts->styles[i] = get_style(i);
    }
    made->chart.legend = (struct chart_legend){.columns = COLUMNS,
        .rows = 2,
        .headings = headings,
        .cells = parts->cells,
        .styles = parts->styles};
}

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
    for (size_t i = 0; i < 2; i++) {
        const double accepted = plan_compute_acceptance(plan, shares[i]);
        quality_add_stroke(made->parts, 0,
            (const double[]){100 * shares[i], 0, 100 * shares[i], accepted}, get_style(i));
        quality_add_mark(made->parts, 0, 100 * shares[i], accepted, get_style(i));
    }
    set_legend(made, plan, shares);
    made->parts->panels[0].x =
        (struct chart_axis){.label = "nonconforming (%)", .least = 0, .most = 100 * most};
    made->parts->panels[0].y.label = "probability of acceptance";
    return quality_finish(made, 1, QUALITY_PANEL_HEIGHT + 40, err);
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
        status = quality_write(&made, path, err);
    }
    return status;
}
