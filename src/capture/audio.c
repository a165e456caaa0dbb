// SPDX-License-Identifier: GPL-3.0-or-later
/* The reader of audio files. */
#include <inttypes.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "capture/audio_file.h"
#include "capture/reader.h"

#define MISSING_LINES 16
#define BLOCK_VALUES ((size_t)1 << 14) /* of all channels, when only some are wanted */
#define NO_END ((int64_t)1 << 62)

struct audio {
    struct audio_file file;
    struct capture_channel channels[AUDIO_CHANNEL_LIMIT];
    char format[96];

    int64_t start; /* frames of the file: the part that is asked for, its end may be NO_END */
    int64_t end;
    int64_t position;

    size_t selected[AUDIO_CHANNEL_LIMIT];
    size_t selected_count;
    bool is_direct; /* all channels in their order: no block in between */
    double *block;
    size_t block_frames;

    int64_t missing_lines[MISSING_LINES];
};

static enum status fail_start(const struct capture *capture, int64_t frames, struct error *err)
{
    return fail(err, STATUS_INPUT, "choose a start inside the recording",
        "cannot start at %g s: '%s' is %g s long", capture->options.start_s, capture->path,
        (double)frames / capture->info.sample_rate_Hz);
}

/* Where the part that is asked for begins and ends. */
static enum status set_part(struct capture *capture, struct error *err)
{
    struct audio *audio = capture->state;
    const struct audio_file *file = &audio->file;
    int64_t promised = file->frames_promised;
    int64_t there = file->frames_there;
    double start = rint(capture->options.start_s * file->sample_rate_Hz);
    double length = rint(capture->options.length_s * file->sample_rate_Hz);
    int64_t known = there >= 0 ? there : promised;
    if (start >= (double)(known >= 0 ? known : NO_END / 2)) {
        return fail_start(capture, known, err);
    }
    audio->start = (int64_t)start;
    audio->end = promised >= 0 ? promised : NO_END;
    if (capture->options.length_s > 0 && start + length < (double)audio->end) {
        audio->end = audio->start + (int64_t)length;
    }
    int64_t last = promised < 0 && there >= 0 && there < audio->end ? there : audio->end;
    capture->info.frames_expected = last == NO_END ? -1 : last - audio->start;
    return STATUS_OK;
}

static void set_info(struct capture *capture)
{
    struct audio *audio = capture->state;
    const struct audio_file *file = &audio->file;
    struct capture_info *info = &capture->info;
    for (size_t i = 0; i < file->channels; i++) {
        audio->channels[i] = (struct capture_channel){
            .name = "", .dimension = DIMENSION_NUMBER, .unit = "", .column = i + 1};
    }
    snprintf(audio->format, sizeof audio->format, "%s, %s%s", file->container.name,
        file->coding->name, file->container.is_unfinished ? ", unfinished header" : "");
    info->kind = CAPTURE_AUDIO;
    info->timing = CAPTURE_TIMING_RATE;
    info->format = audio->format;
    info->channel_count = file->channels;
    info->channels = audio->channels;
    info->sample_rate_Hz = file->sample_rate_Hz;
    info->bits = file->coding->bits;
    info->is_float = file->coding->is_float;
    info->missing_lines = audio->missing_lines;
}

static void audio_close(struct capture *capture)
{
    struct audio *audio = capture->state;
    if (audio != NULL) {
        audio_file_clear(&audio->file);
        memory_destroy(audio->block);
        memory_destroy(audio);
        capture->state = NULL;
    }
}

static enum status audio_open(struct capture *capture, struct error *err)
{
    struct audio *audio = memory_create(1, sizeof *audio);
    if (audio == NULL) {
        return fail_memory(err);
    }
    capture->state = audio;
    enum status status = audio_file_init(&audio->file, capture->source, err);
    if (status == STATUS_OK) {
        set_info(capture);
        status = set_part(capture, err);
    }
    if (status != STATUS_OK) {
        audio_close(capture);
    }
    return status;
}

static enum status audio_select(
    struct capture *capture, const size_t *indices, size_t count, struct error *err)
{
    struct audio *audio = capture->state;
    bool is_direct = count == audio->file.channels;
    for (size_t i = 0; i < count; i++) {
        audio->selected[i] = indices[i];
        is_direct = is_direct && indices[i] == i;
    }
    audio->selected_count = count;
    audio->is_direct = is_direct;
    if (!is_direct && audio->block == NULL) {
        audio->block_frames = BLOCK_VALUES / audio->file.channels;
        audio->block = memory_create(audio->block_frames * audio->file.channels, sizeof(double));
        if (audio->block == NULL) {
            return fail_memory(err);
        }
    }
    return STATUS_OK;
}

/* After a read that gave less than asked for: the end, or a fault? */
static enum status check_end(struct capture *capture, struct error *err)
{
    struct audio *audio = capture->state;
    unsigned char byte;
    if (source_get_failure(capture->source) != 0) {
        return source_fail(capture->source, err);
    }
    if (sf_error(audio->file.handle) != SF_ERR_NO_ERROR &&
        source_read(capture->source, &byte, 1) > 0) {
        return fail(err, STATUS_INPUT,
            "take the part ahead of it (--length), or copy the file again",
            "'%s' is damaged behind frame %" PRId64 " (%.6g s)", capture->path,
            (int64_t)audio->position, (double)audio->position / capture->info.sample_rate_Hz);
    }
    if (audio->position == 0) {
        return fail(err, STATUS_INPUT, "record or export it again", "'%s' (%s) holds no samples",
            capture->path, audio->file.container.name);
    }
    return STATUS_OK;
}

