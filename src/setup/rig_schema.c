// SPDX-License-Identifier: GPL-3.0-or-later
/* What stands in a rig.yaml. docs/files.md explains every key. */
#include <stddef.h>

#include "setup/tables.h"

/* What a bench can possibly be. Beyond these limits stands a slip, mostly of a prefix. */
static const struct schema_range full_scale_range = {.lowest = 0,
    .highest = 1e6,
    .said = "more than 0, at most 1 MV",
    .slip = "did you mean mV or V?"};
static const struct schema_range shunt_range = {.lowest = 0,
    .highest = 1e6,
    .said = "more than 0, at most 1 Mohm",
    .slip = "did you mean mohm or ohm?"};
static const struct schema_range inductance_range = {.lowest = 0,
    .highest = 1,
    .is_lowest_allowed = true,
    .said = "0 to 1 H",
    .slip = "did you mean nH or uH?"};
static const struct schema_range transfer_range = {.lowest = 0,
    .highest = 1e7,
    .said = "more than 0, at most 1e7 A/V",
    .slip = "for a turned sensor write 'invert: yes'"};
static const struct schema_range divider_range = {.lowest = 0,
    .highest = 1e6,
    .said = "more than 0, at most 1e6",
    .slip = "for a turned input write 'invert: yes'"};
static const struct schema_range corner_range = {.lowest = 0,
    .highest = 1e6,
    .said = "more than 0, at most 1 MHz",
    .slip = "leave it out for a DC-coupled input; did you mean Hz or mHz?"};
static const struct schema_range resistance_range = {.lowest = 0,
    .highest = 1e12,
    .said = "more than 0, at most 1e12 ohm",
    .slip = "did you mean kohm?"};
static const struct schema_range coefficient_range = {.lowest = -0.1,
    .highest = 0.1,
    .is_lowest_allowed = true,
    .said = "-10 %/K to 10 %/K",
    .slip = "did you mean ppm/K?"};
static const struct schema_range temperature_range = {.lowest = 0,
    .highest = 2000,
    .said = "above absolute zero (-273.15 degC), at most 2000 K",
    .slip = "check its sign and unit"};
static const struct schema_range capacitance_range = {
    .lowest = 0, .highest = 1, .said = "more than 0, at most 1 F", .slip = "did you mean uF?"};
static const struct schema_range fluxmeter_range = {.lowest = 0,
    .highest = 1e3,
    .said = "more than 0, at most 1000 Wb/V",
    .slip = "did you mean mWb/V? For a turned coil write 'invert: yes'"};
static const struct schema_range rate_range = {.lowest = 0,
    .highest = 1e9,
    .said = "more than 0, at most 1 GHz",
    .slip = "did you mean Hz or kHz?"};
static const struct schema_range delay_range = {.lowest = -1,
    .highest = 1,
    .is_lowest_allowed = true,
    .said = "-1 s to 1 s",
    .slip = "did you mean us or ms?"};
static const struct schema_range interval_range = {
    .lowest = 0, .highest = 1e10, .said = "more than 0, at most 1e10 s", .slip = "a year is 365 d"};
static const struct schema_range repeat_range = {.lowest = 1,
    .highest = 1,
    .is_lowest_allowed = true,
    .said = "1, with what it varies by",
    .slip = "such as '1 +- 0.3 %'"};
static const struct schema_range factor_range = {.lowest = 0.5,
    .highest = 2,
    .is_lowest_allowed = true,
    .said = "a factor close to 1",
    .slip = "write the factor and how well it is known: '1 +- 50 ppm'"};
const struct schema_word excitation_quantity_words[] = {
    {"voltage", INPUT_VOLTAGE},
    {"current", INPUT_CURRENT},
    {"field strength", INPUT_FIELD_STRENGTH},
    {NULL, 0},
};
const struct schema_word pickup_quantity_words[] = {
    {"voltage", INPUT_VOLTAGE},
    {"flux linkage", INPUT_FLUX_LINKAGE},
    {"flux density", INPUT_FLUX_DENSITY},
    {"polarization", INPUT_POLARIZATION},
    {NULL, 0},
};
const struct schema_word drift_words[] = {
    {"chord", TRACE_DRIFT_CHORD},
    {"linear", TRACE_DRIFT_LINEAR},
    {NULL, 0},
};
static const struct schema_word bias_words[] = {{"removed", false}, {"keep", true}, {NULL, 0}};
static const struct schema_word air_flux_words[] = {
    {"included", false}, {"removed", true}, {NULL, 0}};

