// SPDX-License-Identifier: GPL-3.0-or-later
/* A linear lossy material: H = Hm cos x, B = Bm cos(x - delta), Bm = mu0 mu Hm. W = pi Hm Bm sin
 * delta, HcB = Hm sin delta, Br = Bm sin delta. */
#include "model/model.h"
#include "num/portable.h"
#include "quantity/constant.h"

enum { PERMEABILITY, LAG };

static const double turn = 6.283185307179586477;

static const struct model_parameter parameters[] = {
    [PERMEABILITY] = {"permeability", "µa", DIMENSION_NUMBER, 1e-3, 1e9,
        "relative amplitude permeability Bm/(µ0 Hm)"},
    [LAG] = {"lag_angle", "δ", DIMENSION_ANGLE, 0.0, 1.5707963267948966,
        "angle by which B lags behind H, 0 to 90 degree"},
};

static enum status compute_cycle(const double *p, enum model_drive drive, double peak, size_t count,
    double *field, double *flux_density, struct error *err)
{
    (void)err;
    double permeability = MAGNETIC_CONSTANT * p[PERMEABILITY];
    bool is_field = drive == MODEL_DRIVE_FIELD;
    double field_peak = is_field ? peak : peak / permeability;
    double flux_peak = is_field ? peak * permeability : peak;
    double lag = p[LAG] / turn;
    for (size_t i = 0; i < count / 2; i++) {
        double sine, cosine;
        double x = (double)i / (double)count;
        portable_sin_cos_turns(is_field ? x : x + lag, &sine, &cosine);
        field[i] = field_peak * cosine;
        portable_sin_cos_turns(is_field ? x - lag : x, &sine, &cosine);
        flux_density[i] = flux_peak * cosine;
        field[i + count / 2] = -field[i];
        flux_density[i + count / 2] = -flux_density[i];
    }
    return STATUS_OK;
}

const struct model model_ellipse = {
    .name = "ellipse",
    .purpose = "a linear material whose B lags by a fixed angle",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .compute_cycle = compute_cycle,
};
