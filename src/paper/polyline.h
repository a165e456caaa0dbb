// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_POLYLINE_H
#define LODECARD_PAPER_POLYLINE_H

#include <stddef.h>

/* Leaves out points of an open polyline that no eye would miss: every point left out lies within
 * `tolerance` of the straight line between its kept neighbours. The first and the last point stay,
 * and so does every break (a point that is not finite). In place; gives the new count. */
size_t polyline_simplify(double *x, double *y, size_t count, double tolerance);

#endif
