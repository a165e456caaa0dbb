// SPDX-License-Identifier: GPL-3.0-or-later
/* The difference of two sides. */
#include <math.h>

#include "paper/markup.h"
#include "paper/quality_parts.h"

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
        status = quality_write(&made, path, err);
    }
    return status;
}
