// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_TOLERANCE_H
#define LODECARD_NUM_TOLERANCE_H

#include <stddef.h>

#include "base/error.h"

/* Factors k of normal tolerance limits: with `confidence`, mean + k s (or mean - k s) of a sample
 * of `count` lies beyond at least the `share` of a normal population (one-sided), or mean -+ k s
 * hold at least that share between them (two-sided). Exact, to a relative 1e-9 (below 1e-6 it is 0:
 * half of the population, one-sided, with even odds); both probabilities at least 0.5 and below 1,
 * count 2 ... 100000; else STATUS_INPUT.
 *
 * ISO 16269-6:2014, annexes; K. Krishnamoorthy, T. Mathew, "Statistical Tolerance Regions" (2009),
 * sections 2.2 and 2.3. */
enum status tolerance_compute_one_sided(
    size_t count, double share, double confidence, double *factor, struct error *err) MUST_CHECK;
enum status tolerance_compute_two_sided(
    size_t count, double share, double confidence, double *factor, struct error *err) MUST_CHECK;

/* The confidence with which mean + k s of a sample of `count` lies beyond the `share` of the
 * population: what tolerance_compute_one_sided solves for k. Any share in (0, 1), k of any sign. */
double tolerance_compute_confidence(size_t count, double share, double factor);

/* Likewise for two sides: that mean -+ k s hold the share between them. k above 0. */
double tolerance_compute_confidence_two_sided(size_t count, double share, double factor);

/* The share of a normal population that lies below mean + k s, with the given confidence: the
 * lower confidence limit of the share conforming to one limit that stands k s from the mean. */
double tolerance_compute_share(size_t count, double confidence, double factor);

#endif
