// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_PLAN_H
#define LODECARD_QUALIFY_PLAN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Acceptance sampling by variables against one limit: `count` specimens are measured, and the lot
 * is accepted when their mean stands k standard deviations or more inside the limit. Normal
 * population; its standard deviation is known, or taken from the sample. (The k-method of ISO
 * 3951-1; here worked out for any n and k.) */
struct plan {
    size_t count;  /* n */
    double factor; /* k */
    bool is_deviation_known;
};

/* Probability that a lot is accepted of which the share `nonconforming` (in 0 ... 1) lies beyond
 * the limit: the operating characteristic. Known: Phi((z - k) sqrt n); unknown: non-central t, NaN
 * when out of memory. */
double plan_compute_acceptance(const struct plan *plan, double nonconforming);

/* The smallest plan that accepts a lot with the share `good` nonconforming with probability 1 -
 * producer_risk or more, and one with the share `bad` with consumer_risk or less. 0 < good < bad <
 * 1/2, risks in (0, 1/2); else, or when it takes more than 1000 specimens, STATUS_INPUT. */
enum status plan_compute(double good, double producer_risk, double bad, double consumer_risk,
    bool is_deviation_known, struct plan *plan, struct error *err) MUST_CHECK;

#endif
