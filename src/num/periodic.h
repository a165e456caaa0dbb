// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_PERIODIC_H
#define LODECARD_NUM_PERIODIC_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

/* Least-squares fit of a periodic waveform to one or two channels sampled together: offset and
 * harmonics 1 ... K of an unknown fundamental frequency, over a record of any length in bounded
 * memory. docs/estimator.md tells how and why.
 *
 *     x_m(t) = Re sum_{k=0..K} coefficient[m][k] e^{i 2 pi k f t} + noise,  t in seconds from the
 * first sample.
 */
#define PERIODIC_CHANNELS 2

struct periodic_options {
    size_t channels;       /* 1 or 2 */
    double sample_rate_Hz; /* even sampling; 0: every call of periodic_add gives times */
    bool is_complete;      /* no value is NaN or infinite: nobody looks */
    size_t harmonics;      /* 0: chosen from the data */
    double frequency_Hz; /* where the fundamental is, to a tenth of a cycle over the record's first
                            65536 samples; 0: found from the data */
};

/* One cycle, or a run of whole cycles, fitted alone at the frequency of the record. */
struct periodic_block {
    double time_s; /* its middle */
    double frames; /* its weight */
    double phase;  /* by how much (radian) it is ahead of the record's even phase */
    double complex *coefficient[PERIODIC_CHANNELS]; /* K + 1, phases as of the record's t = 0, own
                                                       phase taken out */
};

struct periodic_fit {
    size_t channels;
    size_t harmonics; /* K */
    double frequency_Hz;
    double u_frequency_Hz; /* standard uncertainty, from the noise */
    double frames;
    double duration_s;
    double cycles;
    double samples_per_cycle;
    double complex *coefficient[PERIODIC_CHANNELS]; /* K + 1; [0] real */
    double noise_rms[PERIODIC_CHANNELS]; /* standard deviation of one sample's residual */
    struct periodic_block *blocks;
    size_t block_count;
    double phase_drift_rad;   /* largest deviation of the blocks' phases from an even clock */
    double phase_drift_u_rad; /* what noise alone would make of it */
    bool is_unsteady;         /* the frequency drifts: the blocks' own phases were used */
    size_t harmonics_limit;   /* what the sampling carries */
};

struct periodic;
struct periodic *periodic_create(const struct periodic_options *options, struct error *err);

/* values[frame * channels + m]; `times` (s, increasing) only without a sample rate. NaN in any
 * channel or time: that frame is left out, the others keep their places. */
enum status periodic_add(struct periodic *periodic, const double *values, const double *times,
    size_t frames, struct error *err) MUST_CHECK;

/* STATUS_CAPTURE with a reason when there are too few samples, fewer than 3 cycles, or no periodic
 * waveform. */
enum status periodic_finish(
    struct periodic *periodic, struct periodic_fit *fit, struct error *err) MUST_CHECK;

/* Why periodic_finish (or periodic_add) gave STATUS_CAPTURE. */
enum periodic_failure { PERIODIC_FINE, PERIODIC_SHORT, PERIODIC_ABSENT, PERIODIC_UNFIT };
enum periodic_failure periodic_get_failure(const struct periodic *periodic);

/* What was too few or too many, and the limit: `key` is "cycles", "samples" or "harmonics"; NULL,
 * with the others untouched, where nothing was counted. */
const char *periodic_get_failure_count(
    const struct periodic *periodic, double *value, double *limit);

void periodic_destroy(struct periodic *periodic);
void periodic_fit_clear(struct periodic_fit *fit);

#endif
