// SPDX-License-Identifier: GPL-3.0-or-later
/* Preisach's model with an Everett function in closed form (T. Yamaguchi, F. Ueda, E. Yamamoto,
 * IEEE Transl. J. Magn. Japan 4 (1989) 353):
 *
 *     E(a, b) = F(-b - Hc) F(a - Hc) - F(-a - Hc) F(b - Hc)
 *     F(h) = M r [(2/pi) atan(h/Hq) + 1] + 2 M (1 - r) / [1 + (e^(-h/H1) + e^(-h/H2)) / 2]
 *
 * of the polarization, a and b held within +-Hs; B = mu0 H + J. The density is F'(-b - Hc) F'(a -
 * Hc) - F'(-a - Hc) F'(b - Hc): not negative where F' is log-concave, as the exponentials' is and
 * the arc tangent's, in its tails, is not. */
#include <math.h>

#include "model/everett.h"
#include "model/fit.h"
#include "model/history.h"
#include "num/portable.h"
#include "quantity/constant.h"

enum { LIMIT, SATURATION, SLOW_SHARE, SLOW_FIELD, FAST_FIELD, TAIL_FIELD, COERCIVITY };

static const struct model_parameter parameters[] = {
    [LIMIT] = {"limit", "Hs", DIMENSION_FIELD_STRENGTH, 1e-3, 1e9,
        "field beyond which the polarization stays as it is"},
    [SATURATION] = {"amplitude", "M", DIMENSION_FLUX_DENSITY, 1e-3, 10.0,
        "scale of the polarization; its square is in tesla"},
    [SLOW_SHARE] = {"slow_share", "r", DIMENSION_NUMBER, 0.0, 1.0,
        "share of the arc tangent, the slow approach to saturation"},
    [SLOW_FIELD] = {"slow_field", "Hq", DIMENSION_FIELD_STRENGTH, 1e-3, 1e9,
        "field scale of the arc tangent"},
    [FAST_FIELD] = {"fast_field", "H1", DIMENSION_FIELD_STRENGTH, 1e-3, 1e9,
        "field scale of the steep rise"},
    [TAIL_FIELD] = {"tail_field", "H2", DIMENSION_FIELD_STRENGTH, 1e-3, 1e9,
        "field scale of the second exponential"},
    [COERCIVITY] = {"coercivity", "Hc", DIMENSION_FIELD_STRENGTH, 0.0, 1e9,
        "field where the switching units are densest"},
};

static double get_factor(double h, const double *p)
{
    double slow = 0.63661977236758134308 * atan(h / p[SLOW_FIELD]) + 1.0;
    double fall =
        0.5 * (exp(fmin(-h / p[FAST_FIELD], 700.0)) + exp(fmin(-h / p[TAIL_FIELD], 700.0)));
    return p[SATURATION] * (p[SLOW_SHARE] * slow + 2.0 * (1.0 - p[SLOW_SHARE]) / (1.0 + fall));
}

static double get_everett(double a, double b, const double *p)
{
    a = fmax(fmin(a, p[LIMIT]), -p[LIMIT]);
    b = fmax(fmin(b, p[LIMIT]), -p[LIMIT]);
    double c = p[COERCIVITY];
    return get_factor(-b - c, p) * get_factor(a - c, p) -
           get_factor(-a - c, p) * get_factor(b - c, p);
}

static double get_flux_everett(const void *context, double a, double b)
{
    return MAGNETIC_CONSTANT * (a - b) + get_everett(a, b, context);
}

static enum status create_machine(
    const struct material *material, void **machine, struct error *err)
{
    struct everett everett = {.get = get_flux_everett, .context = material->parameters};
    return everett_create_machine(&everett, machine, err);
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
    double tip = 0.5 * get_everett(peak, -peak, p);
    for (size_t i = 0; i < count; i++)
        flux_density[i] = MAGNETIC_CONSTANT * field[i] + tip - get_everett(peak, field[i], p);
    return STATUS_OK;
}

/* The limit is the largest field that was measured; the rest is sought. */
static void set_ranges(const struct fit_data *data, struct fit_range *ranges)
{
    double m = sqrt(0.5 * data->polarization_peak), hc = data->coercivity;
    ranges[SATURATION - 1] = (struct fit_range){0.6 * m, 1.5 * m, 0.1 * m, 10.0 * m, true};
    ranges[SLOW_SHARE - 1] = (struct fit_range){0.1, 0.9, 0.0, 1.0, false};
    ranges[SLOW_FIELD - 1] = (struct fit_range){0.1 * hc, 3.0 * hc, 1e-3 * hc, 1e3 * hc, true};
    ranges[FAST_FIELD - 1] = (struct fit_range){0.03 * hc, 1.0 * hc, 1e-3 * hc, 1e3 * hc, true};
    ranges[TAIL_FIELD - 1] = (struct fit_range){0.3 * hc, 30.0 * hc, 1e-3 * hc, 1e4 * hc, true};
    ranges[COERCIVITY - 1] = (struct fit_range){0.8 * hc, 1.4 * hc, 0.05 * hc, 5.0 * hc, true};
}

static void set_parameters(const struct fit_data *data, const double *variables, double *p)
{
    p[LIMIT] = data->field_peak;
    for (int i = SATURATION; i <= COERCIVITY; i++)
        p[i] = variables[i - 1];
}

static const struct fit_rule fit = {
    .variable_count = COERCIVITY, .set_ranges = set_ranges, .set_parameters = set_parameters};

const struct model model_preisach_factorised = {
    .name = "preisach-factorised",
    .purpose = "Preisach's model, its Everett function a closed form",
    .form = "E(a, b) = F(-b - Hc) F(a - Hc) - F(-a - Hc) F(b - Hc), F(h) = M r [(2/pi) atan(h/Hq) "
            "+ 1] + "
            "2 M (1 - r) / [1 + (exp(-h/H1) + exp(-h/H2)) / 2], of J within +-Hs; B = mu0 H + J",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .compute_branch = compute_branch,
    .history = &history,
    .fit = &fit,
};
