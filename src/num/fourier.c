// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/fourier.h"

#include <math.h>
#include <stdbool.h>

#include "base/memory.h"
#include "num/fft.h"

static const double TURN = 6.283185307179586476925286766559;

double fourier_get(const double complex *c, size_t harmonics, double x, double *slope)
{
    /* Horner's rule in z = e^{ix}, in plain reals: complex multiplication in C checks for
     * infinities. */
    const double zr = cos(x), zi = sin(x);
    double pr = creal(c[harmonics]), pi = cimag(c[harmonics]);
    double qr = (double)harmonics * pr, qi = (double)harmonics * pi; /* sum of k c[k] z^k */
    for (size_t k = harmonics; k-- > 0;) {
        const double ar = creal(c[k]), ai = cimag(c[k]);
        const double nr = pr * zr - pi * zi + ar, ni = pr * zi + pi * zr + ai;
        const double mr = qr * zr - qi * zi + (double)k * ar;
        const double mi = qr * zi + qi * zr + (double)k * ai;
        pr = nr;
        pi = ni;
        qr = mr;
        qi = mi;
    }
    if (slope != NULL) {
        *slope = -qi; /* Re(i q) */
    }
    return pr;
}

static enum status sample_direct(
    const double complex *c, size_t harmonics, double x0, size_t count, double *values)
{
    for (size_t n = 0; n < count; n++) {
        values[n] = fourier_get(c, harmonics, x0 + TURN * (double)n / (double)count, NULL);
    }
    return STATUS_OK;
}

enum status fourier_sample(const double complex *c, size_t harmonics, double x0, size_t count,
    double *values, struct error *err)
{
    if (count <= harmonics) {
        return sample_direct(c, harmonics, x0, count, values);
    }
    struct fft *fft = fft_create(count, FFT_BACKWARD);
    if (fft == NULL) {
        return fail_memory(err);
    }
    double complex *buffer = fft_get_buffer(fft);
    for (size_t k = 0; k <= harmonics; k++) {
        buffer[k] = c[k] * cexp(I * fmod((double)k * x0, TURN));
    }
    fft_compute(fft);
    for (size_t n = 0; n < count; n++) {
        values[n] = creal(buffer[n]);
    }
    fft_destroy(fft);
    return STATUS_OK;
}

/* A series and its sampled values on the search grid. */
struct grid {
    size_t count;
    double step;
    double *values;
};

static enum status grid_init(
    struct grid *grid, const double complex *c, size_t harmonics, struct error *err)
{
    const size_t wanted = 16 * harmonics;
    grid->count = fft_find_size(wanted < 256 ? 256 : wanted);
    grid->step = TURN / (double)grid->count;
    grid->values = memory_create(grid->count, sizeof *grid->values);
    if (grid->values == NULL) {
        return fail_memory(err);
    }
    const enum status status = fourier_sample(c, harmonics, 0.0, grid->count, grid->values, err);
    if (status != STATUS_OK) {
        memory_destroy(grid->values);
        grid->values = NULL;
    }
    return status;
}

/* The root of w - level between a and b, where it changes sign: Newton, kept inside the shrinking
 * bracket. */
static double find_root(
    const double complex *c, size_t harmonics, double level, double a, double b, double value_a)
{
    double x = 0.5 * (a + b), moved = INFINITY;
    for (int i = 0; i < 80; i++) {
        double slope;
        const double value = fourier_get(c, harmonics, x, &slope) - level;
        if ((value < 0.0) == (value_a < 0.0)) {
            a = x;
        } else {
            b = x;
        }
        double next = slope != 0.0 ? x - value / slope : INFINITY;
        /* a tiny step is Newton's end even where rounding carries it over the bracket's edge */
        const bool is_newton = (next >= a && next <= b) || fabs(next - x) < 1e-11;
        next = is_newton ? next : 0.5 * (a + b);
        const double move = fabs(next - x);
        /* Newton's steps shrink fast until rounding is all they are made of */
        if (move <= 2e-15 || (is_newton && move < 1e-10 && move > 0.25 * moved)) {
            return next;
        }
        moved = move;
        x = next;
    }
    return x;
}

enum status fourier_find_crossings(const double complex *c, size_t harmonics, double level,
    struct fourier_crossing *list, size_t limit, size_t *count, struct error *err)
{
    struct grid grid;
    const enum status status = grid_init(&grid, c, harmonics, err);
    if (status != STATUS_OK) {
        return status;
    }
    const double below_turn = nextafter(TURN, 0.0);
    size_t found = 0;
    for (size_t n = 0; n < grid.count; n++) {
        const double here = grid.values[n] - level;
        const double there = grid.values[(n + 1) % grid.count] - level;
        if ((here < 0.0) == (there < 0.0)) {
            continue;
        }
        if (found < limit) {
            const double a = grid.step * (double)n;
            const double phase = find_root(c, harmonics, level, a, a + grid.step, here);
            list[found].phase = fmin(fmax(phase, 0.0), below_turn); /* rounding steps over 0 */
            list[found].is_rising = here < 0.0;
        }
        found++;
    }
    *count = found;
    memory_destroy(grid.values);
    return STATUS_OK;
}

