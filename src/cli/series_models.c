// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/series_models.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"

static enum status take_loops(
    const struct series *series, struct series_models *models, struct error *err)
{
    models->loops = memory_create(series->count ? series->count : 1, sizeof *models->loops);
    models->places = memory_create(series->count ? series->count : 1, sizeof *models->places);
    if (!models->loops || !models->places)
        return fail_memory(err);
    const struct series_curve *curve =
        series->normal != SERIES_NONE ? &series->curves[series->normal] : NULL;
    models->frequency_Hz = curve ? curve->frequency_Hz : 0.0;
    for (size_t i = 0; i < (curve ? curve->count : series->count); i++) {
        const size_t place = curve ? curve->loop[i] : i;
        const struct series_loop *loop = &series->loops[place];
        if (loop->point_count > 0) {
            models->places[models->loop_count] = place;
            models->loops[models->loop_count++] =
                (struct fit_loop){loop->field, loop->flux_density, loop->point_count};
        }
    }
    if (models->loop_count > 0)
        return STATUS_OK;
    return fail(err, STATUS_INPUT, "give captures, or JSON of 'lodecard loop --json --points 512'",
        "no loop of the normal curve has its points, and a model needs them");
}

enum status series_models_create(const struct series *series, const char *const *names,
    size_t count, struct series_models *models, struct error *err)
{
    struct series_models made = {0};
    enum status status = count ? take_loops(series, &made, err) : STATUS_OK;
    for (size_t i = 0; !status && i < count; i++) {
        const struct model *model = model_find(names[i], err);
        if (!model)
            status = STATUS_USAGE;
        else if (made.count == sizeof made.fits / sizeof *made.fits)
            status = fail(err, STATUS_USAGE, "name each once", "too many models");
        else
            status =
                model_fit_create(model, made.loops, made.loop_count, &made.fits[made.count], err);
        made.count += status == STATUS_OK;
    }
    if (status)
        series_models_clear(&made);
    else
        *models = made;
    return status;
}

void series_models_clear(struct series_models *models)
{
    for (size_t i = 0; i < models->count; i++)
        model_fit_clear(&models->fits[i]);
    memory_destroy(models->loops);
    memory_destroy(models->places);
    *models = (struct series_models){0};
}

static void add_parameters(struct text *out, const struct model_fit *fit)
{
    const struct model *model = fit->material.model;
    for (size_t i = 0; i < model->parameter_count; i++) {
        const struct model_parameter *p = &model->parameters[i];
        text_add_format(out, "    %-22s %12.6g %-4s", p->key, fit->material.parameters[i],
            dimension_get_unit(p->dimension));
        if (fit->u[i] > 0.0)
            text_add_format(out, " u %.2g", fit->u[i]);
        if (fit->is_at_limit[i])
            text_add(out, "  (at the limit of the search)");
        text_add(out, "\n");
    }
    for (size_t i = 0; i < model->parameter_count; i++)
        for (size_t j = i + 1; j < model->parameter_count; j++)
            if (fabs(fit->correlation[i][j]) > FIT_CORRELATION)
                text_add_format(out, "    '%s' and '%s' cannot be told apart: correlation %.4f\n",
                    model->parameters[i].key, model->parameters[j].key, fit->correlation[i][j]);
    if (fit->repair_relative > 1e-9)
        text_add_format(out, "    measured curves were changed by up to %.2g %% of the peak\n",
            100.0 * fit->repair_relative);
}

static void add_residuals(struct text *out, const struct model_fit *fit)
{
    text_add(out, "      Hm (A/m)     Bm (T)  rms of B (%)    area (%)     HcB (%)      Br (%)\n");
    for (size_t i = 0; i < fit->count; i++) {
        const struct fit_residual *r = &fit->residuals[i];
        text_add_format(out, "    %10.5g %10.4f %13.3f %11.2f %11.2f %11.2f\n", r->field_peak,
            r->flux_density_peak, 100.0 * r->rms_relative, 100.0 * r->area_relative,
            100.0 * r->coercivity_relative, 100.0 * r->remanence_relative);
    }
}

void series_models_add_text(struct text *out, const struct series_models *models)
{
    for (size_t i = 0; i < models->count; i++) {
        const struct model_fit *fit = &models->fits[i];
        text_add_format(out, "\nModel %s, on %zu loop%s", fit->material.model->name,
            models->loop_count, models->loop_count == 1 ? "" : "s");
        if (models->frequency_Hz > 0.0)
            text_add_format(out, " at %.6g Hz", models->frequency_Hz);
        text_add_format(out, ": rms of B %.3g %% of the peak\n", 100.0 * fit->residual_relative);
        add_parameters(out, fit);
        text_add(out, "    model less measured\n");
        add_residuals(out, fit);
    }
}
