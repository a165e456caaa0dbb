// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_LANGEVIN_H
#define LODECARD_MODEL_LANGEVIN_H

/* The Langevin function L(x) = coth x - 1/x and its slope dL/dx (`slope` may be NULL); relative
 * errors below 1e-15 and 2e-15. */
double langevin_get(double x, double *slope);

/* The x at which L(x) = y, |y| < 1; relative error below 1e-14 for |y| < 0.99, growing as 1e-16 /
 * (1 - |y|) towards saturation. */
double langevin_get_inverse(double y);

#endif
