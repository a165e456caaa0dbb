// SPDX-License-Identifier: GPL-3.0-or-later
/* Three published forms that share the names of their parameters and differ by up to 20 % in
 * coercivity:
 *
 *     1986  D. C. Jiles, D. L. Atherton, J. Magn. Magn. Mater. 61 (1986) 48
 *           dM/dH = 1/(1+c) (Man - M) / (k d - alpha (Man - M)) + c/(1+c) dMan/dH
 *     1992  D. C. Jiles, J. B. Thoelke, M. K. Devine, IEEE Trans. Magn. 28 (1992) 27
 *           M = (1-c) Mi + c Man,  dMi/dH = (Man - Mi) / (k d - alpha (Man - Mi))
 *
 *     field  dM/dHe = (Man - M) / (k d) + c dMan/dHe, the form that finite-element programs solve
 *           (J. Gyselinck, P. Dular, N. Sadowski, J. Leite, J. P. A. Bastos, COMPEL 23 (2004) 685)
 *
 * He = H + alpha M, Man = Ms L(He / a), d the sign of dH/dt; the irreversible part rests while
 * d (Man - M) < 0. law.h shows how one program serves all.
 *
 * The loop depends on the course of the drive only through its reversals. With sinusoidal B it is
 * therefore the loop of the same tips with sinusoidal H, passed at other times: its peak field is a
 * root, and so is the field at each phase. (Integrating along B instead is stiff: just behind a tip
 * Mi relaxes within 1e-3 of a cycle.) */
#include <math.h>

#include "model/fit.h"
#include "model/law_history.h"
#include "model/model.h"
#include "model/sweep.h"
#include "num/portable.h"
#include "quantity/constant.h"

static const double turn = 6.283185307179586477;

enum { SATURATION, SHAPE, PINNING, REVERSIBILITY, COUPLING };

static const struct model_parameter parameters[] = {
    [SATURATION] = {"saturation", "Ms", DIMENSION_FIELD_STRENGTH, 1.0, 1e8,
        "saturation magnetization"},
    [SHAPE] = {"shape", "a", DIMENSION_FIELD_STRENGTH, 1e-3, 1e8,
        "field scale of the anhysteretic curve"},
    [PINNING] = {"pinning", "k", DIMENSION_FIELD_STRENGTH, 1e-3, 1e8,
        "pinning of the domain walls: about the coercivity"},
    [REVERSIBILITY] = {"reversibility", "c", DIMENSION_NUMBER, 0.0, 0.999,
        "share of reversible wall bowing"},
    [COUPLING] = {"coupling", "alpha", DIMENSION_NUMBER, 0.0, 0.999, "coupling of the domains"},
};

/* A closed loop: the sweep and how it starts at its positive tip. */
struct closed {
    struct sweep sweep;
    double start; /* Mi, A/m */
    size_t steps; /* of the integration over a half cycle */
};

static enum status find_loop(struct closed *closed, double peak, struct error *err)
{
    closed->sweep.peak = peak;
    return sweep_find_loop(&closed->sweep, &closed->start, &closed->steps, err);
}

static double get_flux(struct closed *closed, double field, double irreversible)
{
    struct law_state state = law_get_state(&closed->sweep.law, field, irreversible);
    return MAGNETIC_CONSTANT * (field + state.magnetization);
}

static enum status find_tip(
    struct closed *closed, double peak, double *flux_density, struct error *err)
{
    enum status status = find_loop(closed, peak, err);
    if (!status)
        *flux_density = get_flux(closed, peak, closed->start);
    return status;
}

/* The loop whose tip has this flux density: a bracket by doubling, then the regula falsi in its
 * Illinois form. */
static enum status find_loop_of_flux(struct closed *closed, double flux_density, struct error *err)
{
    enum { ITERATIONS = 100 };
    double low = 0.0, low_excess = -flux_density;
    double high = 0.5 * closed->sweep.law.pinning, high_excess, tip = 0.0;
    enum status status;
    do {
        high *= 2.0;
        status = find_tip(closed, high, &tip, err);
        high_excess = tip - flux_density;
        if (!status && high_excess < 0.0) {
            low = high;
            low_excess = high_excess;
        }
    } while (!status && high_excess < 0.0 && high < 1e9);
    for (int i = 0; !status && i < ITERATIONS; i++) {
        double peak = high - high_excess * (high - low) / (high_excess - low_excess);
        status = find_tip(closed, peak, &tip, err);
        double excess = tip - flux_density;
        if (fabs(excess) <= 1e-12 * flux_density || !(peak > low && peak < high))
            break;
        if ((excess < 0.0) == (low_excess < 0.0)) {
            low = peak;
            low_excess = excess;
            high_excess *= 0.5;
        } else {
            high = peak;
            high_excess = excess;
            low_excess *= 0.5;
        }
    }
    return status;
}

static double get_drive(double peak, size_t i, size_t count)
{
    double sine, cosine;
    portable_sin_cos_turns((double)i / (double)count, &sine, &cosine);
    return peak * cosine;
}

