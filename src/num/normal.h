// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_NORMAL_H
#define LODECARD_NUM_NORMAL_H

#include <complex.h>
#include <stddef.h>

/* The normal equations of a harmonic fit with unknowns d[-K ... K]:
 *
 *     sum_c weight_c conj(e_c[k]) sum_l T[k - l] e_c[l] d[l] = right[k]
 *
 * T is Hermitian Toeplitz, T[q] = sum_n e^{-2 pi i q phase[n]}; each class c of samples sees the
 * harmonics through its own multipliers e_c (none: 1). Solved by conjugate gradients,
 * preconditioned by the diagonal; the Toeplitz product is two FFTs of an embedding circulant. Dense
 * elimination would cost K^3. */
struct normal;

struct normal *normal_create(size_t harmonics); /* NULL: out of memory */
void normal_destroy(struct normal *normal);

/* T[0 ... 2K]; T[-q] is its conjugate. */
void normal_set_toeplitz(struct normal *normal, const double complex *toeplitz);

/* multipliers[c] has K + 1 values for k >= 0, those below are conjugates; `classes` 0 means one
 * class with multipliers and weight 1. Arrays are of size 2K + 1. Returns the relative residual
 * reached. */
double normal_solve(struct normal *normal, size_t classes, double complex *const *multipliers,
    const double *weights, const double complex *right, double complex *solution);

#endif
