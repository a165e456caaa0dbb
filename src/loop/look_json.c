// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/json.h"
#include "base/version.h"
#include "loop/look.h"

static void add_capture(struct json *json, const struct look *look)
{
    static const char *const timing_words[] = {[CAPTURE_TIMING_RATE] = "rate",
        [CAPTURE_TIMING_ROWS] = "rows",
        [CAPTURE_TIMING_NONE] = "none"};
    json_begin_object(json, "capture");
    json_add_text(json, "file", look->file);
    json_add_text(json, "sha256", look->sha256);
    json_add_text(json, "kind", look->kind == CAPTURE_AUDIO ? "audio" : "table");
    json_add_text(json, "format", look->format);
    json_add_integer(json, "channels", (long long)look->channel_count);
    json_add_integer(json, "frames", look->frames);
    if (look->frames_expected >= 0) {
        json_add_integer(json, "frames_expected", look->frames_expected);
    }
    json_add_integer(json, "missing", look->missing);
    if (look->missing_line_count > 0) {
        json_begin_array(json, "missing_lines");
        for (size_t i = 0; i < look->missing_line_count; i++) {
            json_add_integer(json, NULL, look->missing_lines[i]);
        }
        json_end_array(json);
    }
    json_add_text(json, "timing", timing_words[look->timing]);
    if (look->sample_rate_Hz > 0) {
        json_add_number(json, "sample_rate_Hz", look->sample_rate_Hz);
    }
    if (look->bits > 0) {
        json_add_integer(json, "bits", look->bits);
    }
    if (look->timing != CAPTURE_TIMING_NONE) {
        json_add_number(json, "start_s", look->start_s);
        json_add_number(json, "length_s", look->length_s);
    }
    if (look->has_sampling) {
        json_add_bool(json, "is_even", look->sampling.is_even);
        json_add_number(json, "jitter_rms_s", look->sampling.jitter_rms_s);
        json_add_integer(json, "gaps", (long long)look->sampling.gap_count);
    }
    json_end_object(json);
}

static void add_waveform(struct json *json, const struct look_channel *channel)
{
    json_add_number(json, "frequency_Hz", channel->frequency_Hz);
    json_add_number(json, "u_frequency_Hz", channel->u_frequency_Hz);
    json_add_number(json, "cycles", channel->cycles);
    json_add_integer(json, "harmonics", (long long)channel->harmonics);
    json_add_number(json, "fundamental", channel->fundamental);
    json_add_number(json, "phase_deg", channel->phase_deg);
    size_t shares = channel->harmonics < LOOK_HARMONICS ? channel->harmonics : LOOK_HARMONICS;
    json_add_numbers(json, "harmonic_shares", &channel->harmonic[2], shares > 1 ? shares - 1 : 0);
    json_add_number(json, "harmonic_floor", channel->harmonic_floor);
    json_add_number(json, "total_harmonic_distortion", channel->distortion);
    json_add_number(json, "noise_rms", channel->noise_rms);
    json_add_number(json, "signal_to_noise_dB", channel->signal_to_noise_dB);
    if (channel->fit_share < 1) {
        json_add_number(json, "fitted_share", channel->fit_share);
    }
}

static void add_channel(
    struct json *json, const struct look *look, const struct look_channel *channel)
{
    json_begin_object(json, NULL);
    json_add_integer(json, "channel", (long long)channel->column);
    json_add_text(json, "name", channel->name);
    json_add_text(json, "unit", channel->has_unit ? dimension_get_unit(channel->dimension) : "");
    json_add_integer(json, "samples", channel->samples);
    json_add_integer(json, "missing", channel->missing);
    json_add_number(json, "minimum", channel->minimum);
    json_add_number(json, "maximum", channel->maximum);
    json_add_number(json, "offset", channel->offset);
    json_add_number(json, "rms", channel->rms);
    json_add_number(json, "crest_factor", channel->crest_factor);
    if (look->kind == CAPTURE_AUDIO) {
        json_add_number(json, "level_dBFS", look_get_level_dBFS(channel));
    }
    json_add_bool(json, "is_clipped", channel->is_clipped);
    json_add_integer(json, "extreme_run", channel->extreme_run);
    json_add_bool(json, "is_periodic", channel->is_periodic);
    if (channel->is_periodic) {
        add_waveform(json, channel);
    } else {
        json_add_text(json, "reason", channel->reason);
    }
    json_end_object(json);
}

static void add_pair(struct json *json, const struct look *look)
{
    const struct look_pair *pair = &look->pair;
    json_begin_object(json, "pair");
    json_add_bool(json, "is_found", pair->is_found);
    if (pair->is_found) {
        json_add_integer(json, "excitation", (long long)look->channels[pair->excitation].column);
        json_add_integer(json, "pickup", (long long)look->channels[pair->pickup].column);
        json_add_bool(json, "is_reversed", pair->is_reversed);
    }
    if (pair->has_lead) {
        json_add_number(json, "lead_deg", pair->lead_deg);
    }
    json_add_text(json, "reason", pair->reason);
    json_end_object(json);
}

enum status look_write_json(
    const struct look *look, int indent, struct text *out, struct error *err)
{
    struct json json;
    json_init(&json, out, indent);
    json_begin_object(&json, NULL);
    json_add_text(&json, "schema", "lodecard-look/1");
    json_add_text(&json, "version", LODECARD_VERSION);
    add_capture(&json, look);
    json_begin_array(&json, "channels");
    for (size_t i = 0; i < look->channel_count; i++) {
        add_channel(&json, look, &look->channels[i]);
    }
    json_end_array(&json);
    add_pair(&json, look);
    notes_write_json(&json, "notes", &look->notes);
    json_end_object(&json);
    json_finish(&json);
    return out->failed ? fail_memory(err) : STATUS_OK;
}
