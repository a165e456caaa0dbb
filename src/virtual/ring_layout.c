// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/ring_layout.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"
#include "virtual/ring_series.h"

enum { HARMONICS = 99 }; /* of a model's series, where ring.yaml orders no other number */

static const char *const input_keys[] = {
    "rig.inputs.excitation.channel", "rig.inputs.pickup.channel"};

static bool is_whole(const struct quantity *quantity)
{
    return quantity->value == floor(quantity->value);
}

static void check_name(struct schema_reading *reading, const struct ring *ring)
{
    const char *name = ring->recording.name;
    if (name && (strchr(name, '/') || !strcmp(name, ".") || !strcmp(name, "..")))
        schema_add_fault(reading, "recording.name",
            "'%.60s' is no plain name; the folder stands on the command line", name);
}

static void check_whole(struct schema_reading *reading, const struct ring *ring)
{
    const struct {
        const char *key;
        const struct quantity *quantity;
    } list[] = {
        {"drive.harmonics", &ring->drive.harmonics},
        {"recording.rows", &ring->recording.rows},
        {"recording.channels", &ring->recording.channels},
        {"recording.digits", &ring->recording.digits},
        {"recording.time_decimals", &ring->recording.time_decimals},
        {"faults.missing.runs", &ring->faults.missing_runs},
        {"faults.missing.length", &ring->faults.missing_length},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++)
        if (!is_whole(list[i].quantity))
            schema_add_fault(
                reading, list[i].key, "%g is not a whole number", list[i].quantity->value);
}

/* The number a rig's channel is, or 0 for a header text. */
static size_t get_number(const struct ring *ring, enum ring_input input)
{
    const char *words = ring_get_input(ring, input)->channel;
    if (words == NULL || strspn(words, "0123456789") != strlen(words))
        return 0;
    return strtoul(words, NULL, 10);
}

size_t ring_layout_get_column(const struct ring *ring, enum ring_input input)
{
    enum ring_input other = input == RING_EXCITATION ? RING_PICKUP : RING_EXCITATION;
    size_t before = ring->has_time_column ? 1 : 0;
    size_t number = get_number(ring, input);
    if (number > before)
        return number - before - 1;
    size_t taken = get_number(ring, other);
    if (taken > before)
        return taken - before == 1 ? 1 : 0;
    return (size_t)input;
}

size_t ring_layout_get_columns(const struct ring *ring)
{
    size_t columns =
        ring->recording.channels.is_present ? (size_t)ring->recording.channels.value : 0;
    for (int i = 0; i < RING_INPUTS; i++) {
        size_t column = ring_layout_get_column(ring, (enum ring_input)i);
        if (column + 1 > columns)
            columns = column + 1;
    }
    return columns;
}

static void check_audio(struct schema_reading *reading, const struct ring *ring)
{
    static const char *const full_scales[] = {
        "rig.inputs.excitation.full_scale", "rig.inputs.pickup.full_scale"};
    static const char *const quantities[] = {
        "rig.inputs.excitation.quantity", "rig.inputs.pickup.quantity"};
    for (int i = 0; i < RING_INPUTS; i++) {
        const struct rig_input *input = ring_get_input(ring, (enum ring_input)i);
        size_t number = get_number(ring, (enum ring_input)i);
        if (input->quantity != INPUT_VOLTAGE)
            schema_add_fault(
                reading, quantities[i], "an audio file carries voltages; order a table instead");
        else if (!input->full_scale.is_present && !schema_has_fault(reading, full_scales[i]))
            schema_add_fault(reading, full_scales[i],
                "'full_scale' is missing: the volts at digital full scale of an audio file");
        if (input->channel && (number < 1 || number > 64))
            schema_add_fault(reading, input_keys[i],
                "'%.60s' is no channel of an audio file, expected 1 to 64", input->channel);
    }
    if (ring->rig.is_trace || ring->rig.time_column || ring->rig.sample_rate.is_present)
        schema_add_fault(reading, "rig.timing", "'time', 'sample_rate' and 'trace' are for tables");
    if (ring->sample_rate_Hz != floor(ring->sample_rate_Hz))
        schema_add_fault(reading, "recording.sample_rate",
            "an audio file has a whole number of samples a second");
}

