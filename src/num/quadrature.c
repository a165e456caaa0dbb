// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/quadrature.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdbool.h>

#include "num/guard.h"

#define PIECES 400      /* at most */
#define TOLERANCE 1e-12 /* relative: what is asked for */
#define ENOUGH 1e-9     /* and what is taken where rounding stands in the way */

double quadrature_compute(
    double (*function)(double x, void *context), void *context, double least, double most)
{
    gsl_integration_workspace *work = gsl_integration_workspace_alloc(PIECES);
    if (work == NULL) {
        return NAN;
    }
    guard_gsl();
    const gsl_function integrand = {.function = function, .params = context};
    double value, error;
    const int status =
        gsl_integration_qags(&integrand, least, most, 0.0, TOLERANCE, PIECES, work, &value, &error);
    gsl_integration_workspace_free(work);
    const bool is_good = status == GSL_SUCCESS || error <= ENOUGH * fabs(value);
    return is_good ? value : NAN;
}
