// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/ring_check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "series/steel.h"
#include "setup/tables.h"
#include "virtual/ring.h"
#include "virtual/ring_layout.h"
#include "virtual/ring_schema.h"
#include "virtual/ring_series.h"

static void check_limits(
    struct schema_reading *reading, const struct model *model, const double *parameters)
{
    char path[120];
    for (size_t i = 0; i < model->parameter_count; i++) {
        const struct model_parameter *limit = &model->parameters[i];
        snprintf(path, sizeof path, "model.%s.%s", model->name, limit->key);
        if (schema_has_key(reading, path) && !schema_has_fault(reading, path) &&
            !(parameters[i] >= limit->lowest && parameters[i] <= limit->highest))
            schema_add_fault(reading, path, "%g %s (%s), it must lie in %g ... %g", parameters[i],
                dimension_get_unit(limit->dimension), limit->meaning, limit->lowest,
                limit->highest);
    }
}

static void take_model(struct schema_reading *reading, struct ring *ring, size_t index)
{
    struct error err;
    ring->model = model_list[index];
    for (size_t i = 0; i < ring->model->parameter_count; i++)
        ring->parameters[i] = ring->models[index].list[i].value;
    check_limits(reading, ring->model, ring->parameters);
    if (ring->model->check && !schema_has_fault(reading, "model") &&
        ring->model->check(ring->parameters, &err))
        schema_add_fault(reading, "model", "%s; %s", err.message, err.hint);
}

static void check_model(struct schema_reading *reading, struct ring *ring)
{
    size_t count = 0;
    for (size_t i = 0; model_list[i]; i++) {
        if (!ring->models[i].is_present)
            continue;
        if (count++ == 0)
            take_model(reading, ring, i);
    }
    if (count != 1 && !schema_has_fault(reading, "model"))
        schema_add_fault(reading, "model", "it holds %zu models, expected one", count);
    bool has_field = schema_has_key(reading, "drive.field_peak");
    if (has_field == schema_has_key(reading, "drive.flux_density_peak"))
        schema_add_fault(reading, "drive",
            "a model is driven by exactly one of 'field_peak: 30 kA/m' (sinusoidal field) and "
            "'flux_density_peak: 1.2 T' (sinusoidal flux density); %s",
            has_field ? "both are given" : "both are missing");
}

/* Losses are energies at a sinusoidal flux density; the eddy currents want to know the section. */
static void check_losses(struct schema_reading *reading, const struct ring *ring)
{
    struct series_steel steel;
    struct error err;
    if (!ring->losses.is_present)
        return;
    if (!ring->drive.flux_density_peak.is_present || !ring->drive.frequency.is_present)
        schema_add_fault(reading, "losses",
            "they are known at a sinusoidal flux density: order 'drive: {frequency: 20 Hz, "
            "flux_density_peak: 1 T}'");
    if (!ring->losses.has_eddy_currents || schema_has_fault(reading, "specimen"))
        return;
    if (steel_set(&steel, &ring->specimen, &err))
        return;
    if (!steel.resistivity.is_present || !steel.thickness.is_present)
        schema_add_fault(reading, "losses.eddy_currents", "the specimen does not tell its %s",
            steel.resistivity.is_present ? "sheet_thickness" : "resistivity");
    steel_clear(&steel);
}

static void read_terms(struct schema_reading *reading, const char *key, struct ring_series *series,
    enum dimension dimension)
{
    struct error err;
    if (series->words && ring_series_read(series, dimension, &err))
        schema_add_fault(reading, key, "%s; %s", err.message, err.hint);
    else if (series->words && ring_series_get_harmonics(series) == 0)
        schema_add_fault(reading, key, "there is no harmonic from 1 up");
}

static void refuse_keys(struct schema_reading *reading, const char *const *keys, const char *why)
{
    for (; *keys; keys++)
        if (schema_has_key(reading, *keys))
            schema_add_fault(reading, *keys, "%s; leave it out", why);
}

static void require_terms(
    struct schema_reading *reading, const char *key, const char *name, const char *why)
{
    if (!schema_has_key(reading, key) && !schema_has_fault(reading, "series"))
        schema_add_fault(reading, "series", "'%s' is missing: %s", name, why);
}

/* A voltage at the inputs comes as an ordered series. */
static void check_voltage(struct schema_reading *reading, struct ring *ring)
{
    static const char *const of_ring[] = {"model", "series.field", "series.flux_density",
        "drive.field_peak", "drive.flux_density_peak", "drive.harmonics", NULL};
    refuse_keys(reading, of_ring, "an ordered voltage is recorded, and no ring");
    require_terms(reading, schema_has_key(reading, "series") ? "series.voltage" : "series",
        "voltage", "the terms of what is played");
    read_terms(reading, "series.voltage", &ring->voltage, DIMENSION_VOLTAGE);
}

