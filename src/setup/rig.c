// SPDX-License-Identifier: GPL-3.0-or-later
/* Rigs: reading, and what one key says about another. */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "setup/date.h"
#include "setup/setup.h"
#include "setup/tables.h"

/* A key whose value means nothing beside another is refused: it would be believed to act. */
static void refuse_keys(
    struct schema_reading *reading, const char *const *keys, const char *why, const char *what)
{
    for (; *keys != NULL; keys++) {
        if (schema_has_key(reading, *keys)) {
            schema_add_fault(reading, *keys, "%s; %s", why, what);
        }
    }
}

static void check_excitation(struct schema_reading *reading, const struct rig_input *input)
{
    static const char *const of_voltage[] = {"inputs.excitation.shunt",
        "inputs.excitation.transfer", "inputs.excitation.full_scale", NULL};
    bool is_known = !schema_has_fault(reading, "inputs.excitation.quantity");
    bool has_shunt = schema_has_key(reading, "inputs.excitation.shunt");
    bool has_transfer = schema_has_key(reading, "inputs.excitation.transfer");
    if (input->quantity != INPUT_VOLTAGE) {
        refuse_keys(reading, of_voltage, "this belongs to 'quantity: voltage' only",
            "leave it out, or mend the quantity");
    } else if (has_shunt && has_transfer) {
        schema_add_fault(reading, "inputs.excitation.transfer",
            "given beside 'shunt', expected exactly one of them");
    } else if (is_known && !has_shunt && !has_transfer &&
               schema_has_key(reading, "inputs.excitation")) {
        schema_add_fault(reading, "inputs.excitation",
            "a voltage becomes a current by exactly one of 'shunt: 0.1 ohm' and 'transfer: 10 "
            "A/V'; both are missing");
    }
    if (schema_has_key(reading, "inputs.excitation.inductance") && !has_shunt) {
        schema_add_fault(reading, "inputs.excitation.inductance",
            "this is the inductance of 'shunt', which is not there; leave it out");
    }
    if (schema_has_key(reading, "inputs.excitation.shunt_temperature") && !has_shunt) {
        schema_add_fault(reading, "inputs.excitation.shunt_temperature",
            "this is the temperature of 'shunt', which is not there; leave it out");
    }
}

/* What an input loads must be known, and a source's resistance must act. */
static void check_load(struct schema_reading *reading, const char *name,
    const struct rig_input *input, bool knows_source, bool has_series)
{
    char load[64], source[64], group[64];
    snprintf(load, sizeof load, "inputs.%s.input_resistance", name);
    snprintf(source, sizeof source, "inputs.%s.source_resistance", name);
    snprintf(group, sizeof group, "inputs.%s.quantity", name);
    const bool has_load = schema_has_key(reading, load),
               has_source = schema_has_key(reading, source);
    const char *const both[] = {load, source, NULL};
    if (input->quantity != INPUT_VOLTAGE) {
        if (!schema_has_fault(reading, group)) {
            refuse_keys(reading, both, "this belongs to 'quantity: voltage' only",
                "leave it out, or mend the quantity");
        }
    } else if (has_load && !has_source && !knows_source) {
        schema_add_fault(reading, load,
            "what the input loads is not known; add 'source_resistance', that of the coil, the "
            "probe or the divider ahead of it");
    } else if (has_source && !has_load && !has_series) {
        schema_add_fault(
            reading, source, "it acts with 'input_resistance: 10 kohm' only, which is missing");
    }
}

static void check_pickup(struct schema_reading *reading, const struct rig_input *input)
{
    static const char *const of_voltage[] = {
        "inputs.pickup.full_scale", "inputs.pickup.integrator", "inputs.pickup.fluxmeter", NULL};
    if (schema_has_fault(reading, "inputs.pickup.quantity")) {
        return;
    }
    if (input->quantity != INPUT_VOLTAGE) {
        refuse_keys(reading, of_voltage, "this belongs to 'quantity: voltage' only",
            "leave it out, or mend the quantity");
    } else if (schema_has_key(reading, "inputs.pickup.integrator") &&
               schema_has_key(reading, "inputs.pickup.fluxmeter")) {
        schema_add_fault(reading, "inputs.pickup.fluxmeter",
            "given beside 'integrator', expected one of them: the integrator is a resistor and a "
            "capacitor, the fluxmeter an electronic one");
    }
    if (input->air_flux_removed && input->quantity != INPUT_FLUX_LINKAGE) {
        schema_add_fault(reading, "inputs.pickup.air_flux",
            "'removed' belongs to 'quantity: flux linkage' only; leave it out");
    }
}

static bool is_same(const char *a, const char *b)
{
    return a != NULL && b != NULL && strcmp(a, b) == 0;
}

static void check_channels(struct schema_reading *reading, const struct rig *rig)
{
    if (is_same(rig->excitation.channel, rig->pickup.channel)) {
        schema_add_fault(reading, "inputs.pickup.channel",
            "'%.60s' is the channel of the excitation already", rig->pickup.channel);
    }
    if (is_same(rig->time_column, rig->excitation.channel) ||
        is_same(rig->time_column, rig->pickup.channel)) {
        schema_add_fault(
            reading, "timing.time", "'%.60s' is the channel of an input already", rig->time_column);
    }
}

