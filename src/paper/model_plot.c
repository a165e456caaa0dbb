// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/model_plot.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "paper/chart.h"
#include "quantity/constant.h"

enum { LOOPS_MOST = 6, POINTS_MOST = 2 * (BRANCH_POINTS + 2) };

struct curve {
    double field[POINTS_MOST]; /* kA/m */
    double flux[POINTS_MOST];  /* T */
    size_t count;
};

struct picture {
    struct branch branches[LOOPS_MOST];
    size_t count;
    struct curve measured[LOOPS_MOST], model[LOOPS_MOST];
    struct chart_line lines[2 * LOOPS_MOST];
};

/* A whole loop from its falling branch: that, and its mirror. */
static void set_curve(struct curve *curve, const struct branch *branch, const double *flux)
{
    size_t n = branch->count;
    curve->count = 2 * n;
    for (size_t i = 0; i < n; i++) {
        curve->field[i] = branch->field[i] / 1000.0;
        curve->flux[i] = flux[i];
        curve->field[n + i] = -curve->field[i];
        curve->flux[n + i] = -flux[i];
    }
}

static int compare_peaks(const void *a, const void *b)
{
    double x = ((const struct branch *)a)->peak, y = ((const struct branch *)b)->peak;
    return (x > y) - (x < y);
}

/* The loops that are drawn, by rising peak. */
static enum status take_branches(
    struct picture *picture, const struct fit_loop *loops, size_t count, struct error *err)
{
    struct branch *all = memory_create(count, sizeof *all);
    enum status status = all ? STATUS_OK : fail_memory(err);
    for (size_t i = 0; !status && i < count; i++)
        status = branch_create(loops[i].field, loops[i].flux_density, loops[i].count, &all[i], err);
    if (!status) {
        qsort(all, count, sizeof *all, compare_peaks);
        picture->count = count < LOOPS_MOST ? count : LOOPS_MOST;
        for (size_t i = 0; i < picture->count; i++) {
            size_t at = (i + 1) * count / picture->count - 1;
            picture->branches[i] = all[at];
            all[at] = (struct branch){0};
        }
    }
    for (size_t i = 0; all && i < count; i++)
        branch_clear(&all[i]);
    memory_destroy(all);
    return status;
}

static enum status set_lines(
    struct picture *picture, const struct model_fit *fit, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < picture->count; i++) {
        const struct branch *branch = &picture->branches[i];
        double flux[BRANCH_POINTS + 2];
        for (size_t k = 0; k < branch->count; k++)
            flux[k] = branch->polarization[k] + MAGNETIC_CONSTANT * branch->field[k];
        set_curve(&picture->measured[i], branch, flux);
        status = model_fit_compute_branch(&fit->material, branch, flux, err);
        if (status)
            break;
        set_curve(&picture->model[i], branch, flux);
        const struct curve *curves[] = {&picture->measured[i], &picture->model[i]};
        for (size_t k = 0; k < 2; k++) {
            struct chart_style style = chart_style_get(k);
            style.dash = k ? CHART_DASHED : CHART_SOLID;
            picture->lines[k * picture->count + i] = (struct chart_line){.x = curves[k]->field,
                .y = curves[k]->flux,
                .count = curves[k]->count,
                .style = style,
                .is_closed = true};
        }
    }
    return status;
}

static enum status draw(
    const struct picture *picture, const struct model_fit *fit, const char *path, struct error *err)
{
    const struct branch *largest = &picture->branches[picture->count - 1];
    double field = largest->peak / 1000.0, flux = 0.0;
    for (size_t i = 0; i < picture->count; i++)
        for (size_t k = 0; k < picture->model[i].count; k++)
            flux = fmax(
                flux, fmax(fabs(picture->model[i].flux[k]), fabs(picture->measured[i].flux[k])));
    struct chart_panel panel = {.width = 1.0,
        .height = 1.0,
        .x = {.label = "<i>H</i> (kA/m)", .has_zero = true},
        .y = {.label = "<i>B</i> (T)", .has_zero = true},
        .lines = picture->lines,
        .line_count = 2 * picture->count};
    chart_axis_set_limits(&panel.x, -field, field, 0.05);
    chart_axis_set_limits(&panel.y, -flux, flux, 0.05);
    char subtitle[120], model[80];
    snprintf(subtitle, sizeof subtitle, "rms of B over all loops: %.2g %% of the peak",
        100.0 * fit->residual_relative);
    snprintf(model, sizeof model, "model %s", fit->material.model->name);
    struct chart_style styles[] = {chart_style_get(0), chart_style_get(1)};
    styles[0].dash = CHART_SOLID;
    styles[1].dash = CHART_DASHED;
    const char *headings[] = {"loops"}, *cells[] = {"measured", model};
    struct chart chart = {.title = model,
        .subtitle = subtitle,
        .panels = &panel,
        .panel_count = 1,
        .legend = {.columns = 1, .rows = 2, .headings = headings, .cells = cells, .styles = styles},
        .width = 460,
        .height = 380};
    return chart_write(&chart, path, err);
}

enum status model_plot_write(const struct model_fit *fit, const struct fit_loop *loops,
    size_t count, const char *path, struct error *err)
{
    struct picture *picture = memory_create(1, sizeof *picture);
    if (!picture)
        return fail_memory(err);
    enum status status = take_branches(picture, loops, count, err);
    if (!status)
        status = set_lines(picture, fit, err);
    if (!status)
        status = draw(picture, fit, path, err);
    for (size_t i = 0; i < picture->count; i++)
        branch_clear(&picture->branches[i]);
    memory_destroy(picture);
    return status;
}