#define INPUT(member) .offset = offsetof(struct rig_input, member)

static const struct schema_entry shunt_temperature_schema[] = {
    {"coefficient", SCHEMA_QUANTITY, .is_required = true, INPUT(shunt_coefficient),
        .dimension = DIMENSION_PER_TEMPERATURE, .range = &coefficient_range},
    {"reference", SCHEMA_QUANTITY, .is_required = true, INPUT(shunt_reference),
        .dimension = DIMENSION_TEMPERATURE, .range = &temperature_range},
    {"actual", SCHEMA_QUANTITY, .is_required = true, INPUT(shunt_actual),
        .dimension = DIMENSION_TEMPERATURE, .range = &temperature_range},
    {.key = NULL},
};

#define LOAD                                                                                       \
    {"input_resistance", SCHEMA_QUANTITY, INPUT(input_resistance),                                 \
        .dimension = DIMENSION_RESISTANCE, .range = &resistance_range},                            \
    {                                                                                              \
        "source_resistance", SCHEMA_QUANTITY, INPUT(source_resistance),                            \
            .dimension = DIMENSION_RESISTANCE, .range = &resistance_range                          \
    }

static const struct schema_entry excitation_schema[] = {
    {"channel", SCHEMA_CHANNEL, .is_required = true, INPUT(channel)},
    {"quantity", SCHEMA_WORD, INPUT(quantity), .words = excitation_quantity_words},
    {"full_scale", SCHEMA_QUANTITY, INPUT(full_scale), .dimension = DIMENSION_VOLTAGE,
        .range = &full_scale_range},
    {"shunt", SCHEMA_QUANTITY, INPUT(shunt), .dimension = DIMENSION_RESISTANCE,
        .range = &shunt_range},
    {"inductance", SCHEMA_QUANTITY, INPUT(inductance), .dimension = DIMENSION_INDUCTANCE,
        .range = &inductance_range},
    {"shunt_temperature", SCHEMA_MAP, .map = shunt_temperature_schema},
    {"transfer", SCHEMA_QUANTITY, INPUT(transfer), .dimension = DIMENSION_TRANSFER,
        .range = &transfer_range},
    {"divider", SCHEMA_QUANTITY, INPUT(divider), .dimension = DIMENSION_NUMBER,
        .range = &divider_range},
    LOAD,
    {"corner", SCHEMA_QUANTITY, INPUT(corner), .dimension = DIMENSION_FREQUENCY,
        .range = &corner_range},
    {"invert", SCHEMA_FLAG, INPUT(is_inverted), .words = schema_yes_no},
    {"bias", SCHEMA_FLAG, INPUT(keeps_bias), .words = bias_words},
    {.key = NULL},
};

static const struct schema_entry integrator_schema[] = {
    {"resistance", SCHEMA_QUANTITY, .is_required = true, INPUT(integrator_resistance),
        .dimension = DIMENSION_RESISTANCE, .range = &resistance_range},
    {"capacitance", SCHEMA_QUANTITY, .is_required = true, INPUT(integrator_capacitance),
        .dimension = DIMENSION_CAPACITANCE, .range = &capacitance_range},
    {.key = NULL},
};

