// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/truth.h"

#include <complex.h>
#include <math.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/version.h"
#include "virtual/ring_losses.h"
#include "virtual/ring_schema.h"

/* What a trace cannot have. */
static const enum figure figures_of_time[] = {FIGURE_FREQUENCY, FIGURE_CYCLES, FIGURE_HARMONICS,
    FIGURE_LOSS, FIGURE_SPECIFIC_LOSS, FIGURE_LAG_ANGLE, FIGURE_LAG_ANGLE_AREA, FIGURE_FORM_FACTOR,
    FIGURE_FLUX_DISTORTION};

static enum status compute_figures(const struct ring *ring, const struct fourier_loop *waves,
    struct figures *figures, struct error *err)
{
    const struct quantity *density = &ring->specimen.density;
    bool keeps_bias = ring->rig.excitation.keeps_bias;
    enum status status = fourier_loop_compute_figures(
        waves, ring->frequency_Hz, density->is_present ? density->value : 0.0, figures, err);
    if (status)
        return status;
    if (ring->rig.is_trace) {
        for (size_t i = 0; i < sizeof figures_of_time / sizeof figures_of_time[0]; i++)
            figures->list[figures_of_time[i]] = (struct figure_value){0};
        return STATUS_OK;
    }
    figures_set(
        figures, FIGURE_CYCLES, (double)ring->rows * ring->frequency_Hz / ring->sample_rate_Hz);
    if (keeps_bias)
        figures_set(figures, FIGURE_FIELD_BIAS, creal(waves->field[0]));
    return STATUS_OK;
}

enum status truth_compute(const struct ring *ring, const struct fourier_loop *waves,
    struct figures *figures, struct error *err)
{
    /* In a periodic capture a mean carries no field, unless the rig keeps it. */
    double complex mean = waves->field[0];
    if (!ring->rig.excitation.keeps_bias && !ring->rig.is_trace)
        waves->field[0] = 0.0;
    enum status status = compute_figures(ring, waves, figures, err);
    waves->field[0] = mean;
    return status;
}

/* One part of the coefficients, 0 ... K. */
static enum status add_part(struct json *json, const char *key, const double complex *c,
    size_t count, double (*get_part)(double complex))
{
    double *values = memory_create(count, sizeof *values);
    if (values == NULL)
        return STATUS_FAULT;
    for (size_t k = 0; k < count; k++)
        values[k] = get_part(c[k]);
    json_add_numbers(json, key, values, count);
    memory_destroy(values);
    return STATUS_OK;
}

static enum status add_series(struct json *json, const struct fourier_loop *waves)
{
    size_t count = waves->harmonics + 1;
    json_begin_object(json, "series");
    enum status status = add_part(json, "field_real_A_per_m", waves->field, count, creal);
    if (!status)
        status = add_part(json, "field_imaginary_A_per_m", waves->field, count, cimag);
    if (!status)
        status = add_part(json, "flux_density_real_T", waves->flux_density, count, creal);
    if (!status)
        status = add_part(json, "flux_density_imaginary_T", waves->flux_density, count, cimag);
    json_end_object(json);
    return status;
}

static enum status add_voltage(struct json *json, const struct fourier_loop *waves)
{
    size_t count = waves->harmonics + 1;
    json_begin_object(json, "series");
    enum status status = add_part(json, "voltage_real_V", waves->field, count, creal);
    if (!status)
        status = add_part(json, "voltage_imaginary_V", waves->field, count, cimag);
    json_end_object(json);
    return status;
}

static void add_source(struct json *json, const struct ring *ring)
{
    if (ring->model == NULL) {
        json_add_text(json, "model", NULL);
        return;
    }
    json_begin_object(json, "model");
    json_add_text(json, "name", ring->model->name);
    for (size_t i = 0; i < ring->model->parameter_count; i++)
        json_add_number(json, ring->model->parameters[i].key, ring->parameters[i]);
    json_add_text(
        json, "sinusoidal", ring->drive.field_peak.is_present ? "field strength" : "flux density");
    json_end_object(json);
}

/* The area is that of the series that is recorded: the static loop's is what the terms leave. */
static void add_separation(
    struct json *json, const struct ring *ring, const struct figures *figures)
{
    struct ring_terms terms;
    struct error err;
    if (ring_losses_compute(ring, &terms, &err))
        return;
    json_begin_object(json, "separation");
    json_add_number(json, "hysteresis_J_per_m3",
        figures->list[FIGURE_LOOP_AREA].value - terms.classical_J_s_per_m3 * ring->frequency_Hz -
            terms.excess_J_per_m3_per_sqrt_Hz * sqrt(ring->frequency_Hz));
    json_add_number(json, "classical_J_s_per_m3", terms.classical_J_s_per_m3);
    json_add_number(json, "excess_J_per_m3_per_sqrt_Hz", terms.excess_J_per_m3_per_sqrt_Hz);
    json_end_object(json);
}

