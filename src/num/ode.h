// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_ODE_H
#define LODECARD_NUM_ODE_H

/* One ordinary differential equation of first order, y' = slope(x, y), by Gragg's modified midpoint
 * rule with 2, 4, 6 and 8 substeps, extrapolated to order 8 (W. B. Gragg, SIAM J. Numer. Anal. 2
 * (1965) 384; R. Bulirsch, J. Stoer, Numer. Math. 8 (1966) 1). The steps are the caller's: with a
 * fixed grid and nothing but correctly rounded operations the result has the same bits on every
 * machine, which an adaptive library routine does not promise. */
struct ode {
    double (*slope)(double x, double y, void *context);
    void *context;
};

/* y(x + width) from y(x). `*error` (may be NULL) gets the size of the last extrapolation's
 * correction, an upper bound of the step's error where the step is short enough to converge. */
double ode_compute_step(const struct ode *ode, double x, double y, double width, double *error);

#endif
