// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_TRIALS_H
#define LODECARD_BUDGET_TRIALS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "budget/problem.h"
#include "budget/propagate.h"

/* Propagation of distributions by Monte Carlo (JCGM 101:2008). Trial n draws from random stream n,
 * and lots are added up in their order: the result does not depend on how many threads there are.
 */

enum { TRIALS_LOT = 10000 }; /* trials to a sequence of the adaptive procedure, 7.9.4 b */

struct trials_options {
    size_t count;       /* how many trials; 0: until the results have settled (7.9) */
    size_t most;        /* the adaptive procedure gives up here */
    double probability; /* of the coverage intervals: 0.95 */
    int digits;         /* significant digits of u that are to be right: 1 or 2 (7.9.2) */
    uint64_t seed;
};

struct trials_output {
    double mean, u;
    double symmetric[2]; /* low, high */
    double shortest[2];
    double u_end[2];  /* standard deviation of the symmetric interval's ends from lot to lot, of
                         their mean; NaN with fewer than 2 whole lots */
    double tolerance; /* delta of 7.9.2 for u */
    bool is_settled;  /* 2 standard deviations of mean, u and both ends are below it */
    size_t missing;   /* trials in which the output did not exist */
};

struct trials {
    size_t count;
    size_t outputs;
    struct trials_output *list;
};

enum status trials_create(struct trials *trials, const struct budget_problem *problem,
    const struct trials_options *options, struct error *err) MUST_CHECK;
void trials_clear(struct trials *trials);

/* Clause 8: whether the interval y - U ... y + U agrees with the trials' symmetric one. */
enum trials_verdict { TRIALS_NOT_VALIDATED, TRIALS_VALIDATED, TRIALS_TOO_FEW };
enum trials_verdict trials_validate(
    const struct trials_output *output, double value, double expanded);

#endif
