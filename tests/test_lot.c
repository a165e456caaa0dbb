// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/lot.h"

#include <math.h>
#include <string.h>

#include "num/random.h"
#include "num/student.h"
#include "num/tolerance.h"
#include "qualify/capability.h"
#include "qualify/plan.h"
#include "suites.h"

static const struct limits guarded = {
    .rule = RULE_GUARDED, .has_lot = true, .share = 0.95, .confidence = 0.95};
static const struct limits simple = {
    .rule = RULE_SIMPLE, .has_lot = true, .share = 0.95, .confidence = 0.95};
static const struct limit above_10 = {true, false, 10, INFINITY};
static const struct limit from_10_to_20 = {true, true, 10, 20};

/* Ten specimens, mean 15 and deviation exactly 1: the tolerance limit stands 2.91096341308 below
 * the mean (exact one-sided factor), 3.39342948 on either side (two-sided). */
static size_t make_ten(struct lot_value values[10], double u)
{
    double offs[10], squares = 0;
    for (int i = 0; i < 10; i++) {
        offs[i] = i - 4.5;
        squares += offs[i] * offs[i];
    }
    for (int i = 0; i < 10; i++) {
        values[i] = (struct lot_value){(size_t)(100 + i), 15 + offs[i] / sqrt(squares / 9), u};
    }
    return 10;
}

START_TEST(draws_tolerance_limits_by_exact_factors)
{
    struct lot_value values[10];
    struct lot_figure lot;
    struct error err = {0};
    make_ten(values, 0);
    ck_assert(lot_compute(values, 10, &above_10, &simple, &lot, &err) == STATUS_OK);
    ck_assert_double_eq_tol(lot.tolerance_lower, 15 - 2.91096341308, 1e-9);
    ck_assert(isinf(lot.tolerance_upper));
    ck_assert(lot.verdict == VERDICT_ACCEPTED);
    ck_assert_double_eq_tol(lot.margin, 15 - 2.91096341308 - 10, 1e-9);
    ck_assert_uint_eq(lot.wanted, 10);
    ck_assert(lot_compute(values, 10, &from_10_to_20, &simple, &lot, &err) == STATUS_OK);
    ck_assert_double_eq_tol(lot.tolerance_upper, 15 + 3.39342948, 1e-8);
    ck_assert_double_eq_tol(lot.share, 1 - 2 * normal_compute_share(-5), 1e-12);
    ck_assert(lot.has_normality && lot.normality.significance > 0.5);
}
END_TEST

START_TEST(keeps_off_the_limits_by_the_benchs_uncertainty)
{
    struct lot_value values[10];
    struct lot_figure lot;
    struct error err = {0};
    make_ten(values, 0.5);
    const struct limit tight = {true, false, 15 - 2.91096341308 - 0.1, INFINITY};
    ck_assert(lot_compute(values, 10, &tight, &simple, &lot, &err) == STATUS_OK);
    ck_assert(lot.verdict == VERDICT_ACCEPTED);
    ck_assert(lot_compute(values, 10, &tight, &guarded, &lot, &err) == STATUS_OK);
    ck_assert_double_eq_tol(lot.margin, 0.1 - 1.6448536269514722 * 0.5, 1e-9);
    ck_assert(lot.verdict == VERDICT_UNDECIDED);
    ck_assert_uint_gt(lot.wanted, 10);
}
END_TEST

/* Three rings that would be fine if there were more of them; then as many as it says are enough. */
START_TEST(says_how_many_specimens_would_do)
{
    const struct lot_value values[] = {{1, 13, 0}, {2, 14, 0}, {3, 15, 0}};
    struct lot_figure lot;
    struct error err = {0};
    ck_assert(lot_compute(values, 3, &above_10, &simple, &lot, &err) == STATUS_OK);
    ck_assert(lot.verdict == VERDICT_UNDECIDED);
    /* mean 14, s 1: the first n whose factor is at most 4, among the exact ones: n = 5 has 4.2027
     */
    ck_assert_uint_eq(lot.wanted, 6);
}
END_TEST

