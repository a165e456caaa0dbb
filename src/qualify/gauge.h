// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_GAUGE_H
#define LODECARD_QUALIFY_GAUGE_H

#include <stddef.h>

#include "base/error.h"
#include "qualify/limits.h"

/* A gauge study of the bench itself: specimens measured by several people, on several benches or
 * days ("conditions"), several times each. Random two-way model with interaction, equal numbers in
 * all cells (ISO 5725-2 for repeatability and reproducibility; the analysis of variance as in
 * Searle, Casella, McCulloch, "Variance Components" (1992), chapter 4). */
struct gauge_value {
    size_t specimen; /* numbers of any kind */
    size_t condition;
    double value;
};

/* What the numbers are, for messages; NULL: the numbers themselves. */
struct gauge_names {
    const char *const *specimens;
    const char *const *conditions;
};

struct gauge_line {
    double squares, freedom, mean_square;
};

struct gauge {
    size_t specimens, conditions, repeats;
    struct gauge_line by_specimen, by_condition, interaction, repeat;
    double interaction_significance; /* NaN: cannot be tested */
    /* standard deviations in the unit of the figure; negative variances count as 0 */
    double repeatability;
    double reproducibility; /* of conditions, interaction included, without repeatability */
    double interaction_deviation;
    double bench;              /* repeatability and reproducibility together */
    double specimen;           /* between specimens */
    double share_of_total;     /* bench over all: of standard deviations */
    double share_of_tolerance; /* 6 bench / (upper - lower); NaN without both limits */
    double categories; /* how many classes of specimens it can tell: sqrt 2 specimen/bench */
};

/* Specimens, conditions and repeats: two or more each, one of conditions is allowed (then there is
 * no reproducibility, 0). STATUS_INPUT names the first cell that differs in its number of values;
 * or no repeat differs from another. `names` may be NULL. */
enum status gauge_compute(const struct gauge_value *values, size_t count,
    const struct gauge_names *names, const struct limit *limit, struct gauge *gauge,
    struct error *err) MUST_CHECK;

#endif