/* Reads `frames` frames of all channels, fewer only at the end. */
static enum status read_frames(
    struct capture *capture, double *values, int64_t frames, int64_t *got, struct error *err)
{
    struct audio *audio = capture->state;
    int64_t count = sf_readf_double(audio->file.handle, values, frames);
    audio->position += count;
    if (count < frames || sf_error(audio->file.handle) != SF_ERR_NO_ERROR) {
        enum status status = check_end(capture, err);
        if (status != STATUS_OK) {
            return status;
        }
        audio->end = audio->position;
    }
    *got = count;
    return STATUS_OK;
}

static enum status skip_frames(struct capture *capture, int64_t frames, struct error *err)
{
    struct audio *audio = capture->state;
    double block[AUDIO_CHANNEL_LIMIT * 16];
    int64_t most = (int64_t)(sizeof block / sizeof block[0] / audio->file.channels);
    while (frames > 0) {
        int64_t got;
        enum status status = read_frames(capture, block, frames < most ? frames : most, &got, err);
        if (status != STATUS_OK) {
            return status;
        }
        if (got == 0) {
            double rate = capture->info.sample_rate_Hz;
            return fail(err, STATUS_INPUT, "choose a start inside the recording",
                "cannot start at %g s: '%s' is %g s long", capture->options.start_s, capture->path,
                (double)audio->position / rate);
        }
        frames -= got;
    }
    return STATUS_OK;
}

/* Goes to where the part that is asked for begins. */
static enum status go_to_start(struct capture *capture, struct error *err)
{
    struct audio *audio = capture->state;
    if (audio->position == 0 && source_is_file(capture->source) &&
        sf_seek(audio->file.handle, audio->start, SEEK_SET) == audio->start) {
        audio->position = audio->start;
    }
    return skip_frames(capture, audio->start - audio->position, err);
}

/* Takes the selected channels out of a block of all. */
static void pick(const struct audio *audio, const double *all, size_t frames, double *values)
{
    size_t stride = audio->file.channels;
    size_t count = audio->selected_count;
    for (size_t m = 0; m < count; m++) {
        const double *from = all + audio->selected[m];
        double *to = values + m;
        for (size_t i = 0; i < frames; i++) {
            to[i * count] = from[i * stride];
        }
    }
}

/* 0 times what is not finite is no number. Four sums: one would wait for each addition. */
static bool is_all_finite(const double *values, size_t count)
{
    double sums[4] = {0};
    size_t i = 0;
    for (; i + 4 <= count; i += 4) {
        for (size_t j = 0; j < 4; j++) {
            sums[j] += values[i + j] * 0;
        }
    }
    for (; i < count; i++) {
        sums[0] += values[i] * 0;
    }
    return sums[0] + sums[1] + sums[2] + sums[3] == 0;
}

/* Values that are no numbers become missing ones. `first` is the number of the first frame. */
static void find_missing(struct capture *capture, double *values, size_t frames, int64_t first)
{
    struct audio *audio = capture->state;
    struct capture_info *info = &capture->info;
    size_t count = audio->selected_count;
    if (is_all_finite(values, frames * count)) {
        return;
    }
    for (size_t i = 0; i < frames; i++) {
        bool is_missing = false;
        for (size_t m = 0; m < count; m++) {
            double *value = &values[i * count + m];
            if (!isfinite(*value)) {
                *value = NAN;
                is_missing = true;
            }
        }
        if (is_missing && info->missing_line_count < MISSING_LINES) {
            audio->missing_lines[info->missing_line_count++] = first + (int64_t)i + 1;
        }
        info->missing += is_missing;
    }
}

static enum status read_part(
    struct capture *capture, double *values, size_t frames, int64_t *got, struct error *err)
{
    struct audio *audio = capture->state;
    bool is_direct = audio->is_direct;
    if (!is_direct && frames > audio->block_frames) {
        frames = audio->block_frames;
    }
    int64_t left = audio->end - audio->position;
    int64_t wanted = left < (int64_t)frames ? left : (int64_t)frames;
    *got = 0;
    if (wanted <= 0) {
        return STATUS_OK;
    }
    int64_t first = audio->position;
    enum status status = read_frames(capture, is_direct ? values : audio->block, wanted, got, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (!is_direct) {
        pick(audio, audio->block, (size_t)*got, values);
    }
    if (audio->file.coding->is_float) {
        find_missing(capture, values, (size_t)*got, first);
    }
    return STATUS_OK;
}

static enum status audio_read(struct capture *capture, size_t frames, double *values, double *times,
    size_t *got, struct error *err)
{
    struct audio *audio = capture->state;
    size_t have = 0;
    (void)times;
    if (audio->position < audio->start) {
        enum status status = go_to_start(capture, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    while (have < frames) {
        int64_t count;
        enum status status =
            read_part(capture, values + have * audio->selected_count, frames - have, &count, err);
        if (status != STATUS_OK) {
            return status;
        }
        if (count == 0) {
            break;
        }
        have += (size_t)count;
    }
    capture->info.frames += (int64_t)have;
    *got = have;
    return STATUS_OK;
}

const struct reader reader_audio = {
    .name = "audio",
    .is_mine = container_is_audio,
    .open = audio_open,
    .select = audio_select,
    .read = audio_read,
    .close = audio_close,
};