START_TEST(rejects_a_lot_whose_estimated_share_is_too_small)
{
    const struct lot_value values[] = {{1, 10.5, 0}, {2, 12, 0}, {3, 10.2, 0}, {4, 13, 0}};
    struct lot_figure lot;
    struct error err = {0};
    ck_assert(lot_compute(values, 4, &above_10, &guarded, &lot, &err) == STATUS_OK);
    ck_assert_double_lt(lot.share, 0.95);
    ck_assert_double_lt(lot.share_confident, lot.share);
    ck_assert(lot.verdict == VERDICT_REJECTED);
}
END_TEST

START_TEST(parts_the_scatter_of_steel_and_repeats)
{
    /* by hand: cell means 11 and 15, mean square within 2, between 2·(4²/2) = 16: steel (16-2)/2 */
    const struct lot_value values[] = {{1, 10, 0}, {7, 14, 0}, {1, 12, 0}, {7, 16, 0}};
    struct lot_figure lot;
    struct error err = {0};
    ck_assert(lot_compute(values, 4, &above_10, &simple, &lot, &err) == STATUS_OK);
    ck_assert_uint_eq(lot.specimens, 2);
    ck_assert_double_eq_tol(lot.repeat_deviation, sqrt(2), 1e-12);
    ck_assert_double_eq_tol(lot.steel_deviation, sqrt(7), 1e-12);
    ck_assert_double_eq_tol(lot.summary.mean, 13, 1e-12);
}
END_TEST

START_TEST(takes_one_specimen_without_a_verdict)
{
    const struct lot_value values[] = {{1, 13, 0.1}};
    struct lot_figure lot;
    struct error err = {0};
    ck_assert(lot_compute(values, 1, &above_10, &guarded, &lot, &err) == STATUS_OK);
    ck_assert(lot.verdict == VERDICT_UNDECIDED && isnan(lot.factor));
    ck_assert(lot_compute(values, 0, &above_10, &guarded, &lot, &err) == STATUS_INPUT);
}
END_TEST

/* A lot of which exactly the share conforms is accepted with a probability of 1 - confidence. */
START_TEST(accepts_a_lot_at_the_border_as_often_as_stated)
{
    struct random random;
    random_init(&random, 99, 0);
    const int trials = 500;
    int accepted = 0;
    for (int i = 0; i < trials; i++) {
        struct lot_value values[8];
        struct lot_figure lot;
        for (size_t k = 0; k < 8; k++) {
            const double z = random_get_normal(&random);
            values[k] = (struct lot_value){k, 10 + 1.6448536269514722 + z, 0};
        }
        ck_assert(lot_compute(values, 8, &above_10, &simple, &lot, NULL) == STATUS_OK);
        accepted += lot.verdict == VERDICT_ACCEPTED;
    }
    ck_assert_double_eq_tol((double)accepted / trials, 0.05, 4 * sqrt(0.05 * 0.95 / trials));
}
END_TEST

/* ISO 22514-2's Cp for 30 values: interval by chi-square, Cpk's by Bissell's formula, worked out
 * with 15 digits from the formulae. */
