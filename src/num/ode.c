// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/ode.h"

#include <math.h>
#include <stddef.h>

#define COLUMNS 4

/* The modified midpoint rule with an even number of substeps and Gragg's closing average: its error
 * is a series in the square of the substep. */
static double compute_midpoint(
    const struct ode *ode, double x, double y, double width, int substeps)
{
    double h = width / substeps;
    double before = y;
    double here = y + h * ode->slope(x, y, ode->context);
    for (int i = 1; i < substeps; i++) {
        double next = before + 2.0 * h * ode->slope(x + i * h, here, ode->context);
        before = here;
        here = next;
    }
    return 0.5 * (before + here + h * ode->slope(x + width, here, ode->context));
}

double ode_compute_step(const struct ode *ode, double x, double y, double width, double *error)
{
    double table[COLUMNS];
    double correction = 0.0;
    for (int i = 0; i < COLUMNS; i++) {
        double finer = compute_midpoint(ode, x, y, width, 2 * (i + 1));
        for (int j = 0; j < i; j++) { /* Aitken and Neville in the squared substep */
            double ratio = (double)(i + 1) / (double)(i - j);
            double coarser = table[j];
            table[j] = finer;
            correction = (finer - coarser) / (ratio * ratio - 1.0);
            finer += correction;
        }
        table[i] = finer;
    }
    if (error != NULL)
        *error = fabs(correction);
    return table[COLUMNS - 1];
}
