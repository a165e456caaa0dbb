// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_TONE_FIT_H
#define LODECARD_TESTS_TONE_FIT_H

#include "num/periodic.h"
#include "tone.h"

/* The sampling rate of all tones, Hz: a lost factor shows. */
#define TONE_RATE 1234.5

/* Values of two channels, or the first alone; `times` (s) or NULL for even ones; in pieces of
 * `chunk`. Clears nothing: `fit` is written on success only. */
struct tone_record {
    const double *values, *times;
    size_t frames, channels, harmonics, chunk;
};
enum status tone_record_fit(const struct tone_record *record, struct periodic_fit *fit,
    enum periodic_failure *failure, struct error *err);

/* Fits an even record of the tone, made and given piece by piece; fails the test otherwise. */
void tone_fit(const struct tone *tone, size_t frames, struct periodic_fit *fit);

/* Frequency (relative) and all coefficients (relative to the channel's fundamental) against the
 * tone's; those that the fit left out count as 0. `begin` is where t = 0 of the fit lies, samples.
 */
void tone_check(const struct tone *tone, const struct periodic_fit *fit, double begin,
    double frequency_tolerance, double tolerance);

/* Largest relative error of |c_k| over both channels, and of the phase (radian) of harmonic k in
 * one channel against the other. */
void tone_compare(
    const struct tone *tone, const struct periodic_fit *fit, size_t k, double *size, double *phase);

#endif
