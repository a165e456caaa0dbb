// SPDX-License-Identifier: GPL-3.0-or-later
/* Rayleigh's law for weak fields (Lord Rayleigh, Phil. Mag. 23 (1887) 225):
 *
 *     B = (m + v Hm) H +- (v/2) (Hm^2 - H^2);  upper sign: falling branch.
 *
 * W = (4/3) v Hm^3, Br = v Hm^2 / 2. The Rayleigh constant v is given by the field at which the
 * amplitude permeability (m + v Hm) has doubled, m / v. */
#include <math.h>

#include "base/memory.h"
#include "model/branches.h"
#include "model/everett.h"
#include "model/fit.h"
#include "model/history.h"
#include "num/least_squares.h"
#include "quantity/constant.h"

enum { PERMEABILITY, DOUBLING_FIELD };

static const struct model_parameter parameters[] = {
    [PERMEABILITY] = {"initial_permeability", "µi", DIMENSION_NUMBER, 1.0, 1e7,
        "relative initial permeability m/µ0"},
    [DOUBLING_FIELD] = {"doubling_field", "H2", DIMENSION_FIELD_STRENGTH, 1e-3, 1e9,
        "peak field at which the amplitude permeability is twice the initial one"},
};

static double get_falling(double field, double peak, const double *p)
{
    double initial = MAGNETIC_CONSTANT * p[PERMEABILITY];
    double rayleigh = initial / p[DOUBLING_FIELD];
    return (initial + rayleigh * peak) * field + 0.5 * rayleigh * (peak - field) * (peak + field);
}

static enum status compute_cycle(const double *p, enum model_drive drive, double peak, size_t count,
    double *field, double *flux_density, struct error *err)
{
    struct branches branches = {.falling = get_falling, .parameters = p};
    return branches_compute_cycle(&branches, drive, peak, count, field, flux_density, err);
}

static enum status create_machine(
    const struct material *material, void **machine, struct error *err)
{
    struct branches branches = {.falling = get_falling, .parameters = material->parameters};
    return everett_create_branches_machine(&branches, machine, err);
}

static const struct history_rule history = {
    .create = create_machine,
    .destroy = everett_destroy,
    .reset = everett_reset,
    .look = everett_look,
    .move = everett_move,
};

static enum status compute_branch(const double *p, double peak, const double *field, size_t count,
    double tolerance, double *flux_density, struct error *err)
{
    (void)err;
    (void)tolerance;
    for (size_t i = 0; i < count; i++)
        flux_density[i] = get_falling(field[i], peak, p);
    return STATUS_OK;
}

/* The law is linear in m and v. It is fitted to the loops of weak field, up to a third of the
 * coercivity of the largest: beyond that no steel follows it. Each loop counts alike. */
static enum status build(const struct fit_data *data, struct model_fit *fit, struct error *err)
{
    size_t loops = 0, rows = 0;
    while (loops < data->count && 3.0 * data->branches[loops].peak <= data->coercivity)
        rows += data->branches[loops++].count;
    if (loops == 0)
        return fail(err, STATUS_INPUT, "measure loops at weak fields, or choose another model",
            "model 'rayleigh' needs a loop up to a third of the coercivity, %g A/m; the smallest "
            "one goes to %g A/m",
            data->coercivity / 3.0, data->branches[0].peak);
    double *matrix = memory_create(2 * rows, sizeof *matrix);
    double *values = memory_create(rows, sizeof *values);
    double found[2], covariance[4], squares = 0.0;
    enum status status = matrix && values ? STATUS_OK : fail_memory(err);
    for (size_t k = 0, row = 0; !status && k < loops; k++) {
        const struct branch *b = &data->branches[k];
        double weight = 1.0 / (b->polarization[0] + MAGNETIC_CONSTANT * b->peak);
        for (size_t i = 0; i < b->count; i++, row++) {
            double h = b->field[i];
            values[row] = weight * (b->polarization[i] + MAGNETIC_CONSTANT * h);
            matrix[2 * row] = weight * h;
            matrix[2 * row + 1] = weight * (b->peak * h + 0.5 * (b->peak - h) * (b->peak + h));
        }
    }
    if (!status)
        status = linear_problem_solve(
            &(struct linear_problem){.matrix = matrix, .values = values, .rows = rows, .terms = 2},
            found, covariance, &squares, err);
    memory_destroy(matrix);
    memory_destroy(values);
    if (!status && !(found[0] > 0.0 && found[1] > 0.0))
        status = fail(err, STATUS_INPUT, "measure loops at weaker fields",
            "the loops up to %g A/m do not follow Rayleigh's law", data->coercivity / 3.0);
    if (status)
        return status;
    double scale = rows > 2 ? squares / (double)(rows - 2) : 0.0, m = found[0], v = found[1];
    fit->material.parameters[PERMEABILITY] = m / MAGNETIC_CONSTANT;
    fit->material.parameters[DOUBLING_FIELD] = m / v;
    fit->u[PERMEABILITY] = sqrt(scale * covariance[0]) / MAGNETIC_CONSTANT;
    double first = 1.0 / v, second = -m / (v * v);
    fit->u[DOUBLING_FIELD] =
        sqrt(scale * (first * first * covariance[0] + 2.0 * first * second * covariance[1] +
                         second * second * covariance[3]));
    return STATUS_OK;
}

static const struct fit_rule fit = {.build = build};

const struct model model_rayleigh = {
    .name = "rayleigh",
    .purpose = "Rayleigh's law, for fields far below the coercivity",
    .form = "B = (m + v Hm) H +- (v/2) (Hm^2 - H^2), m = mu0 mui, v = m / H2; upper sign: falling "
            "branch",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .compute_cycle = compute_cycle,
    .compute_branch = compute_branch,
    .history = &history,
    .fit = &fit,
};
