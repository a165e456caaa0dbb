// SPDX-License-Identifier: GPL-3.0-or-later
/* Rig and specimen as they stand in a result: the keys of the files with their SI unit, in the
 * files' order, each with its standard uncertainty (k = 1) where one was stated. */
#include <stdio.h>

#include "setup/setup.h"
#include "setup/tables.h"

#define KEY_SIZE 40

static void add(struct json *json, const char *key, const struct quantity *quantity)
{
    char u_key[KEY_SIZE];
    if (!quantity->is_present) {
        return;
    }
    json_add_number(json, key, quantity->value);
    if (quantity->has_uncertainty) {
        snprintf(u_key, sizeof u_key, "u_%s", key);
        json_add_number(json, u_key, quantity_get_uncertainty(quantity));
    }
}

/* A value that acts although the file does not give it. */
static void add_with_default(struct json *json, const char *key, const struct quantity *quantity)
{
    if (quantity->is_present) {
        add(json, key, quantity);
    } else {
        json_add_number(json, key, quantity->value);
    }
}

static void add_text(struct json *json, const char *key, const char *words)
{
    if (words != NULL) {
        json_add_text(json, key, words);
    }
}

static void add_input(struct json *json, const char *key, const struct rig_input *input,
    const struct schema_word *quantities)
{
    json_begin_object(json, key);
    add_text(json, "channel", input->channel);
    json_add_text(json, "quantity", schema_find_word(quantities, (int)input->quantity));
    add(json, "full_scale_V", &input->full_scale);
    add(json, "shunt_ohm", &input->shunt);
    add(json, "inductance_H", &input->inductance);
    add(json, "shunt_coefficient_per_K", &input->shunt_coefficient);
    add(json, "shunt_reference_K", &input->shunt_reference);
    add(json, "shunt_actual_K", &input->shunt_actual);
    add(json, "transfer_A_per_V", &input->transfer);
    if (input->quantity == INPUT_VOLTAGE) {
        add_with_default(json, "divider", &input->divider);
    }
    add(json, "input_resistance_ohm", &input->input_resistance);
    add(json, "source_resistance_ohm", &input->source_resistance);
    add(json, "corner_Hz", &input->corner);
    json_add_bool(json, "invert", input->is_inverted);
    add(json, "integrator_resistance_ohm", &input->integrator_resistance);
    add(json, "integrator_capacitance_F", &input->integrator_capacitance);
    add(json, "fluxmeter_Wb_per_V", &input->fluxmeter);
    add_text(json, "bias", input->keeps_bias ? "keep" : NULL);
    add_text(json, "air_flux", input->air_flux_removed ? "removed" : NULL);
    json_end_object(json);
}

static void add_timing(struct json *json, const struct rig *rig)
{
    json_begin_object(json, "timing");
    add_text(json, "time", rig->time_column);
    add(json, "sample_rate_Hz", &rig->sample_rate);
    if (rig->is_trace) {
        json_add_bool(json, "trace", true);
        json_add_text(json, "drift", schema_find_word(drift_words, (int)rig->drift));
    } else {
        add_with_default(json, "pickup_delay_s", &rig->pickup_delay);
        add(json, "clock", &rig->clock);
    }
    json_end_object(json);
}

static void add_winding(struct json *json, const struct winding *winding)
{
    if (!winding->is_present) {
        return;
    }
    json_begin_object(json, "winding");
    add(json, "primary_turns", &winding->primary_turns);
    add(json, "secondary_turns", &winding->secondary_turns);
    add(json, "secondary_area_m2", &winding->secondary_area);
    json_end_object(json);
}

void rig_write_json(struct json *json, const char *key, const struct rig *rig)
{
    json_begin_object(json, key);
    add_text(json, "name", rig->name);
    json_begin_object(json, "inputs");
    add_input(json, "excitation", &rig->excitation, excitation_quantity_words);
    add_input(json, "pickup", &rig->pickup, pickup_quantity_words);
    if (rig->has_same_calibrator) {
        json_add_bool(json, "same_calibrator", true);
    }
    json_end_object(json);
    add_timing(json, rig);
    if (rig->corner.is_present) {
        json_begin_object(json, "coupling");
        add(json, "corner_Hz", &rig->corner);
        json_end_object(json);
    }
    if (rig->field_repeat.is_present || rig->flux_density_repeat.is_present) {
        json_begin_object(json, "reproducibility");
        add(json, "field", &rig->field_repeat);
        add(json, "flux_density", &rig->flux_density_repeat);
        json_end_object(json);
    }
    add_winding(json, &rig->winding);
    if (rig->calibration_date != NULL) {
        json_begin_object(json, "calibration");
        add_text(json, "date", rig->calibration_date);
        add(json, "interval_s", &rig->calibration_interval);
        json_end_object(json);
    }
    json_end_object(json);
}

static void add_ring(struct json *json, const struct specimen *specimen)
{
    json_begin_object(json, "ring");
    add(json, "outer_diameter_m", &specimen->outer_diameter);
    add(json, "inner_diameter_m", &specimen->inner_diameter);
    add(json, "height_m", &specimen->height);
    add(json, "mass_kg", &specimen->mass);
    add(json, "density_kg_per_m3", &specimen->density);
    if (specimen->height.is_present) {
        add_with_default(json, "stacking_factor", &specimen->stacking_factor);
    }
    add(json, "sheet_thickness_m", &specimen->sheet_thickness);
    add(json, "expansion_per_K", &specimen->expansion);
    add(json, "expansion_reference_K", &specimen->expansion_reference);
    if (specimen->has_same_ruler) {
        json_add_bool(json, "same_ruler", true);
    }
    json_add_text(json, "path", schema_find_word(path_words, (int)specimen->path));
    json_end_object(json);
}

void specimen_write_json(struct json *json, const char *key, const struct specimen *specimen)
{
    json_begin_object(json, key);
    add_text(json, "name", specimen->name);
    add_text(json, "alloy", specimen->alloy);
    add_text(json, "supplier", specimen->supplier);
    add_text(json, "heat", specimen->heat);
    add_text(json, "condition", specimen->condition);
    add_ring(json, specimen);
    add(json, "resistivity_ohm_m", &specimen->resistivity);
    add(json, "temperature_K", &specimen->temperature);
    add_winding(json, &specimen->winding);
    json_add_number(json, "path_length_m", specimen->path_length_m);
    json_add_number(json, "area_m2", specimen->area_m2);
    json_end_object(json);
}
