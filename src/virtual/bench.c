// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/bench.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "setup/tables.h"
#include "virtual/columns.h"
#include "virtual/describe.h"
#include "virtual/recorder.h"
#include "virtual/truth.h"
#include "virtual/waves.h"

static enum status get_path(
    struct text *path, const char *folder, const char *name, struct error *err)
{
    text_add_format(path, "%s/%s", folder, name);
    return path->failed ? fail_memory(err) : STATUS_OK;
}

static enum status write_text(
    const char *folder, const char *name, const struct text *text, struct error *err)
{
    struct text path = {0};
    if (text->failed)
        return fail_memory(err);
    enum status status = get_path(&path, folder, name, err);
    if (!status)
        status = file_write(path.bytes, text->bytes, text->length, err);
    text_clear(&path);
    return status;
}

/* The largest value of each input over its full scale, for the message when one passes it. */
struct peaks {
    double of_scale[RING_INPUTS];
};

static void place_rows(const struct columns *columns, const struct ring *ring,
    double values[RING_INPUTS][SIGNAL_BLOCK], size_t count, double *frames, struct peaks *peaks)
{
    for (size_t i = 0; i < count * columns->count; i++)
        frames[i] = 0.0;
    for (int input = 0; input < RING_INPUTS; input++) {
        for (size_t i = 0; i < count; i++) {
            double value = values[input][i] / columns->divisor[input];
            if (isnan(value) && !ring->is_table)
                value = 0.0; /* audio has no empty cells */
            frames[i * columns->count + columns->index[input]] = value;
            peaks->of_scale[input] = fmax(peaks->of_scale[input], fabs(value));
        }
    }
}

static enum status add_rows(struct writer *writer, const struct columns *columns,
    const struct recorder *recorder, struct peaks *peaks, struct error *err)
{
    enum status status = STATUS_OK;
    double *frames = memory_create(SIGNAL_BLOCK * columns->count, sizeof *frames);
    if (frames == NULL)
        return fail_memory(err);
    for (size_t row = 0; !status && row < recorder->rows; row += SIGNAL_BLOCK) {
        double values[RING_INPUTS][SIGNAL_BLOCK];
        double times[SIGNAL_BLOCK];
        size_t left = recorder->rows - row;
        size_t count = left < SIGNAL_BLOCK ? left : SIGNAL_BLOCK;
        recorder_compute(recorder, row, count, values, times);
        place_rows(columns, recorder->ring, values, count, frames, peaks);
        status = writer_add(writer, frames, *columns->time_header ? times : NULL, count, err);
    }
    memory_destroy(frames);
    return status;
}

/* A recording that ends at full scale without anybody having ordered it would be no truth. */
static enum status check_scale(const struct ring *ring, const struct writer *writer,
    const struct peaks *peaks, struct error *err)
{
    static const char *const names[] = {"excitation", "pickup"};
    for (int i = 0; i < RING_INPUTS; i++)
        if (writer_get_clipped(writer) > 0 && peaks->of_scale[i] >= 1.0 &&
            !ring->faults.clipping.words[i])
            return fail(err, STATUS_INPUT,
                "raise full_scale or the divider of that input, or order 'faults: clipping'",
                "the %s reaches %.4g V at a full scale of %.4g V", names[i],
                peaks->of_scale[i] * ring_get_input(ring, (enum ring_input)i)->full_scale.value,
                ring_get_input(ring, (enum ring_input)i)->full_scale.value);
    return STATUS_OK;
}

static enum status write_capture(const struct recorder *recorder, const struct columns *columns,
    const char *path, struct error *err)
{
    struct writer *writer = NULL;
    struct peaks peaks = {0};
    enum status status = columns_create_writer(columns, recorder->ring, path, &writer, err);
    if (status)
        return status;
    status = add_rows(writer, columns, recorder, &peaks, err);
    if (!status)
        status = check_scale(recorder->ring, writer, &peaks, err);
    if (!status)
        status = writer_commit(writer, err);
    writer_destroy(writer);
    return status;
}

