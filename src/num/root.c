// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/root.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

#include "num/guard.h"

struct root_finder *root_finder_create(void)
{
    guard_gsl();
    return (struct root_finder *)gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
}

void root_finder_destroy(struct root_finder *finder)
{
    if (finder)
        gsl_root_fsolver_free((gsl_root_fsolver *)finder);
}

enum status root_finder_solve(struct root_finder *finder, root_function *function, void *context,
    double low, double high, double tolerance, double *root, struct error *err)
{
    enum { ITERATIONS = 200 };
    gsl_root_fsolver *solver = (gsl_root_fsolver *)finder;
    gsl_function f = {.function = function, .params = context};
    int state = gsl_root_fsolver_set(solver, &f, low < high ? low : high, low < high ? high : low);
    for (int i = 0; state == GSL_SUCCESS && i < ITERATIONS; i++) {
        state = gsl_root_fsolver_iterate(solver);
        if (state == GSL_SUCCESS &&
            gsl_root_test_interval(gsl_root_fsolver_x_lower(solver),
                gsl_root_fsolver_x_upper(solver), tolerance, 4e-16) == GSL_SUCCESS)
            break;
    }
    if (state != GSL_SUCCESS)
        return fail(
            err, STATUS_FAULT, "", "no root between %g and %g: %s", low, high, gsl_strerror(state));
    *root = gsl_root_fsolver_root(solver);
    return STATUS_OK;
}
