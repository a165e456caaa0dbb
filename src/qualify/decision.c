// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/decision.h"

#include <math.h>

#include "num/student.h"

const char *verdict_get_name(enum verdict verdict)
{
    static const char *const names[] = {[VERDICT_ACCEPTED] = "accepted",
        [VERDICT_UNDECIDED] = "undecided",
        [VERDICT_REJECTED] = "rejected"};
    return names[verdict];
}

enum verdict verdict_combine(enum verdict a, enum verdict b)
{
    return a > b ? a : b;
}

/* From the nearer tail, so that small risks keep their digits. */
static double get_probability_outside(const struct decision *decision)
{
    const struct limit *limit = &decision->limit;
    if (!(decision->u > 0)) {
        return limit_holds(limit, decision->value) ? 0 : 1;
    }
    const double below =
        limit->has_lower ? normal_compute_share((limit->lower - decision->value) / decision->u) : 0;
    const double above =
        limit->has_upper ? normal_compute_share((decision->value - limit->upper) / decision->u) : 0;
    return below + above;
}

static void set_intervals(struct decision *decision, double guard)
{
    const struct limit *limit = &decision->limit;
    decision->accept_lower = limit->has_lower ? limit->lower + guard : -INFINITY;
    decision->accept_upper = limit->has_upper ? limit->upper - guard : INFINITY;
    decision->reject_lower = limit->has_lower ? limit->lower - guard : -INFINITY;
    decision->reject_upper = limit->has_upper ? limit->upper + guard : INFINITY;
}

struct decision decision_compute(
    double value, double u, const struct limit *limit, enum decision_rule rule)
{
    struct decision decision = {.value = value, .u = u, .limit = *limit};
    set_intervals(&decision, rule == RULE_GUARDED ? GUARD_FACTOR * u : 0);
    const double outside = get_probability_outside(&decision);
    decision.probability_conforming = 1 - outside;
    decision.consumer_risk = decision.producer_risk = NAN;
    if (value >= decision.accept_lower && value <= decision.accept_upper) {
        decision.verdict = VERDICT_ACCEPTED;
        decision.consumer_risk = outside;
    } else if (value < decision.reject_lower || value > decision.reject_upper) {
        decision.verdict = VERDICT_REJECTED;
        decision.producer_risk = 1 - outside;
    } else {
        decision.verdict = VERDICT_UNDECIDED;
    }
    return decision;
}
