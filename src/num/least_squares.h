// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_LEAST_SQUARES_H
#define LODECARD_NUM_LEAST_SQUARES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Weighted least squares by the GNU Scientific Library: linear by the singular values of the scaled
 * matrix, nonlinear by Levenberg-Marquardt in a trust region. Covariances are those of the weights
 * as given, (J' W J)^-1: with weights 1/u² they are variances, with weights 1 they still want the
 * residual variance, sum_of_squares / (rows - terms). */

/* values[i] ~ sum over t of matrix[i * terms + t] * solution[t]. `weights` NULL: all 1. `solution`
 * has room for terms numbers; `covariance` (terms * terms) and `sum_of_squares` (weighted, of the
 * residuals) may be NULL. STATUS_INPUT with fewer rows than terms, or when the data cannot tell the
 * terms apart. On the certified data of NIST's StRD the parameters have 13 (Norris), 10 (Longley)
 * and 7 (Filip) digits. */
struct linear_problem {
    const double *matrix;
    const double *values;
    const double *weights;
    size_t rows;
    size_t terms;
};
enum status linear_problem_solve(const struct linear_problem *problem, double *solution,
    double *covariance, double *sum_of_squares, struct error *err) MUST_CHECK;

/* The same with no term of `solution` below 0, for at most LINEAR_TERMS_MOST terms: every choice of
 * terms that stay 0 is tried, and the admissible one with the least sum of squares taken, which is
 * the exact minimum. `is_bounded[t]` (may be NULL) tells which ones are 0 by force; their rows and
 * columns of the covariance are 0. */
#define LINEAR_TERMS_MOST 8
enum status linear_problem_solve_positive(const struct linear_problem *problem, double *solution,
    double *covariance, double *sum_of_squares, bool *is_bounded, struct error *err) MUST_CHECK;

/* Residuals of `parameters`, already weighted. False: there is no model with such parameters (the
 * step is then made shorter). */
typedef bool nonlinear_residuals(const double *parameters, double *residuals, void *context);

/* jacobian[i * parameter_count + p] = d residual i / d parameter p. */
typedef bool nonlinear_jacobian(const double *parameters, double *jacobian, void *context);

struct nonlinear_problem {
    nonlinear_residuals *compute_residuals;
    nonlinear_jacobian *compute_jacobian; /* NULL: by central differences */
    void *context;
    size_t residual_count;
    size_t parameter_count;
    const double *lowest;  /* bounds, -INFINITY: none; NULL: none at all. Kept by transformation: */
    const double *highest; /* low + e^q, high - e^q, or a logistic curve between the two */
    double difference;     /* relative step of differences; 0: 6e-6 */
    double tolerance;      /* relative change of parameters that ends the search; 0: 1e-10 */
    size_t iterations;     /* at most, of each search; 0: 500 */
    bool is_quick;         /* one search with plain steps only: for starts that are near */
};

struct nonlinear_fit {
    bool has_converged; /* false: the iterations ran out, or no step made it better */
    size_t iterations;
    double sum_of_squares;
};

/* Improves `parameters` (the start, strictly inside the bounds). `covariance` (parameter_count
 * squared) may be NULL. STATUS_INPUT for a start that has no residuals or slopes or is out of
 * bounds, and for fewer residuals than parameters; `parameters` is then untouched. */
enum status nonlinear_problem_solve(const struct nonlinear_problem *problem, double *parameters,
    double *covariance, struct nonlinear_fit *fit, struct error *err) MUST_CHECK;

#endif