static void check_kind(struct schema_reading *reading, const struct ring *ring)
{
    static const char *const of_shunt[] = {"recording.reference", "recording.inductance", NULL};
    static const char *const of_tone[] = {"recording.terminated", NULL};
    const enum ring_kind kind = ring->recording.kind;
    const struct rig *rig = &ring->rig;
    if (kind != RING_KIND_SHUNT)
        refuse_keys(reading, of_shunt, "this is for 'kind: shunt comparison'");
    else if (!ring->recording.reference.is_present && !schema_has_fault(reading, "recording"))
        schema_add_fault(reading, "recording", "'reference: 0.1 ohm' is missing");
    else if (!rig->excitation.shunt.is_present && !schema_has_fault(reading, "rig"))
        schema_add_fault(reading, "recording.kind", "the rig has no shunt to compare");
    if (kind != RING_KIND_TONE)
        refuse_keys(reading, of_tone, "this is for 'kind: tone'");
    bool has_voltages = rig->excitation.quantity == INPUT_VOLTAGE &&
                        rig->pickup.quantity == INPUT_VOLTAGE && !rig->is_trace;
    bool has_crosstalk = schema_has_key(reading, "faults.crosstalk");
    if (schema_has_fault(reading, "rig") || has_voltages)
        return;
    if (kind != RING_KIND_LOOP)
        schema_add_fault(
            reading, "recording.kind", "a recording to calibrate with has voltages at both inputs");
    else if (has_crosstalk)
        schema_add_fault(reading, "faults.crosstalk", "it is for voltages at both inputs");
}

static void check_ring(struct schema_reading *reading, struct ring *ring)
{
    static const char *const of_model[] = {
        "drive.field_peak", "drive.flux_density_peak", "drive.harmonics", NULL};
    static const char *const of_steel[] = {"series.flux_density", NULL};
    bool has_model = schema_has_key(reading, "model");
    if (has_model && schema_has_key(reading, "series"))
        schema_add_fault(reading, "series", "given beside 'model', expected one of them");
    if (!has_model && !schema_has_key(reading, "series"))
        schema_add_fault(reading, "", "'model' or 'series' is missing");
    if (has_model) {
        check_model(reading, ring);
        check_losses(reading, ring);
        return;
    }
    refuse_keys(reading, of_model, "this drives a model, and a series is ordered");
    require_terms(reading, "series.field", "field", "the terms of H");
    if (ring->recording.kind == RING_KIND_LOOP)
        require_terms(reading, "series.flux_density", "flux_density", "the terms of B");
    else
        refuse_keys(reading, of_steel, "there is no steel in this recording");
    read_terms(reading, "series.field", &ring->field, DIMENSION_FIELD_STRENGTH);
    read_terms(reading, "series.flux_density", &ring->flux_density, DIMENSION_FLUX_DENSITY);
}

/* A waveform comes from a model or from an ordered series. */
static void check_source(struct schema_reading *reading, struct ring *ring)
{
    static const char *const of_voltage[] = {"series.voltage", NULL};
    check_kind(reading, ring);
    if (ring_is_voltage(ring)) {
        check_voltage(reading, ring);
        return;
    }
    refuse_keys(reading, of_voltage, "this is for 'kind: loopback' and 'kind: tone'");
    check_ring(reading, ring);
}

static void check_winding(struct schema_reading *reading, const struct ring *ring)
{
    const struct winding *winding = ring_get_winding(ring);
    enum input_quantity pickup = ring->rig.pickup.quantity;
    if (schema_has_fault(reading, "rig") || schema_has_fault(reading, "specimen"))
        return;
    if (!winding->primary_turns.is_present && ring->rig.excitation.quantity != INPUT_FIELD_STRENGTH)
        schema_add_fault(reading, "rig.winding", "'primary_turns' is missing");
    if (!winding->secondary_turns.is_present &&
        (pickup == INPUT_VOLTAGE || pickup == INPUT_FLUX_LINKAGE))
        schema_add_fault(reading, "rig.winding", "'secondary_turns' is missing");
}

/* Levels are texts until the rig has told what the input records. */
static void read_levels(struct schema_reading *reading, const struct ring *ring, const char *fault,
    struct ring_levels *levels, bool is_magnitude)
{
    static const char *const inputs[] = {"excitation", "pickup"};
    for (int i = 0; i < RING_INPUTS; i++) {
        char path[80];
        struct quantity quantity;
        struct error err;
        if (!levels->words[i])
            continue;
        snprintf(path, sizeof path, "faults.%s.%s", fault, inputs[i]);
        if (quantity_read(
                levels->words[i], ring_get_dimension(ring, (enum ring_input)i), &quantity, &err))
            schema_add_fault(reading, path, "%s; %s", err.message, err.hint);
        else if (is_magnitude && !(quantity.value >= 0.0))
            schema_add_fault(
                reading, path, "'%s' is negative, expected 0 or more", levels->words[i]);
        else
            levels->values[i] = quantity.value;
    }
}

static void check_faults(struct schema_reading *reading, struct ring *ring)
{
    static const char *const of_time[] = {"faults.skew", "faults.coupling", "faults.hum",
        "faults.clock_error", "faults.amplitude_ramp", "faults.frequency_drift", "faults.aliases",
        NULL};
    struct ring_faults *faults = &ring->faults;
    if (!schema_has_fault(reading, "rig.inputs")) {
        read_levels(reading, ring, "noise", &faults->noise, true);
        read_levels(reading, ring, "offset", &faults->offset, false);
        read_levels(reading, ring, "drift", &faults->drift, false);
        read_levels(reading, ring, "clipping", &faults->clipping, true);
        read_levels(reading, ring, "hum", &faults->hum, true);
    }
    if (ring->rig.is_trace)
        refuse_keys(reading, of_time, "a trace has no time axis");
}

void ring_check(struct schema_reading *reading, void *target)
{
    struct ring *ring = target;
    schema_check_within(reading, "rig", rig_check, &ring->rig);
    schema_check_within(reading, "specimen", specimen_check, &ring->specimen);
    check_source(reading, ring);
    check_winding(reading, ring);
    check_faults(reading, ring);
    ring_layout_check(reading, ring);
}
