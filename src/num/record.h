// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_RECORD_H
#define LODECARD_NUM_RECORD_H

#include <complex.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "num/block.h"
#include "num/periodic.h"
#include "num/rounding.h"

/* A record that is wholly in memory, and how it is fitted. Both channels as real and imaginary
 * part; NaN where missing. */
struct record {
    size_t channels;
    size_t count;
    const double complex *value;
    const double *time; /* NULL: even, time is the index */
    double grid_step;   /* of an even clock from which the times are taken; 0: there is none */
    bool has_missing;
    size_t fixed_harmonics; /* 0: chosen from the data */
    struct rounding rounding;
};

/* The most harmonics that are ever fitted. */
enum { HARMONICS_LIMIT = 2048 };

/* Highest harmonic below half the sampling rate, at least 1, at most HARMONICS_LIMIT. */
size_t record_get_limit(double nu, size_t fixed_harmonics);

/* The same for a record of `frames` samples whose frequency is known: leaves out a harmonic so near
 * half the sampling rate that the record does not show both of its parts. */
size_t record_get_safe_limit(double nu, double frames, size_t fixed_harmonics);

/* Even records of 32 cycles and 32768 samples or more: folded in 16 blocks at a frequency that
 * their phases improve until they lie level. `blocks` is filled (clear it); *nu comes in rough and
 * goes out final. `margin` widens the number of harmonics kept for the data to come: 1 none. */
enum status record_fit_folded(const struct record *record, size_t margin, double *nu,
    struct block_list *blocks, struct error *err) MUST_CHECK;

/* Any record: every sample used as it is (num/direct.h). The fit's frequency is in cycles per unit
 * of time; phases as of time 0; blocks are cycles or runs of cycles. */
enum status record_fit_direct(const struct record *record, double frequency,
    struct periodic_fit *fit, struct error *err) MUST_CHECK;

/* Turns coefficients by `turns` cycles of the fundamental: c[k] e^{2 pi i k turns}. */
void turn_series(double complex *c, size_t harmonics, double turns);

enum status periodic_fit_create(
    struct periodic_fit *fit, size_t harmonics, size_t blocks, struct error *err) MUST_CHECK;

#endif
