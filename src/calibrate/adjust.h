// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_ADJUST_H
#define LODECARD_CALIBRATE_ADJUST_H

#include <stddef.h>

#include "base/error.h"

/* Weighted least squares for a handful of parameters, by Gauss and Newton: linear enough near the
 * start for full steps. Columns are scaled, so that seconds and ratios may stand side by side. */
#define ADJUST_PARAMETERS 5

struct adjustment {
    size_t count;                                            /* of parameters */
    double value[ADJUST_PARAMETERS];                         /* in: the start; out: the result */
    double covariance[ADJUST_PARAMETERS][ADJUST_PARAMETERS]; /* as the rows' deviations state it */
    double chi_square;
    size_t degrees; /* rows beyond the parameters */
};

/* One row at the parameters' present values: (observed - model)/deviation, and the model's slope
 * against each parameter over the same deviation. */
typedef double adjust_row(const void *user, size_t row, const double *value, double *slope);

/* STATUS_CAPTURE when the rows do not determine the parameters; `adjustment` is untouched then. */
enum status adjust(struct adjustment *adjustment, size_t rows, adjust_row *get_row,
    const void *user, struct error *err) MUST_CHECK;

#endif
