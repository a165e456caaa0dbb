// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/fit.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "model/history.h"
#include "quantity/constant.h"

static void fit_data_clear(struct fit_data *data)
{
    for (size_t i = 0; data->branches && i < data->count; i++)
        branch_clear(&data->branches[i]);
    memory_destroy(data->branches);
    *data = (struct fit_data){0};
}

static int compare_peaks(const void *a, const void *b)
{
    double x = ((const struct branch *)a)->peak, y = ((const struct branch *)b)->peak;
    return (x > y) - (x < y);
}

static enum status fit_data_create(
    const struct fit_loop *loops, size_t count, struct fit_data *data, struct error *err)
{
    struct fit_data made = {.branches = memory_create(count ? count : 1, sizeof *made.branches)};
    if (!made.branches)
        return fail_memory(err);
    enum status status = STATUS_OK;
    if (count == 0)
        status = fail(err, STATUS_INPUT, "give loops with their points", "there is no loop to fit");
    for (size_t i = 0; !status && i < count; i++) {
        status = branch_create(
            loops[i].field, loops[i].flux_density, loops[i].count, &made.branches[i], err);
        made.count += status == STATUS_OK;
    }
    if (!status) {
        qsort(made.branches, made.count, sizeof *made.branches, compare_peaks);
        const struct branch *largest = &made.branches[made.count - 1];
        made.field_peak = largest->peak;
        made.polarization_peak = largest->polarization[0];
        made.coercivity = branch_get_coercivity(largest);
        if (!(made.polarization_peak > 0.0 && made.coercivity > 0.0))
            status = fail(err, STATUS_INPUT,
                "'lodecard loop --plot' shows it; perhaps the pickup coil is turned",
                "the largest loop encloses no area in the right sense: no model fits it");
    }
    if (status)
        fit_data_clear(&made);
    else
        *data = made;
    return status;
}

/* By the history, cycled until the tip repeats. */
static enum status follow_branch(const struct material *material, const struct branch *branch,
    double *flux_density, struct error *err)
{
    enum { CYCLES = 1000 };
    struct history *history;
    enum status status = history_create(material, &history, err);
    if (status)
        return status;
    double tips[2] = {branch->peak, -branch->peak}, found[2], before = NAN;
    for (int i = 0; !status && i < CYCLES; i++) {
        status = history_advance(history, MODEL_DRIVE_FIELD, tips, 2, found, err);
        if (fabs(found[1] - before) <= 1e-12 * fabs(found[1]))
            break;
        before = found[1];
    }
    if (!status)
        status = history_advance(
            history, MODEL_DRIVE_FIELD, branch->field, branch->count, flux_density, err);
    history_destroy(history);
    return status;
}

enum status model_fit_compute_branch(const struct material *material, const struct branch *branch,
    double *flux_density, struct error *err)
{
    const struct model *model = material->model;
    if (!model->compute_branch)
        return follow_branch(material, branch, flux_density, err);
    enum status status = material_check(material, err);
    if (!status)
        status = model->compute_branch(material->parameters, branch->peak, branch->field,
            branch->count, 1e-9, flux_density, err);
    return status;
}

static enum status compute_residual(const struct material *material, const struct branch *branch,
    struct fit_residual *residual, struct error *err)
{
    double model[BRANCH_POINTS + 2], measured[BRANCH_POINTS + 2], sum = 0.0;
    enum status status = model_fit_compute_branch(material, branch, model, err);
    if (status)
        return status;
    for (size_t i = 0; i < branch->count; i++) {
        measured[i] = branch->polarization[i] + MAGNETIC_CONSTANT * branch->field[i];
        sum += (model[i] - measured[i]) * (model[i] - measured[i]);
    }
    struct branch_figures a = branch_get_figures(branch, measured);
    struct branch_figures b = branch_get_figures(branch, model);
    residual->field_peak = branch->peak;
    residual->flux_density_peak = a.flux_density_peak;
    residual->rms = sqrt(sum / (double)branch->count);
    residual->rms_relative = residual->rms / a.flux_density_peak;
    residual->area_relative = b.area / a.area - 1.0;
    residual->coercivity_relative = b.coercivity / a.coercivity - 1.0;
    residual->remanence_relative = b.remanence / a.remanence - 1.0;
    residual->flux_density_peak_relative = b.flux_density_peak / a.flux_density_peak - 1.0;
    return STATUS_OK;
}