START_TEST(gives_capability_with_its_interval)
{
    struct capability capability;
    struct error err = {0};
    const struct limit limit = {true, true, -3 * 1.33, 3 * 1.33};
    ck_assert(capability_compute(30, 0, 1, &limit, 0.95, &capability, &err) == STATUS_OK);
    ck_assert_double_eq_tol(capability.cp, 1.33, 1e-12);
    ck_assert_double_eq_tol(capability.cp_lower, 0.98935132, 1e-8);
    ck_assert_double_eq_tol(capability.cp_upper, 1.67000053, 1e-8);
    ck_assert_double_eq_tol(capability.cpk_lower, 0.96752863, 1e-8);
    ck_assert_double_eq_tol(capability.cpk_upper, 1.69247137, 1e-8);
    /* listed as 1.02580437; the formula gives 1.025804435: one-sided quantile 1.644853627 */
    ck_assert_double_eq_tol(capability.cpk_least, 1.02580437, 1e-7);
    ck_assert_double_eq_tol(capability.cpk_least, 1.0258044347, 1e-10);
    ck_assert(capability_compute(30, 0, 0, &limit, 0.95, &capability, &err) == STATUS_INPUT);
    ck_assert(capability_compute(30, 1, 1, &above_10, 0.95, &capability, &err) == STATUS_OK);
    ck_assert(isnan(capability.cp));
    ck_assert_double_eq_tol(capability.cpk, -3, 1e-12);
}
END_TEST