static void check_table(struct schema_reading *reading, const struct ring *ring)
{
    size_t before = ring->has_time_column ? 1 : 0;
    for (int i = 0; i < RING_INPUTS; i++) {
        const struct rig_input *input = ring_get_input(ring, (enum ring_input)i);
        size_t number = get_number(ring, (enum ring_input)i);
        if (input->channel && number > 0 && (number <= before || number > before + 2))
            schema_add_fault(reading, input_keys[i], "the table's two columns are %zu and %zu",
                before + 1, before + 2);
        if (input->channel && number == 0 && ring->recording.has_no_header)
            schema_add_fault(
                reading, input_keys[i], "the table has no header; give the number of the column");
        if (input->full_scale.is_present)
            schema_add_fault(reading,
                i == 0 ? "rig.inputs.excitation.full_scale" : "rig.inputs.pickup.full_scale",
                "this is for audio files only; a table holds volts");
    }
    const char *time = ring->rig.time_column;
    if (time && time[strspn(time, "0123456789")] == '\0' && strcmp(time, "1") != 0)
        schema_add_fault(
            reading, "rig.timing.time", "the virtual logger's time column is the first");
    if (ring->recording.channels.is_present)
        schema_add_fault(reading, "recording.channels", "this is for audio files only");
}

static void check_time(struct schema_reading *reading, struct ring *ring)
{
    const struct quantity *rate = &ring->rig.sample_rate;
    const struct quantity *ordered = &ring->recording.sample_rate;
    ring->frequency_Hz = ring->drive.frequency.value;
    ring->sample_rate_Hz = ordered->is_present ? ordered->value : rate->value;
    if (!ring->drive.frequency.is_present && !schema_has_fault(reading, "drive"))
        schema_add_fault(reading, "drive", "'frequency: 50 Hz' is missing");
    if (!ordered->is_present && !rate->is_present && !schema_has_fault(reading, "recording"))
        schema_add_fault(reading, "recording", "'sample_rate: 96 kHz' is missing");
    if (ordered->is_present && rate->is_present && ordered->value != rate->value)
        schema_add_fault(reading, "recording.sample_rate", "%g Hz, but the rig says %g Hz",
            ordered->value, rate->value);
    if (ring->recording.overrun.is_present)
        schema_add_fault(reading, "recording.overrun", "this is for a trace only");
}

static void check_trace(struct schema_reading *reading, const struct ring *ring)
{
    static const char *const of_time[] = {"drive.frequency", "recording.sample_rate",
        "recording.duration", "recording.cycles", "recording.jitter", NULL};
    for (size_t i = 0; of_time[i]; i++)
        if (schema_has_key(reading, of_time[i]))
            schema_add_fault(reading, of_time[i], "a trace has no time axis; leave it out");
    if (!ring->recording.rows.is_present && !schema_has_fault(reading, "recording"))
        schema_add_fault(reading, "recording", "a trace needs 'rows: 1400'");
}

/* One of duration, cycles and rows. */
static void check_length(struct schema_reading *reading, struct ring *ring)
{
    const struct ring_recording *recording = &ring->recording;
    int count =
        recording->duration.is_present + recording->cycles.is_present + recording->rows.is_present;
    if (count != 1 && !schema_has_fault(reading, "recording")) {
        schema_add_fault(reading, "recording",
            "its length is exactly one of 'duration: 2 s', 'cycles: 40.3' and 'rows: 96000'");
        return;
    }
    double rows = recording->rows.value;
    if (recording->duration.is_present)
        rows = recording->duration.value * ring->sample_rate_Hz;
    if (recording->cycles.is_present && ring->frequency_Hz > 0.0)
        rows = recording->cycles.value * ring->sample_rate_Hz / ring->frequency_Hz;
    rows = floor(rows + 0.5);
    double missing = ring->faults.missing_runs.value * (ring->faults.missing_length.value + 1.0);
    if (!schema_has_fault(reading, "recording") && (rows < 8.0 || rows > 1e10))
        schema_add_fault(reading, "recording", "it would have %g rows, expected 8 to 1e10", rows);
    else if (!schema_has_fault(reading, "recording") && missing > 0.5 * rows)
        schema_add_fault(reading, "faults.missing",
            "%g rows are more than half of the recording's %g", missing, rows);
    ring->rows = rows >= 8.0 && rows <= 1e10 ? (size_t)rows : 8;
}

