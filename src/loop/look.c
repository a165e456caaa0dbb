// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/look.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "loop/look_part.h"

/* Columns of text (a date, a remark) hold nothing to look at; a capture of nothing else says why.
 */
static enum status copy_channels(
    struct look *look, const struct capture_info *info, struct error *err)
{
    look->channels = memory_create(info->channel_count, sizeof *look->channels);
    if (look->channels == NULL) {
        return fail_memory(err);
    }
    look->capture_channels = info->channel_count;
    for (size_t i = 0; i < info->channel_count; i++) {
        const struct capture_channel *from = &info->channels[i];
        if (from->trouble != NULL) {
            continue;
        }
        struct look_channel *channel = &look->channels[look->channel_count++];
        channel->name = memory_copy_text(from->name);
        channel->unit_written = memory_copy_text(from->unit);
        channel->column = from->column;
        channel->index = i;
        channel->dimension = from->dimension;
        channel->has_unit = from->has_unit;
        if (channel->name == NULL || channel->unit_written == NULL) {
            return fail_memory(err);
        }
    }
    if (look->channel_count == 0 && info->channel_count > 0) {
        return fail(err, STATUS_INPUT, "name a table that holds numbers", "'%s': %s", look->file,
            info->channels[0].trouble);
    }
    return STATUS_OK;
}

/* What is known when the capture is open. */
static enum status copy_info(struct look *look, const struct capture_info *info, struct error *err)
{
    look->file = memory_copy_text(info->file);
    look->format = memory_copy_text(info->format);
    look->kind = info->kind;
    look->timing = info->timing;
    look->bits = info->bits;
    look->is_stream = info->is_stream;
    look->is_float = info->is_float;
    look->frames_expected = info->frames_expected;
    look->sample_rate_Hz = info->sample_rate_Hz;
    return look->file == NULL || look->format == NULL ? fail_memory(err)
                                                      : copy_channels(look, info, err);
}

/* What is known once it is read. */
static void copy_totals(struct look *look, const struct capture_info *info)
{
    memcpy(look->sha256, info->sha256, sizeof look->sha256);
    look->frames = info->frames;
    if (info->missing > look->missing) { /* of several readings: the most, not the sum */
        look->missing = info->missing;
        look->missing_line_count = info->missing_line_count;
        for (size_t i = 0; i < info->missing_line_count; i++) {
            look->missing_lines[i] = info->missing_lines[i];
        }
    }
}

static enum status select_group(
    struct capture *capture, const struct look *look, size_t first, size_t count, struct error *err)
{
    size_t indices[LOOK_GROUP];
    for (size_t i = 0; i < count; i++) {
        indices[i] = look->channels[first + i].index;
    }
    return capture_select(capture, indices, count, err);
}

/* Opens, and reads the channels from `first` on; *done is how many. */
static enum status read_group(const char *path, const struct capture_options *options,
    struct look *look, size_t first, size_t *done, struct error *err)
{
    struct capture *capture = NULL;
    enum status status = capture_open(path, options, &capture, err);
    if (status != STATUS_OK) {
        return status;
    }
    const struct capture_info *info = capture_get_info(capture);
    if (first == 0) {
        status = copy_info(look, info, err);
    } else if (info->channel_count != look->capture_channels) {
        status = fail(err, STATUS_INPUT, "look again when nobody writes to it",
            "'%s' changed while it was read", look->file);
    }
    if (status == STATUS_OK) {
        size_t left = look->channel_count - first;
        *done = left < LOOK_GROUP ? left : LOOK_GROUP;
        status = select_group(capture, look, first, *done, err);
    }
    if (status == STATUS_OK) {
        status = look_take_group(capture, look, first, *done, err);
    }
    if (status == STATUS_OK) {
        copy_totals(look, info);
    }
    capture_close(capture);
    return status;
}

/* A channel that was not read. */
static void clear_channel(struct look_channel *channel)
{
    channel->minimum = channel->maximum = channel->offset = NAN;
    channel->rms = channel->crest_factor = NAN;
    snprintf(channel->reason, sizeof channel->reason,
        "of a stream only the first %d channels are looked at", LOOK_GROUP);
}

enum status look_read(
    const char *path, const struct capture_options *options, struct look *look, struct error *err)
{
    size_t done = 0;
    struct look made = {.start_s = options->start_s};
    enum status status = read_group(path, options, &made, 0, &done, err);
    for (size_t first = done; status == STATUS_OK && !made.is_stream && first < made.channel_count;
         first += done) {
        status = read_group(path, options, &made, first, &done, err);
    }
    if (status != STATUS_OK) {
        look_clear(&made);
        return status;
    }
    for (size_t i = done; made.is_stream && i < made.channel_count; i++) {
        clear_channel(&made.channels[i]);
    }
    look_find_pair(&made);
    look_add_notes(&made);
    if (made.notes.failed) {
        look_clear(&made);
        return fail_memory(err);
    }
    *look = made;
    return STATUS_OK;
}

void look_clear(struct look *look)
{
    for (size_t i = 0; i < look->channel_count; i++) {
        memory_destroy(look->channels[i].name);
        memory_destroy(look->channels[i].unit_written);
    }
    memory_destroy(look->channels);
    memory_destroy(look->file);
    memory_destroy(look->format);
    notes_clear(&look->notes);
    *look = (struct look){0};
}

const char *look_get_channel_word(const struct look *look)
{
    return look->kind == CAPTURE_AUDIO ? "channel" : "column";
}

double look_get_level_dBFS(const struct look_channel *channel)
{
    return 20 * log10(fmax(fabs(channel->minimum), fabs(channel->maximum)));
}
