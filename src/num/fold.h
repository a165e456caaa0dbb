// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_FOLD_H
#define LODECARD_NUM_FOLD_H

#include <complex.h>
#include <stddef.h>

#include "base/error.h"

/* A block of evenly sampled two-channel data folded over whole cycles.
 *
 * The data are cut in rows of `row_cycles` whole cycles; a row starts at the sample nearest to the
 * cycle's begin, and its length is the whole part of the row's period. Rows are classed by how far
 * (a part of a sample) their start is off, and each class is one plain vector sum S_c[j]. What a
 * class sum holds is known exactly,
 *
 *     S_c[j] = sum_k d[k] E_c[k] e^{2 pi i k nu j},    E_c[k] = sum over its rows of e^{2 pi i k
 * u_r},
 *
 * u_r the phase of the row's first sample, so the least-squares fit of d to the sums has no bias at
 * all; what is lost against a fit to the samples is the scatter of u_r inside a class
 * (docs/estimator.md puts numbers on it). */
struct fold;

struct fold_shape {
    double nu;         /* cycles per sample */
    size_t row_cycles; /* whole cycles in a row */
    size_t row_length; /* samples in a row: whole part of row_cycles / nu + 0.01 */
    size_t classes;
    size_t thinning; /* samples of a class sum that are added up before the fit */
    size_t harmonics;
};

/* The shape for a fit of K harmonics: rows of at least 256 samples, as many classes and as little
 * thinning as the highest harmonic needs. */
struct fold_shape fold_find_shape(double nu, size_t harmonics);

struct fold *fold_create(const struct fold_shape *shape); /* NULL: out of memory */
void fold_destroy(struct fold *fold);

/* Another frequency for the rows to come (rows keep their length); only right after fold_clear. */
void fold_set_frequency(struct fold *fold, double nu);

/* Adds a row of row_length frames (two values each); `offset` is its start minus the cycle's begin,
 * in samples, -0.5 ... 0.5. */
enum status fold_add(
    struct fold *fold, const double *row, double offset, struct error *err) MUST_CHECK;

size_t fold_get_rows(const struct fold *fold);

/* Fits and clears. coefficient[m][0 ... K] as in num/fourier.h, phase 0 at a cycle's begin;
 * square_sum[m] is the weighted sum of squared residuals of channel m, whose expectation is
 * *freedom times the variance of one sample. */
struct fold_result {
    double complex *coefficient[2]; /* of the caller */
    double square_sum[2];
    double freedom;
};
void fold_solve(struct fold *fold, struct fold_result *result);
void fold_clear(struct fold *fold);

#endif
