// SPDX-License-Identifier: GPL-3.0-or-later
/* A steel of one loop. Nothing in a single loop tells hysteresis from eddy currents: all that it
 * lost counts as hysteresis. */
#include <math.h>

#include "base/memory.h"
#include "base/text.h"
#include "motor/steel_part.h"
#include "quantity/constant.h"

static const double pi = 3.14159265358979323846;

static bool get(const struct figures *figures, enum figure figure, double *value, double *u)
{
    const struct figure_value *entry = &figures->list[figure];
    *value = entry->is_present ? entry->value : NAN;
    *u = entry->is_present && entry->has_u ? entry->u : 0.0;
    return entry->is_present;
}

/* Energy per cycle: the area of the loop, else loss over frequency. */
static bool get_energy(const struct figures *figures, double *energy, double *u)
{
    double frequency, u_frequency;
    if (get(figures, FIGURE_LOOP_AREA, energy, u)) {
        return true;
    }
    if (!get(figures, FIGURE_FREQUENCY, &frequency, &u_frequency) || !(frequency > 0.0) ||
        !get(figures, FIGURE_LOSS, energy, u)) {
        return false;
    }
    *energy /= frequency;
    *u /= frequency;
    return true;
}

/* sin(delta) = W / (pi Hm Bm); a loop fuller than an ellipse can be has none. Traces do not have
 * the figure: their u here is that of the area. */
static void set_lag_from_area(const struct figures *figures, struct steel_point *point)
{
    if (get(figures, FIGURE_LAG_ANGLE_AREA, &point->lag_angle, &point->u_lag_angle)) {
        return;
    }
    const double energy = point->loss[STEEL_HYSTERESIS];
    const double sine = energy / (pi * point->field_peak * point->flux_density_peak);
    if (sine < 1.0) {
        const double u = sqrt(point->covariance[STEEL_HYSTERESIS][STEEL_HYSTERESIS]);
        point->lag_angle = asin(sine) * 180.0 / pi;
        point->u_lag_angle = tan(asin(sine)) * u / energy * 180.0 / pi;
    }
}

bool steel_point_set(struct steel_point *point, const struct figures *figures, bool *is_from_area)
{
    double energy, u_energy, unused;
    struct steel_point fresh = {.lag_angle = NAN};
    const bool has_field = get(figures, FIGURE_FIELD_PEAK, &fresh.field_peak, &fresh.u_field_peak);
    bool has_flux = get(
        figures, FIGURE_FLUX_DENSITY_PEAK, &fresh.flux_density_peak, &fresh.u_flux_density_peak);
    if (!has_flux && has_field) {
        has_flux = get(figures, FIGURE_POLARIZATION_PEAK, &fresh.flux_density_peak,
            &fresh.u_flux_density_peak);
        fresh.flux_density_peak += MAGNETIC_CONSTANT * fresh.field_peak;
    }
    if (!has_field || !has_flux || !get_energy(figures, &energy, &u_energy) ||
        !(fresh.field_peak > 0.0) || !(fresh.flux_density_peak > 0.0) || !(energy > 0.0)) {
        return false;
    }
    (void)get(figures, FIGURE_FREQUENCY, &fresh.frequency_most, &unused);
    fresh.frequency_most = isnan(fresh.frequency_most) ? 0.0 : fresh.frequency_most;
    fresh.loss[STEEL_HYSTERESIS] = energy;
    fresh.covariance[STEEL_HYSTERESIS][STEEL_HYSTERESIS] = u_energy * u_energy;
    *is_from_area = !get(figures, FIGURE_LAG_ANGLE, &fresh.lag_angle, &fresh.u_lag_angle);
    if (*is_from_area) {
        set_lag_from_area(figures, &fresh);
    }
    (void)get(figures, FIGURE_SQUARENESS, &fresh.squareness, &unused);
    (void)get(figures, FIGURE_LOOP_FULLNESS, &fresh.fullness, &unused);
    *point = fresh;
    return true;
}

enum status motor_steel_read_figures(const char *name, const char *source,
    const struct figures *figures, struct motor_steel *steel, struct error *err)
{
    const struct figure_value *frequency = &figures->list[FIGURE_FREQUENCY];
    struct motor_steel fresh = {.origin = STEEL_FROM_LOOP, .count = 1};
    fresh.points = memory_create(1, sizeof *fresh.points);
    fresh.name = memory_copy_text(name);
    fresh.source = memory_copy_text(source);
    if (fresh.points == NULL || fresh.name == NULL || fresh.source == NULL) {
        motor_steel_clear(&fresh);
        return fail_memory(err);
    }
    if (!steel_point_set(fresh.points, figures, &fresh.has_lag_from_area)) {
        motor_steel_clear(&fresh);
        return fail(err, STATUS_INPUT,
            "a motor needs a loop with field_peak_A_per_m, flux_density_peak_T and "
            "loop_area_J_per_m3 above 0",
            "'%s' has no loop with peak field, peak flux density and loop area", source);
    }
    fresh.frequency_least = frequency->is_present ? frequency->value : 0.0;
    fresh.frequency_most = fresh.frequency_least;
    *steel = fresh;
    return STATUS_OK;
}
