// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/direct.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"
#include "num/normal.h"
#include "num/nufft.h"

static const double TURN = 6.283185307179586476925286766559;

struct direct {
    size_t harmonics;
    struct nufft *nufft;  /* K */
    struct nufft *nufft2; /* 2K: the Toeplitz matrix */
    struct normal *normal;
    struct nufft_points *places; /* of the points, if there is room for them */
    double *phase;
    double complex *model, *slope, *ones; /* at the points */
    double complex *right, *solution, *projected, *toeplitz;
};

enum { PLACES_LIMIT = 1 << 16 }; /* 14 MB */

struct direct *direct_create(size_t harmonics, size_t count_limit)
{
    struct direct *direct = memory_create(1, sizeof *direct);
    if (direct == NULL) {
        return NULL;
    }
    const size_t unknowns = 2 * harmonics + 1;
    direct->harmonics = harmonics;
    direct->nufft = nufft_create(harmonics);
    direct->nufft2 = nufft_create(2 * harmonics);
    direct->normal = normal_create(harmonics);
    direct->phase = memory_create(count_limit, sizeof *direct->phase);
    direct->model = memory_create(count_limit, sizeof *direct->model);
    direct->slope = memory_create(count_limit, sizeof *direct->slope);
    direct->ones = direct->slope; /* never needed at once */
    direct->right = memory_create(unknowns, sizeof *direct->right);
    direct->solution = memory_create(unknowns, sizeof *direct->solution);
    direct->projected = memory_create(unknowns, sizeof *direct->projected);
    direct->toeplitz = memory_create(4 * harmonics + 1, sizeof *direct->toeplitz);
    const bool has_places = count_limit <= PLACES_LIMIT;
    direct->places = has_places ? nufft_points_create(count_limit) : NULL;
    if ((has_places && direct->places == NULL) || direct->nufft == NULL || direct->nufft2 == NULL ||
        direct->normal == NULL || direct->phase == NULL || direct->model == NULL ||
        direct->slope == NULL || direct->right == NULL || direct->solution == NULL ||
        direct->projected == NULL || direct->toeplitz == NULL) {
        direct_destroy(direct);
        return NULL;
    }
    return direct;
}

void direct_destroy(struct direct *direct)
{
    if (direct == NULL) {
        return;
    }
    nufft_destroy(direct->nufft);
    nufft_destroy(direct->nufft2);
    normal_destroy(direct->normal);
    nufft_points_destroy(direct->places);
    memory_destroy(direct->phase);
    memory_destroy(direct->model);
    memory_destroy(direct->slope);
    memory_destroy(direct->right);
    memory_destroy(direct->solution);
    memory_destroy(direct->projected);
    memory_destroy(direct->toeplitz);
    memory_destroy(direct);
}

static double compute_centre(const struct direct_points *points)
{
    double sum = 0.0;
    for (size_t n = 0; n < points->count; n++) {
        sum += points->time[n] - points->time[0];
    }
    return points->time[0] + sum / (double)points->count;
}

/* a + i b at harmonic k of a two-sided vector -> the series of a and of b */
static void split(
    const double complex *d, size_t top, size_t k, double complex *a, double complex *b)
{
    const double twice = k == 0 ? 0.5 : 1.0;
    const double complex p = d[top + k], s = conj(d[top - k]);
    *a = twice * (p + s);
    *b = -I * twice * (p - s);
}

static void compute_sums(struct direct *direct, size_t count, const double complex *z)
{
    if (direct->places != NULL) {
        nufft_compute_sums_at(direct->nufft, direct->places, z, direct->right);
    } else {
        nufft_compute_sums(direct->nufft, count, direct->phase, z, direct->right);
    }
}

static void compute_values(
    struct direct *direct, size_t count, const double complex *c, double complex *z)
{
    if (direct->places != NULL) {
        nufft_compute_values_at(direct->nufft, direct->places, c, z);
    } else {
        nufft_compute_values(direct->nufft, c, count, direct->phase, z);
    }
}

