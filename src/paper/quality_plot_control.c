// SPDX-License-Identifier: GPL-3.0-or-later
/* Control charts. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "paper/markup.h"
#include "paper/quality_parts.h"

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
        status = quality_write(&made, path, err);
    }
    return status;
}
