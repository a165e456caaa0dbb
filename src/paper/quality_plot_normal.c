// SPDX-License-Identifier: GPL-3.0-or-later
/* The rings of a heat over the scores of a normal population. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "num/normality.h"
#include "paper/quality_parts.h"

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