static enum status compute_residuals(
    const struct fit_data *data, struct model_fit *fit, struct error *err)
{
    fit->residuals = memory_create(data->count, sizeof *fit->residuals);
    if (!fit->residuals)
        return fail_memory(err);
    double sum = 0.0;
    for (size_t i = 0; i < data->count; i++) {
        struct fit_residual *residual = &fit->residuals[i];
        enum status status = compute_residual(&fit->material, &data->branches[i], residual, err);
        if (status)
            return status;
        sum += residual->rms_relative * residual->rms_relative;
    }
    fit->count = data->count;
    fit->residual_relative = sqrt(sum / (double)data->count);
    return STATUS_OK;
}

enum status model_fit_create(const struct model *model, const struct fit_loop *loops, size_t count,
    struct model_fit *fit, struct error *err)
{
    struct fit_data data = {0};
    struct model_fit made = {.material.model = model};
    enum status status = fit_data_create(loops, count, &data, err);
    if (!status && model->fit->build)
        status = model->fit->build(&data, &made, err);
    else if (!status)
        status = fit_search(&data, &made, err);
    if (!status)
        status = compute_residuals(&data, &made, err);
    fit_data_clear(&data);
    if (status)
        model_fit_clear(&made);
    else
        *fit = made;
    return status;
}

void model_fit_clear(struct model_fit *fit)
{
    material_clear(&fit->material);
    memory_destroy(fit->residuals);
    *fit = (struct model_fit){0};
}

static void write_correlations(struct json *json, const struct model_fit *fit)
{
    const struct model *model = fit->material.model;
    json_begin_array(json, "correlations");
    for (size_t i = 0; i < model->parameter_count; i++)
        for (size_t j = i + 1; j < model->parameter_count; j++) {
            if (!(fabs(fit->correlation[i][j]) > FIT_CORRELATION))
                continue;
            json_begin_object(json, NULL);
            json_add_text(json, "first", model->parameters[i].key);
            json_add_text(json, "second", model->parameters[j].key);
            json_add_number(json, "correlation", fit->correlation[i][j]);
            json_end_object(json);
        }
    json_end_array(json);
}

static void write_limits(struct json *json, const struct model_fit *fit)
{
    const struct model *model = fit->material.model;
    json_begin_array(json, "at_limit");
    for (size_t i = 0; i < model->parameter_count; i++)
        if (fit->is_at_limit[i])
            json_add_text(json, NULL, model->parameters[i].key);
    json_end_array(json);
}

void model_fit_write_json(struct json *json, const struct model_fit *fit)
{
    json_begin_object(json, NULL);
    material_write_json(json, &fit->material, fit->u);
    json_add_number(json, "residual_relative", fit->residual_relative);
    write_correlations(json, fit);
    write_limits(json, fit);
    json_add_number(json, "repair_relative", fit->repair_relative);
    json_begin_array(json, "residuals");
    for (size_t i = 0; i < fit->count; i++) {
        const struct fit_residual *r = &fit->residuals[i];
        json_begin_object(json, NULL);
        json_add_number(json, "field_peak_A_per_m", r->field_peak);
        json_add_number(json, "flux_density_peak_T", r->flux_density_peak);
        json_add_number(json, "rms_T", r->rms);
        json_add_number(json, "rms_relative", r->rms_relative);
        json_add_number(json, "loop_area_relative", r->area_relative);
        json_add_number(json, "coercivity_relative", r->coercivity_relative);
        json_add_number(json, "remanence_relative", r->remanence_relative);
        json_add_number(json, "flux_density_peak_relative", r->flux_density_peak_relative);
        json_end_object(json);
    }
    json_end_array(json);
    json_end_object(json);
}
