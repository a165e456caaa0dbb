// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>

#include "base/version.h"
#include "motor/motor.h"

static void add_value(struct json *json, const char *key, double value, double u)
{
    char u_key[80];
    if (isnan(value)) {
        return;
    }
    json_add_number(json, key, value);
    if (u > 0.0) {
        snprintf(u_key, sizeof u_key, "u_%s", key);
        json_add_number(json, u_key, u);
    }
}

static void add_quantity(struct json *json, const char *key, const struct quantity *quantity)
{
    if (quantity->is_present) {
        add_value(json, key, quantity->value, quantity_get_uncertainty(quantity));
    }
}

static double get_u(const struct steel_point *point, enum steel_term term)
{
    return sqrt(fmax(point->covariance[term][term], 0.0));
}

static void write_steel(
    struct json *json, const struct motor_steel *steel, const struct steel_state *state)
{
    static const char *const origins[] = {
        [STEEL_FROM_LOOP] = "loop", [STEEL_FROM_SERIES] = "series", [STEEL_FROM_CARD] = "card"};
    const struct steel_point *point = &state->point;
    json_begin_object(json, "steel");
    json_add_text(json, "name", steel->name);
    json_add_text(json, "file", steel->source);
    json_add_text(json, "origin", origins[steel->origin]);
    json_add_bool(json, "is_separated", steel->is_separated);
    json_add_number(json, "frequency_least_Hz", steel->frequency_least);
    json_add_number(json, "frequency_most_Hz", point->frequency_most);
    add_value(json, "field_peak_A_per_m", point->field_peak, point->u_field_peak);
    add_value(json, "flux_density_peak_T", point->flux_density_peak, point->u_flux_density_peak);
    add_value(
        json, "hysteresis_J_per_m3", point->loss[STEEL_HYSTERESIS], get_u(point, STEEL_HYSTERESIS));
    if (steel->is_separated) {
        add_value(json, "linear_J_s_per_m3", point->loss[STEEL_LINEAR], get_u(point, STEEL_LINEAR));
        add_value(json, "excess_J_per_m3_per_sqrt_Hz", point->loss[STEEL_EXCESS],
            get_u(point, STEEL_EXCESS));
    }
    add_value(json, "squareness", point->squareness, 0.0);
    add_value(json, "loop_fullness", point->fullness, 0.0);
    json_end_object(json);
}

static void write_machine(struct json *json, const struct motor_machine *machine)
{
    json_begin_object(json, "machine");
    json_add_integer(json, "pole_pairs", (long long)machine->pole_pairs);
    add_quantity(json, "supply_Hz", &machine->supply);
    add_quantity(json, "volume_m3", &machine->volume);
    add_quantity(json, "outer_diameter_m", &machine->outer_diameter);
    add_quantity(json, "inner_diameter_m", &machine->inner_diameter);
    add_quantity(json, "height_m", &machine->height);
    add_quantity(json, "air_gap_m", &machine->air_gap);
    add_quantity(json, "load_torque_N_m", &machine->load_torque);
    add_quantity(json, "inertia_kg_m2", &machine->inertia);
    json_end_object(json);
}

static void write_figures(struct json *json, const struct motor *motor)
{
    json_begin_object(json, "figures");
    for (int i = 0; i < MOTOR_FIGURE_COUNT; i++) {
        const struct figure_value *value = &motor->figures[i];
        if (value->is_present) {
            add_value(json, motor_figure_table[i].key, value->value, value->u);
        } else if (motor_figure_table[i].is_promised) {
            json_add_number(json, motor_figure_table[i].key, NAN); /* null */
        }
    }
    json_end_object(json);
}

static bool has_u(const struct motor_curve *curve)
{
    return curve->count > 0 && curve->u_torque[curve->count - 1] > 0.0;
}

static void write_curve(struct json *json, const struct motor_curve *curve, bool is_separated)
{
    json_begin_object(json, "curve");
    json_add_numbers(json, "slip", curve->slip, curve->count);
    json_add_numbers(json, "torque_N_m", curve->torque, curve->count);
    if (has_u(curve)) {
        json_add_numbers(json, "u_torque_N_m", curve->u_torque, curve->count);
    }
    json_add_numbers(json, "rotor_loss_W", curve->loss, curve->count);
    if (is_separated) {
        json_add_numbers(
            json, "hysteresis_torque_N_m", curve->term[STEEL_HYSTERESIS], curve->count);
        json_add_numbers(json, "eddy_torque_N_m", curve->term[STEEL_LINEAR], curve->count);
        json_add_numbers(json, "excess_torque_N_m", curve->term[STEEL_EXCESS], curve->count);
    }
    json_end_object(json);
}

static void write_angles(struct json *json, const struct motor_angles *angles)
{
    if (angles->count == 0) {
        return;
    }
    json_begin_object(json, "synchronism");
    json_add_numbers(json, "load_angle_deg", angles->angle, angles->count);
    json_add_numbers(json, "torque_N_m", angles->torque, angles->count);
    json_end_object(json);
}

void motor_write_members(struct json *json, const struct motor_steel *steel,
    const struct motor_machine *machine, const struct motor *motor)
{
    json_add_text(json, "schema", "lodecard-motor/1");
    json_add_text(json, "version", LODECARD_VERSION);
    write_steel(json, steel, &motor->state);
    write_machine(json, machine);
    write_figures(json, motor);
    write_curve(json, &motor->curve, steel->is_separated);
    write_angles(json, &motor->angles);
}