static void check_trace(struct schema_reading *reading, const struct rig *rig)
{
    static const char *const of_time[] = {
        "timing.time", "timing.sample_rate", "timing.pickup_delay", "timing.clock", NULL};
    static const char *const of_frequency[] = {
        "coupling.corner", "inputs.excitation.corner", "inputs.pickup.corner", NULL};
    static const char *const of_speed[] = {"inputs.excitation.inductance", NULL};
    refuse_keys(reading, of_time, "a trace has no time axis", "leave this or 'trace: yes' out");
    refuse_keys(reading, of_speed, "a trace is too slow for an inductance", "leave it out");
    refuse_keys(reading, of_frequency, "a trace cannot come through an AC-coupled input",
        "leave this or 'trace: yes' out");
    if (schema_has_key(reading, "inputs.pickup.integrator")) {
        schema_add_fault(reading, "inputs.pickup.integrator",
            "a resistor and a capacitor cannot integrate a slow trace; with an electronic "
            "integrator write 'fluxmeter: 10 mWb/V'");
    } else if (rig->pickup.quantity == INPUT_VOLTAGE &&
               !schema_has_fault(reading, "inputs.pickup.quantity") &&
               schema_has_key(reading, "inputs.pickup") &&
               !schema_has_key(reading, "inputs.pickup.fluxmeter")) {
        schema_add_fault(reading, "inputs.pickup",
            "a trace cannot integrate a voltage: it needs 'fluxmeter', or 'quantity: flux "
            "linkage', 'flux density' or 'polarization'");
    }
}

static void check_timing(struct schema_reading *reading, const struct rig *rig)
{
    if (rig->is_trace) {
        check_trace(reading, rig);
        return;
    }
    if (schema_has_key(reading, "timing.drift") && !schema_has_fault(reading, "timing.trace")) {
        schema_add_fault(
            reading, "timing.drift", "this belongs to 'trace: yes' only; leave it out");
    }
    if (schema_has_key(reading, "timing.time") && schema_has_key(reading, "timing.sample_rate")) {
        schema_add_fault(reading, "timing.sample_rate",
            "given beside 'time', expected one of them: the rate is for tables without a time "
            "column");
    }
}

static void check_calibration(struct schema_reading *reading, const struct rig *rig)
{
    long day;
    struct error err;
    if (rig->calibration_date != NULL && date_read(rig->calibration_date, &day, &err)) {
        schema_add_fault(reading, "calibration.date", "%s; %s", err.message, err.hint);
    }
}

static void set_default(struct quantity *quantity, double value)
{
    if (!quantity->is_present) {
        quantity->value = value;
    }
}

void rig_check(struct schema_reading *reading, void *target)
{
    struct rig *rig = target;
    check_excitation(reading, &rig->excitation);
    check_pickup(reading, &rig->pickup);
    check_load(reading, "excitation", &rig->excitation,
        rig->excitation.shunt.is_present && !rig->excitation.divider.is_present, false);
    check_load(reading, "pickup", &rig->pickup, rig->pickup.integrator_resistance.is_present,
        rig->pickup.integrator_resistance.is_present);
    check_channels(reading, rig);
    check_timing(reading, rig);
    check_calibration(reading, rig);
    schema_check_within(reading, "winding", winding_check, &rig->winding);
    set_default(&rig->excitation.divider, 1);
    set_default(&rig->pickup.divider, 1);
    set_default(&rig->clock, 1);
    set_default(&rig->field_repeat, 1);
    set_default(&rig->flux_density_repeat, 1);
}

enum dimension input_quantity_get_dimension(enum input_quantity quantity)
{
    static const enum dimension dimensions[] = {
        [INPUT_VOLTAGE] = DIMENSION_VOLTAGE,
        [INPUT_CURRENT] = DIMENSION_CURRENT,
        [INPUT_FIELD_STRENGTH] = DIMENSION_FIELD_STRENGTH,
        [INPUT_FLUX_LINKAGE] = DIMENSION_FLUX,
        [INPUT_FLUX_DENSITY] = DIMENSION_FLUX_DENSITY,
        [INPUT_POLARIZATION] = DIMENSION_FLUX_DENSITY,
    };
    return dimensions[quantity];
}

double rig_input_get_load(const struct rig_input *input)
{
    if (!input->input_resistance.is_present) {
        return 1;
    }
    double source = 0;
    if (input->source_resistance.is_present) {
        source = input->source_resistance.value;
    } else if (input->shunt.is_present) {
        source = rig_input_get_shunt(input);
    }
    if (input->integrator_resistance.is_present) {
        source += input->integrator_resistance.value;
    }
    return 1 + source / input->input_resistance.value;
}

double rig_input_get_shunt(const struct rig_input *input)
{
    double warmer = input->shunt_actual.value - input->shunt_reference.value;
    return input->shunt_coefficient.is_present
               ? input->shunt.value * (1 + input->shunt_coefficient.value * warmer)
               : input->shunt.value;
}

enum status rig_read(const char *path, struct rig *rig, struct error *err)
{
    struct rig made = {0};
    enum status status = schema_read(path, rig_schema, rig_check, &made, err);
    if (status == STATUS_OK) {
        made.file = memory_copy_text(path);
        status = made.file != NULL ? STATUS_OK : fail_memory(err);
    }
    if (status != STATUS_OK) {
        rig_clear(&made);
        return status;
    }
    *rig = made;
    return STATUS_OK;
}

void rig_clear(struct rig *rig)
{
    schema_clear(rig_schema, rig);
    memory_destroy(rig->file);
    *rig = (struct rig){0};
}
