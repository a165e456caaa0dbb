// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SERIES_CURVE_PART_H
#define LODECARD_SERIES_CURVE_PART_H

#include <stdbool.h>
#include <stddef.h>

/* Frequencies within this part of each other are one. */
#define SERIES_SAME_FREQUENCY 2e-3

/* A point to interpolate between, on the scales of the interpolation: mostly logarithms, so that
 * uncertainties are relative. u 0: unknown. */
struct curve_node {
    double x, y;
    double u_x, u_y;
};

/* y at x = `at` (curve.c tells how); nodes are sorted and joined in place. False: beyond the ends,
 * no nodes or no memory. `common` (may be NULL): the part of u_y that all nodes share. */
bool curve_interpolate(
    struct curve_node *nodes, size_t count, double at, struct curve_node *found, double *common);

#endif
