// SPDX-License-Identifier: GPL-3.0-or-later
/* A steel between its measured amplitudes. Loss against peak field is close to a power law over
 * short stretches, with an exponent that falls from 3 (Rayleigh) to below 1 (saturation): so the
 * curves run over logarithms, where such a law is straight. How far the monotone cubic and the
 * straight line between neighbours are apart tells what the choice of curve may cost. */
#include "motor/steel.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "num/monotone.h"

static const double BEYOND_MOST = 0.05; /* relative: how far a law at the end is trusted */
static const double LOOP_NEAR =
    0.01; /* relative: amplitudes of a single loop that count as its own */
#define BEST_STEPS 100
static const double EDGE = 1e-9; /* relative: rounding at the ends of the range */

void motor_steel_clear(struct motor_steel *steel)
{
    memory_destroy(steel->name);
    memory_destroy(steel->source);
    memory_destroy(steel->points);
    *steel = (struct motor_steel){0};
}

/* The numbers of a point that are curves over the amplitude. */
enum quantity_index { AT_FIELD, AT_FLUX, AT_LAG, AT_U_LAG, AT_SQUARENESS, AT_FULLNESS, AT_LOSS };
#define QUANTITIES (AT_LOSS + STEEL_TERMS)

static double *get_quantity(struct steel_point *point, int quantity)
{
    double *const members[AT_LOSS] = {&point->field_peak, &point->flux_density_peak,
        &point->lag_angle, &point->u_lag_angle, &point->squareness, &point->fullness};
    return quantity < AT_LOSS ? members[quantity] : &point->loss[quantity - AT_LOSS];
}

static double get_amplitude(const struct steel_point *point, enum wanted_kind kind)
{
    return kind == WANTED_FLUX_DENSITY ? point->flux_density_peak : point->field_peak;
}

static double get_relative_u(const struct steel_point *point, enum wanted_kind kind)
{
    return kind == WANTED_FLUX_DENSITY ? point->u_flux_density_peak / point->flux_density_peak
                                       : point->u_field_peak / point->field_peak;
}

/* A curve's value, its slope and what the choice of curve may cost. */
struct value {
    double value;
    double slope; /* per unit of the amplitude */
    double doubt; /* standard uncertainty */
};

/* Where an amplitude stands among the points. */
struct place {
    double *x; /* logarithms of the amplitudes */
    double *y; /* room for one quantity */
    size_t count;
    size_t below; /* the point under `at`; count - 2 at most */
    double at;    /* logarithm of the wanted amplitude */
    double share; /* of the point above, 0 ... 1 */
    double amplitude;
};

static enum status interpolate(
    const struct place *place, bool is_logarithmic, struct value *found, struct error *err)
{
    struct monotone *curve;
    const enum status status = monotone_create(place->x, place->y, place->count, &curve, err);
    if (status != STATUS_OK) {
        return status;
    }
    double slope;
    double value = monotone_get(curve, place->at, &slope);
    monotone_destroy(curve);
    const double *y = place->y + place->below;
    double straight = y[0] + place->share * (y[1] - y[0]);
    straight = place->at > place->x[place->count - 1] || place->at < place->x[0] ? value : straight;
    if (is_logarithmic) {
        value = exp(value);
        straight = exp(straight);
        slope *= value;
    }
    *found = (struct value){
        fmax(value, 0.0), slope / place->amplitude, fabs(value - straight) / sqrt(3.0)};
    return STATUS_OK;
}

static enum status compute_quantity(const struct motor_steel *steel, struct place *place,
    int quantity, struct value *found, struct error *err)
{
    bool is_positive = true;
    for (size_t i = 0; i < place->count; i++) {
        place->y[i] = *get_quantity(&steel->points[i], quantity);
        is_positive = is_positive && place->y[i] > 0.0;
        if (isnan(place->y[i])) {
            *found = (struct value){NAN, NAN, NAN};
            return STATUS_OK;
        }
    }
    for (size_t i = 0; is_positive && i < place->count; i++) {
        place->y[i] = log(place->y[i]);
    }
    return interpolate(place, is_positive, found, err);
}

/* The covariance between two points is taken as a mixture of theirs: the points of one series share
 * most of their uncertainty (shunt, turns, area), so that it does not average out in between. */
static void mix_covariance(
    const struct motor_steel *steel, const struct place *place, struct steel_point *point)
{
    const struct steel_point *low = &steel->points[place->below], *high = low + 1;
    for (int i = 0; i < STEEL_TERMS; i++) {
        for (int j = 0; j < STEEL_TERMS; j++) {
            point->covariance[i][j] = (1.0 - place->share) * low->covariance[i][j] +
                                      place->share * high->covariance[i][j];
        }
    }
}

/* Adds what the amplitude's uncertainty makes of the terms, all together, and the doubts, each by
 * itself. The amplitude that was measured and the loss share their sensors; that is left out. */
static void add_doubts(const struct value values[QUANTITIES], double u, struct steel_point *point)
{
    for (int i = 0; i < STEEL_TERMS; i++) {
        for (int j = 0; j < STEEL_TERMS; j++) {
            point->covariance[i][j] +=
                values[AT_LOSS + i].slope * values[AT_LOSS + j].slope * u * u;
        }
        point->covariance[i][i] += pow(values[AT_LOSS + i].doubt, 2.0);
    }
    point->u_lag_angle =
        hypot(point->u_lag_angle, hypot(values[AT_LAG].slope * u, values[AT_LAG].doubt));
}

