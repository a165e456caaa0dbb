// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_DECISION_H
#define LODECARD_QUALIFY_DECISION_H

#include "qualify/limits.h"

/* Whether a measured value conforms to a limit, given its uncertainty: JCGM 106:2012. */

enum verdict { VERDICT_ACCEPTED, VERDICT_UNDECIDED, VERDICT_REJECTED };
const char *verdict_get_name(enum verdict verdict);           /* "accepted" */
enum verdict verdict_combine(enum verdict a, enum verdict b); /* the worse one */

struct decision {
    double value;
    double u;
    struct limit limit;
    /* Acceptance interval, and the one outside which is rejected: infinite where there is no limit.
     * A lower end above the upper one: the uncertainty leaves nothing to accept. */
    double accept_lower, accept_upper;
    double reject_lower, reject_upper;
    double probability_conforming; /* of the true value, normal with u about the value: clause 7 */
    /* Specific risks, clause 9.3: that an accepted item does not conform, that a rejected one does.
     * NaN where the verdict is another one. */
    double consumer_risk, producer_risk;
    enum verdict verdict;
};

/* Guard bands are 1.645 u wide (one-sided 95 %, ISO 14253-1:2017). u of 0: the limits decide. */
#define GUARD_FACTOR 1.6448536269514722
struct decision decision_compute(
    double value, double u, const struct limit *limit, enum decision_rule rule);

#endif
