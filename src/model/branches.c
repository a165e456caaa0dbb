// SPDX-License-Identifier: GPL-3.0-or-later
/* Roots are bisected down to neighbouring numbers: slow, but it takes only signs, so that the last
 * bit is the same everywhere, and a cycle of 4096 points still takes a few milliseconds. */
#include "model/branches.h"

#include <math.h>
#include <stdbool.h>

#include "num/portable.h"

/* B at a field on the falling branch of the loop with that peak; or, on the curve of tips, at a
 * field that is its own peak. */
static double get_flux(const struct branches *branches, double field, double peak, bool is_tip)
{
    return branches->falling(field, is_tip ? field : peak, branches->parameters);
}

static double find_field(const struct branches *branches, double flux_density, double low,
    double high, double peak, bool is_tip)
{
    for (;;) {
        double middle = 0.5 * (low + high);
        if (!(middle > low && middle < high))
            return middle;
        if (get_flux(branches, middle, peak, is_tip) < flux_density)
            low = middle;
        else
            high = middle;
    }
}

/* The peak field whose loop ends at this flux density. */
static enum status find_peak(
    const struct branches *branches, double flux_density, double *peak, struct error *err)
{
    double high = 1.0;
    while (get_flux(branches, high, high, true) < flux_density) {
        high *= 2.0;
        if (high > 1e9)
            return fail(err, STATUS_INPUT, "lower the peak flux density",
                "no field up to 1 GA/m drives the model to %g T", flux_density);
    }
    *peak = find_field(branches, flux_density, 0.0, high, 0.0, true);
    return STATUS_OK;
}

enum status branches_compute_cycle(const struct branches *branches, enum model_drive drive,
    double peak, size_t count, double *field, double *flux_density, struct error *err)
{
    double field_peak = peak;
    if (drive == MODEL_DRIVE_FLUX_DENSITY) {
        enum status status = find_peak(branches, peak, &field_peak, err);
        if (status)
            return status;
    }
    for (size_t i = 0; i < count / 2; i++) {
        double sine, cosine;
        portable_sin_cos_turns((double)i / (double)count, &sine, &cosine);
        if (drive == MODEL_DRIVE_FIELD) {
            field[i] = peak * cosine;
            flux_density[i] = get_flux(branches, field[i], field_peak, false);
        } else {
            flux_density[i] = peak * cosine;
            field[i] =
                find_field(branches, flux_density[i], -field_peak, field_peak, field_peak, false);
        }
        field[i + count / 2] = -field[i];
        flux_density[i + count / 2] = -flux_density[i];
    }
    return STATUS_OK;
}