static const struct schema_entry pickup_schema[] = {
    {"channel", SCHEMA_CHANNEL, .is_required = true, INPUT(channel)},
    {"quantity", SCHEMA_WORD, INPUT(quantity), .words = pickup_quantity_words},
    {"full_scale", SCHEMA_QUANTITY, INPUT(full_scale), .dimension = DIMENSION_VOLTAGE,
        .range = &full_scale_range},
    {"divider", SCHEMA_QUANTITY, INPUT(divider), .dimension = DIMENSION_NUMBER,
        .range = &divider_range},
    LOAD,
    {"corner", SCHEMA_QUANTITY, INPUT(corner), .dimension = DIMENSION_FREQUENCY,
        .range = &corner_range},
    {"invert", SCHEMA_FLAG, INPUT(is_inverted), .words = schema_yes_no},
    {"integrator", SCHEMA_MAP, .map = integrator_schema},
    {"fluxmeter", SCHEMA_QUANTITY, INPUT(fluxmeter), .dimension = DIMENSION_FLUX_PER_VOLT,
        .range = &fluxmeter_range},
    {"air_flux", SCHEMA_FLAG, INPUT(air_flux_removed), .words = air_flux_words},
    {.key = NULL},
};

static const struct schema_entry inputs_schema[] = {
    {"excitation", SCHEMA_MAP, .is_required = true, .offset = offsetof(struct rig, excitation),
        .map = excitation_schema},
    {"pickup", SCHEMA_MAP, .is_required = true, .offset = offsetof(struct rig, pickup),
        .map = pickup_schema},
    {"same_calibrator", SCHEMA_FLAG, .offset = offsetof(struct rig, has_same_calibrator),
        .words = schema_yes_no},
    {.key = NULL},
};

static const struct schema_entry timing_schema[] = {
    {"time", SCHEMA_CHANNEL, .offset = offsetof(struct rig, time_column)},
    {"sample_rate", SCHEMA_QUANTITY, .offset = offsetof(struct rig, sample_rate),
        .dimension = DIMENSION_FREQUENCY, .range = &rate_range},
    {"trace", SCHEMA_FLAG, .offset = offsetof(struct rig, is_trace), .words = schema_yes_no},
    {"drift", SCHEMA_WORD, .offset = offsetof(struct rig, drift), .words = drift_words},
    {"pickup_delay", SCHEMA_QUANTITY, .offset = offsetof(struct rig, pickup_delay),
        .dimension = DIMENSION_TIME, .range = &delay_range},
    {"clock", SCHEMA_QUANTITY, .offset = offsetof(struct rig, clock), .dimension = DIMENSION_NUMBER,
        .range = &factor_range},
    {.key = NULL},
};

static const struct schema_entry reproducibility_schema[] = {
    {"field", SCHEMA_QUANTITY, .offset = offsetof(struct rig, field_repeat),
        .dimension = DIMENSION_NUMBER, .range = &repeat_range},
    {"flux_density", SCHEMA_QUANTITY, .offset = offsetof(struct rig, flux_density_repeat),
        .dimension = DIMENSION_NUMBER, .range = &repeat_range},
    {.key = NULL},
};

static const struct schema_entry coupling_schema[] = {
    {"corner", SCHEMA_QUANTITY, .is_required = true, .offset = offsetof(struct rig, corner),
        .dimension = DIMENSION_FREQUENCY, .range = &corner_range},
    {.key = NULL},
};

static const struct schema_entry calibration_schema[] = {
    {"date", SCHEMA_TEXT, .is_required = true, .offset = offsetof(struct rig, calibration_date)},
    {"interval", SCHEMA_QUANTITY, .offset = offsetof(struct rig, calibration_interval),
        .dimension = DIMENSION_TIME, .range = &interval_range},
    {.key = NULL},
};

const struct schema_entry rig_schema[] = {
    {"name", SCHEMA_TEXT, .offset = offsetof(struct rig, name)},
    {"inputs", SCHEMA_MAP, .is_required = true, .map = inputs_schema},
    {"timing", SCHEMA_MAP, .map = timing_schema},
    {"coupling", SCHEMA_MAP, .map = coupling_schema},
    {"reproducibility", SCHEMA_MAP, .map = reproducibility_schema},
    {"winding", SCHEMA_MAP, .offset = offsetof(struct rig, winding), .map = winding_schema,
        .has_presence = true,
        .presence = offsetof(struct rig, winding) + offsetof(struct winding, is_present)},
    {"calibration", SCHEMA_MAP, .map = calibration_schema},
    {.key = NULL},
};
