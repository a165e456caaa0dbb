// SPDX-License-Identifier: GPL-3.0-or-later
/* E. T. Whittaker, On a new method of graduation, Proc. Edinburgh Math. Soc. 41 (1923) 63, with
 * divided differences for uneven points. With D the second differences and V the squares of the
 * bounds the minimum is z = y - V D' v, where (D V D' + 1/lambda) v = D y: five diagonals, and
 * well-behaved for any lambda (a straight line is the limit), which the equations for z are not. */
#include "num/smooth.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"
#include "num/guard.h"

#define BANDS 3 /* the diagonal and two below it */
#define LEAST_EXPONENT (-40.0)
#define MOST_EXPONENT 40.0
#define EXPONENT_STEP 0.01 /* of ln lambda: 1 % */

struct smoothing {
    const double *x, *y, *bound;
    size_t count;      /* points; there are two differences less */
    double (*rows)[3]; /* D: weights of the points i, i + 1, i + 2 in difference i */
    gsl_matrix *bands; /* differences x BANDS: lower diagonals, as GSL wants them */
    gsl_vector *solution;
    double *z;
};

/* Second divided differences, on a scale of x that runs from 0 to 1. */
static void set_rows(struct smoothing *s)
{
    const double span = s->x[s->count - 1] - s->x[0];
    for (size_t i = 0; i + 2 < s->count; i++) {
        const double a = (s->x[i + 1] - s->x[i]) / span, b = (s->x[i + 2] - s->x[i + 1]) / span;
        s->rows[i][0] = 1.0 / (a * (a + b));
        s->rows[i][1] = -1.0 / (a * b);
        s->rows[i][2] = 1.0 / (b * (a + b));
    }
}

/* Element (i + below, i) of D V D'. */
static double get_product(const struct smoothing *s, size_t i, size_t below)
{
    double sum = 0;
    for (size_t k = below; k < 3; k++) {
        const double bound = s->bound[i + k];
        sum += s->rows[i][k] * s->rows[i + below][k - below] * bound * bound;
    }
    return sum;
}

/* z for one lambda; false: the equations cannot be solved. */
static bool solve(struct smoothing *s, double lambda)
{
    const size_t differences = s->count - 2;
    for (size_t i = 0; i < differences; i++) {
        for (size_t below = 0; below < BANDS; below++) {
            const double product = i + below < differences ? get_product(s, i, below) : 0;
            gsl_matrix_set(s->bands, i, below, product + (below == 0 ? 1.0 / lambda : 0));
        }
        double bend = 0;
        for (size_t k = 0; k < 3; k++) {
            bend += s->rows[i][k] * s->y[i + k];
        }
        gsl_vector_set(s->solution, i, bend);
    }
    if (gsl_linalg_cholesky_band_decomp(s->bands) != GSL_SUCCESS ||
        gsl_linalg_cholesky_band_svx(s->bands, s->solution) != GSL_SUCCESS) {
        return false;
    }
    memcpy(s->z, s->y, s->count * sizeof *s->z);
    for (size_t i = 0; i < differences; i++) {
        for (size_t k = 0; k < 3; k++) {
            const double bound = s->bound[i + k];
            s->z[i + k] -= bound * bound * s->rows[i][k] * gsl_vector_get(s->solution, i);
        }
    }
    return true;
}

static bool is_within(const struct smoothing *s)
{
    for (size_t i = 0; i < s->count; i++) {
        if (!(fabs(s->z[i] - s->y[i]) <= s->bound[i])) {
            return false;
        }
    }
    return true;
}

static void find_smoothest(struct smoothing *s, double *z)
{
    double low = LEAST_EXPONENT, high = MOST_EXPONENT;
    while (high - low > EXPONENT_STEP) {
        const double middle = 0.5 * (low + high);
        if (solve(s, exp(middle)) && is_within(s)) {
            low = middle;
            memcpy(z, s->z, s->count * sizeof *z);
        } else {
            high = middle;
        }
    }
}

enum status smooth_compute(const double *x, const double *y, const double *bound, size_t count,
    double *z, struct error *err)
{
    memmove(z, y, count * sizeof *z);
    if (count < 4) {
        return STATUS_OK;
    }
    guard_gsl();
    struct smoothing s = {.x = x, .y = y, .bound = bound, .count = count};
    s.rows = memory_create(count, sizeof *s.rows);
    s.z = memory_create(count, sizeof *s.z);
    s.bands = gsl_matrix_alloc(count - 2, BANDS);
    s.solution = gsl_vector_alloc(count - 2);
    const bool is_ready = s.rows != NULL && s.z != NULL && s.bands != NULL && s.solution != NULL;
    if (is_ready) {
        set_rows(&s);
        find_smoothest(&s, z);
    }
    memory_destroy(s.rows);
    memory_destroy(s.z);
    gsl_matrix_free(s.bands);
    gsl_vector_free(s.solution);
    return is_ready ? STATUS_OK : fail_memory(err);
}
