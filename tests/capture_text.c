// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "suites.h"

#define BLOCK 3 /* rows read at once: odd and small, so that blocks end everywhere */

static void add_number(struct text *out, double value)
{
    char number[TEXT_NUMBER_SIZE];
    text_add(out, isnan(value) ? "-" : text_number(number, value));
}

static void add_channels(
    struct text *out, const struct capture_info *info, const size_t *chosen, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const struct capture_channel *channel = &info->channels[chosen[i]];
        text_add_format(out, "%s%zu%s%s", i > 0 ? ", " : "", channel->column,
            channel->name[0] != '\0' ? " " : "", channel->name);
        if (channel->has_unit) {
            text_add_format(
                out, " [%s: %s]", channel->unit, dimension_get_name(channel->dimension));
        }
    }
    text_add(out, "\n");
}

static void add_timing(struct text *out, const struct capture_info *info)
{
    text_add(out, strncmp(info->format, "table, ", 7) == 0 ? info->format + 7 : info->format);
    if (info->timing == CAPTURE_TIMING_ROWS) {
        text_add(out, "; time in steps of ");
        add_number(out, info->time_quantum_s);
        text_add(out, " s");
    } else if (info->timing == CAPTURE_TIMING_RATE) {
        text_add(out, "; ");
        add_number(out, info->sample_rate_Hz);
        text_add(out, " Hz");
    }
    text_add(out, "\n");
}

static enum status add_rows(
    struct text *out, struct capture *capture, size_t count, struct error *err)
{
    double times[BLOCK] = {0};
    double *values = calloc(BLOCK * count, sizeof *values);
    size_t got = 1;
    enum status status = STATUS_OK;
    bool has_times = capture_get_info(capture)->timing == CAPTURE_TIMING_ROWS;
    while (got > 0 && status == STATUS_OK) {
        status = capture_read(capture, BLOCK, values, times, &got, err);
        for (size_t i = 0; status == STATUS_OK && i < got; i++) {
            if (has_times) {
                add_number(out, times[i]);
                text_add(out, ":");
            }
            for (size_t j = 0; j < count; j++) {
                text_add(out, j > 0 || has_times ? " " : "");
                add_number(out, values[i * count + j]);
            }
            text_add(out, "\n");
        }
    }
    free(values);
    return status;
}

static void add_missing(struct text *out, const struct capture_info *info)
{
    if (info->missing > 0) {
        text_add_format(out, "missing %lld: line", (long long)info->missing);
        for (size_t i = 0; i < info->missing_line_count; i++) {
            text_add_format(out, " %lld", (long long)info->missing_lines[i]);
        }
        text_add(out, "\n");
    }
}

/* The channels of the columns that are listed, or all of them. */
static size_t choose(const struct capture_info *info, const size_t *only, size_t *chosen)
{
    size_t count = 0;
    for (size_t i = 0; only == NULL && i < info->channel_count; i++) {
        chosen[count++] = i;
    }
    for (; only != NULL && only[count] > 0; count++) {
        chosen[count] = 0;
        while (info->channels[chosen[count]].column != only[count]) {
            chosen[count]++;
            ck_assert_uint_lt(chosen[count], info->channel_count);
        }
    }
    return count;
}

enum status capture_text_describe(const char *path, const struct capture_options *options,
    const size_t *only, struct text *out, struct error *err)
{
    struct capture *capture = NULL;
    enum status status = capture_open(path, options, &capture, err);
    if (status != STATUS_OK) {
        ck_assert_ptr_null(capture);
        return status;
    }
    const struct capture_info *info = capture_get_info(capture);
    struct text rows = {0};
    size_t *chosen = calloc(info->channel_count + 16, sizeof *chosen);
    size_t count = choose(info, only, chosen);
    status = capture_select(capture, chosen, count, err);
    if (status == STATUS_OK) {
        status = add_rows(&rows, capture, count, err);
    }
    if (status == STATUS_OK) {
        status = capture_finish(capture, err);
    }
    if (status == STATUS_OK) {
        add_timing(out, info);
        add_channels(out, info, chosen, count);
        text_add(out, rows.bytes == NULL ? "" : rows.bytes);
        add_missing(out, info);
    }
    text_clear(&rows);
    free(chosen);
    capture_close(capture);
    return status;
}
