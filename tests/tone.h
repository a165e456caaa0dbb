// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_TONE_H
#define LODECARD_TESTS_TONE_H

#include <complex.h>
#include <stddef.h>
#include <stdint.h>

/* A periodic record of two channels whose truth is known:
 *
 *     x_m(t) = Re sum_{k=0..K} c[m][k] e^{i k 2 pi p(t)} + noise,
 *     p(t) = start + nu t (1 + drift (t / length - 1) / 2)     cycles,
 *
 * t in samples; the drift is the relative change of the frequency over the record, whose mean
 * frequency stays nu. Summed term by term in plain sines: no code of the library takes part. */
enum { TONE_LIMIT = 32 };

struct tone {
    size_t harmonics;
    double complex c[2][TONE_LIMIT + 1];
    double nu;       /* cycles per sample */
    double start;    /* cycles at t = 0 */
    double drift;    /* needs length */
    double length;   /* samples */
    double noise[2]; /* standard deviations */
    uint64_t seed;
};

/* A waveform with all harmonics up to K: the first channel falls off like a field, with phases of
 * its own, the second like a pickup voltage that is peaky; both with an offset. Peaks near 1. */
void tone_init(struct tone *tone, size_t harmonics, double nu);

/* values[2 n + m] at t = first + n. Noise hangs on the seed and on t, not on how it is cut. */
void tone_fill(const struct tone *tone, size_t first, size_t count, double *values);

/* The same at any times (samples). */
void tone_fill_at(const struct tone *tone, const double *times, size_t count, double *values);

/* Coefficient k of channel m with phases as of t = 0. */
double complex tone_get(const struct tone *tone, size_t m, size_t k);

#endif
