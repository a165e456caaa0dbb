// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_SURVEY_H
#define LODECARD_LOOP_SURVEY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What a record's samples show in passing, before any fit: extremes, runs at the extremes
 * (clipping), and runs of repeated frames (dropouts). One cheap pass over each chunk; runs are
 * followed only where a chunk hints at one. */
struct survey_channel {
    double minimum, maximum;
    int64_t top_run, bottom_run; /* longest run of samples equal to the maximum, to the minimum */
    int64_t top_count, bottom_count;
};

struct survey {
    struct survey_channel channel[2];
    int64_t frames;
    int64_t missing;
    int64_t repeated_run; /* longest run of frames that repeat the frame before in both channels */
    int64_t repeated_at;  /* frame where it began */
    double last[2];
    int64_t run; /* the present one */
    int64_t extreme_run[2][2];
};

void survey_init(struct survey *survey);
void survey_add(struct survey *survey, const double *values, size_t frames); /* two channels */

#endif
