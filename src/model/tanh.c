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

const struct model model_tanh = {
    .name = "tanh",
    .purpose = "two branches of a hyperbolic tangent",
    .form = "J = Js tanh((H +- Hs) / w) -+ b, b = Js/2 [tanh((Hm + Hs) / w) - tanh((Hm - Hs) / "
            "w)], B = mu0 H + J; upper signs: falling branch",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .compute_cycle = compute_cycle,
    .history = &history,
};
