// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_QUADRATURE_H
#define LODECARD_NUM_QUADRATURE_H

/* The integral of `function` from `least` to `most` by adaptive Gauss-Kronrod rules with the
 * epsilon algorithm (QAGS of R. Piessens and others, "QUADPACK", Springer 1983; GSL): integrable
 * singularities at the ends are allowed. Relative error at most 1e-12, or 1e-9 where rounding
 * stands in the way; NaN where it does not converge, or there is no memory. */
double quadrature_compute(
    double (*function)(double x, void *context), void *context, double least, double most);

#endif
