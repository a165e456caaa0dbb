// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/normal.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/fft.h"
#include "num/pair.h"

enum { ITERATION_LIMIT = 400 };
/* Two digits above what rounding would allow, four below what any figure needs. */
static const double RESIDUAL_GOAL = 1e-13;

struct normal {
    size_t harmonics;
    size_t size;              /* of the circulant */
    double diagonal;          /* T[0] */
    double complex *spectrum; /* of the circulant, over its size */
    struct fft *forward, *backward;
    double complex *residual, *direction, *image, *scaled;
    double *inverse; /* of the diagonal */
};

struct normal *normal_create(size_t harmonics)
{
    struct normal *normal = memory_create(1, sizeof *normal);
    if (normal == NULL) {
        return NULL;
    }
    const size_t unknowns = 2 * harmonics + 1;
    normal->harmonics = harmonics;
    normal->size = fft_find_size(2 * unknowns - 1);
    normal->spectrum = memory_create(normal->size, sizeof *normal->spectrum);
    normal->forward = fft_create(normal->size, FFT_FORWARD);
    normal->backward = fft_create(normal->size, FFT_BACKWARD);
    normal->residual = memory_create(unknowns, sizeof *normal->residual);
    normal->direction = memory_create(unknowns, sizeof *normal->direction);
    normal->image = memory_create(unknowns, sizeof *normal->image);
    normal->scaled = memory_create(unknowns, sizeof *normal->scaled);
    normal->inverse = memory_create(unknowns, sizeof *normal->inverse);
    if (normal->spectrum == NULL || normal->forward == NULL || normal->backward == NULL ||
        normal->residual == NULL || normal->direction == NULL || normal->image == NULL ||
        normal->scaled == NULL || normal->inverse == NULL) {
        normal_destroy(normal);
        return NULL;
    }
    return normal;
}

void normal_destroy(struct normal *normal)
{
    if (normal == NULL) {
        return;
    }
    fft_destroy(normal->forward);
    fft_destroy(normal->backward);
    memory_destroy(normal->spectrum);
    memory_destroy(normal->residual);
    memory_destroy(normal->direction);
    memory_destroy(normal->image);
    memory_destroy(normal->scaled);
    memory_destroy(normal->inverse);
    memory_destroy(normal);
}

void normal_set_toeplitz(struct normal *normal, const double complex *toeplitz)
{
    double complex *column = fft_get_buffer(normal->forward);
    const size_t reach = 2 * normal->harmonics;
    memset(column, 0, normal->size * sizeof *column);
    column[0] = toeplitz[0];
    for (size_t q = 1; q <= reach; q++) {
        column[q] = toeplitz[q];
        column[normal->size - q] = conj(toeplitz[q]);
    }
    fft_compute(normal->forward);
    for (size_t i = 0; i < normal->size; i++) {
        normal->spectrum[i] = column[i] / (double)normal->size;
    }
    normal->diagonal = creal(toeplitz[0]);
}

static double complex multiply(double complex a, double complex b)
{
    /* C's complex product checks for infinities; here there are none. */
    return as_complex(
        creal(a) * creal(b) - cimag(a) * cimag(b), creal(a) * cimag(b) + cimag(a) * creal(b));
}

static double complex get_multiplier(const double complex *e, size_t top, size_t i)
{
    return i >= top ? e[i - top] : conj(e[top - i]);
}

/* image += weight conj(e) T (e x) */
static void add_product(struct normal *normal, const double complex *e, double weight,
    const double complex *x, double complex *image)
{
    const size_t top = normal->harmonics, unknowns = 2 * top + 1;
    double complex *buffer = fft_get_buffer(normal->forward);
    memset(buffer + unknowns, 0, (normal->size - unknowns) * sizeof *buffer);
    for (size_t i = 0; i < unknowns; i++) {
        buffer[i] = e == NULL ? x[i] : multiply(get_multiplier(e, top, i), x[i]);
    }
    fft_compute(normal->forward);
    double complex *product = fft_get_buffer(normal->backward);
    for (size_t i = 0; i < normal->size; i++) {
        product[i] = multiply(buffer[i], normal->spectrum[i]);
    }
    fft_compute(normal->backward);
    for (size_t i = 0; i < unknowns; i++) {
        const double complex part =
            e == NULL ? product[i] : multiply(conj(get_multiplier(e, top, i)), product[i]);
        image[i] += weight * part;
    }
}

static void compute_image(struct normal *normal, size_t classes, double complex *const *e,
    const double *weights, const double complex *x, double complex *image)
{
    memset(image, 0, (2 * normal->harmonics + 1) * sizeof *image);
    if (classes == 0) {
        add_product(normal, NULL, 1.0, x, image);
    }
    for (size_t c = 0; c < classes; c++) {
        add_product(normal, e[c], weights[c], x, image);
    }
}

static double compute_dot(const double complex *a, const double complex *b, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += creal(a[i]) * creal(b[i]) + cimag(a[i]) * cimag(b[i]);
    }
    return sum;
}

static void set_inverse(
    struct normal *normal, size_t classes, double complex *const *e, const double *weights)
{
    const size_t top = normal->harmonics;
    for (size_t i = 0; i <= 2 * top; i++) {
        double sum = classes == 0 ? 1.0 : 0.0;
        for (size_t c = 0; c < classes; c++) {
            const double complex m = get_multiplier(e[c], top, i);
            sum += weights[c] * (creal(m) * creal(m) + cimag(m) * cimag(m));
        }
        normal->inverse[i] = sum > 0.0 ? 1.0 / (sum * normal->diagonal) : 0.0;
    }
}

static void scale_residual(struct normal *normal, size_t unknowns)
{
    for (size_t i = 0; i < unknowns; i++) {
        normal->scaled[i] = normal->inverse[i] * normal->residual[i];
    }
}

double normal_solve(struct normal *normal, size_t classes, double complex *const *multipliers,
    const double *weights, const double complex *right, double complex *solution)
{
    const size_t unknowns = 2 * normal->harmonics + 1;
    double complex *r = normal->residual, *p = normal->direction, *q = normal->image;
    set_inverse(normal, classes, multipliers, weights);
    memset(solution, 0, unknowns * sizeof *solution);
    memcpy(r, right, unknowns * sizeof *r);
    scale_residual(normal, unknowns);
    memcpy(p, normal->scaled, unknowns * sizeof *p);
    double rho = compute_dot(r, normal->scaled, unknowns);
    const double start = rho;
    double best = rho;
    int stalled = 0;
    for (int i = 0; i < ITERATION_LIMIT && rho > start * RESIDUAL_GOAL * RESIDUAL_GOAL; i++) {
        compute_image(normal, classes, multipliers, weights, p, q);
        const double curvature = compute_dot(p, q, unknowns);
        if (!(curvature > 0.0)) {
            break;
        }
        const double step = rho / curvature;
        for (size_t j = 0; j < unknowns; j++) {
            solution[j] += step * p[j];
            r[j] -= step * q[j];
        }
        scale_residual(normal, unknowns);
        const double next = compute_dot(r, normal->scaled, unknowns);
        for (size_t j = 0; j < unknowns; j++) {
            p[j] = normal->scaled[j] + next / rho * p[j];
        }
        rho = next;
        stalled = rho < 0.25 * best ? 0 : stalled + 1;
        best = fmin(best, rho);
        if (stalled > 40) {
            break;
        }
    }
    return start > 0.0 ? sqrt(rho / start) : 0.0;
}
