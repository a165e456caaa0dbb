// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_LOOK_LEVEL_H
#define LODECARD_LOOP_LOOK_LEVEL_H

#include <stddef.h>
#include <stdint.h>

/* Level of one channel, gathered as the samples pass. Sums are taken about the first sample, so
 * that a large offset costs no digits. */
struct look_level {
    int64_t samples;
    int64_t missing;
    double first;
    double sum, squares; /* of the distance from the first sample */
    double minimum, maximum;
    double last; /* NaN: the one before is missing */
    double step; /* smallest difference of neighbours that differ; infinity: none did */
    int64_t top_run, top_longest, top_count;
    int64_t bottom_run, bottom_longest, bottom_count;
};

void look_level_init(struct look_level *level);

/* Every `stride`th value; NaN is missing. */
void look_level_add(struct look_level *level, const double *values, size_t stride, size_t frames);

double look_level_get_mean(const struct look_level *level);              /* NaN without samples */
double look_level_get_rms(const struct look_level *level, double about); /* NaN without samples */

#endif
