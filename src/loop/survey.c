// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/survey.h"

#include <math.h>

enum { CHUNK = 256 };

void survey_init(struct survey *survey)
{
    *survey = (struct survey){0};
    for (int m = 0; m < 2; m++) {
        survey->channel[m].minimum = INFINITY;
        survey->channel[m].maximum = -INFINITY;
        survey->last[m] = NAN;
    }
}

/* Extremes of a chunk of both channels, and whether any frame repeats the one before. Plain loops
 * that a compiler turns into vector code; NaN loses every comparison. */
struct glance {
    double minimum[2], maximum[2];
    int64_t repeated;
    double check;
};

#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) &&                             \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
__attribute__((target_clones("avx2", "default"), optimize("O3", "no-trapping-math")))
#endif
static struct glance
glance_at(const double *values, size_t frames)
{
    double low[8], high[8], check[8] = {0};
    int64_t same[4] = {0};
    for (int i = 0; i < 8; i++) {
        low[i] = INFINITY;
        high[i] = -INFINITY;
    }
    size_t n = 0;
    for (; n + 4 <= frames; n += 4) {
        for (int i = 0; i < 8; i++) {
            const double x = values[2 * n + (size_t)i];
            low[i] = x < low[i] ? x : low[i];
            high[i] = x > high[i] ? x : high[i];
            check[i] += x * 0.0;
        }
    }
    for (; n < frames; n++) {
        for (int i = 0; i < 2; i++) {
            const double x = values[2 * n + (size_t)i];
            low[i] = x < low[i] ? x : low[i];
            high[i] = x > high[i] ? x : high[i];
            check[i] += x * 0.0;
        }
    }
    for (n = 1; n < frames; n++) {
        same[0] += (values[2 * n] == values[2 * n - 2]) & (values[2 * n + 1] == values[2 * n - 1]);
    }
    struct glance glance = {.repeated = same[0]};
    for (int m = 0; m < 2; m++) {
        glance.minimum[m] = fmin(fmin(low[m], low[m + 2]), fmin(low[m + 4], low[m + 6]));
        glance.maximum[m] = fmax(fmax(high[m], high[m + 2]), fmax(high[m + 4], high[m + 6]));
        glance.check += check[m] + check[m + 2] + check[m + 4] + check[m + 6];
    }
    return glance;
}

static void follow_repeats(struct survey *survey, const double *values, size_t frames)
{
    for (size_t n = 0; n < frames; n++) {
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
static void follow_extreme(const double *values, size_t frames, double sign, double *extreme,
    int64_t *count, int64_t *longest, int64_t *run)
{
    for (size_t n = 0; n < frames; n++) {
        const double x = sign * values[2 * n], known = sign * *extreme;
        if (x > known) {
            *extreme = values[2 * n];
            *count = *longest = *run = 1;
        } else if (x == known) {
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
    const struct glance glance = glance_at(values, frames);
    if (!(glance.check == 0.0)) {
        for (size_t n = 0; n < frames; n++) {
            survey->missing += !isfinite(values[2 * n]) || !isfinite(values[2 * n + 1]);
        }
    }
    const bool touches = values[0] == survey->last[0] && values[1] == survey->last[1];
    if (glance.repeated > 0 || touches) {
        follow_repeats(survey, values, frames);
    } else {
        survey->run = 0;
        survey->last[0] = values[2 * frames - 2];
        survey->last[1] = values[2 * frames - 1];
    }
    for (int m = 0; m < 2; m++) {
        struct survey_channel *channel = &survey->channel[m];
        if (glance.maximum[m] >= channel->maximum) {
            follow_extreme(values + m, frames, 1.0, &channel->maximum, &channel->top_count,
                &channel->top_run, &survey->extreme_run[m][0]);
        } else {
            survey->extreme_run[m][0] = 0;
        }
        if (glance.minimum[m] <= channel->minimum) {
            follow_extreme(values + m, frames, -1.0, &channel->minimum, &channel->bottom_count,
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