/* Steps of the integration in each of `intervals` equal parts of a half cycle. */
static size_t get_substeps(const struct closed *closed, size_t intervals)
{
    return (closed->steps + intervals - 1) / intervals;
}

static void fill_by_field(struct closed *closed, size_t count, double *field, double *flux_density)
{
    struct sweep *sweep = &closed->sweep;
    size_t substeps = get_substeps(closed, count / 2);
    double irreversible = closed->start;
    sweep_begin(sweep, irreversible);
    for (size_t i = 0; i < count / 2; i++) {
        field[i] = get_drive(sweep->peak, i, count);
        flux_density[i] = get_flux(closed, field[i], irreversible);
        irreversible = sweep_advance(sweep, (double)i / (double)count,
            (double)(i + 1) / (double)count, irreversible, substeps, NULL);
    }
}

/* A phase of the sweep and what is there. */
struct place {
    double phase;
    double irreversible;
    double field;
    double flux_density;
};

static struct place get_place(
    struct closed *closed, const struct place *from, double phase, size_t substeps)
{
    struct place place = {.phase = phase};
    place.irreversible =
        sweep_advance(&closed->sweep, from->phase, phase, from->irreversible, substeps, NULL);
    double sine, cosine;
    portable_sin_cos_turns(phase, &sine, &cosine);
    place.field = closed->sweep.peak * cosine;
    place.flux_density = get_flux(closed, place.field, place.irreversible);
    return place;
}

/* The place between `from` and `to` with this flux density: Newton's method inside a shrinking
 * bracket. */
static struct place find_place(struct closed *closed, const struct place *from,
    const struct place *to, double flux_density, size_t substeps)
{
    enum { ITERATIONS = 100 };
    double low = from->phase, high = to->phase;
    struct place place = *from;
    double phase = 0.5 * (low + high);
    for (int i = 0; i < ITERATIONS && phase > low && phase < high; i++) {
        place = get_place(closed, from, phase, substeps);
        double excess = place.flux_density - flux_density;
        if (excess > 0.0)
            low = phase;
        else
            high = phase;
        double step = excess / sweep_get_flux_slope(&closed->sweep, phase, place.irreversible);
        phase -= step;
        if (fabs(step) <= 1e-16)
            break;
        if (!(phase > low && phase < high))
            phase = 0.5 * (low + high);
    }
    return place;
}

/* As many even steps of the sweep as there are points; the points lie anywhere between them. */
static void fill_by_flux(
    struct closed *closed, double peak, size_t count, double *field, double *flux_density)
{
    size_t intervals = count / 2;
    size_t substeps = get_substeps(closed, intervals);
    sweep_begin(&closed->sweep, closed->start);
    struct place from = {.phase = 0.0, .irreversible = closed->start};
    from = get_place(closed, &from, 0.0, substeps);
    struct place to = from;
    field[0] = from.field;
    flux_density[0] = peak;
    for (size_t i = 1, step = 0; i < count / 2; i++) {
        flux_density[i] = get_drive(peak, i, count);
        while (to.flux_density > flux_density[i] && step < intervals) {
            from = to;
            step++;
            to = get_place(closed, &from, (double)step / (double)count, substeps);
        }
        field[i] = find_place(closed, &from, &to, flux_density[i], substeps).field;
    }
}

static enum status compute_cycle(const double *p, enum law_form form, enum model_drive drive,
    double peak, size_t count, double *field, double *flux_density, struct error *err)
{
    struct closed made = {.steps = 0}, *closed = &made;
    law_init(&closed->sweep.law, p, form);
    bool is_field = drive == MODEL_DRIVE_FIELD;
    enum status status =
        is_field ? find_loop(closed, peak, err) : find_loop_of_flux(closed, peak, err);
    if (status)
        return status;
    if (is_field)
        fill_by_field(closed, count, field, flux_density);
    else
        fill_by_flux(closed, peak, count, field, flux_density);
    for (size_t i = 0; i < count / 2; i++) {
        field[i + count / 2] = -field[i];
        flux_density[i + count / 2] = -flux_density[i];
    }
    return STATUS_OK;
}

static enum status compute_1986(const double *p, enum model_drive drive, double peak, size_t count,
    double *field, double *flux_density, struct error *err)
{
    return compute_cycle(p, LAW_1986, drive, peak, count, field, flux_density, err);
}

static enum status compute_1992(const double *p, enum model_drive drive, double peak, size_t count,
    double *field, double *flux_density, struct error *err)
{
    return compute_cycle(p, LAW_1992, drive, peak, count, field, flux_density, err);
}

static enum status compute_field(const double *p, enum model_drive drive, double peak, size_t count,
    double *field, double *flux_density, struct error *err)
{
    return compute_cycle(p, LAW_FIELD, drive, peak, count, field, flux_density, err);
}

