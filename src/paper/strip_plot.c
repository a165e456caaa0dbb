// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/strip_plot.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "num/statistics.h"
#include "paper/quality_parts.h"

#define BOX_FROM 5    /* values that make a box */
#define BOX_HALF 0.2  /* widths in groups */
#define LINE_HALF 0.3 /* of the median or mean */
#define ASIDE 0.36    /* where the interval stands */
#define CAP_HALF 0.05
#define STEP 0.07 /* between values that would lie on each other */
#define STEPS_MOST 4
#define NEAR 0.02 /* of the panel's range: values that near lie on each other */

double strip_compute_quantile(const double *sorted, size_t count, double p)
{
    const double place = p * (double)(count - 1);
    const size_t below = (size_t)floor(place);
    const size_t above = below + 1 < count ? below + 1 : below;
    return sorted[below] + (place - (double)below) * (sorted[above] - sorted[below]);
}

static int compare_numbers(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

/* Least and most of all values and limits of a panel. */
static void find_range(const struct strip_panel *panel, double *least, double *most)
{
    const struct limit *limit = panel->limit;
    *least = limit != NULL && limit->has_lower ? limit->lower : INFINITY;
    *most = limit != NULL && limit->has_upper ? limit->upper : -INFINITY;
    for (size_t g = 0; g < panel->count; g++) {
        for (size_t i = 0; i < panel->groups[g].count; i++) {
            *least = fmin(*least, panel->groups[g].values[i]);
            *most = fmax(*most, panel->groups[g].values[i]);
        }
    }
}

static void add_box(
    struct quality_parts *parts, size_t at, const double *sorted, size_t count, double centre)
{
    const struct chart_style thin = quality_get_grey(CHART_SOLID, 0.9);
    const struct chart_style thick = quality_get_grey(CHART_SOLID, 1.8);
    const double left = centre - BOX_HALF, right = centre + BOX_HALF;
    double middle = summary_compute(sorted, count).mean;
    if (count >= BOX_FROM) {
        const double lower = strip_compute_quantile(sorted, count, 0.25);
        const double upper = strip_compute_quantile(sorted, count, 0.75);
        const double x[] = {left, right, right, left, left};
        const double y[] = {lower, lower, upper, upper, lower};
        quality_add_line(parts, at, x, y, 5, thin);
        middle = strip_compute_quantile(sorted, count, 0.5);
    }
    quality_add_stroke(
        parts, at, (const double[]){centre - LINE_HALF, middle, centre + LINE_HALF, middle}, thick);
}

/* Values that lie on each other step aside, right and left in turn. */
static void add_values(struct quality_parts *parts, size_t at, const double *sorted, size_t count,
    double centre, double near, struct chart_style style)
{
    int step = 0;
    for (size_t i = 0; i < count; i++) {
        step = i > 0 && sorted[i] - sorted[i - 1] < near ? (step + 1) % (2 * STEPS_MOST + 1) : 0;
        const int pair = (step + 1) / 2;
        const double aside = STEP * pair * (step % 2 ? 1 : -1);
        quality_add_mark(parts, at, centre + aside, sorted[i], style);
    }
}

static void add_interval(struct quality_parts *parts, size_t at, double lower, double upper,
    double centre, double open[2])
{
    const struct chart_style line = quality_get_grey(CHART_DASHED, 1.1);
    const struct chart_style cap = quality_get_grey(CHART_SOLID, 1.4);
    const double x = centre + ASIDE, ends[] = {lower, upper};
    if (!isfinite(lower) && !isfinite(upper)) {
        return;
    }
    quality_add_stroke(parts, at,
        (const double[]){
            x, isfinite(lower) ? lower : open[0], x, isfinite(upper) ? upper : open[1]},
        line);
    for (int i = 0; i < 2; i++) {
        if (isfinite(ends[i])) {
            quality_add_stroke(
                parts, at, (const double[]){x - CAP_HALF, ends[i], x + CAP_HALF, ends[i]}, cap);
        }
    }
}

static void add_group(struct quality_parts *parts, size_t at, const struct strip_group *group,
    size_t number, double factor, double range[2], double *room)
{
    const double centre = (double)number + 1;
    struct chart_style style = chart_style_get(number);
    for (size_t i = 0; i < group->count; i++) {
        room[i] = group->values[i] / factor;
    }
    qsort(room, group->count, sizeof *room, compare_numbers);
    if (group->count > 0) {
        add_box(parts, at, room, group->count, centre);
        add_values(
            parts, at, room, group->count, centre, NEAR * (range[1] - range[0]) / factor, style);
        add_interval(parts, at, group->lower / factor, group->upper / factor, centre,
            (double[]){range[0] / factor, range[1] / factor});
    }
}

static void add_panel(
    struct quality_parts *parts, size_t at, const struct strip_panel *panel, double *room)
{
    struct plot_scale scale;
    double range[2];
    const struct limit none = {0}, *limit = panel->limit != NULL ? panel->limit : &none;
    const double end = (double)panel->count + 0.6;
    find_range(panel, &range[0], &range[1]);
    const double most = fmax(isfinite(range[0]) ? fmax(fabs(range[0]), fabs(range[1])) : 0,
        fmax(limit->has_lower ? fabs(limit->lower) : 0, limit->has_upper ? fabs(limit->upper) : 0));
    struct chart_panel *made = &parts->panels[at];
    made->y.label = quality_add_figure_label(parts, panel->figure, most, &scale);
    made->x.least = 0.4;
    made->x.most = end;
    made->x.names = parts->panels[0].x.names;
    made->x.name_count = parts->panels[0].x.name_count;
    const struct chart_style line = quality_get_grey(CHART_SOLID, 1.2);
    if (limit->has_lower) {
        const double y = limit->lower / scale.factor;
        quality_add_stroke(parts, at, (const double[]){0.4, y, end, y}, line);
    }
    if (limit->has_upper) {
        const double y = limit->upper / scale.factor;
        quality_add_stroke(parts, at, (const double[]){0.4, y, end, y}, line);
    }
    for (size_t g = 0; g < panel->count; g++) {
        add_group(parts, at, &panel->groups[g], g, scale.factor, range, room);
    }
}

static void set_names(struct quality_parts *parts, const struct strip_panel *panel)
{
    const char **names = memory_create(panel->count, sizeof *names);
    for (size_t g = 0; g < panel->count && names != NULL; g++) {
        names[g] = panel->groups[g].name;
    }
    if (names != NULL) {
        quality_set_names(parts, &parts->panels[0].x, names, panel->count);
    } else {
        parts->failed = true;
    }
    memory_destroy(names);
}

static size_t find_most(const struct strip_panel *panels, size_t count)
{
    size_t most = 1;
    for (size_t p = 0; p < count; p++) {
        for (size_t g = 0; g < panels[p].count; g++) {
            most = panels[p].groups[g].count > most ? panels[p].groups[g].count : most;
        }
    }
    return most;
}

enum status strip_chart_create(
    const struct strip_panel *panels, size_t count, struct quality_chart *made, struct error *err)
{
    double *room = memory_create(find_most(panels, count), sizeof *room);
    enum status status = room != NULL ? quality_begin(made, err) : fail_memory(err);
    if (status == STATUS_OK) {
        count = count < QUALITY_PANELS ? count : QUALITY_PANELS;
        set_names(made->parts, &panels[0]);
        for (size_t i = 0; i < count; i++) {
            add_panel(made->parts, i, &panels[i], room);
        }
        status = quality_finish(made, count, quality_set_grid(made->parts, count), err);
    }
    memory_destroy(room);
    return status;
}
