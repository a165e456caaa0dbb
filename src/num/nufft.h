// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_NUFFT_H
#define LODECARD_NUM_NUFFT_H

#include <complex.h>
#include <stddef.h>

/* Sums of harmonics -K ... K over points at any phases, by Gaussian gridding: L. Greengard, J.-Y.
 * Lee, "Accelerating the nonuniform fast Fourier transform", SIAM Review 46 (2004) 443. 13 grid
 * points to each side give 1e-12 relative. Kaiser-Bessel kernels need half as many points, but a
 * Bessel function or a fitted polynomial for each. */
struct nufft;

struct nufft *nufft_create(size_t harmonics);      /* NULL: out of memory */
struct nufft *nufft_create_sums(size_t harmonics); /* the same, for sums only */
void nufft_destroy(struct nufft *nufft);

/* For phases that come again and again: the kernel's weights, worked out once. */
struct nufft_points;
struct nufft_points *nufft_points_create(size_t count); /* NULL: out of memory; 216 bytes a point */
void nufft_points_set(struct nufft_points *points, const struct nufft *nufft, size_t count,
    const double *phase); /* count: up to that of nufft_points_create */
void nufft_points_destroy(struct nufft_points *points);
void nufft_compute_sums_at(struct nufft *nufft, const struct nufft_points *points,
    const double complex *z, double complex *sums);
void nufft_compute_values_at(struct nufft *nufft, const struct nufft_points *points,
    const double complex *c, double complex *z);

/* sums[K + k] = sum_n z[n] e^{-2 pi i k phase[n]}; phases in cycles, any real number. */
void nufft_compute_sums(struct nufft *nufft, size_t count, const double *phase,
    const double complex *z, double complex *sums);

/* z[n] = sum_k c[K + k] e^{+2 pi i k phase[n]}. */
void nufft_compute_values(struct nufft *nufft, const double complex *c, size_t count,
    const double *phase, double complex *z);

#endif
