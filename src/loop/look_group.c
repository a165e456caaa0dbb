// SPDX-License-Identifier: GPL-3.0-or-later
/* One reading of a capture: levels of its channels, and a periodic fit of each. */
#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "loop/look_level.h"
#include "loop/look_part.h"
#include "num/periodic.h"

static const double PI = 3.14159265358979323846264338327950;

enum {
    BLOCK = 1 << 14,
    TIMED_ROWS = 1 << 19, /* of a table with times: judged and fitted; the rest counts for levels */
};

struct group {
    struct capture *capture;
    struct look *look;
    struct look_channel *channels; /* of the look */
    size_t count;
    struct look_level level[LOOK_GROUP];
    struct periodic *fit[LOOK_GROUP];
    enum status fit_status[LOOK_GROUP]; /* of what was added so far */
    double *values;                     /* rows of `count` */
    double *times;
    double *column;
    size_t room; /* rows */
    double last_row[LOOK_GROUP];
    int64_t repeated; /* rows up to now that repeat the one before */
    int64_t rows;
    int64_t rows_fitted;
    double first_time, last_time;
};

static enum status group_init(struct group *group, struct error *err)
{
    bool is_timed = group->look->timing == CAPTURE_TIMING_ROWS;
    group->room = is_timed ? TIMED_ROWS : BLOCK;
    group->values = memory_create(group->room * group->count, sizeof(double));
    group->column = memory_create(group->room, sizeof(double));
    group->times = is_timed ? memory_create(group->room, sizeof(double)) : NULL;
    group->first_time = NAN;
    group->last_time = NAN;
    for (size_t m = 0; m < group->count; m++) {
        look_level_init(&group->level[m]);
    }
    bool is_there = group->values != NULL && group->column != NULL;
    return is_there && (!is_timed || group->times != NULL) ? STATUS_OK : fail_memory(err);
}

static void group_clear(struct group *group)
{
    for (size_t m = 0; m < group->count; m++) {
        periodic_destroy(group->fit[m]);
    }
    memory_destroy(group->values);
    memory_destroy(group->column);
    memory_destroy(group->times);
}

static enum status create_fits(struct group *group, double rate, struct error *err)
{
    const struct periodic_options how = {.channels = 1, .sample_rate_Hz = rate};
    for (size_t m = 0; m < group->count; m++) {
        group->fit[m] = periodic_create(&how, err);
        if (group->fit[m] == NULL) {
            return STATUS_FAULT;
        }
    }
    return STATUS_OK;
}

static void set_reason(struct look_channel *channel, const char *words)
{
    snprintf(
        channel->reason, sizeof channel->reason, "%.*s", (int)sizeof channel->reason - 1, words);
}

/* Lost samples are often filled in with the last one, in all channels at once. */
static void follow_repeats(struct group *group, size_t rows)
{
    struct look *look = group->look;
    size_t size = group->count * sizeof(double);
    const double *last = group->rows > 0 ? group->last_row : NULL;
    for (size_t i = 0; i < rows; i++) {
        const double *row = group->values + i * group->count;
        bool is_same = last != NULL && memcmp(row, last, size) == 0;
        group->repeated = is_same ? group->repeated + 1 : 0;
        if (group->repeated > look->repeated_run) {
            look->repeated_run = group->repeated;
            look->repeated_at = group->rows + (int64_t)i + 1 - group->repeated;
        }
        last = row;
    }
    if (last != NULL) {
        memcpy(group->last_row, last, size);
    }
}

static void add_levels(struct group *group, size_t rows)
{
    if (group->channels == group->look->channels) {
        follow_repeats(group, rows);
    }
    for (size_t m = 0; m < group->count; m++) {
        look_level_add(&group->level[m], group->values + m, group->count, rows);
    }
    for (size_t i = 0; group->times != NULL && i < rows; i++) {
        if (isfinite(group->times[i])) {
            group->first_time = isfinite(group->first_time) ? group->first_time : group->times[i];
            group->last_time = group->times[i];
        }
    }
    group->rows += (int64_t)rows;
}