static enum status write_setup(const struct ring *ring, const char *folder, struct error *err)
{
    struct text rig = {0};
    struct text specimen = {0};
    text_add(&rig, "# A virtual bench: its values are exact, whatever their stated uncertainty.\n");
    describe_add(&rig, rig_schema, &ring->rig);
    text_add(&specimen, "# A virtual ring: its values are exact, whatever their stated "
                        "uncertainty.\n");
    describe_add(&specimen, specimen_schema, &ring->specimen);
    enum status status = write_text(folder, "rig.yaml", &rig, err);
    if (!status)
        status = write_text(folder, "specimen.yaml", &specimen, err);
    text_clear(&rig);
    text_clear(&specimen);
    return status;
}

static enum status write_truth(const struct recorder *recorder, const struct fourier_loop *waves,
    const char *folder, const char *file, bool is_one_of_many, struct error *err)
{
    struct text truth = {0}, name = {0};
    if (is_one_of_many)
        text_add_format(&name, "%.*s.", (int)strcspn(file, "."), file);
    text_add(&name, "truth.json");
    enum status status =
        truth_write_json(recorder->ring, waves, file, recorder->rows, recorder->seed, &truth, err);
    if (!status)
        status = name.failed ? fail_memory(err) : write_text(folder, name.bytes, &truth, err);
    text_clear(&name);
    text_clear(&truth);
    return status;
}

static enum status write_all(const struct recorder *recorder, const struct fourier_loop *waves,
    const char *folder, bool is_one_of_many, struct error *err)
{
    struct text file = {0};
    struct text path = {0};
    struct columns columns;
    const struct ring *ring = recorder->ring;
    const char *name = ring->recording.name ? ring->recording.name : "capture";
    text_add_format(&file, "%s.%s", name, ring_get_extension(ring));
    enum status status = columns_init(&columns, ring, err);
    if (!status)
        status = file.failed ? fail_memory(err) : get_path(&path, folder, file.bytes, err);
    if (!status)
        status = file_create_folder(folder, err);
    if (!status)
        status = write_capture(recorder, &columns, path.bytes, err);
    if (!status)
        status = write_setup(ring, folder, err);
    if (!status)
        status = write_truth(recorder, waves, folder, file.bytes, is_one_of_many, err);
    text_clear(&file);
    text_clear(&path);
    return status;
}

static enum status run(const struct ring *ring, const char *folder, uint64_t seed,
    bool is_one_of_many, struct error *err)
{
    struct fourier_loop waves = {0};
    struct recorder recorder = {0};
    enum status status = waves_compute(ring, &waves, err);
    if (!status)
        status = recorder_create(&recorder, ring, &waves, seed, err);
    if (!status)
        status = write_all(&recorder, &waves, folder, is_one_of_many, err);
    recorder_clear(&recorder);
    fourier_loop_clear(&waves);
    return setup_name_fault(ring->file, status, err);
}

enum status bench_run(const struct ring *ring, const char *folder, uint64_t seed, struct error *err)
{
    return run(ring, folder, seed, false, err);
}

enum status bench_run_point(struct ring *ring, double frequency_Hz, double flux_density_peak_T,
    const char *folder, uint64_t seed, struct error *err)
{
    char *base = ring->recording.name;
    struct text name = {0};
    char number[2][TEXT_NUMBER_SIZE];
    enum status status = ring_set_drive(ring, frequency_Hz, flux_density_peak_T, err);
    if (status)
        return setup_name_fault(ring->file, status, err);
    /* no point in the name but that of the extension */
    text_add_format(&name, "%s-%smT-%smHz", base ? base : "capture",
        text_number(number[0], round(1e3 * flux_density_peak_T)),
        text_number(number[1], round(1e3 * frequency_Hz)));
    if (name.failed) {
        text_clear(&name);
        return fail_memory(err);
    }
    ring->recording.name = name.bytes;
    status = run(ring, folder, seed, true, err);
    ring->recording.name = base;
    text_clear(&name);
    return status;
}
