// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>

#include "paper/loop_picture.h"

static double find_most(const double *values, size_t count, double most)
{
    for (size_t i = 0; values && i < count; i++)
        most = fmax(most, fabs(values[i]));
    return most;
}

static void divide(double *values, size_t count, double factor)
{
    for (size_t i = 0; values && i < count; i++)
        values[i] /= factor;
}

/* One engineering prefix for each axis, and all curves in its unit. */
void picture_set_scales(struct loop_picture *picture)
{
    double field = 0, flux = 0, slope = 0, period = 0;
    picture->has_common_period = true;
    for (size_t i = 0; i < picture->count; i++) {
        const struct loop_curve *curve = &picture->curves[i];
        field = find_most(curve->field, curve->count, field);
        flux = find_most(curve->flux_density, curve->count, flux);
        slope = find_most(curve->slope, curve->wave_count, slope);
        if (period > 0 && curve->period > 0 && fabs(curve->period / period - 1) > 1e-3)
            picture->has_common_period = false;
        period = fmax(period, curve->period);
    }
    picture->field = picture_find_scale(field);
    picture->flux = picture_find_scale(flux);
    picture->slope = picture_find_scale(slope);
    picture->time = picture_find_scale(period * 0.999); /* 1 s as 1000 ms */
    for (size_t i = 0; i < picture->count; i++) {
        struct loop_curve *curve = &picture->curves[i];
        divide(curve->field, curve->count, picture->field.factor);
        divide(curve->field_wave, curve->wave_count, picture->field.factor);
        divide(curve->flux_density, curve->count, picture->flux.factor);
        divide(curve->flux_wave, curve->wave_count, picture->flux.factor);
        divide(curve->slope, curve->wave_count, picture->slope.factor);
        divide(curve->time, curve->wave_count,
            picture->has_common_period ? picture->time.factor : curve->period);
    }
}

static const char *axis_label(struct loop_picture *picture, const char *symbol,
    const struct picture_scale *scale, const char *unit)
{
    struct text *text = picture_new_text(picture);
    text_add_format(text, "%s (%s%s)", symbol, scale->prefix, unit);
    return picture_get_words(text);
}

static void set_limits(
    struct chart_axis *axis, const struct chart_line *lines, size_t count, bool is_x, double margin)
{
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < lines[i].count; j++) {
            double value = is_x ? lines[i].x[j] : lines[i].y[j];
            least = fmin(least, value);
            most = fmax(most, value);
        }
    chart_axis_set_limits(axis, least, most, margin);
}

void picture_set_loop_panel(struct loop_picture *picture, double width)
{
    struct chart_panel *panel = &picture->panels[0];
    for (size_t i = 0; i < picture->count; i++) {
        struct loop_curve *curve = &picture->curves[i];
        picture->lines[i] = (struct chart_line){.x = curve->field,
            .y = curve->flux_density,
            .count = curve->count,
            .style = picture->styles[i],
            .is_closed = true,
            .is_filled = picture->count == 1,
            .arrows = curve->arrows,
            .arrow_count = picture->count == 1 ? curve->arrow_count : 0};
    }
    *panel = (struct chart_panel){.width = width,
        .height = 1,
        .x = {.label = axis_label(picture, "<i>H</i>", &picture->field, "A/m"), .has_zero = true},
        .y = {.label = axis_label(picture, "<i>B</i>", &picture->flux, "T"), .has_zero = true},
        .lines = picture->lines,
        .line_count = picture->count,
        .marks = picture->marks,
        .mark_count = picture->mark_count};
    set_limits(&panel->x, panel->lines, picture->count, true, 0.06);
    set_limits(&panel->y, panel->lines, picture->count, false, 0.07);
}

static size_t set_wave_lines(struct loop_picture *picture, struct chart_line *lines, int wave)
{
    size_t count = 0;
    for (size_t i = 0; i < picture->count; i++) {
        const struct loop_curve *curve = &picture->curves[i];
        if (!curve->time)
            continue;
        const double *const values[PICTURE_WAVES] = {
            curve->field_wave, curve->flux_wave, curve->slope};
        lines[count++] = (struct chart_line){.x = curve->time,
            .y = values[wave],
            .count = curve->wave_count,
            .style = picture->styles[i]};
    }
    return count;
}

void picture_set_wave_panels(struct loop_picture *picture, double left)
{
    /* the lowest panel carries the numbers and the label of the time axis */
    static const double heights[PICTURE_WAVES] = {0.305, 0.305, 0.39};
    double top = 0;
    const char *labels[PICTURE_WAVES] = {axis_label(picture, "<i>H</i>", &picture->field, "A/m"),
        axis_label(picture, "<i>B</i>", &picture->flux, "T"),
        axis_label(picture, "d<i>B</i>/d<i>t</i>", &picture->slope, "T/s")};
    struct text *time = picture_new_text(picture);
    if (picture->has_common_period)
        text_add_format(time, "<i>t</i> (%ss)", picture->time.prefix);
    else
        text_add(time, "<i>f t</i> (cycles)");
    for (int wave = 0; wave < PICTURE_WAVES; wave++) {
        bool is_last = wave == PICTURE_WAVES - 1;
        struct chart_line *lines = picture->lines + (size_t)(wave + 1) * picture->count;
        struct chart_panel *panel = &picture->panels[wave + 1];
        *panel = (struct chart_panel){.left = left,
            .top = top,
            .width = 1 - left,
            .height = heights[wave],
            .x = {.label = is_last ? picture_get_words(time) : NULL, .is_bare = !is_last},
            .y = {.label = labels[wave], .has_zero = true},
            .lines = lines,
            .line_count = set_wave_lines(picture, lines, wave)};
        set_limits(&panel->x, lines, panel->line_count, true, 0);
        set_limits(&panel->y, lines, panel->line_count, false, 0.07);
        top += heights[wave];
    }
}
