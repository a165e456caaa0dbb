// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/capture.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "capture/ahead.h"
#include "capture/foreign.h"
#include "capture/reader.h"
#include "capture/source.h"

/* In the order they are asked; the last one takes what no other wants. */
static const struct reader *const reader_list[] = {&reader_audio, &reader_table};
#define READER_COUNT (sizeof reader_list / sizeof reader_list[0])

static const struct reader *find_reader(const unsigned char *head, size_t count)
{
    for (size_t i = 0; i + 1 < READER_COUNT; i++) {
        if (reader_list[i]->is_mine(head, count)) {
            return reader_list[i];
        }
    }
    return reader_list[READER_COUNT - 1];
}

static bool is_amount(double value)
{
    return isfinite(value) && value >= 0;
}

static enum status check_options(const struct capture_options *options, struct error *err)
{
    if (!is_amount(options->start_s) || !is_amount(options->length_s)) {
        return fail(err, STATUS_USAGE, "both are seconds from 0 on",
            "cannot take the part from %g s that is %g s long", options->start_s,
            options->length_s);
    }
    if (options->is_trace && (options->start_s > 0 || options->length_s > 0)) {
        return fail(err, STATUS_USAGE, "a trace has no time axis: leave out start and length",
            "cannot take a part of a trace");
    }
    return STATUS_OK;
}

static enum status copy_names(
    struct capture *capture, const char *path, const struct capture_options *options)
{
    capture->options = *options;
    capture->options.time_column = memory_copy_text(options->time_column);
    capture->path = memory_copy_text(path);
    bool is_copied = capture->path != NULL &&
                     (options->time_column == NULL || capture->options.time_column != NULL);
    return is_copied ? STATUS_OK : STATUS_FAULT;
}

static enum status open_reader(struct capture *capture, struct error *err)
{
    const unsigned char *head;
    size_t count;
    enum status status = source_peek(capture->source, &head, &count, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (count == 0) {
        return fail(err, STATUS_INPUT, "record or export it again", "'%s' is empty (0 bytes)",
            capture->path);
    }
    status = foreign_refuse(capture->path, head, count, err);
    if (status != STATUS_OK) {
        return status;
    }
    const struct reader *reader = find_reader(head, count);
    status = reader->open(capture, err);
    if (status == STATUS_OK) {
        capture->reader = reader;
        source_settle(capture->source);
    }
    return status;
}

enum status capture_open(const char *path, const struct capture_options *options,
    struct capture **capture, struct error *err)
{
    enum status status = check_options(options, err);
    if (status != STATUS_OK) {
        return status;
    }
    struct capture *made = memory_create(1, sizeof *made);
    if (made == NULL || copy_names(made, path, options) != STATUS_OK) {
        capture_close(made);
        return fail_memory(err);
    }
    made->info.file = text_base_name(made->path);
    status = source_create(path, &made->source, err);
    if (status == STATUS_OK) {
        made->info.is_stream = !source_is_file(made->source);
        status = open_reader(made, err);
    }
    if (status != STATUS_OK) {
        capture_close(made);
        return status;
    }
    *capture = made;
    return STATUS_OK;
}

const struct capture_info *capture_get_info(const struct capture *capture)
{
    return &capture->info;
}

enum status capture_select(
    struct capture *capture, const size_t *indices, size_t count, struct error *err)
{
    if (count == 0 || count > capture->info.channel_count) {
        return fail(err, STATUS_FAULT, NULL, "cannot select %zu of %zu channels of '%s'", count,
            capture->info.channel_count, capture->path);
    }
    for (size_t i = 0; i < count; i++) {
        if (indices[i] >= capture->info.channel_count) {
            return fail(
                err, STATUS_FAULT, NULL, "'%s' has no channel %zu", capture->path, indices[i] + 1);
        }
    }
    enum status status = capture->reader->select(capture, indices, count, err);
    capture->selected = status == STATUS_OK ? count : capture->selected;
    return status;
}

/* All channels in their order, where nobody chose. */
static enum status select_all(struct capture *capture, struct error *err)
{
    size_t count = capture->info.channel_count;
    size_t *indices = memory_create(count, sizeof *indices);
    if (indices == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < count; i++) {
        indices[i] = i;
    }
    enum status status = capture_select(capture, indices, count, err);
    memory_destroy(indices);
    return status;
}

/* Before each read: what the first one needs. */
static enum status prepare(struct capture *capture, struct error *err)
{
    enum status status = source_begin_digest(capture->source, err);
    if (status == STATUS_OK && capture->selected == 0) {
        status = select_all(capture, err);
    }
    return status;
}

enum status capture_read(struct capture *capture, size_t frames, double *values, double *times,
    size_t *got, struct error *err)
{
    enum status status = prepare(capture, err);
    if (status == STATUS_OK) {
        status = capture->reader->read(capture, frames, values, times, got, err);
    }
    return status;
}

enum status capture_take(
    struct capture *capture, const double **values, size_t *got, struct error *err)
{
    enum status status = prepare(capture, err);
    if (status == STATUS_OK && capture->ahead == NULL) {
        capture->ahead = ahead_create(capture);
        status = capture->ahead == NULL ? fail_memory(err) : STATUS_OK;
    }
    return status == STATUS_OK ? ahead_take(capture->ahead, values, got, err) : status;
}

enum status capture_finish(struct capture *capture, struct error *err)
{
    ahead_stop(capture->ahead);
    return source_finish_digest(capture->source, capture->info.sha256, err);
}

void capture_close(struct capture *capture)
{
    if (capture == NULL) {
        return;
    }
    ahead_destroy(capture->ahead);
    if (capture->reader != NULL) {
        capture->reader->close(capture);
    }
    source_destroy(capture->source);
    memory_destroy((char *)capture->options.time_column);
    memory_destroy(capture->path);
    memory_destroy(capture);
}