/* A channel that cannot be fitted does not stop the others. */
static enum status add_to_fits(
    struct group *group, const double *times, size_t rows, struct error *err)
{
    for (size_t m = 0; m < group->count; m++) {
        if (group->fit_status[m] != STATUS_OK) {
            continue;
        }
        for (size_t i = 0; i < rows; i++) {
            group->column[i] = group->values[i * group->count + m];
        }
        struct error reason = {0};
        enum status status = periodic_add(group->fit[m], group->column, times, rows, &reason);
        group->fit_status[m] = status;
        if (status == STATUS_FAULT) {
            *err = reason;
            return status;
        }
        if (status != STATUS_OK) {
            set_reason(&group->channels[m], reason.message);
        }
    }
    group->rows_fitted += (int64_t)rows;
    return STATUS_OK;
}

/* Times as the clock meant them: on the grid, where there is one. */
static void straighten(double *times, const struct sampling *sampling, size_t rows)
{
    for (size_t i = 0; sampling->is_grid && i < rows; i++) {
        double place = round((times[i] - sampling->start_s) / sampling->interval_s);
        times[i] = sampling->start_s + place * sampling->interval_s;
    }
}

/* The first rows of a table with times: judges the clock, and adds them to the fits. */
static enum status take_timed(struct group *group, size_t rows, struct error *err)
{
    struct look *look = group->look;
    struct error reason = {0};
    size_t known = 0;
    for (size_t i = 0; i < rows; i++) {
        known += isfinite(group->times[i]);
    }
    if (known < 3) {
        for (size_t m = 0; m < group->count; m++) {
            set_reason(&group->channels[m], "there are fewer than three rows with a time");
            group->fit_status[m] = STATUS_CAPTURE;
        }
        return STATUS_OK;
    }
    double quantum = capture_get_info(group->capture)->time_quantum_s;
    enum status status = sampling_judge(group->times, rows, quantum, 0, &look->sampling, &reason);
    if (status == STATUS_FAULT) {
        *err = reason;
        return status;
    }
    for (size_t m = 0; status != STATUS_OK && m < group->count; m++) {
        set_reason(&group->channels[m], reason.message);
        group->fit_status[m] = status;
    }
    if (status != STATUS_OK) {
        return STATUS_OK;
    }
    look->has_sampling = true;
    bool is_even = look->sampling.is_even;
    look->sample_rate_Hz = look->sampling.is_grid ? 1 / look->sampling.interval_s : 0;
    straighten(group->times, &look->sampling, rows);
    status = create_fits(group, is_even ? look->sample_rate_Hz : 0, err);
    return status == STATUS_OK ? add_to_fits(group, is_even ? NULL : group->times, rows, err)
                               : status;
}

static enum status read_block(struct group *group, size_t *rows, struct error *err)
{
    size_t got = 1;
    size_t have = 0;
    while (got > 0 && have < group->room) {
        enum status status =
            capture_read(group->capture, group->room - have, group->values + have * group->count,
                group->times != NULL ? group->times + have : NULL, &got, err);
        if (status != STATUS_OK) {
            return status;
        }
        have += got;
    }
    *rows = have;
    return STATUS_OK;
}

static enum status read_all(struct group *group, struct error *err)
{
    enum capture_timing timing = group->look->timing;
    enum status status = STATUS_OK;
    if (timing == CAPTURE_TIMING_RATE) {
        status = create_fits(group, group->look->sample_rate_Hz, err);
    }
    for (size_t rows = 1; status == STATUS_OK && rows > 0;) {
        bool is_first = group->rows == 0;
        status = read_block(group, &rows, err);
        if (status != STATUS_OK || rows == 0) {
            break;
        }
        add_levels(group, rows);
        if (timing == CAPTURE_TIMING_RATE) {
            status = add_to_fits(group, NULL, rows, err);
        } else if (timing == CAPTURE_TIMING_ROWS && is_first && group->times != NULL) {
            status = take_timed(group, rows, err);
        }
    }
    return status;
}

static void set_harmonics(struct look_channel *channel, const struct periodic_fit *fit)
{
    const double complex *coefficient = fit->coefficient[0];
    double fundamental = cabs(coefficient[1]);
    double others = 0;
    for (size_t k = 2; k <= fit->harmonics; k++) {
        double amplitude = cabs(coefficient[k]);
        others += amplitude * amplitude;
        if (k <= LOOK_HARMONICS) {
            channel->harmonic[k] = amplitude / fundamental;
        }
    }
    double power = (fundamental * fundamental + others) / 2;
    double noise = fit->noise_rms[0] * fit->noise_rms[0];
    double turn = carg(coefficient[1]) / (2 * PI) + fit->frequency_Hz * fit->duration_s / 2;
    channel->fundamental = fundamental;
    channel->harmonic_floor = 3 * fit->noise_rms[0] * sqrt(2 / fit->frames) / fundamental;
    channel->distortion = sqrt(others) / fundamental;
    channel->phase_deg = 360 * (turn - floor(turn));
    channel->noise_rms = fit->noise_rms[0];
    channel->signal_to_noise_dB = 10 * log10(power / noise);
}