void direct_solve(struct direct *direct, const struct direct_points *points, double frequency,
    struct direct_result *result)
{
    const size_t top = direct->harmonics, count = points->count;
    result->centre = compute_centre(points);
    for (size_t n = 0; n < count; n++) {
        const double turns = frequency * (points->time[n] - result->centre);
        direct->phase[n] = turns - floor(turns);
        direct->ones[n] = 1.0;
    }
    if (direct->places != NULL) {
        nufft_points_set(direct->places, direct->nufft, count, direct->phase);
    }
    nufft_compute_sums(direct->nufft2, count, direct->phase, direct->ones, direct->toeplitz);
    normal_set_toeplitz(direct->normal, direct->toeplitz + 2 * top);
    compute_sums(direct, count, points->value);
    normal_solve(direct->normal, 0, NULL, NULL, direct->right, direct->solution);
    compute_values(direct, count, direct->solution, direct->model);
    double squares[2] = {0.0, 0.0}, energy[2] = {0.0, 0.0};
    for (size_t n = 0; n < count; n++) {
        const double complex rest = points->value[n] - direct->model[n];
        direct->model[n] = rest; /* from here on: the residual */
        squares[0] += creal(rest) * creal(rest);
        squares[1] += cimag(rest) * cimag(rest);
        energy[0] += creal(points->value[n]) * creal(points->value[n]);
        energy[1] += cimag(points->value[n]) * cimag(points->value[n]);
    }
    for (int m = 0; m < 2; m++) {
        /* the gridding's own error, about 3e-12 of the amplitude, is no noise to build on */
        const double least = 1e-23 * energy[m];
        result->square_sum[m] = fmax(squares[m], least);
    }
    const double freedom = (double)count - (double)(2 * top + 1);
    result->freedom = fmax(freedom, 1.0);
    for (size_t k = 0; k <= top; k++) {
        split(direct->solution, top, k, &result->coefficient[0][k], &result->coefficient[1][k]);
    }
}

/* The waveform's derivative by frequency at each point, and what of it the linear unknowns take up.
 */
static void set_slope(struct direct *direct, const struct direct_points *points, double centre)
{
    const size_t top = direct->harmonics;
    for (size_t i = 0; i <= 2 * top; i++) {
        direct->right[i] = I * TURN * ((double)i - (double)top) * direct->solution[i];
    }
    compute_values(direct, points->count, direct->right, direct->slope);
    for (size_t n = 0; n < points->count; n++) {
        direct->slope[n] *= points->time[n] - centre;
    }
    compute_sums(direct, points->count, direct->slope);
    normal_solve(direct->normal, 0, NULL, NULL, direct->right, direct->projected);
}

/* One Gauss-Newton step after direct_solve: gives the step, and the information on the frequency.
 */
static double compute_step(struct direct *direct, const struct direct_points *points,
    const struct direct_result *result, double *information)
{
    const size_t top = direct->harmonics;
    set_slope(direct, points, result->centre);
    double gradient[2] = {0.0, 0.0}, curvature[2] = {0.0, 0.0};
    for (size_t n = 0; n < points->count; n++) {
        const double complex s = direct->slope[n], r = direct->model[n];
        gradient[0] += creal(s) * creal(r);
        gradient[1] += cimag(s) * cimag(r);
        curvature[0] += creal(s) * creal(s);
        curvature[1] += cimag(s) * cimag(s);
    }
    for (size_t k = 0; k <= top; k++) {
        double complex a = 0.0, b = 0.0, fa = 0.0, fb = 0.0;
        split(direct->projected, top, k, &a, &b);
        split(direct->right, top, k, &fa, &fb);
        const double share = k == 0 ? 1.0 : 0.5;
        curvature[0] -= share * creal(conj(a) * fa);
        curvature[1] -= share * creal(conj(b) * fb);
    }
    double numerator = 0.0;
    *information = 0.0;
    for (int m = 0; m < 2; m++) {
        const double variance = result->square_sum[m] / result->freedom;
        if (variance > 0.0 && curvature[m] > 0.0) {
            numerator += gradient[m] / variance;
            *information += curvature[m] / variance;
        }
    }
    return *information > 0.0 ? numerator / *information : 0.0;
}

void direct_refine(struct direct *direct, const struct direct_points *points, int steps,
    double *frequency, double *u, struct direct_result *result)
{
    const double span = points->time[points->count - 1] - points->time[0];
    const double limit = 0.25 / span;
    double information = 0.0;
    for (int i = 0; i < steps; i++) {
        direct_solve(direct, points, *frequency, result);
        double step = compute_step(direct, points, result, &information);
        step = step > limit ? limit : step < -limit ? -limit : step;
        if (!(*frequency + step > 0.0)) {
            break;
        }
        *frequency += step;
        /* far below the noise, and below what rounding of the phases leaves */
        if (fabs(step) * sqrt(information) < 1e-3 || fabs(step) < 1e-14 * *frequency) {
            break;
        }
    }
    direct_solve(direct, points, *frequency, result);
    *u = information > 0.0 ? 1.0 / sqrt(information) : 0.0;
}
