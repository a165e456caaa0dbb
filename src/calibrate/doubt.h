// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_DOUBT_H
#define LODECARD_CALIBRATE_DOUBT_H

#include <stddef.h>

#include "base/error.h"
#include "quantity/quantity.h"

/* What the doubt about the values of a bench does to results that are computed from them: each
 * value is moved up and down by its standard uncertainty, the others stay (JCGM 100:2008, 5.1.3,
 * note 2).
 */
#define DOUBT_RESULTS 2

/* Computes the results from the values as they are now. */
typedef enum status doubt_compute(void *user, double results[DOUBT_RESULTS], struct error *err);

/* Adds to each variance the squares of what the values do. Values without an uncertainty are left
 * out; all are as before afterwards. */
enum status doubt_add(struct quantity *const *values, size_t count, doubt_compute *compute,
    void *user, double variances[DOUBT_RESULTS], struct error *err) MUST_CHECK;

/* The same of two values that one instrument found: it errs by the same share in both, and what the
 * one has in addition (a ratio that was found afterwards) is its own. */
enum status doubt_add_pair(struct quantity *a, struct quantity *b, doubt_compute *compute,
    void *user, double variances[DOUBT_RESULTS], struct error *err) MUST_CHECK;

#endif