/* At any fields on the way down: a phase each. */
static enum status compute_branch(const double *p, enum law_form form, double peak,
    const double *field, size_t count, double tolerance, double *flux_density, struct error *err)
{
    struct closed closed = {.steps = 0};
    law_init(&closed.sweep.law, p, form);
    closed.sweep.tolerance = tolerance;
    enum status status = find_loop(&closed, peak, err);
    if (status)
        return status;
    double phase = 0.0, irreversible = closed.start;
    sweep_begin(&closed.sweep, irreversible);
    for (size_t i = 0; i < count; i++) {
        double next = acos(fmax(fmin(field[i] / peak, 1.0), -1.0)) / turn;
        size_t substeps = (size_t)ceil(2.0 * (next - phase) * (double)closed.steps);
        if (next > phase) {
            irreversible = sweep_advance(&closed.sweep, phase, next, irreversible, substeps, NULL);
            phase = next;
        }
        flux_density[i] = get_flux(&closed, field[i], irreversible);
    }
    return STATUS_OK;
}

static enum status compute_branch_1986(const double *p, double peak, const double *field,
    size_t count, double tolerance, double *flux_density, struct error *err)
{
    return compute_branch(p, LAW_1986, peak, field, count, tolerance, flux_density, err);
}

static enum status compute_branch_1992(const double *p, double peak, const double *field,
    size_t count, double tolerance, double *flux_density, struct error *err)
{
    return compute_branch(p, LAW_1992, peak, field, count, tolerance, flux_density, err);
}

static enum status compute_branch_field(const double *p, double peak, const double *field,
    size_t count, double tolerance, double *flux_density, struct error *err)
{
    return compute_branch(p, LAW_FIELD, peak, field, count, tolerance, flux_density, err);
}

/* Above 1 the anhysteretic curve itself would be many-valued (the 1992 paper's condition). */
static enum status check_parameters(const double *p, struct error *err)
{
    double stability = p[COUPLING] * p[SATURATION] / (3.0 * p[SHAPE]);
    if (stability < 1.0)
        return STATUS_OK;
    return fail(err, STATUS_INPUT, "raise 'shape', or lower 'coupling' or 'saturation'",
        "coupling * saturation / (3 * shape) is %g, it must be below 1", stability);
}

enum { VARIABLES = 5 };

/* The coupling is sought as the share alpha Ms / (3 a) of what makes the anhysteretic curve
 * many-valued, so that all that is tried is admissible. */
static void set_ranges(const struct fit_data *data, struct fit_range *ranges)
{
    double most = data->polarization_peak / MAGNETIC_CONSTANT, hc = data->coercivity;
    ranges[SATURATION] = (struct fit_range){1.01 * most, 2.0 * most, 0.5 * most, 20.0 * most, true};
    ranges[SHAPE] = (struct fit_range){0.1 * hc, 3.0 * hc, 1e-3 * hc, 1e3 * hc, true};
    ranges[PINNING] = (struct fit_range){0.7 * hc, 4.0 * hc, 1e-2 * hc, 1e2 * hc, true};
    ranges[REVERSIBILITY] = (struct fit_range){0.02, 0.6, 0.0, 0.999, false};
    ranges[COUPLING] = (struct fit_range){0.05, 0.95, 0.0, 0.9999, false};
}

static void set_parameters(const struct fit_data *data, const double *variables, double *p)
{
    (void)data;
    for (int i = 0; i < VARIABLES; i++)
        p[i] = variables[i];
    p[COUPLING] = variables[COUPLING] * 3.0 * p[SHAPE] / p[SATURATION];
}

static const struct fit_rule fit = {
    .variable_count = VARIABLES, .set_ranges = set_ranges, .set_parameters = set_parameters};

const struct model model_jiles_atherton_1986 = {
    .name = "jiles-atherton-1986",
    .purpose = "Jiles and Atherton's model, form of 1986",
    .form = "dM/dH = [(Man - M) / (k d - alpha (Man - M)) + c dMan/dH] / (1 + c), Man = Ms "
            "[coth(He/a) - a/He], He = H + alpha M",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .check = check_parameters,
    .compute_cycle = compute_1986,
    .compute_branch = compute_branch_1986,
    .history = &law_history_1986,
    .fit = &fit,
};

const struct model model_jiles_atherton_1992 = {
    .name = "jiles-atherton-1992",
    .purpose = "Jiles and Atherton's model, form of 1992",
    .form = "M = (1 - c) Mi + c Man, dMi/dH = (Man - Mi) / (k d - alpha (Man - Mi)), Man = Ms "
            "[coth(He/a) - a/He], He = H + alpha M",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .check = check_parameters,
    .compute_cycle = compute_1992,
    .compute_branch = compute_branch_1992,
    .history = &law_history_1992,
    .fit = &fit,
};

const struct model model_jiles_atherton_field = {
    .name = "jiles-atherton-field",
    .purpose = "Jiles and Atherton's model, in the effective field",
    .form =
        "dM/dHe = (Man - M) / (k d) + c dMan/dHe, Man = Ms [coth(He/a) - a/He], He = H + alpha M",
    .parameters = parameters,
    .parameter_count = sizeof parameters / sizeof parameters[0],
    .check = check_parameters,
    .compute_cycle = compute_field,
    .compute_branch = compute_branch_field,
    .history = &law_history_field,
    .fit = &fit,
};