START_TEST(gives_no_capability_without_scatter_limit_or_confidence)
{
    const struct limit none = {false, false, -INFINITY, INFINITY};
    const struct limit below_20 = {false, true, -INFINITY, 20};
    const double confidences[] = {0, 1, NAN};
    struct capability made;
    struct error err = {0};
    ck_assert(capability_compute(1, 15, 1, &above_10, 0.95, &made, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no capability without scatter");
    ck_assert(capability_compute(9, 15, 1, &none, 0.95, &made, &err) == STATUS_INPUT);
    for (size_t i = 0; i < 3; i++) {
        ck_assert(
            capability_compute(9, 15, 1, &above_10, confidences[i], &made, &err) == STATUS_INPUT);
        ck_assert_str_eq(err.message, "no capability without a limit and a confidence");
    }
    ck_assert(capability_compute(9, 14, 1, &below_20, 0.95, &made, &err) == STATUS_OK);
    ck_assert_double_eq_tol(made.cpk, 2, 1e-12);
    ck_assert(isnan(made.cp));
}
END_TEST

/* All the same: the mean itself lies inside the limits or not. */
START_TEST(judges_a_lot_without_scatter_by_its_mean)
{
    const struct lot_value inside[] = {{1, 15, 0}, {2, 15, 0}, {3, 15, 0}};
    const struct lot_value outside[] = {{1, 9, 0}, {2, 9, 0}, {3, 9, 0}};
    const struct limit below_20 = {false, true, -INFINITY, 20};
    const struct limit from_15 = {true, false, 15, INFINITY};
    struct lot_figure lot;
    struct error err = {0};
    ck_assert(lot_compute(inside, 3, &from_15, &simple, &lot, &err) == STATUS_OK);
    ck_assert(lot.verdict == VERDICT_ACCEPTED && lot.margin == 0); /* the border belongs to it */
    ck_assert(lot_compute(inside, 3, &from_10_to_20, &simple, &lot, &err) == STATUS_OK);
    ck_assert(lot.verdict == VERDICT_ACCEPTED && !lot.has_normality);
    ck_assert_double_eq(lot.share, 1);
    ck_assert(isnan(lot.share_confident));
    ck_assert(lot_compute(outside, 3, &from_10_to_20, &simple, &lot, &err) == STATUS_OK);
    ck_assert(lot.verdict == VERDICT_REJECTED);
    ck_assert_double_eq(lot.share, 0);
    ck_assert_uint_eq(lot.wanted, 0); /* no number would do */
    ck_assert(lot_compute(outside, 3, &below_20, &simple, &lot, &err) == STATUS_OK);
    ck_assert(lot.verdict == VERDICT_ACCEPTED);
    ck_assert(isinf(lot.tolerance_lower) && lot.tolerance_lower < 0);
    ck_assert(lot_compute(outside, 0, &below_20, &simple, &lot, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "a lot without a value");
}
END_TEST

/* The mirror image of a lot below its upper limit is the lot above a lower one. */
START_TEST(takes_an_upper_limit_as_it_takes_a_lower_one)
{
    struct lot_value values[10], mirrored[10];
    struct lot_figure lower, upper;
    struct error err = {0};
    const struct limit below_20 = {false, true, -INFINITY, 20};
    make_ten(values, 0.5);
    for (int i = 0; i < 10; i++) {
        mirrored[i] = values[i];
        mirrored[i].value = 30 - values[i].value;
    }
    ck_assert(lot_compute(values, 10, &above_10, &guarded, &lower, &err) == STATUS_OK);
    ck_assert(lot_compute(mirrored, 10, &below_20, &guarded, &upper, &err) == STATUS_OK);
    ck_assert_double_eq_tol(upper.margin, lower.margin, 1e-12);
    ck_assert_double_eq_tol(upper.share, lower.share, 1e-12);
    ck_assert_double_eq_tol(upper.share_confident, lower.share_confident, 1e-9);
    ck_assert_double_eq_tol(30 - upper.tolerance_upper, lower.tolerance_lower, 1e-12);
    ck_assert(upper.verdict == lower.verdict);
}
END_TEST

START_TEST(gives_no_verdict_on_a_lot_that_nothing_is_asked_of)
{
    struct lot_value values[10];
    struct lot_figure lot;
    struct error err = {0};
    const struct limit none = {false, false, -INFINITY, INFINITY};
    const struct limits rings_only = {.rule = RULE_GUARDED};
    make_ten(values, 0);
    ck_assert(lot_compute(values, 10, &none, &guarded, &lot, &err) == STATUS_OK);
    ck_assert(isnan(lot.factor) && isnan(lot.share));
    ck_assert(lot_compute(values, 10, &above_10, &rings_only, &lot, &err) == STATUS_OK);
    ck_assert(isnan(lot.factor) && lot.verdict == VERDICT_UNDECIDED);
    ck_assert_double_eq_tol(lot.summary.deviation, 1, 1e-12);
}
END_TEST

/* Whatever the plan: all of a perfect lot is accepted, none of a hopeless one. */
START_TEST(knows_the_ends_of_an_operating_characteristic)
{
    const struct plan plans[] = {{8, 1.5, true}, {8, 1.5, false}};
    for (size_t i = 0; i < 2; i++) {
        double before = plan_compute_acceptance(&plans[i], 0);
        ck_assert_double_eq(before, 1);
        for (double share = 0.01; share < 1; share += 0.01) {
            const double now = plan_compute_acceptance(&plans[i], share);
            ck_assert(now <= before);
            before = now;
        }
        ck_assert_double_eq(plan_compute_acceptance(&plans[i], 1), 0);
    }
}
END_TEST

START_TEST(refuses_a_plan_of_more_than_a_thousand_specimens)
{
    struct plan plan;
    struct error err = {0};
    ck_assert(plan_compute(0.01, 0.01, 0.011, 0.01, true, &plan, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "a plan that tells 1 % nonconforming from 1.1 % takes more than "
                                  "1000 specimens");
}
END_TEST

/* Shares whose plan takes 999.5 and 1000.05 specimens before rounding up (SciPy 1.10, norm.ppf). */
START_TEST(a_plan_of_a_thousand_specimens_is_the_last)
{
    struct plan plan = {0};
    struct error err = {0};
    ck_assert(plan_compute(0.01, 0.2, 0.01229769585783014, 0.05, true, &plan, &err) == STATUS_OK);
    ck_assert_uint_eq(plan.count, 1000);
    plan.count = 7;
    ck_assert(
        plan_compute(0.01, 0.2, 0.012297005773271976, 0.05, true, &plan, &err) == STATUS_INPUT);
    ck_assert_uint_eq(plan.count, 7);
    ck_assert(
        plan_compute(0.01, 0.2, 0.01229769585783014, 0.05, false, &plan, &err) == STATUS_INPUT);
    ck_assert_uint_eq(plan.count, 7);
}
END_TEST

/* Worked out with SciPy 1.10 from the definitions: n and k with the deviation known (norm), and
 * unknown (nct.ppf for k, nct.sf for the acceptance, n from 2 upwards). */
START_TEST(plans_are_those_of_other_software)
{
    static const struct {
        double good, producer_risk, bad, consumer_risk;
        size_t known;
        double known_factor, known_acceptance;
        size_t unknown;
        double factor, acceptance;
    } list[] = {
        {.01, .05, .1, .1, 8, 1.734648466763012, 0.9528932816317637, 21, 1.7502948167085512,
            0.9534454474472515},
        {.005, .1, .05, .05, 10, 2.1650020148270306, 0.9030537642967322, 34, 2.17623150161438,
            0.9036301644877217},
        {.02, .01, .2, .2, 7, 1.1597241595936765, 0.9909938980042011, 13, 1.1739677754743472,
            0.9924686668776754},
        {.05, .05, .15, .1, 24, 1.298029007381225, 0.9553485751732915, 44, 1.3074128177730615,
            0.951908359349905},
    };
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        struct plan plan;
        struct error err = {0};
        ck_assert(plan_compute(list[i].good, list[i].producer_risk, list[i].bad,
                      list[i].consumer_risk, true, &plan, &err) == STATUS_OK);
        ck_assert_uint_eq(plan.count, list[i].known);
        ck_assert_double_eq_tol(plan.factor, list[i].known_factor, 1e-12);
        ck_assert_double_eq_tol(
            plan_compute_acceptance(&plan, list[i].good), list[i].known_acceptance, 1e-12);
        ck_assert(plan_compute(list[i].good, list[i].producer_risk, list[i].bad,
                      list[i].consumer_risk, false, &plan, &err) == STATUS_OK);
        ck_assert_uint_eq(plan.count, list[i].unknown);
        ck_assert_double_eq_tol(plan.factor, list[i].factor, 1e-8);
        ck_assert_double_eq_tol(
            plan_compute_acceptance(&plan, list[i].good), list[i].acceptance, 1e-8);
    }
    /* two specimens at least: 0.18 would do */
    struct plan least;
    ck_assert(plan_compute(0.001, 0.2, 0.3, 0.4, true, &least, NULL) == STATUS_OK);
    ck_assert_uint_eq(least.count, 2);
    ck_assert_double_eq_tol(least.factor, 0.7035439673293324, 1e-12);
    ck_assert_double_eq_tol(plan_compute_acceptance(&least, 0.001), 0.9996313062845246, 1e-12);
}
END_TEST

/* The formulas with SciPy's quantiles (1.10, chi2.ppf and norm.ppf); the nearer limit counts. */
START_TEST(capability_is_that_of_other_software)
{
    static const struct {
        size_t count;
        double mean, confidence, cp[2], cpk, cpk_ends[2], cpk_least;
    } list[] = {
        {10, 10.2, .95, {0.7303494175, 1.938448803}, 1.2, {0.6083923754, 1.791607625},
            0.7035072304},
        {2, 10.2, .9, {0.08360903726, 2.613285313}, 1.2, {-0.2485507435, 2.648550744},
            0.07139351323},
        {30, 9.1, .99, {0.8968620951, 1.791176634}, 1.1 / 1.5, {0.4399178331, 1.026748834},
            0.4683365324},
    };
    const struct limit limit = {true, true, 8, 12};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        struct capability made;
        ck_assert(capability_compute(list[i].count, list[i].mean, 0.5, &limit, list[i].confidence,
                      &made, NULL) == STATUS_OK);
        ck_assert_double_eq_tol(made.cp, 4.0 / 3, 1e-12);
        ck_assert_double_eq_tol(made.cp_lower, list[i].cp[0], 1e-9);
        ck_assert_double_eq_tol(made.cp_upper, list[i].cp[1], 1e-9);
        ck_assert_double_eq_tol(made.cpk, list[i].cpk, 1e-12);
        ck_assert_double_eq_tol(made.cpk_lower, list[i].cpk_ends[0], 1e-9);
        ck_assert_double_eq_tol(made.cpk_upper, list[i].cpk_ends[1], 1e-9);
        ck_assert_double_eq_tol(made.cpk_least, list[i].cpk_least, 1e-9);
    }
}
END_TEST

START_TEST(finds_the_smallest_sampling_plan)
{
    struct plan plan, smaller;
    struct error err = {0};
    ck_assert(plan_compute(0.01, 0.05, 0.10, 0.10, false, &plan, &err) == STATUS_OK);
    ck_assert_double_ge(plan_compute_acceptance(&plan, 0.01), 0.95);
    ck_assert_double_le(plan_compute_acceptance(&plan, 0.10), 0.10 + 1e-9);
    smaller = plan;
    smaller.count--;
    /* one specimen less cannot keep both risks, whatever k */
    bool is_any = false;
    for (smaller.factor = 1; smaller.factor < 3; smaller.factor += 0.001) {
        is_any = is_any || (plan_compute_acceptance(&smaller, 0.01) >= 0.95 &&
                               plan_compute_acceptance(&smaller, 0.10) <= 0.10);
    }
    ck_assert(!is_any);
    ck_assert(plan_compute(0.01, 0.05, 0.10, 0.10, true, &smaller, &err) == STATUS_OK);
    ck_assert_uint_lt(smaller.count, plan.count);
    ck_assert(plan_compute(0.1, 0.05, 0.01, 0.1, true, &plan, &err) == STATUS_INPUT);
    ck_assert(plan_compute(0, 0.05, 0.1, 0.1, true, &plan, &err) == STATUS_INPUT);
    ck_assert(plan_compute(0.01, 0.05, 0.5, 0.1, true, &plan, &err) == STATUS_INPUT);
    static const double risks[][2] = {{0, 0.1}, {0.5, 0.1}, {0.05, 0}, {0.05, 0.5}};
    for (size_t i = 0; i < 4; i++) {
        ck_assert(
            plan_compute(0.01, risks[i][0], 0.1, risks[i][1], true, &plan, &err) == STATUS_INPUT);
        ck_assert_ptr_nonnull(strstr(err.message, "are not between 0 and 0.5"));
    }
}
END_TEST

/* Several loops of a ring in any order: means by ring, u as a root mean square over all values. */
START_TEST(takes_means_of_rings_and_u_of_loops)
{
    const struct lot_value values[] = {
        {7, 12, 0.1}, {3, 16, 0.2}, {7, 13, 0.3}, {9, 11, 0.4}, {3, 18, 0.5}, {7, 14, 0.6}};
    const struct limit none = {false, false, -INFINITY, INFINITY};
    struct lot_figure lot;
    ck_assert(lot_compute(values, 6, &none, &guarded, &lot, NULL) == STATUS_OK);
    ck_assert_uint_eq(lot.values, 6);
    ck_assert_uint_eq(lot.specimens, 3);
    /* 13, 17 and 11 */
    ck_assert_double_eq_tol(lot.summary.mean, 41.0 / 3, 1e-12);
    ck_assert_double_eq_tol(lot.summary.deviation, sqrt(28.0 / 3), 1e-12);
    ck_assert_double_eq_tol(lot.u, sqrt(0.91 / 6), 1e-12);
    /* within: 2 and 2 over three degrees */
    ck_assert_double_eq_tol(lot.repeat_deviation, sqrt(4.0 / 3), 1e-12);
    ck_assert(isnan(lot.share) && isnan(lot.share_confident) && isnan(lot.margin));
    ck_assert(lot.tolerance_lower == -INFINITY && lot.tolerance_upper == INFINITY);
    /* one loop each: nothing tells repeats from steel */
    ck_assert(lot_compute(values + 2, 2, &none, &guarded, &lot, NULL) == STATUS_OK);
    ck_assert(isnan(lot.repeat_deviation));
    ck_assert_double_eq_tol(lot.steel_deviation, sqrt(2), 1e-12);
    /* several loops of one ring alone */
    ck_assert(lot_compute((const struct lot_value[]){{1, 5, 0}, {1, 7, 0}}, 2, &none, &guarded,
                  &lot, NULL) == STATUS_OK);
    ck_assert(isnan(lot.repeat_deviation) && lot.specimens == 1);
    ck_assert_double_eq_tol(lot.summary.mean, 6, 1e-12);
}
END_TEST

/* Ten with mean 15 and deviation 1 between 12 and 17: Phi(-3) + Phi(-2) outside; with confidence c
 * the tails of (1 + c) / 2 each, which single limits of that confidence tell, too. */
START_TEST(each_tail_of_a_lot_counts_by_itself)
{
    struct lot_value values[10];
    struct lot_figure both, tail[2];
    const struct limit limit = {true, true, 12, 17}, lower = {true, false, 12, INFINITY};
    const struct limit upper = {false, true, -INFINITY, 17};
    const struct limits half = {
        .rule = RULE_SIMPLE, .has_lot = true, .share = 0.95, .confidence = 0.975};
    make_ten(values, 0.25);
    ck_assert(lot_compute(values, 10, &limit, &simple, &both, NULL) == STATUS_OK);
    ck_assert(lot_compute(values, 10, &lower, &half, &tail[0], NULL) == STATUS_OK);
    ck_assert(lot_compute(values, 10, &upper, &half, &tail[1], NULL) == STATUS_OK);
    ck_assert_double_eq_tol(
        both.share, 1 - normal_compute_share(-3) - normal_compute_share(-2), 1e-12);
    ck_assert_double_eq_tol(tail[0].share, 1 - normal_compute_share(-3), 1e-12);
    ck_assert_double_eq_tol(
        both.share_confident, tail[0].share_confident + tail[1].share_confident - 1, 1e-9);
    ck_assert_double_eq_tol(both.tolerance_lower, 15 - both.factor, 1e-12);
    ck_assert_double_eq_tol(both.tolerance_upper, 15 + both.factor, 1e-12);
    /* the upper limit is the nearer one */
    ck_assert_double_eq_tol(both.margin, 17 - 15 - both.factor, 1e-12);
    ck_assert_double_eq_tol(both.u, 0.25, 1e-12);
    /* drawn in by a guard */
    const struct limits held = {
        .rule = RULE_GUARDED, .has_lot = true, .share = 0.95, .confidence = 0.95};
    ck_assert(lot_compute(values, 10, &limit, &held, &both, NULL) == STATUS_OK);
    ck_assert_double_eq_tol(both.margin, 17 - 15 - both.factor - 1.6448536269514722 * 0.25, 1e-9);
}
END_TEST

/* A tail of more than a half is no share below 0. */
START_TEST(a_confident_share_ends_at_0)
{
    const struct lot_value values[] = {{1, 10, 0}, {2, 14, 0}, {3, 18, 0}};
    const struct limit narrow = {true, true, 13.9, 14.1};
    struct lot_figure lot;
    ck_assert(lot_compute(values, 3, &narrow, &simple, &lot, NULL) == STATUS_OK);
    ck_assert_double_eq(lot.share_confident, 0);
    ck_assert_double_gt(lot.share, 0);
    ck_assert(lot.verdict == VERDICT_REJECTED);
}
END_TEST

/* The number wanted is the first whose factor lets the tolerance limits lie within, of two limits
 * as of one; with a guard there is less room; where the mean itself is too near, none will do. */
START_TEST(the_number_wanted_is_the_first_that_does)
{
    static const double reaches[] = {2.3, 2.6, 3, 4};
    for (size_t n = 0; n < 16; n++) {
        const double reach = reaches[n % 4];
        const bool is_two_sided = n / 4 % 2, is_guarded = n / 8 == 1;
        const double u = 0.05, room = reach - (is_guarded ? 1.6448536269514722 * u : 0);
        const struct limits limits = {.rule = is_guarded ? RULE_GUARDED : RULE_SIMPLE,
            .has_lot = true,
            .share = 0.95,
            .confidence = 0.95};
        const struct limit limit = {
            true, is_two_sided, 14 - reach, is_two_sided ? 14 + reach : INFINITY};
        const struct lot_value values[] = {{1, 13, u}, {2, 14, u}, {3, 15, u}};
        struct lot_figure lot;
        ck_assert(lot_compute(values, 3, &limit, &limits, &lot, NULL) == STATUS_OK);
        ck_assert_uint_gt(lot.wanted, 3);
        for (size_t count = lot.wanted - 1; count <= lot.wanted; count++) {
            const double confidence =
                is_two_sided ? tolerance_compute_confidence_two_sided(count, 0.95, room)
                             : tolerance_compute_confidence(count, 0.95, room);
            ck_assert_int_eq(confidence >= 0.95, count == lot.wanted);
        }
    }
    /* the factor of a thousand specimens is 1.72726 (SciPy 1.10, nct.ppf): the last that is tried
     */
    static const double borders[][2] = {{1.7272, 0}, {1.7273, 1}};
    for (size_t i = 0; i < 2; i++) {
        const struct lot_value values[] = {{1, 13, 0}, {2, 14, 0}, {3, 15, 0}};
        const struct limit limit = {true, false, 14 - borders[i][0], INFINITY};
        struct lot_figure lot;
        ck_assert(lot_compute(values, 3, &limit, &simple, &lot, NULL) == STATUS_OK);
        ck_assert_int_eq(lot.wanted > 0, borders[i][1] > 0);
        ck_assert_uint_le(lot.wanted, 1000);
    }
}
END_TEST

Suite *lot_suite(void)
{
    Suite *suite = suite_create("lot");
    TCase *tests = tcase_create("lot");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, draws_tolerance_limits_by_exact_factors);
    tcase_add_test(tests, keeps_off_the_limits_by_the_benchs_uncertainty);
    tcase_add_test(tests, says_how_many_specimens_would_do);
    tcase_add_test(tests, takes_means_of_rings_and_u_of_loops);
    tcase_add_test(tests, each_tail_of_a_lot_counts_by_itself);
    tcase_add_test(tests, a_confident_share_ends_at_0);
    tcase_add_test(tests, the_number_wanted_is_the_first_that_does);
    tcase_add_test(tests, rejects_a_lot_whose_estimated_share_is_too_small);
    tcase_add_test(tests, parts_the_scatter_of_steel_and_repeats);
    tcase_add_test(tests, takes_one_specimen_without_a_verdict);
    tcase_add_test(tests, accepts_a_lot_at_the_border_as_often_as_stated);
    tcase_add_test(tests, gives_capability_with_its_interval);
    tcase_add_test(tests, gives_no_capability_without_scatter_limit_or_confidence);
    tcase_add_test(tests, judges_a_lot_without_scatter_by_its_mean);
    tcase_add_test(tests, takes_an_upper_limit_as_it_takes_a_lower_one);
    tcase_add_test(tests, gives_no_verdict_on_a_lot_that_nothing_is_asked_of);
    tcase_add_test(tests, knows_the_ends_of_an_operating_characteristic);
    tcase_add_test(tests, refuses_a_plan_of_more_than_a_thousand_specimens);
    tcase_add_test(tests, a_plan_of_a_thousand_specimens_is_the_last);
    tcase_add_test(tests, plans_are_those_of_other_software);
    tcase_add_test(tests, capability_is_that_of_other_software);
    tcase_add_test(tests, finds_the_smallest_sampling_plan);
    suite_add_tcase(suite, tests);
    return suite;
}
