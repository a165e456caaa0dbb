// SPDX-License-Identifier: GPL-3.0-or-later
/* Rayleigh's law for weak fields (Lord Rayleigh, Phil. Mag. 23 (1887) 225):
 *
 *     B = (m + v Hm) H +- (v/2) (Hm^2 - H^2);  upper sign: falling branch.
 *
 * W = (4/3) v Hm^3, Br = v Hm^2 / 2. The Rayleigh constant v is given by the field at which the
 * amplitude permeability (m + v Hm) has doubled, m / v. */
#include "model/branches.h"
#include "model/everett.h"
#include "model/history.h"
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

const struct model model_rayleigh = {
    .name = "rayleigh",
    .purpose = "Rayleigh's law, for fields far below the coercivity",
    .form = "B = (m + v Hm) H +- (v/2) (Hm^2 - H^2), m = mu0 mui, v = m / H2; upper sign: falling "
            "branch",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .compute_cycle = compute_cycle,
    .history = &history,
};
