// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_BRANCH_H
#define LODECARD_MODEL_BRANCH_H

#include <stddef.h>

#include "base/error.h"

/* A measured loop as models take it: symmetric about the origin, so that its falling branch is all
 * of it. Also a first-order reversal curve, which falls from its field of reversal. */
struct branch {
    double peak;          /* field at its beginning, A/m */
    size_t count;         /* at least 3 */
    double *field;        /* A/m, falling from peak; owned */
    double *polarization; /* T; owned */
};

#define BRANCH_POINTS 129 /* at most */

/* From one closed cycle (the last point is followed by the first). Fields and flux densities are
 * taken from the middle of their extremes; the falling branch is the mean of itself and of the
 * mirrored rising one, at its own fields (every n-th of many, so that the points stay as
 * measured; the rising one is interpolated by Steffen's monotone cubic). The end is set to the
 * mirror of the beginning. STATUS_INPUT: the points are no loop. */
enum status branch_create(const double *field, const double *flux_density, size_t count,
    struct branch *branch, struct error *err) MUST_CHECK;
void branch_clear(struct branch *branch); /* safe on a zeroed struct and twice */

/* Figures of the loop whose falling branch has these values of B at the branch's fields, by
 * straight lines between the points. */
struct branch_figures {
    double flux_density_peak; /* T */
    double remanence;         /* T */
    double coercivity;        /* HcB, A/m */
    double area;              /* J/m³ */
};
struct branch_figures branch_get_figures(const struct branch *branch, const double *flux_density);

/* Field at which the polarization falls through 0, turned positive; A/m. */
double branch_get_coercivity(const struct branch *branch);

#endif
