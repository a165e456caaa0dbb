// SPDX-License-Identifier: GPL-3.0-or-later
#include "calibrate/take.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "base/text.h"
#include "capture/capture.h"
#include "loop/reading.h"

enum { CHUNK = 1 << 14, HARMONICS_MOST = 20000 };

static const double PASS_BAND = 0.45; /* of the sample rate */

static const char periodic_hint[] =
    "play a sine, a multi-sine (and name the lowest tone with --fundamental), or a noise that "
    "repeats; noise that never repeats has no harmonics to compare";

void take_clear(struct take *take)
{
    periodic_fit_clear(&take->fit);
    reading_clear(&take->reading);
    *take = (struct take){0};
}

double take_get_variance(const struct take *take, int channel)
{
    const double noise = take->fit.noise_rms[channel];
    return 2.0 * noise * noise / take->fit.frames;
}

void take_undo_corner(struct take *take, int channel, double corner_Hz)
{
    struct periodic_fit *fit = &take->fit;
    for (size_t k = 1; k <= fit->harmonics; k++) {
        const double complex factor = 1.0 - I * (corner_Hz / ((double)k * fit->frequency_Hz));
        fit->coefficient[channel][k] *= factor;
        for (size_t b = 0; b < fit->block_count; b++) {
            fit->blocks[b].coefficient[channel][k] *= factor;
        }
    }
}

void take_name_fault(const char *path, enum status status, struct error *err)
{
    if (status == STATUS_CAPTURE && err != NULL) {
        fail(err, status, err->hint, "'%s' cannot calibrate: %s", text_base_name(path),
            err->message);
    }
}

/* Names the file, and says what would have done. */
static enum status explain(const char *path, enum status status, struct error *err)
{
    if (status == STATUS_CAPTURE && err != NULL) {
        fail(err, status, periodic_hint, "%s", err->message);
        take_name_fault(path, status, err);
    }
    return status;
}

/* What ends at digital full scale has lost its top. */
static enum status check_peaks(
    const char *path, const struct capture_info *info, const struct take *take, struct error *err)
{
    const double step = info->bits > 0 && !info->is_float ? ldexp(1.0, 1 - info->bits) : 0.0;
    for (size_t m = 0; take->is_audio && m < take->fit.channels; m++) {
        if (take->peak[m] >= 1.0 - 1.5 * step) {
            return fail(err, STATUS_CAPTURE, "turn the source or the input's gain down by some dB",
                "'%s' reaches digital full scale", text_base_name(path));
        }
    }
    return STATUS_OK;
}

static enum status add_samples(
    struct capture *capture, struct periodic *periodic, double *peak, struct error *err)
{
    double *values = memory_create(CHUNK, sizeof *values);
    enum status status = values == NULL ? fail_memory(err) : STATUS_OK;
    for (size_t got = 1; status == STATUS_OK && got > 0;) {
        status = capture_read(capture, CHUNK, values, NULL, &got, err);
        for (size_t n = 0; status == STATUS_OK && n < got; n++) {
            *peak = fmax(*peak, fabs(values[n]));
        }
        if (status == STATUS_OK && got > 0) {
            status = periodic_add(periodic, values, NULL, got, err);
        }
    }
    memory_destroy(values);
    return status;
}

static enum status fit_one(struct capture *capture, struct take *take, struct error *err)
{
    const struct periodic_options how = {
        .channels = 1, .sample_rate_Hz = capture_get_info(capture)->sample_rate_Hz};
    struct periodic *periodic = periodic_create(&how, err);
    enum status status =
        periodic == NULL ? STATUS_FAULT : add_samples(capture, periodic, &take->peak[0], err);
    if (status == STATUS_OK) {
        status = periodic_finish(periodic, &take->fit, err);
    }
    periodic_destroy(periodic);
    return status;
}

