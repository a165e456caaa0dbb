// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/monotone.h"

#include <float.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <math.h>
#include <string.h>

#include "base/memory.h"

#define STEPS_MOST 200 /* halvings: more than a double has digits */

struct monotone {
    size_t count;
    double *x, *y;
    gsl_interp *curve;
};

enum status monotone_create(
    const double *x, const double *y, size_t count, struct monotone **monotone, struct error *err)
{
    gsl_set_error_handler_off(); /* else GSL ends the program */
    for (size_t i = 1; i < count; i++) {
        if (!(x[i] > x[i - 1])) {
            return fail(err, STATUS_FAULT, "", "point %zu of a curve does not rise", i);
        }
    }
    if (count < 2) {
        return fail(err, STATUS_FAULT, "", "a curve needs two points");
    }
    struct monotone *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return fail_memory(err);
    }
    made->count = count;
    made->x = memory_create(count, sizeof *x);
    made->y = memory_create(count, sizeof *y);
    made->curve = gsl_interp_alloc(count > 2 ? gsl_interp_steffen : gsl_interp_linear, count);
    if (made->x == NULL || made->y == NULL || made->curve == NULL ||
        gsl_interp_init(made->curve, x, y, count) != GSL_SUCCESS) {
        monotone_destroy(made);
        return fail_memory(err);
    }
    memcpy(made->x, x, count * sizeof *x);
    memcpy(made->y, y, count * sizeof *y);
    *monotone = made;
    return STATUS_OK;
}

void monotone_destroy(struct monotone *monotone)
{
    if (monotone != NULL) {
        gsl_interp_free(monotone->curve);
        memory_destroy(monotone->x);
        memory_destroy(monotone->y);
        memory_destroy(monotone);
    }
}

double monotone_get(const struct monotone *monotone, double x, double *slope)
{
    const double first = monotone->x[0], last = monotone->x[monotone->count - 1];
    const double inside = fmin(fmax(x, first), last);
    const double steep =
        gsl_interp_eval_deriv(monotone->curve, monotone->x, monotone->y, inside, NULL);
    if (slope != NULL) {
        *slope = steep;
    }
    return gsl_interp_eval(monotone->curve, monotone->x, monotone->y, inside, NULL) +
           steep * (x - inside);
}

/* The stretch between two points in which y lies: y[i] <= y <= y[i + 1]. */
static size_t find_stretch(const struct monotone *monotone, double y)
{
    size_t low = 0, high = monotone->count - 1;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (monotone->y[middle] <= y) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

/* By halving, quickened by Newton's step wherever that stays between the two ends. */
double monotone_find(const struct monotone *monotone, double y)
{
    const size_t at = find_stretch(monotone, y);
    double low = monotone->x[at], high = monotone->x[at + 1];
    if (y <= monotone->y[at] || y >= monotone->y[at + 1]) {
        return y <= monotone->y[at] ? low : high;
    }
    double x = 0.5 * (low + high);
    for (int i = 0; i < STEPS_MOST; i++) {
        double slope;
        const double off = monotone_get(monotone, x, &slope) - y;
        if (off > 0) {
            high = x;
        } else {
            low = x;
        }
        const double step = slope > 0 ? x - off / slope : NAN;
        if (off == 0.0 || fabs(step - x) <= DBL_EPSILON * fabs(x)) {
            return x;
        }
        const double next = step > low && step < high ? step : 0.5 * (low + high);
        if (next == low || next == high) {
            return next;
        }
        x = next;
    }
    return x;
}