static void add_levels(struct json *json, const char *key, const struct ring_levels *levels)
{
    if (levels->words[RING_EXCITATION] == NULL && levels->words[RING_PICKUP] == NULL)
        return;
    json_begin_object(json, key);
    if (levels->words[RING_EXCITATION])
        json_add_number(json, "excitation", levels->values[RING_EXCITATION]);
    if (levels->words[RING_PICKUP])
        json_add_number(json, "pickup", levels->values[RING_PICKUP]);
    json_end_object(json);
}

static void add_pair(struct json *json, const char *key, const struct quantity *pair)
{
    if (!pair[RING_EXCITATION].is_present && !pair[RING_PICKUP].is_present)
        return;
    json_begin_object(json, key);
    if (pair[RING_EXCITATION].is_present)
        json_add_number(json, "excitation", pair[RING_EXCITATION].value);
    if (pair[RING_PICKUP].is_present)
        json_add_number(json, "pickup", pair[RING_PICKUP].value);
    json_end_object(json);
}

static void add_quantity(struct json *json, const char *key, const struct quantity *quantity)
{
    if (quantity->is_present)
        json_add_number(json, key, quantity->value);
}

static void add_faults(struct json *json, const struct ring_faults *faults)
{
    json_begin_object(json, "faults");
    add_levels(json, "noise", &faults->noise);
    add_levels(json, "offset", &faults->offset);
    add_levels(json, "drift", &faults->drift);
    add_levels(json, "clipping", &faults->clipping);
    add_levels(json, "hum", &faults->hum);
    add_quantity(json, "hum_frequency_Hz", &faults->hum_frequency);
    add_pair(json, "gain", faults->gain);
    add_pair(json, "coupling_Hz", faults->coupling);
    add_pair(json, "crosstalk", faults->crosstalk);
    if (faults->is_reversed[RING_EXCITATION])
        json_add_bool(json, "reversed_excitation", true);
    if (faults->is_reversed[RING_PICKUP])
        json_add_bool(json, "reversed_pickup", true);
    if (faults->is_swapped)
        json_add_bool(json, "swapped", true);
    add_quantity(json, "skew_s", &faults->skew);
    add_quantity(json, "clock_error", &faults->clock_error);
    add_quantity(json, "amplitude_ramp_per_s", &faults->amplitude_ramp);
    add_quantity(json, "frequency_drift_per_s", &faults->frequency_drift);
    if (faults->missing_runs.is_present) {
        json_add_text(json, "missing", schema_find_word(ring_missing_words, faults->missing_kind));
        json_add_number(json, "missing_runs", faults->missing_runs.value);
        json_add_number(json, "missing_length", faults->missing_length.value);
    }
    if (faults->has_aliases)
        json_add_bool(json, "aliases", true);
    json_end_object(json);
}

enum status truth_write_json(const struct ring *ring, const struct fourier_loop *waves,
    const char *file, size_t rows, uint64_t seed, struct text *out, struct error *err)
{
    struct figures figures = {0};
    struct json json;
    bool is_loop = ring->recording.kind == RING_KIND_LOOP;
    enum status status = is_loop ? truth_compute(ring, waves, &figures, err) : STATUS_OK;
    if (status)
        return status;
    json_init(&json, out, 2);
    json_begin_object(&json, NULL);
    json_add_text(&json, "schema", "lodecard-truth/1");
    json_add_text(&json, "version", LODECARD_VERSION);
    json_begin_object(&json, "capture");
    json_add_text(&json, "file", file);
    json_add_integer(&json, "rows", (long long)rows);
    json_add_number(&json, "sample_rate_Hz", ring->sample_rate_Hz);
    if (!is_loop)
        json_add_text(&json, "kind", schema_find_word(ring_kind_words, (int)ring->recording.kind));
    json_end_object(&json);
    if (is_loop)
        figures_write_json(&json, "figures", &figures);
    if (is_loop && ring->losses.is_present)
        add_separation(&json, ring, &figures);
    status = ring_is_voltage(ring) ? add_voltage(&json, waves) : add_series(&json, waves);
    add_source(&json, ring);
    add_faults(&json, &ring->faults);
    json_add_integer(&json, "seed", (long long)seed);
    json_end_object(&json);
    json_finish(&json);
    return status || out->failed ? fail_memory(err) : STATUS_OK;
}
