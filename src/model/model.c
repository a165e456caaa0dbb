// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/model.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"

const struct model *const model_list[] = {
    &model_tanh,
    &model_jiles_atherton_1986,
    &model_jiles_atherton_1992,
    &model_jiles_atherton_field,
    &model_ellipse,
    &model_rayleigh,
    &model_preisach_factorised,
    &model_tellinen,
    &model_preisach,
    NULL,
};

#define MODEL_COUNT (sizeof model_list / sizeof model_list[0] - 1)

const struct model *model_find(const char *name, struct error *err)
{
    const char *names[MODEL_COUNT + 1] = {0};
    char hint[sizeof err->hint] = "the models are";
    for (size_t i = 0; i < MODEL_COUNT; i++) {
        if (!strcmp(model_list[i]->name, name))
            return model_list[i];
        names[i] = model_list[i]->name;
        size_t length = strlen(hint);
        snprintf(hint + length, sizeof hint - length, "%s %s", i ? "," : "", names[i]);
    }
    const char *nearest = text_nearest(name, names);
    (void)fail(err, STATUS_INPUT, hint, "there is no model '%.60s'%s%s%s", name,
        nearest ? "; did you mean '" : "", nearest ? nearest : "", nearest ? "'?" : "");
    return NULL;
}

static enum status check_limits(
    const struct model *model, const double *parameters, struct error *err)
{
    for (size_t i = 0; i < model->parameter_count; i++) {
        const struct model_parameter *limit = &model->parameters[i];
        if (!(parameters[i] >= limit->lowest && parameters[i] <= limit->highest))
            return fail(err, STATUS_INPUT, limit->meaning,
                "'%s' of model '%s' is %g %s, it must lie in %g ... %g", limit->key, model->name,
                parameters[i], dimension_get_unit(limit->dimension), limit->lowest, limit->highest);
    }
    return STATUS_OK;
}

enum status model_check(const struct model *model, const double *parameters, struct error *err)
{
    enum status status = check_limits(model, parameters, err);
    if (!status && model->check)
        status = model->check(parameters, err);
    return status;
}

enum status model_compute_cycle(const struct model *model, const double *parameters,
    enum model_drive drive, double peak, size_t count, double *field, double *flux_density,
    struct error *err)
{
    if (count < 16 || count % 2)
        return fail(
            err, STATUS_FAULT, "", "%zu points a cycle are not an even number from 16 up", count);
    if (!(peak > 0.0) || isinf(peak))
        return fail(err, STATUS_INPUT, "give a peak value above 0",
            "model '%s' cannot be driven to a peak of %g", model->name, peak);
    if (!model->compute_cycle)
        return fail(err, STATUS_INPUT, "docs/models.md tells which models have one",
            "model '%s' has no closed cycle of its own", model->name);
    enum status status = model_check(model, parameters, err);
    if (!status)
        status = model->compute_cycle(parameters, drive, peak, count, field, flux_density, err);
    return status;
}
