// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_PROPAGATE_H
#define LODECARD_BUDGET_PROPAGATE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "budget/problem.h"

/* The law of propagation of uncertainty (JCGM 100:2008, 5.1.2 and 5.2.2, annex G). */
struct propagation {
    size_t inputs, outputs;
    double *value;         /* [output] the model at the inputs' values */
    double *u;             /* [output] combined standard uncertainty */
    double *freedom;       /* [output] effective degrees of freedom, Welch-Satterthwaite (G.4.1);
                              INFINITY when nothing has finite ones */
    double *sensitivity;   /* [output * inputs + input] */
    double *share;         /* [output * inputs + input] of u^2: c u times what it adds with all
                              that it is correlated with; with scatter_share they add up to 1 */
    double *scatter_share; /* [output] */
    double *covariance;    /* [output * outputs + output], scatter included */
    double *curvature;     /* [output * inputs + input] how far c at +-u/2 and at +-u/4 are apart,
                              relative to u(y): 0 for a linear model */
};

/* Central differences at +-u/2 and +-u/4, taken together after Richardson: exact for polynomials of
 * the fourth degree, and a step in proportion to u keeps rounding below 1e-15 of the output. */
enum status propagation_create(
    struct propagation *result, const struct budget_problem *problem, struct error *err) MUST_CHECK;
void propagation_clear(struct propagation *result);

/* The next terms of the Taylor series, JCGM 100, note to 5.1.2, for inputs that are normal and not
 * correlated: what they add to u^2 of each output. */
enum status propagation_compute_second_order(
    const struct budget_problem *problem, double *added, struct error *err) MUST_CHECK;

#endif
