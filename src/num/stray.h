// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_STRAY_H
#define LODECARD_NUM_STRAY_H

#include <complex.h>
#include <stddef.h>

#include "base/error.h"
#include "num/periodic.h"

/* Steady tones in what a periodic fit leaves over: not harmonics, but lines of the residual, such
 * as mains hum or harmonics folded at half the sampling rate. stray.c tells how they are
 * found and told from noise and from a waveform that is merely unsteady. */
struct stray {
    size_t channel;
    double frequency_Hz;
    double width_Hz;          /* one over the duration that was looked at */
    double complex amplitude; /* Re(amplitude e^{i 2 pi f t}), t from the first sample; units of the
                                 record */
};

enum { STRAY_FRAMES = 1 << 18 }; /* more of a record are not looked at */

/* values[2 * frame + m]: the first `frames` of an even record of two channels, NaN where missing;
 * `fit` is that of the whole record. Strongest first, at most `limit` of each channel, so that
 * `list` has room for twice as many. Finds none in records too short to tell tones apart. */
enum status stray_find(const double *values, size_t frames, double sample_rate_Hz,
    const struct periodic_fit *fit, size_t limit, struct stray *list, size_t *count,
    struct error *err) MUST_CHECK;

/* What a tone makes of the coefficient of harmonic k in a fit of `duration_s`: at most this share
 * of its amplitude, for the tone's phase at the record's middle decides how much of it. */
double stray_get_leak(double distance_Hz, double duration_s);

#endif