static enum status fill_state(const struct motor_steel *steel, const struct motor_wanted *wanted,
    struct place *place, struct steel_state *state, struct error *err)
{
    struct value values[QUANTITIES];
    struct steel_point *point = &state->point;
    for (int quantity = 0; quantity < QUANTITIES; quantity++) {
        const enum status status = compute_quantity(steel, place, quantity, &values[quantity], err);
        if (status != STATUS_OK) {
            return status;
        }
        *get_quantity(point, quantity) = values[quantity].value;
    }
    mix_covariance(steel, place, point);
    point->frequency_most = fmin(
        steel->points[place->below].frequency_most, steel->points[place->below + 1].frequency_most);
    const struct steel_point *low = &steel->points[place->below], *high = low + 1;
    const bool is_field = wanted->kind == WANTED_FIELD;
    const double u_low = get_relative_u(low, wanted->kind);
    const double u_high = get_relative_u(high, wanted->kind);
    const double u_measured = wanted->value * (u_low + place->share * (u_high - u_low));
    const double u = hypot(wanted->u, u_measured);
    add_doubts(values, u, point);
    point->u_field_peak = is_field ? u : fabs(values[AT_FIELD].slope) * u;
    point->u_flux_density_peak = is_field ? fabs(values[AT_FLUX].slope) * u : u;
    return STATUS_OK;
}

static enum status refuse_amplitude(
    const struct motor_steel *steel, const struct motor_wanted *wanted, struct error *err)
{
    const bool is_field = wanted->kind == WANTED_FIELD;
    const char *unit = is_field ? "kA/m" : "T";
    const double scale = is_field ? 1e-3 : 1.0;
    const double low = scale * get_amplitude(&steel->points[0], wanted->kind);
    const double high = scale * get_amplitude(&steel->points[steel->count - 1], wanted->kind);
    if (steel->count == 1) {
        return fail(err, STATUS_USAGE,
            "measure a loop at that amplitude, or give a series or a card",
            "'%s' is one loop with a peak of %.4g %s, and %.4g %s is wanted", steel->source, low,
            unit, scale * wanted->value, unit);
    }
    return fail(err, STATUS_USAGE, "ask for an amplitude in that range, or measure further loops",
        "'%s' was measured from %.4g %s to %.4g %s, and %.4g %s is wanted", steel->source, low,
        unit, high, unit, scale * wanted->value, unit);
}

/* Whether the amplitude may be asked for; sets is_beyond. */
static bool is_within(
    const struct motor_steel *steel, const struct motor_wanted *wanted, struct steel_state *state)
{
    const double low = get_amplitude(&steel->points[0], wanted->kind);
    const double high = get_amplitude(&steel->points[steel->count - 1], wanted->kind);
    const double most = steel->count == 1 ? LOOP_NEAR : BEYOND_MOST;
    const double beyond = fmax(low / wanted->value, wanted->value / high) - 1.0;
    state->is_beyond = beyond > EDGE && steel->count > 1;
    return beyond <= most; /* false for NaN */
}

static enum status place_init(const struct motor_steel *steel, const struct motor_wanted *wanted,
    struct place *place, struct error *err)
{
    const size_t count = steel->count;
    *place = (struct place){.count = count, .at = log(wanted->value), .amplitude = wanted->value};
    place->x = memory_create(count, sizeof *place->x);
    place->y = memory_create(count, sizeof *place->y);
    if (place->x == NULL || place->y == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < count; i++) {
        place->x[i] = log(get_amplitude(&steel->points[i], wanted->kind));
        place->below = i + 1 < count && place->x[i] <= place->at ? i : place->below;
    }
    const double *x = place->x + place->below;
    place->share = fmin(fmax((place->at - x[0]) / (x[1] - x[0]), 0.0), 1.0);
    return STATUS_OK;
}

enum status motor_steel_find(const struct motor_steel *steel, const struct motor_wanted *wanted,
    struct steel_state *state, struct error *err)
{
    struct steel_state found = {0};
    struct place place = {0};
    enum status status = STATUS_OK;
    if (wanted->kind != WANTED_LARGEST && !is_within(steel, wanted, &found)) {
        return refuse_amplitude(steel, wanted, err);
    }
    if (wanted->kind == WANTED_LARGEST || steel->count == 1) {
        found.point = steel->points[steel->count - 1];
    } else {
        status = place_init(steel, wanted, &place, err);
        if (status == STATUS_OK) {
            status = fill_state(steel, wanted, &place, &found, err);
        }
        memory_destroy(place.x);
        memory_destroy(place.y);
    }
    if (status == STATUS_OK) {
        *state = found;
    }
    return status;
}

enum status motor_steel_find_best(
    const struct motor_steel *steel, struct steel_state *state, bool *is_at_end, struct error *err)
{
    const double low = steel->points[0].field_peak;
    const double high = steel->points[steel->count - 1].field_peak;
    double most = 0.0;
    for (int i = 0; i <= BEST_STEPS; i++) {
        const double field = i == BEST_STEPS ? high : low + (high - low) * i / BEST_STEPS;
        const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = field};
        struct steel_state found;
        const enum status status = motor_steel_find(steel, &wanted, &found, err);
        if (status != STATUS_OK) {
            return status;
        }
        const double torque = found.point.loss[STEEL_HYSTERESIS] / field;
        if (torque > most) {
            most = torque;
            *state = found;
            *is_at_end = i == 0 || i == BEST_STEPS;
        }
    }
    return STATUS_OK;
}
