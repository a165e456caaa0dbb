// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_SURVEY_PART_H
#define LODECARD_LOOP_SURVEY_PART_H

#include <stdbool.h>
#include <stddef.h>

/* What tells a survey whether a chunk of frames must be looked at sample by sample. */
struct survey_glance {
    double minimum[2], maximum[2];
    double same[2]; /* samples that repeat the one before */
    bool repeats;   /* there are some in each channel, be it in different frames */
    bool is_finite;
};

/* frames: 1 or more, of two channels. Not finite is also what adds up beyond numbers. */
void survey_glance(const double *values, size_t frames, struct survey_glance *glance);

#endif
