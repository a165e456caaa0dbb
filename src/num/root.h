// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_ROOT_H
#define LODECARD_NUM_ROOT_H

#include "base/error.h"

/* Roots of a continuous function inside a bracket, by the method of Brent and Dekker (the GNU
 * Scientific Library's). A finder is made once and used often. */
struct root_finder;

struct root_finder *root_finder_create(void); /* NULL: out of memory */
void root_finder_destroy(struct root_finder *finder);

typedef double root_function(double x, void *context);

/* The x between `low` and `high`, where the function has opposite signs (or is 0), to `tolerance`
 * absolutely or 4e-16 relatively, whichever is wider. STATUS_FAULT: there is no change of sign, or
 * the function is not finite. */
enum status root_finder_solve(struct root_finder *finder, root_function *function, void *context,
    double low, double high, double tolerance, double *root, struct error *err) MUST_CHECK;

#endif
