// SPDX-License-Identifier: GPL-3.0-or-later
#include "motor/compare.h"

#include <math.h>

#include "motor/drive.h"
#include "motor/torque.h"

static void set_entry(struct comparison_entry *entry, const struct steel_point *point,
    const struct motor_machine *machine)
{
    const double variance = point->covariance[STEEL_HYSTERESIS][STEEL_HYSTERESIS];
    const double energy = point->loss[STEEL_HYSTERESIS], volume = machine->volume.value;
    const struct torque_law law = {.pole_pairs = (double)machine->pole_pairs,
        .volume = volume,
        .supply = machine->supply.value,
        .loss = {energy}};
    *entry = (struct comparison_entry){.is_present = true, .point = *point};
    entry->torque = torque_compute_term(&law, STEEL_HYSTERESIS, 0.0);
    entry->u_torque = entry->torque * hypot(sqrt(fmax(variance, 0.0)) / energy,
                                          quantity_get_uncertainty(&machine->volume) / volume);
    entry->per_volume = entry->torque / volume;
    entry->per_field = energy / point->field_peak;
    entry->per_ampere_turn = machine_has_ring(machine)
                                 ? entry->torque / drive_compute_ampere_turns(machine, point)
                                 : 0.0;
}

enum status comparison_set(struct comparison_row *row, const struct motor_steel *steel,
    const struct motor_machine *machine, const struct motor_wanted *wanted, struct error *err)
{
    struct steel_state best, asked;
    struct comparison_row fresh = {.steel = steel};
    struct error fault;
    enum status status = motor_steel_find_best(steel, &best, &fresh.is_best_at_end, err);
    if (status != STATUS_OK) {
        return status;
    }
    set_entry(&fresh.best, &best.point, machine);
    status = motor_steel_find(steel, wanted, &asked, &fault);
    if (status == STATUS_OK) {
        set_entry(&fresh.asked, &asked.point, machine);
    } else if (status != STATUS_USAGE) {
        return fail(err, status, fault.hint, "%s", fault.message);
    }
    *row = fresh;
    return STATUS_OK;
}

static void add_positive(struct json *json, const char *key, double value)
{
    if (value > 0.0) { /* false for NaN */
        json_add_number(json, key, value);
    }
}

static void write_entry(struct json *json, const char *key, const struct comparison_entry *entry)
{
    if (!entry->is_present) {
        return;
    }
    json_begin_object(json, key);
    json_add_number(json, "field_peak_A_per_m", entry->point.field_peak);
    json_add_number(json, "flux_density_peak_T", entry->point.flux_density_peak);
    json_add_number(json, "hysteresis_J_per_m3", entry->point.loss[STEEL_HYSTERESIS]);
    json_add_number(json, "hysteresis_torque_N_m", entry->torque);
    add_positive(json, "u_hysteresis_torque_N_m", entry->u_torque);
    json_add_number(json, "torque_per_volume_N_m_per_m3", entry->per_volume);
    json_add_number(json, "torque_per_field_T", entry->per_field);
    add_positive(json, "torque_per_ampere_turn_N_m_per_A", entry->per_ampere_turn);
    add_positive(json, "squareness", entry->point.squareness);
    add_positive(json, "loop_fullness", entry->point.fullness);
    json_end_object(json);
}

void comparison_write_json(
    struct json *json, const char *key, const struct comparison_row *rows, size_t count)
{
    json_begin_array(json, key);
    for (size_t i = 0; i < count; i++) {
        json_begin_object(json, NULL);
        json_add_text(json, "name", rows[i].steel->name);
        json_add_text(json, "file", rows[i].steel->source);
        json_add_bool(json, "is_separated", rows[i].steel->is_separated);
        write_entry(json, "asked", &rows[i].asked);
        write_entry(json, "best", &rows[i].best);
        json_add_bool(json, "is_best_at_end", rows[i].is_best_at_end);
        json_end_object(json);
    }
    json_end_array(json);
}
