// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/survey.h"

#include <math.h>

#include "loop/survey_part.h"

enum { CHUNK = 1024 };

void survey_init(struct survey *survey)
{
    *survey = (struct survey){0};
    for (int m = 0; m < 2; m++) {
        survey->channel[m].minimum = INFINITY;
        survey->channel[m].maximum = -INFINITY;
        survey->last[m] = NAN;
    }
}

/* Plain loops over lanes that a compiler turns into vector code; NaN loses every comparison and
 * spoils the sum. */
enum { LANES = 16 }; /* eight frames of two channels: enough to hide the latency of a comparison */

struct lanes {
    double low[LANES], high[LANES], sum[LANES], same[LANES];
};

#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) &&                             \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
__attribute__((target_clones("avx2", "default")))
#endif
static void
look_along(const double *restrict values, size_t groups, struct lanes *restrict lanes)
{
    struct lanes at = *lanes;
    for (size_t n = 0; n < groups; n++) {
        const double *here = values + n * LANES;
        for (int i = 0; i < LANES; i++) {
            const double x = here[i];
            at.low[i] = x < at.low[i] ? x : at.low[i];
            at.high[i] = x > at.high[i] ? x : at.high[i];
            at.sum[i] += x;
            at.same[i] += x == here[i + 2] ? 1.0 : 0.0;
        }
    }
    *lanes = at;
}

void survey_glance(const double *values, size_t frames, struct survey_glance *glance)
{
    struct lanes lanes;
    for (int i = 0; i < LANES; i++) {
        lanes.low[i] = INFINITY;
        lanes.high[i] = -INFINITY;
        lanes.sum[i] = lanes.same[i] = 0.0;
    }
    /* each value is compared with the next frame's: the last ones stay for the slow way */
    const size_t groups = (2 * frames - 2) / LANES;
    look_along(values, groups, &lanes);
    for (size_t i = groups * LANES; i < 2 * frames; i++) {
        lanes.low[i % 2] = fmin(lanes.low[i % 2], values[i]);
        lanes.high[i % 2] = fmax(lanes.high[i % 2], values[i]);
        lanes.sum[i % 2] += values[i];
        lanes.same[i % 2] += i + 2 < 2 * frames && values[i] == values[i + 2] ? 1.0 : 0.0;
    }
    for (int i = 2; i < LANES; i++) {
        lanes.low[i % 2] = fmin(lanes.low[i % 2], lanes.low[i]);
        lanes.high[i % 2] = fmax(lanes.high[i % 2], lanes.high[i]);
        lanes.sum[i % 2] += lanes.sum[i];
        lanes.same[i % 2] += lanes.same[i];
    }
    for (int m = 0; m < 2; m++) {
        glance->minimum[m] = lanes.low[m];
        glance->maximum[m] = lanes.high[m];
        glance->same[m] = lanes.same[m];
    }
    glance->repeats = fmin(lanes.same[0], lanes.same[1]) > 0.0;
    glance->is_finite = isfinite(lanes.sum[0]) && isfinite(lanes.sum[1]);
}

/* Frames `from` to `to` of a chunk. */
static void follow_repeats(struct survey *survey, const double *values, size_t from, size_t to)
{
    for (size_t n = from; n < to; n++) {
        const bool same = values[2 * n] == survey->last[0] && values[2 * n + 1] == survey->last[1];
        survey->run = same ? survey->run + 1 : 0;
        if (survey->run > survey->repeated_run) {
            survey->repeated_run = survey->run;
            survey->repeated_at = survey->frames + (int64_t)n - survey->run;
        }
        survey->last[0] = values[2 * n];
        survey->last[1] = values[2 * n + 1];
    }
}

/* Follows runs at one extreme of one channel; `extreme` may rise above what was known. */
static void follow_extreme(const double *values, size_t frames, bool is_top, double *extreme,
    int64_t *count, int64_t *longest, int64_t *run)
{
    for (size_t n = 0; n < frames; n++) {
        const double x = values[2 * n];
        if (is_top ? x > *extreme : x < *extreme) {
            *extreme = x;
            *count = *longest = *run = 1;
        } else if (x == *extreme) {
            *count += 1;
            *run += 1;
            *longest = *run > *longest ? *run : *longest;
        } else {
            *run = 0;
        }
    }
}

static void add_chunk(struct survey *survey, const double *values, size_t frames)
{
    struct survey_glance glance;
    survey_glance(values, frames, &glance);
    if (!glance.is_finite) {
        for (size_t n = 0; n < frames; n++) {
            survey->missing += !isfinite(values[2 * n]) || !isfinite(values[2 * n + 1]);
        }
    }
    follow_repeats(survey, values, 0, 1);
    if (glance.repeats) {
        follow_repeats(survey, values, 1, frames);
    } else if (frames > 1) {
        survey->run = 0;
        survey->last[0] = values[2 * frames - 2];
        survey->last[1] = values[2 * frames - 1];
    }
    for (int m = 0; m < 2; m++) {
        struct survey_channel *channel = &survey->channel[m];
        if (glance.maximum[m] >= channel->maximum) {
            follow_extreme(values + m, frames, true, &channel->maximum, &channel->top_count,
                &channel->top_run, &survey->extreme_run[m][0]);
        } else {
            survey->extreme_run[m][0] = 0;
        }
        if (glance.minimum[m] <= channel->minimum) {
            follow_extreme(values + m, frames, false, &channel->minimum, &channel->bottom_count,
                &channel->bottom_run, &survey->extreme_run[m][1]);
        } else {
            survey->extreme_run[m][1] = 0;
        }
    }
    survey->frames += (int64_t)frames;
}

void survey_add(struct survey *survey, const double *values, size_t frames)
{
    for (size_t done = 0; done < frames; done += CHUNK) {
        const size_t part = frames - done < CHUNK ? frames - done : CHUNK;
        add_chunk(survey, values + 2 * done, part);
    }
}
