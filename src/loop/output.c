// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>

#include "base/memory.h"
#include "base/version.h"
#include "loop/loop.h"

/* Linear in row number along the closed polygon, from the lowest field. */
static void sample_trace(const struct loop *loop, size_t count, double *field, double *flux_density)
{
    const size_t rows = loop->trace_count;
    size_t lowest = 0;
    for (size_t i = 0; i < rows; i++) {
        lowest = loop->trace_field[i] < loop->trace_field[lowest] ? i : lowest;
    }
    for (size_t n = 0; n < count; n++) {
        const double place = (double)rows * (double)n / (double)count;
        const size_t whole = (size_t)place;
        const double share = place - (double)whole;
        const size_t i = (lowest + whole) % rows, j = (i + 1) % rows;
        field[n] = loop->trace_field[i] + share * (loop->trace_field[j] - loop->trace_field[i]);
        flux_density[n] = loop->trace_flux_density[i] +
                          share * (loop->trace_flux_density[j] - loop->trace_flux_density[i]);
    }
}

enum status loop_compute_points(
    const struct loop *loop, size_t count, double *field, double *flux_density, struct error *err)
{
    if (!loop->is_trace) {
        return fourier_loop_compute_points(&loop->series, count, field, flux_density, err);
    }
    if (loop->trace_count > 0) {
        sample_trace(loop, count, field, flux_density);
    }
    return STATUS_OK;
}

static void write_capture(struct json *json, const struct loop *loop)
{
    json_begin_object(json, "capture");
    json_add_text(json, "file", loop->file);
    json_add_text(json, "sha256", loop->sha256);
    json_add_integer(json, "channels", (long long)loop->channels);
    json_add_integer(json, "frames", (long long)loop->frames);
    if (loop->sample_rate_Hz > 0.0) {
        json_add_number(json, "sample_rate_Hz", loop->sample_rate_Hz);
    }
    if (!loop->is_trace) {
        json_add_number(json, "start_s", loop->start_s);
        json_add_number(json, "length_s", loop->length_s);
    }
    json_end_object(json);
}

static enum status write_points(
    struct json *json, const struct loop *loop, size_t count, struct error *err)
{
    double *field = memory_create(count, sizeof *field);
    double *flux_density = memory_create(count, sizeof *flux_density);
    enum status status = field == NULL || flux_density == NULL
                             ? fail_memory(err)
                             : loop_compute_points(loop, count, field, flux_density, err);
    if (status == STATUS_OK) {
        json_begin_object(json, "points");
        json_add_numbers(json, "field_A_per_m", field, count);
        json_add_numbers(json, "flux_density_T", flux_density, count);
        json_end_object(json);
    }
    memory_destroy(field);
    memory_destroy(flux_density);
    return status;
}

enum status loop_write_members(struct json *json, const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, size_t points, struct error *err)
{
    json_add_text(json, "schema", "lodecard-loop/1");
    json_add_text(json, "version", LODECARD_VERSION);
    write_capture(json, loop);
    rig_write_json(json, "rig", rig);
    specimen_write_json(json, "specimen", specimen);
    figures_write_json(json, "figures", &loop->figures);
    notes_write_json(json, "notes", &loop->notes);
    return points > 0 && (loop->series.harmonics > 0 || loop->trace_count > 0)
               ? write_points(json, loop, points, err)
               : STATUS_OK;
}

enum status loop_write_json(const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, size_t points, int indent, struct text *out, struct error *err)
{
    struct json json;
    json_init(&json, out, indent);
    json_begin_object(&json, NULL);
    enum status status = loop_write_members(&json, loop, rig, specimen, points, err);
    json_end_object(&json);
    json_finish(&json);
    if (status == STATUS_OK && out->failed) {
        status = fail_memory(err);
    }
    return status;
}
