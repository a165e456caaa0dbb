// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/nufft.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"
#include "num/fft.h"
#include "num/pair.h"

enum { REACH = 13, WIDTH = 2 * REACH };

struct nufft {
    size_t harmonics;
    size_t size;                    /* of the grid */
    double decay;                   /* of the Gaussian, per squared grid step */
    double shape[WIDTH];            /* e^{-decay l^2}, l = 1 - REACH ... REACH */
    double *restore;                /* what undoes the Gaussian, for k = 0 ... K */
    double complex *line;           /* the grid with REACH more points at both ends */
    struct fft *forward, *backward; /* backward: NULL, sums only */
};

static struct nufft *create(size_t harmonics, bool has_values)
{
    const double pi = 3.14159265358979323846;
    struct nufft *nufft = memory_create(1, sizeof *nufft);
    if (nufft == NULL) {
        return NULL;
    }
    const size_t modes = 2 * harmonics + 1;
    const size_t smallest = 2 * WIDTH;
    nufft->harmonics = harmonics;
    nufft->size = fft_find_size(2 * modes > smallest ? 2 * modes : smallest);
    nufft->line = memory_create(nufft->size + WIDTH, sizeof *nufft->line);
    nufft->restore = memory_create(harmonics + 1, sizeof *nufft->restore);
    nufft->forward = fft_create(nufft->size, FFT_FORWARD);
    nufft->backward = has_values ? fft_create(nufft->size, FFT_BACKWARD) : NULL;
    if (nufft->line == NULL || nufft->restore == NULL || nufft->forward == NULL ||
        (has_values && nufft->backward == NULL)) {
        nufft_destroy(nufft);
        return NULL;
    }
    const double ratio = (double)nufft->size / (double)modes;
    const double tau = pi * REACH / (ratio * (ratio - 0.5) * (double)modes * (double)modes);
    const double step = 2.0 * pi / (double)nufft->size;
    nufft->decay = step * step / (4.0 * tau);
    for (int i = 0; i < WIDTH; i++) {
        const double l = i + 1 - REACH;
        nufft->shape[i] = exp(-nufft->decay * l * l);
    }
    for (size_t k = 0; k <= harmonics; k++) {
        nufft->restore[k] = sqrt(pi / tau) * exp((double)k * (double)k * tau) / (double)nufft->size;
    }
    return nufft;
}

struct nufft *nufft_create(size_t harmonics)
{
    return create(harmonics, true);
}

struct nufft *nufft_create_sums(size_t harmonics)
{
    return create(harmonics, false);
}

void nufft_destroy(struct nufft *nufft)
{
    if (nufft == NULL) {
        return;
    }
    fft_destroy(nufft->forward);
    fft_destroy(nufft->backward);
    memory_destroy(nufft->line);
    memory_destroy(nufft->restore);
    memory_destroy(nufft);
}

/* The kernel's values around a phase; gives the index in `line` of the first. */
static size_t get_weights(const struct nufft *nufft, double phase, double weights[WIDTH])
{
    const double turn = phase - floor(phase);
    const double place = turn * (double)nufft->size;
    /* a phase just below a whole number may round up to it */
    const double cell = fmin(floor(place), (double)nufft->size - 1.0);
    const double offset = place - cell;
    const double ratio = exp(2.0 * offset * nufft->decay);
    const double lowest = exp(-offset * nufft->decay * (offset + 2.0 * (REACH - 1)));
    double power = lowest;
    for (int i = 0; i < WIDTH; i++) {
        weights[i] = power * nufft->shape[i];
        power *= ratio;
    }
    return (size_t)cell + 1;
}

static void spread(double *restrict place, const double *restrict weights, double complex z)
{
    const double re = creal(z), im = cimag(z);
    for (int i = 0; i < WIDTH; i++) {
        place[2 * i] += weights[i] * re;
        place[2 * i + 1] += weights[i] * im;
    }
}

/* From the spread points to the sums: line[i] is grid point i - REACH, so both ends are brought
 * home first. */
