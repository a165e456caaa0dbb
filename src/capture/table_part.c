// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_part.h"

#include <float.h>
#include <math.h>

void table_part_init(
    struct table_part *part, const struct capture_options *options, double sample_rate_Hz)
{
    *part = (struct table_part){.start_s = options->start_s,
        .length_s = options->length_s,
        .sample_rate_Hz = sample_rate_Hz,
        .first_s = NAN,
        .last_s = NAN};
}

static enum table_place find_by_count(const struct table_part *part)
{
    double row = (double)(part->rows - 1);
    double begin = rint(part->start_s * part->sample_rate_Hz);
    double length = rint(part->length_s * part->sample_rate_Hz);
    if (row < begin) {
        return TABLE_PLACE_AHEAD;
    }
    bool is_behind = part->length_s > 0 && row >= begin + length;
    return is_behind ? TABLE_PLACE_BEHIND : TABLE_PLACE_INSIDE;
}

/* Decimal times are no exact doubles: their differences get the slack of a few roundings. */
static enum table_place find_by_time(struct table_part *part, double seconds)
{
    if (isnan(seconds)) {
        bool is_ahead = !part->has_begun && part->start_s > 0;
        return is_ahead ? TABLE_PLACE_AHEAD : TABLE_PLACE_INSIDE;
    }
    if (isnan(part->first_s)) {
        part->first_s = seconds;
    }
    part->last_s = seconds;
    double since = seconds - part->first_s;
    double end = part->start_s + part->length_s;
    double slack = 8 * DBL_EPSILON * (fabs(seconds) + fabs(part->first_s) + end);
    if (since < part->start_s - slack && !part->has_begun) {
        return TABLE_PLACE_AHEAD;
    }
    bool is_behind = part->length_s > 0 && since >= end - slack;
    return is_behind ? TABLE_PLACE_BEHIND : TABLE_PLACE_INSIDE;
}

enum table_place table_part_find(struct table_part *part, double seconds)
{
    enum table_place place = TABLE_PLACE_INSIDE;
    part->rows++;
    if (part->start_s > 0 || part->length_s > 0) {
        place = part->sample_rate_Hz > 0 ? find_by_count(part) : find_by_time(part, seconds);
    }
    part->has_begun = part->has_begun || place == TABLE_PLACE_INSIDE;
    return place;
}

enum status table_part_check(const struct table_part *part, const char *path, struct error *err)
{
    if (part->has_begun || part->start_s == 0) {
        return STATUS_OK;
    }
    double length = part->sample_rate_Hz > 0 ? (double)part->rows / part->sample_rate_Hz
                                             : part->last_s - part->first_s;
    return fail(err, STATUS_INPUT, "choose a start inside the recording",
        "cannot start at %g s: '%s' is %g s long", part->start_s, path, length);
}
