// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/look_level.h"

#include <math.h>
#include <stdbool.h>

void look_level_init(struct look_level *level)
{
    *level = (struct look_level){
        .minimum = INFINITY, .maximum = -INFINITY, .last = NAN, .step = INFINITY};
}

/* One sample at one extreme: `is_beyond` begins a new one. */
static void follow(bool is_beyond, bool is_at, int64_t *run, int64_t *longest, int64_t *count)
{
    if (is_beyond) {
        *run = 0;
        *longest = 0;
        *count = 0;
    }
    if (is_beyond || is_at) {
        *run += 1;
        *count += 1;
        *longest = *run > *longest ? *run : *longest;
    } else {
        *run = 0;
    }
}

static void follow_extremes(struct look_level *level, double value)
{
    follow(value > level->maximum, value == level->maximum, &level->top_run, &level->top_longest,
        &level->top_count);
    follow(value < level->minimum, value == level->minimum, &level->bottom_run,
        &level->bottom_longest, &level->bottom_count);
    level->maximum = value > level->maximum ? value : level->maximum;
    level->minimum = value < level->minimum ? value : level->minimum;
}

static void add_missing(struct look_level *level)
{
    level->missing++;
    level->last = NAN;
    level->top_run = 0;
    level->bottom_run = 0;
}

void look_level_add(struct look_level *level, const double *values, size_t stride, size_t frames)
{
    double sum = 0;
    double squares = 0;
    for (size_t i = 0; i < frames; i++) {
        double value = values[i * stride];
        if (!isfinite(value)) {
            add_missing(level);
            continue;
        }
        if (level->samples++ == 0) {
            level->first = value;
        }
        double distance = value - level->first;
        sum += distance;
        squares += distance * distance;
        double difference = fabs(value - level->last);
        if (difference > 0 && difference < level->step) {
            level->step = difference;
        }
        level->last = value;
        if (value >= level->maximum || value <= level->minimum) {
            follow_extremes(level, value);
        } else {
            level->top_run = 0;
            level->bottom_run = 0;
        }
    }
    level->sum += sum;
    level->squares += squares;
}

double look_level_get_mean(const struct look_level *level)
{
    return level->samples > 0 ? level->first + level->sum / (double)level->samples : NAN;
}

double look_level_get_rms(const struct look_level *level, double about)
{
    double count = (double)level->samples;
    if (level->samples == 0) {
        return NAN;
    }
    double shift = about - level->first;
    double power = (level->squares - 2 * shift * level->sum) / count + shift * shift;
    return power > 0 ? sqrt(power) : 0;
}