static void set_fit(struct look_channel *channel, const struct periodic_fit *fit)
{
    channel->frequency_Hz = fit->frequency_Hz;
    channel->u_frequency_Hz = fit->u_frequency_Hz;
    channel->cycles = fit->cycles;
    channel->harmonics = fit->harmonics;
    channel->offset = creal(fit->coefficient[0][0]);
    set_harmonics(channel, fit);
    /* Where the part that repeats is weaker than the rest, it is no waveform but a guess. */
    channel->is_periodic = channel->fundamental > 0 && channel->signal_to_noise_dB > 0;
    if (!channel->is_periodic) {
        set_reason(channel, "no waveform that repeats stands out of the noise");
    }
}

static enum status finish_fit(struct group *group, size_t m, struct error *err)
{
    struct look_channel *channel = &group->channels[m];
    struct periodic_fit fit = {0};
    struct error reason = {0};
    if (group->look->timing == CAPTURE_TIMING_NONE) {
        set_reason(channel, "the table has no time column");
        return STATUS_OK;
    }
    if (group->fit[m] == NULL || group->fit_status[m] != STATUS_OK) {
        return STATUS_OK;
    }
    if (!(group->level[m].maximum > group->level[m].minimum)) {
        set_reason(channel, "the channel does not move");
        return STATUS_OK;
    }
    const enum status status = periodic_finish(group->fit[m], &fit, &reason);
    if (status == STATUS_FAULT) {
        *err = reason;
        return status;
    }
    if (status != STATUS_OK) {
        set_reason(channel, reason.message);
        return STATUS_OK;
    }
    set_fit(channel, &fit);
    channel->fit_share = (double)group->rows_fitted / (double)group->rows;
    periodic_fit_clear(&fit);
    return STATUS_OK;
}

static void set_level(struct look_channel *channel, const struct look_level *level)
{
    bool is_empty = level->samples == 0;
    if (!channel->is_periodic) {
        channel->offset = look_level_get_mean(level);
    }
    channel->samples = level->samples;
    channel->missing = level->missing;
    channel->minimum = is_empty ? NAN : level->minimum;
    channel->maximum = is_empty ? NAN : level->maximum;
    channel->rms = look_level_get_rms(level, channel->offset);
    double above = channel->maximum - channel->offset;
    double below = channel->offset - channel->minimum;
    channel->crest_factor = channel->rms > 0 ? fmax(above, below) / channel->rms : NAN;
    channel->step = isfinite(level->step) ? level->step : 0;
    bool is_top = level->top_longest >= level->bottom_longest;
    channel->extreme_run = is_top ? level->top_longest : level->bottom_longest;
    channel->extreme_count = level->top_count + level->bottom_count;
}

static enum status finish_channels(struct group *group, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t m = 0; status == STATUS_OK && m < group->count; m++) {
        status = finish_fit(group, m, err);
        set_level(&group->channels[m], &group->level[m]);
    }
    return status;
}

static void set_length(struct group *group)
{
    struct look *look = group->look;
    double rate = look->sample_rate_Hz;
    if (look->timing == CAPTURE_TIMING_RATE) {
        look->length_s = (double)group->rows / rate;
    } else if (isfinite(group->first_time)) {
        look->start_s = group->first_time;
        look->length_s = group->last_time - group->first_time + (rate > 0 ? 1 / rate : 0);
    }
}

enum status look_take_group(
    struct capture *capture, struct look *look, size_t first, size_t count, struct error *err)
{
    struct group group = {
        .capture = capture, .look = look, .channels = look->channels + first, .count = count};
    enum status status = group_init(&group, err);
    if (status == STATUS_OK) {
        status = read_all(&group, err);
    }
    if (status == STATUS_OK) {
        status = capture_finish(capture, err);
    }
    if (status == STATUS_OK) {
        status = finish_channels(&group, err);
        set_length(&group);
    }
    group_clear(&group);
    return status;
}