/* The highest harmonic, and whether the sampling carries it. */
static void find_harmonics(struct schema_reading *reading, struct ring *ring)
{
    double carried =
        ring->frequency_Hz > 0.0 ? 0.5 * ring->sample_rate_Hz / ring->frequency_Hz : HUGE_VAL;
    const char *key = "drive.harmonics";
    if (ring->field.words || ring->voltage.words) {
        size_t field = ring_series_get_harmonics(&ring->field);
        size_t flux = ring_series_get_harmonics(&ring->flux_density);
        size_t voltage = ring_series_get_harmonics(&ring->voltage);
        ring->harmonics = field > flux ? field : flux;
        ring->harmonics = ring->harmonics > voltage ? ring->harmonics : voltage;
        key = "series";
    } else if (ring->drive.harmonics.is_present) {
        ring->harmonics = (size_t)ring->drive.harmonics.value;
    } else {
        double most = fmin(HARMONICS, floor(0.9 * carried));
        ring->harmonics = most < 1.0 ? 1 : (size_t)most;
    }
    if ((double)ring->harmonics >= carried && !ring->faults.has_aliases &&
        !schema_has_fault(reading, "drive") && !schema_has_fault(reading, "recording"))
        schema_add_fault(reading, key,
            "harmonic %zu of %g Hz is not below half the sample rate of %g Hz; lower it, or order "
            "'faults: {aliases: yes}'",
            ring->harmonics, ring->frequency_Hz, ring->sample_rate_Hz);
}

void ring_layout_check(struct schema_reading *reading, struct ring *ring)
{
    if (schema_has_fault(reading, "rig.inputs") || schema_has_fault(reading, "rig.timing"))
        return;
    ring->is_table = ring->recording.format >= RING_CSV;
    ring->has_time_column =
        ring->is_table && !ring->rig.is_trace && !ring->rig.sample_rate.is_present;
    if (ring->rig.is_trace)
        check_trace(reading, ring);
    else
        check_time(reading, ring);
    if (ring->is_table)
        check_table(reading, ring);
    else
        check_audio(reading, ring);
    check_name(reading, ring);
    check_whole(reading, ring);
    check_length(reading, ring);
    find_harmonics(reading, ring);
}

enum status ring_set_drive(
    struct ring *ring, double frequency_Hz, double flux_density_peak_T, struct error *err)
{
    const struct ring_recording *recording = &ring->recording;
    const double carried = 0.5 * ring->sample_rate_Hz / frequency_Hz;
    double rows = (double)ring->rows;
    if (!ring->model || !ring->drive.flux_density_peak.is_present || ring->rig.is_trace)
        return fail(err, STATUS_INPUT, "'drive: {frequency: 20 Hz, flux_density_peak: 1 T}'",
            "a series is made of a model that is driven by its flux density");
    if (recording->cycles.is_present)
        rows = floor(recording->cycles.value * ring->sample_rate_Hz / frequency_Hz + 0.5);
    if ((double)ring->harmonics >= carried || rows < 8 || rows > 1e10)
        return fail(err, STATUS_INPUT, "raise the sample rate, or lower 'drive: {harmonics: ...}'",
            "at %g Hz the recording would have %g rows and harmonics up to %zu at %g Hz a sample",
            frequency_Hz, rows, ring->harmonics, ring->sample_rate_Hz);
    ring->drive.frequency.value = ring->frequency_Hz = frequency_Hz;
    ring->drive.flux_density_peak.value = flux_density_peak_T;
    ring->rows = (size_t)rows;
    return STATUS_OK;
}
