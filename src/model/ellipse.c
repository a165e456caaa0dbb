// SPDX-License-Identifier: GPL-3.0-or-later
/* A linear lossy material: H = Hm cos x, B = Bm cos(x - delta), Bm = mu0 mu Hm. W = pi Hm Bm sin
 * delta, HcB = Hm sin delta, Br = Bm sin delta. */
#include <complex.h>
#include <math.h>
#include <stdbool.h>

#include "model/fit.h"
#include "model/history.h"
#include "model/model.h"
#include "num/fft.h"
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

/* The model is linear and its lag is an angle: it belongs to a whole cycle, of any waveform, whose
 * harmonics all lag alike (a complex permeability that does not depend on the frequency). A
 * constant part has no lag. Real and imaginary parts of the input's coefficients carry over to
 * those of the output's. */
static enum status compute_history(const struct material *material, enum model_drive drive,
    const double *given, size_t count, double *found, struct error *err)
{
    struct fft *forward = fft_create(count, FFT_FORWARD);
    struct fft *backward = fft_create(count, FFT_BACKWARD);
    enum status status = forward && backward ? STATUS_OK : fail_memory(err);
    if (!status) {
        bool is_field = drive == MODEL_DRIVE_FIELD;
        double permeability = MAGNETIC_CONSTANT * material->parameters[PERMEABILITY];
        double gain = is_field ? permeability : 1.0 / permeability;
        double lag = is_field ? material->parameters[LAG] : -material->parameters[LAG];
        double complex *in = fft_get_buffer(forward), *out = fft_get_buffer(backward);
        for (size_t i = 0; i < count; i++)
            in[i] = given[i];
        fft_compute(forward);
        out[0] = gain * creal(in[0]) / (double)count;
        for (size_t k = 1; k < count; k++) {
            double complex turned = gain * (cos(lag) - I * sin(lag)) * in[k] / (double)count;
            out[k] = k > (count - 1) / 2 ? 0.0 : 2.0 * turned; /* the real part is the wave */
        }
        fft_compute(backward);
        for (size_t i = 0; i < count; i++)
            found[i] = creal(out[i]);
    }
    fft_destroy(forward);
    fft_destroy(backward);
    return status;
}

static const struct history_rule history = {.compute_cycle = compute_history};

static enum status compute_branch(const double *p, double peak, const double *field, size_t count,
    double tolerance, double *flux_density, struct error *err)
{
    (void)err;
    (void)tolerance;
    double sine = sin(p[LAG]), cosine = cos(p[LAG]);
    for (size_t i = 0; i < count; i++) {
        double across = sqrt(fmax((peak - field[i]) * (peak + field[i]), 0.0));
        flux_density[i] = MAGNETIC_CONSTANT * p[PERMEABILITY] * (cosine * field[i] + sine * across);
    }
    return STATUS_OK;
}

/* The ellipse that has the largest loop's peaks and area: sin delta = W / (pi Hm Bm). */
static enum status build(const struct fit_data *data, struct model_fit *fit, struct error *err)
{
    const struct branch *loop = &data->branches[data->count - 1];
    double flux_peak = loop->polarization[0] + MAGNETIC_CONSTANT * loop->peak, area = 0.0;
    for (size_t i = 1; i < loop->count; i++) /* the field's part of B encloses nothing */
        area += (loop->polarization[i - 1] + loop->polarization[i]) *
                (loop->field[i - 1] - loop->field[i]);
    double sine = area / (0.5 * turn * loop->peak * flux_peak);
    if (!(sine > 0.0 && sine <= 1.0))
        return fail(err, STATUS_INPUT, "a loop as full as that needs another model",
            "no ellipse has the peaks and the area of this loop: its lag angle's sine would be %g",
            sine);
    fit->material.parameters[PERMEABILITY] = flux_peak / (MAGNETIC_CONSTANT * loop->peak);
    fit->material.parameters[LAG] = asin(sine);
    return STATUS_OK;
}

static const struct fit_rule fit = {.build = build};

const struct model model_ellipse = {
    .name = "ellipse",
    .purpose = "a linear material whose B lags by a fixed angle",
    .form = "H = Hm cos x, B = mu0 mua Hm cos(x - delta)",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .compute_cycle = compute_cycle,
    .compute_branch = compute_branch,
    .history = &history,
    .fit = &fit,
};
