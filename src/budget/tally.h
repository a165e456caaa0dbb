// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_TALLY_H
#define LODECARD_BUDGET_TALLY_H

#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

/* The distribution of one output's trials in bounded memory: moments and fine counts. The cells'
 * range comes from the first lot of trials, widened to each side by as much again as it spans: a
 * cell is about 2e-4 of the standard uncertainty, and an interval's end is found within a cell. */
struct tally {
    size_t trials;
    size_t missing; /* trials in which the output does not exist */
    double mean;
    double squares; /* sum of squared distances from the mean */
    double lowest, cell;
    uint32_t *counts; /* NULL before the first lot */
};

enum status tally_add(
    struct tally *tally, const double *values, size_t count, struct error *err) MUST_CHECK;
double tally_get_u(const struct tally *tally);

/* The interval that leaves equal shares outside at both ends, and the shortest one (JCGM 101:2008,
 * 7.7): low and high. NaN without trials. */
void tally_find_symmetric(const struct tally *tally, double probability, double interval[2]);
void tally_find_shortest(const struct tally *tally, double probability, double interval[2]);
void tally_clear(struct tally *tally);

#endif
