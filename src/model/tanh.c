// SPDX-License-Identifier: GPL-3.0-or-later
/* Two branches of a hyperbolic tangent, drawn together at their ends so that the loop closes:
 *
 *     J = Js tanh((H +- Hs) / w) -+ b,  b = Js/2 [tanh((Hm + Hs) / w) - tanh((Hm - Hs) / w)],
 *     B = mu0 H + J;  upper signs: falling branch.
 *
 * (J. Takacs, COMPEL 20 (2001) 1002, names this form T(x).) Its area follows from the integral of
 * tanh: W = 2 Js w ln[cosh((Hm + Hs)/w) / cosh((Hm - Hs)/w)] - 4 b Hm. */
#include "model/branches.h"
#include "model/everett.h"
#include "model/fit.h"
#include "model/history.h"
#include "num/portable.h"
#include "quantity/constant.h"

enum { SATURATION, SHIFT, WIDTH };

static const struct model_parameter parameters[] = {
    [SATURATION] = {"saturation", "Js", DIMENSION_FLUX_DENSITY, 1e-6, 10.0,
        "saturation polarization"},
    [SHIFT] = {"shift", "Hs", DIMENSION_FIELD_STRENGTH, 0.0, 1e7,
        "field by which each branch is shifted; the coercivity of a saturated loop"},
    [WIDTH] = {"width", "w", DIMENSION_FIELD_STRENGTH, 1e-3, 1e7,
        "field in which a branch turns over: small is square"},
};

static double get_falling(double field, double peak, const double *p)
{
    double closing =
        0.5 * p[SATURATION] *
        (portable_tanh((peak + p[SHIFT]) / p[WIDTH]) - portable_tanh((peak - p[SHIFT]) / p[WIDTH]));
    double polarization = p[SATURATION] * portable_tanh((field + p[SHIFT]) / p[WIDTH]) - closing;
    return MAGNETIC_CONSTANT * field + polarization;
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

static void set_ranges(const struct fit_data *data, struct fit_range *ranges)
{
    double most = data->polarization_peak, hc = data->coercivity;
    ranges[SATURATION] = (struct fit_range){1.0 * most, 1.6 * most, 0.5 * most, 10.0 * most, true};
    ranges[SHIFT] = (struct fit_range){0.8 * hc, 1.5 * hc, 0.0, 1e2 * hc, true};
    ranges[WIDTH] = (struct fit_range){0.05 * hc, 3.0 * hc, 1e-4 * hc, 1e4 * hc, true};
}

static void set_parameters(const struct fit_data *data, const double *variables, double *p)
{
    (void)data;
    for (int i = 0; i <= WIDTH; i++)
        p[i] = variables[i];
}

static enum status compute_branch(const double *p, double peak, const double *field, size_t count,
    double tolerance, double *flux_density, struct error *err)
{
    (void)err;
    (void)tolerance;
    for (size_t i = 0; i < count; i++)
        flux_density[i] = get_falling(field[i], peak, p);
    return STATUS_OK;
}

static const struct fit_rule fit = {
    .variable_count = WIDTH + 1, .set_ranges = set_ranges, .set_parameters = set_parameters};

const struct model model_tanh = {
    .name = "tanh",
    .purpose = "two branches of a hyperbolic tangent",
    .form = "J = Js tanh((H +- Hs) / w) -+ b, b = Js/2 [tanh((Hm + Hs) / w) - tanh((Hm - Hs) / "
            "w)], B = mu0 H + J; upper signs: falling branch",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .compute_cycle = compute_cycle,
    .compute_branch = compute_branch,
    .history = &history,
    .fit = &fit,
};
