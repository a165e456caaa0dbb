// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/model_plot.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "quantity/constant.h"

enum { LOOPS_MOST = 6, POINTS_MOST = 2 * (BRANCH_POINTS + 2) };

struct curve {
    double field[POINTS_MOST]; /* kA/m */
    double flux[POINTS_MOST];  /* T */
    size_t count;
};

struct model_plot {
    struct branch branches[LOOPS_MOST];
    size_t count;
    struct curve measured[LOOPS_MOST], model[LOOPS_MOST];
    struct chart_line lines[2 * LOOPS_MOST];
    char subtitle[120], name[80];
    const char *cells[2];
    struct chart_style styles[2];
    struct chart_panel panel;
    struct chart chart;
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
    struct model_plot *plot, const struct fit_loop *loops, size_t count, struct error *err)
{
    struct branch *all = memory_create(count, sizeof *all);
    enum status status = all ? STATUS_OK : fail_memory(err);
    for (size_t i = 0; !status && i < count; i++)
        status = branch_create(loops[i].field, loops[i].flux_density, loops[i].count, &all[i], err);
    if (!status) {
        qsort(all, count, sizeof *all, compare_peaks);
        plot->count = count < LOOPS_MOST ? count : LOOPS_MOST;
        for (size_t i = 0; i < plot->count; i++) {
            size_t at = (i + 1) * count / plot->count - 1;
            plot->branches[i] = all[at];
            all[at] = (struct branch){0};
        }
    }
    for (size_t i = 0; all && i < count; i++)
        branch_clear(&all[i]);
    memory_destroy(all);
    return status;
}

static enum status set_lines(
    struct model_plot *plot, const struct model_fit *fit, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; !status && i < plot->count; i++) {
        const struct branch *branch = &plot->branches[i];
        double flux[BRANCH_POINTS + 2];
        for (size_t k = 0; k < branch->count; k++)
            flux[k] = branch->polarization[k] + MAGNETIC_CONSTANT * branch->field[k];
        set_curve(&plot->measured[i], branch, flux);
        status = model_fit_compute_branch(&fit->material, branch, flux, err);
        if (status)
            break;
        set_curve(&plot->model[i], branch, flux);
        const struct curve *curves[] = {&plot->measured[i], &plot->model[i]};
        for (size_t k = 0; k < 2; k++) {
            struct chart_style style = chart_style_get(k);
            style.dash = k ? CHART_DASHED : CHART_SOLID;
            plot->lines[k * plot->count + i] = (struct chart_line){.x = curves[k]->field,
                .y = curves[k]->flux,
                .count = curves[k]->count,
                .style = style,
                .is_closed = true};
        }
    }
    return status;
}

static void set_panel(struct model_plot *plot)
{
    const struct branch *largest = &plot->branches[plot->count - 1];
    double field = largest->peak / 1000.0, flux = 0.0;
    for (size_t i = 0; i < plot->count; i++)
        for (size_t k = 0; k < plot->model[i].count; k++)
            flux = fmax(flux, fmax(fabs(plot->model[i].flux[k]), fabs(plot->measured[i].flux[k])));
    plot->panel = (struct chart_panel){.width = 1.0,
        .height = 1.0,
        .x = {.label = "<i>H</i> (kA/m)", .has_zero = true},
        .y = {.label = "<i>B</i> (T)", .has_zero = true},
        .lines = plot->lines,
        .line_count = 2 * plot->count};
    chart_axis_set_limits(&plot->panel.x, -field, field, 0.05);
    chart_axis_set_limits(&plot->panel.y, -flux, flux, 0.05);
}

static void set_chart(struct model_plot *plot, const struct model_fit *fit)
{
    static const char *const headings[] = {"loops"};
    snprintf(plot->subtitle, sizeof plot->subtitle, "rms of B over all loops: %.2g %% of the peak",
        100.0 * fit->residual_relative);
    snprintf(plot->name, sizeof plot->name, "model %s", fit->material.model->name);
    for (size_t i = 0; i < 2; i++) {
        plot->styles[i] = chart_style_get(i);
        plot->styles[i].dash = i ? CHART_DASHED : CHART_SOLID;
    }
    plot->cells[0] = "measured";
    plot->cells[1] = plot->name;
    plot->chart = (struct chart){.title = plot->name,
        .subtitle = plot->subtitle,
        .panels = &plot->panel,
        .panel_count = 1,
        .legend = {.columns = 1,
            .rows = 2,
            .headings = headings,
            .cells = plot->cells,
            .styles = plot->styles},
        .width = 460,
        .height = 380};
}

enum status model_plot_create(const struct model_fit *fit, const struct fit_loop *loops,
    size_t count, struct model_plot **plot, struct error *err)
{
    struct model_plot *made = memory_create(1, sizeof *made);
    if (!made)
        return fail_memory(err);
    enum status status = take_branches(made, loops, count, err);
    if (!status)
        status = set_lines(made, fit, err);
    if (status) {
        model_plot_destroy(made);
        return status;
    }
    set_panel(made);
    set_chart(made, fit);
    *plot = made;
    return STATUS_OK;
}

const struct chart *model_plot_get_chart(const struct model_plot *plot)
{
    return &plot->chart;
}

void model_plot_destroy(struct model_plot *plot)
{
    for (size_t i = 0; plot && i < plot->count; i++)
        branch_clear(&plot->branches[i]);
    memory_destroy(plot);
}

enum status model_plot_write(const struct model_fit *fit, const struct fit_loop *loops,
    size_t count, const char *path, struct error *err)
{
    struct model_plot *plot;
    enum status status = model_plot_create(fit, loops, count, &plot, err);
    if (status)
        return status;
    status = chart_write(&plot->chart, path, err);
    model_plot_destroy(plot);
    return status;
}
