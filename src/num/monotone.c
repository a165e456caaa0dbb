// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/monotone.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/guard.h"

struct monotone {
    size_t count;
    double *x, *y;
    gsl_interp *curve;
};

enum status monotone_create(
    const double *x, const double *y, size_t count, struct monotone **monotone, struct error *err)
{
    guard_gsl();
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
