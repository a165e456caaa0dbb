// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_COMPARISON_H
#define LODECARD_QUALIFY_COMPARISON_H

#include <stddef.h>

#include "base/error.h"

/* Two lots side by side, figure by figure: means of specimens, normal populations whose standard
 * deviations may differ. */
enum equivalence { EQUIVALENT, DIFFERENT, CANNOT_TELL };
const char *equivalence_get_name(enum equivalence equivalence); /* "cannot tell" */

struct comparison {
    double difference;   /* mean of the second lot minus that of the first */
    double u;            /* standard error */
    double freedom;      /* effective: B. L. Welch, Biometrika 34 (1947) 28; F. E. Satterthwaite,
                            Biometrics Bulletin 2 (1946) 110 */
    double lower, upper; /* of the confidence asked for, two-sided */
    double significance; /* of Welch's t: probability of a difference this large without one */
    double margin;       /* the largest difference that does not matter; 0: none asked */
    double significance_equivalence; /* of the two one-sided tests (D. J. Schuirmann, J.
                                        Pharmacokinetics and Biopharmaceutics 15 (1987) 657) */
    double inner_lower, inner_upper; /* of confidence 2 c - 1: what a margin is compared with */
    double spread_ratio;        /* standard deviation of the second lot over that of the first */
    double significance_spread; /* of the F test of equal variances, two-sided; NaN: a side has no
                                   scatter */
    /* EQUIVALENT: the interval of confidence 2 c - 1 (c two-sided tests' level) lies within
     * -+margin; DIFFERENT: it lies outside altogether, or, without a margin, the two-sided interval
     * does not hold 0; else CANNOT_TELL */
    enum equivalence verdict;
};

struct lot_sample {
    const double *values;
    size_t count;
};

/* `common_u`: standard uncertainty that the difference has besides scatter (two benches, say); 0
 * when both lots were measured on one bench. STATUS_INPUT below two values each, without any
 * scatter, with a negative margin or a confidence not in (0.5, 1). */
enum status comparison_compute(struct lot_sample first, struct lot_sample second, double common_u,
    double margin, double confidence, struct comparison *comparison, struct error *err) MUST_CHECK;

#endif