/* The coefficients of dw/dx. */
static double complex *create_slope(const double complex *c, size_t harmonics)
{
    double complex *slope = memory_create(harmonics + 1, sizeof *slope);
    for (size_t k = 0; slope != NULL && k <= harmonics; k++) {
        slope[k] = I * (double)k * c[k];
    }
    return slope;
}

/* Extremes in the order of their phases. */
struct walk {
    struct fourier_extremes extremes;
    double first, last;
    size_t count;
};

static void walk_add(struct walk *walk, const double complex *c, size_t harmonics, double phase)
{
    struct fourier_extremes *extremes = &walk->extremes;
    const double value = fourier_get(c, harmonics, phase, NULL);
    if (value > extremes->maximum) {
        extremes->maximum = value;
        extremes->maximum_phase = fmod(phase, TURN);
    }
    if (value < extremes->minimum) {
        extremes->minimum = value;
        extremes->minimum_phase = fmod(phase, TURN);
    }
    if (walk->count++ == 0) {
        walk->first = value;
    } else {
        extremes->total_variation += fabs(value - walk->last);
    }
    walk->last = value;
}

/* A series with its first two derivatives, and those sampled on one grid. */
struct bends {
    double complex *slope, *curve;
    struct grid slopes, curves;
};

static void bends_clear(struct bends *bends)
{
    memory_destroy(bends->slope);
    memory_destroy(bends->curve);
    memory_destroy(bends->slopes.values);
    memory_destroy(bends->curves.values);
}

static enum status bends_init(
    struct bends *bends, const double complex *c, size_t harmonics, struct error *err)
{
    *bends = (struct bends){.slope = create_slope(c, harmonics)};
    if (bends->slope != NULL) {
        bends->curve = create_slope(bends->slope, harmonics);
    }
    if (bends->curve == NULL) {
        bends_clear(bends);
        return fail_memory(err);
    }
    enum status status = grid_init(&bends->slopes, bends->slope, harmonics, err);
    if (status == STATUS_OK) {
        status = grid_init(&bends->curves, bends->curve, harmonics, err);
    }
    if (status != STATUS_OK) {
        bends_clear(bends);
    }
    return status;
}

/* The extremes between grid points n and n + 1: one where the slope changes sign, or two where it
 * dips through zero and back in between. */
static void walk_interval(struct walk *walk, const struct bends *bends, const double complex *c,
    size_t harmonics, size_t n)
{
    const size_t m = (n + 1) % bends->slopes.count;
    const double here = bends->slopes.values[n], there = bends->slopes.values[m];
    const double a = bends->slopes.step * (double)n, b = a + bends->slopes.step;
    if ((here < 0.0) != (there < 0.0)) {
        walk_add(walk, c, harmonics, find_root(bends->slope, harmonics, 0.0, a, b, here));
        return;
    }
    const double curve_here = bends->curves.values[n], curve_there = bends->curves.values[m];
    if (!(here * curve_here < 0.0 && there * curve_there > 0.0)) {
        return; /* the slope does not come nearer to zero than at the ends */
    }
    const double nearest = find_root(bends->curve, harmonics, 0.0, a, b, curve_here);
    const double dip = fourier_get(bends->slope, harmonics, nearest, NULL);
    if ((dip < 0.0) != (here < 0.0)) {
        walk_add(walk, c, harmonics, find_root(bends->slope, harmonics, 0.0, a, nearest, here));
        walk_add(walk, c, harmonics, find_root(bends->slope, harmonics, 0.0, nearest, b, dip));
    }
}

enum status fourier_find_extremes(
    const double complex *c, size_t harmonics, struct fourier_extremes *extremes, struct error *err)
{
    struct bends bends;
    const enum status status = bends_init(&bends, c, harmonics, err);
    if (status != STATUS_OK) {
        return status;
    }
    /* There are few, so all are refined. */
    struct walk walk = {.extremes = {.maximum = -INFINITY, .minimum = INFINITY}};
    for (size_t n = 0; n < bends.slopes.count; n++) {
        walk_interval(&walk, &bends, c, harmonics, n);
    }
    if (walk.count == 0) { /* a constant */
        walk_add(&walk, c, harmonics, 0.0);
    }
    walk.extremes.total_variation += fabs(walk.first - walk.last);
    *extremes = walk.extremes;
    bends_clear(&bends);
    return STATUS_OK;
}