/* Less than half of what moves repeats. */
static enum status check_share(const struct take *take, struct error *err)
{
    const struct periodic_fit *fit = &take->fit;
    double power = 0.0;
    for (size_t k = 1; k <= fit->harmonics; k++) {
        power += 0.5 * cabs(fit->coefficient[0][k]) * cabs(fit->coefficient[0][k]);
    }
    if (power < fit->noise_rms[0] * fit->noise_rms[0]) {
        return fail(err, STATUS_CAPTURE, "", "the part that repeats is smaller than the rest");
    }
    return STATUS_OK;
}

enum status take_read_one(const char *path, size_t channel, struct take *take, struct error *err)
{
    struct take made = {.is_audio = true};
    struct capture *capture = NULL;
    char reference[24];
    size_t index;
    snprintf(reference, sizeof reference, "%zu", channel);
    enum status status = capture_open(path, &(struct capture_options){0}, &capture, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (capture_get_info(capture)->kind != CAPTURE_AUDIO) {
        status = fail(err, STATUS_INPUT, "a table holds volts and needs no full scale",
            "'%s' is no audio file", text_base_name(path));
    }
    if (status == STATUS_OK) {
        status = capture_find_channel(capture, reference, &index, err);
    }
    if (status == STATUS_OK) {
        status = capture_select(capture, &index, 1, err);
    }
    if (status == STATUS_OK) {
        status = fit_one(capture, &made, err);
        status = explain(path, status == STATUS_OK ? check_share(&made, err) : status, err);
    }
    if (status == STATUS_OK) {
        status = check_peaks(path, capture_get_info(capture), &made, err);
    }
    capture_close(capture);
    if (status != STATUS_OK) {
        take_clear(&made);
        return status;
    }
    *take = made;
    return STATUS_OK;
}

/* What was said of the silent channel is no error here. */
static enum status forgive(struct error *err)
{
    if (err != NULL) {
        *err = (struct error){0};
    }
    return STATUS_OK;
}

/* A multi-sine has gaps, and the choice of harmonics from the data may end at one: all that the
 * sampling carries are fitted, but for the top where the converters' filters fall. */
static size_t get_harmonics(double frequency_Hz, double sample_rate_Hz)
{
    const double most = frequency_Hz > 0.0 ? floor(PASS_BAND * sample_rate_Hz / frequency_Hz) : 0.0;
    return most > HARMONICS_MOST ? HARMONICS_MOST : (size_t)most;
}

enum status take_read_two(const struct take_options *how, struct take *take, struct error *err)
{
    const char *path = how->path;
    const struct rig *rig = how->rig;
    struct reading reading = {0};
    struct notes notes = {0};
    struct loop_options options = {.frequency_Hz = how->frequency_Hz};
    if (rig->is_trace) {
        const enum status status = fail(err, STATUS_INPUT, "leave timing.trace out of the rig",
            "a trace has no time axis and cannot calibrate inputs");
        return setup_name_fault(rig->file, status, err);
    }
    enum status status = reading_open(&reading, path, rig, &options, err);
    if (status == STATUS_OK) {
        options.harmonics = get_harmonics(how->frequency_Hz, reading.info->sample_rate_Hz);
        status = reading_take(&reading, rig, &options, &notes, err);
        const bool is_fitted = reading.fit.coefficient[0] != NULL;
        status = is_fitted && how->may_be_silent && status == STATUS_CAPTURE
                     ? forgive(err)
                     : explain(path, status, err);
    }
    struct take made = {.reading = reading};
    if (status == STATUS_OK) {
        made.fit = reading.fit;
        made.is_audio = reading.info->kind == CAPTURE_AUDIO;
        made.reading.fit = (struct periodic_fit){0};
        for (int m = 0; m < 2; m++) {
            const struct survey_channel *channel = &reading.survey.channel[m];
            made.peak[m] = fmax(fabs(channel->minimum), fabs(channel->maximum));
        }
        status = check_peaks(path, reading.info, &made, err);
    }
    notes_clear(&notes);
    if (status != STATUS_OK) {
        take_clear(&made);
        return status;
    }
    *take = made;
    return STATUS_OK;
}