static void finish_sums(struct nufft *nufft, double complex *sums)
{
    const size_t size = nufft->size, top = nufft->harmonics;
    double complex *grid = fft_get_buffer(nufft->forward);
    memcpy(grid, nufft->line + REACH, size * sizeof *grid);
    for (size_t i = 0; i < REACH; i++) {
        grid[size - REACH + i] += nufft->line[i];
        grid[i] += nufft->line[size + REACH + i];
    }
    fft_compute(nufft->forward);
    sums[top] = grid[0] * nufft->restore[0];
    for (size_t k = 1; k <= top; k++) {
        sums[top + k] = grid[k] * nufft->restore[k];
        sums[top - k] = grid[size - k] * nufft->restore[k];
    }
}

void nufft_compute_sums(struct nufft *nufft, size_t count, const double *phase,
    const double complex *z, double complex *sums)
{
    double *line = (double *)nufft->line;
    memset(nufft->line, 0, (nufft->size + WIDTH) * sizeof *nufft->line);
    for (size_t n = 0; n < count; n++) {
        double weights[WIDTH];
        double *place = line + 2 * get_weights(nufft, phase[n], weights);
        spread(place, weights, z[n]);
    }
    finish_sums(nufft, sums);
}

struct nufft_points {
    size_t count;
    size_t *place;
    double *weights; /* WIDTH to a point */
};

struct nufft_points *nufft_points_create(size_t count)
{
    struct nufft_points *points = memory_create(1, sizeof *points);
    if (points == NULL) {
        return NULL;
    }
    points->place = memory_create(count, sizeof *points->place);
    points->weights = memory_create(count * WIDTH, sizeof *points->weights);
    if (points->place == NULL || points->weights == NULL) {
        nufft_points_destroy(points);
        return NULL;
    }
    return points;
}

void nufft_points_destroy(struct nufft_points *points)
{
    if (points == NULL) {
        return;
    }
    memory_destroy(points->place);
    memory_destroy(points->weights);
    memory_destroy(points);
}

void nufft_points_set(
    struct nufft_points *points, const struct nufft *nufft, size_t count, const double *phase)
{
    points->count = count;
    for (size_t n = 0; n < count; n++) {
        points->place[n] = get_weights(nufft, phase[n], points->weights + n * WIDTH);
    }
}

void nufft_compute_sums_at(struct nufft *nufft, const struct nufft_points *points,
    const double complex *z, double complex *sums)
{
    double *line = (double *)nufft->line;
    memset(nufft->line, 0, (nufft->size + WIDTH) * sizeof *nufft->line);
    for (size_t n = 0; n < points->count; n++) {
        spread(line + 2 * points->place[n], points->weights + n * WIDTH, z[n]);
    }
    finish_sums(nufft, sums);
}

/* The line between the points' grid and its ends, filled from a series. */
static void set_line(struct nufft *nufft, const double complex *c)
{
    double complex *grid = fft_get_buffer(nufft->backward);
    const size_t size = nufft->size, top = nufft->harmonics;
    memset(grid, 0, size * sizeof *grid);
    grid[0] = c[top] * nufft->restore[0];
    for (size_t k = 1; k <= top; k++) {
        grid[k] = c[top + k] * nufft->restore[k];
        grid[size - k] = c[top - k] * nufft->restore[k];
    }
    fft_compute(nufft->backward);
    memcpy(nufft->line + REACH, grid, size * sizeof *grid);
    for (size_t i = 0; i < REACH; i++) {
        nufft->line[i] = grid[size - REACH + i];
        nufft->line[size + REACH + i] = grid[i];
    }
}

static double complex gather(const double *place, const double *weights)
{
    double re = 0.0, im = 0.0;
    for (int i = 0; i < WIDTH; i++) {
        re += weights[i] * place[2 * i];
        im += weights[i] * place[2 * i + 1];
    }
    return as_complex(re, im);
}

void nufft_compute_values_at(struct nufft *nufft, const struct nufft_points *points,
    const double complex *c, double complex *z)
{
    set_line(nufft, c);
    const double *line = (const double *)nufft->line;
    for (size_t n = 0; n < points->count; n++) {
        z[n] = gather(line + 2 * points->place[n], points->weights + n * WIDTH);
    }
}

void nufft_compute_values(struct nufft *nufft, const double complex *c, size_t count,
    const double *phase, double complex *z)
{
    set_line(nufft, c);
    const double *line = (const double *)nufft->line;
    for (size_t n = 0; n < count; n++) {
        double weights[WIDTH];
        const double *place = line + 2 * get_weights(nufft, phase[n], weights);
        z[n] = gather(place, weights);
    }
}
