// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/decision.h"

#include <math.h>

#include "num/random.h"
#include "suites.h"

static struct limit make(double lower, double upper)
{
    return (struct limit){isfinite(lower), isfinite(upper), lower, upper};
}

/* A value exactly at the acceptance limit that stands r U, U = 2 u, inside: the probability of a
 * false acceptance is Phi(-2 r). ILAC-G8:09/2019 quotes 50 %, 16 %, 5 %, 2.5 % for these. */
START_TEST(knows_the_risk_at_the_acceptance_limit)
{
    static const struct {
        double r, risk;
    } list[] = {{0, 0.5}, {0.5, 0.15865525393145707}, {1, 0.022750131948179195},
        {0.8224268134757361, 0.05}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const struct limit limit = make(-INFINITY, 10);
        const double u = 0.25;
        struct decision decision = decision_compute(10 - list[i].r * 2 * u, u, &limit, RULE_SIMPLE);
        ck_assert_double_eq_tol(decision.consumer_risk, list[i].risk, 1e-12);
        ck_assert_double_eq_tol(decision.probability_conforming, 1 - list[i].risk, 1e-12);
        ck_assert(decision.verdict == VERDICT_ACCEPTED);
    }
}
END_TEST

START_TEST(draws_the_limits_in_and_widens_them)
{
    const struct limit limit = make(17.5, 20.5);
    struct decision decision = decision_compute(18, 0.2, &limit, RULE_GUARDED);
    ck_assert_double_eq_tol(decision.accept_lower, 17.5 + 1.6448536269514722 * 0.2, 1e-12);
    ck_assert_double_eq_tol(decision.reject_upper, 20.5 + 1.6448536269514722 * 0.2, 1e-12);
    ck_assert(decision.verdict == VERDICT_ACCEPTED && isnan(decision.producer_risk));
    ck_assert(decision_compute(17.7, 0.2, &limit, RULE_GUARDED).verdict == VERDICT_UNDECIDED);
    ck_assert(decision_compute(17.3, 0.2, &limit, RULE_GUARDED).verdict == VERDICT_UNDECIDED);
    decision = decision_compute(17.1, 0.2, &limit, RULE_GUARDED);
    ck_assert(decision.verdict == VERDICT_REJECTED && isnan(decision.consumer_risk));
    ck_assert_double_eq_tol(decision.producer_risk, 0.022750131948179195, 1e-12);
    ck_assert(decision_compute(17.3, 0.2, &limit, RULE_SIMPLE).verdict == VERDICT_REJECTED);
}
END_TEST

START_TEST(accepts_nothing_when_the_uncertainty_fills_the_limits)
{
    const struct limit limit = make(0, 1);
    struct decision decision = decision_compute(0.5, 1, &limit, RULE_GUARDED);
    ck_assert_double_gt(decision.accept_lower, decision.accept_upper);
    ck_assert(decision.verdict == VERDICT_UNDECIDED);
}
END_TEST

START_TEST(decides_by_the_limits_alone_without_uncertainty)
{
    const struct limit limit = make(0, 1);
    struct decision decision = decision_compute(1, 0, &limit, RULE_GUARDED);
    ck_assert(decision.verdict == VERDICT_ACCEPTED);
    ck_assert_double_eq(decision.probability_conforming, 1);
    decision = decision_compute(1.001, 0, &limit, RULE_GUARDED);
    ck_assert(decision.verdict == VERDICT_REJECTED);
    ck_assert_double_eq(decision.producer_risk, 0);
}
END_TEST

/* A value that is measured right at the limit's border of acceptance is falsely accepted in 5 % of
 * measurements when the truth stands at the limit: the stated rate, by simulation. */
START_TEST(accepts_falsely_as_often_as_stated)
{
    struct random random;
    random_init(&random, 4711, 0);
    const struct limit limit = make(10, INFINITY);
    const int trials = 200000;
    int accepted = 0, rejected = 0;
    for (int i = 0; i < trials; i++) {
        const double measured = 10 + 0.3 * random_get_normal(&random);
        const enum verdict verdict = decision_compute(measured, 0.3, &limit, RULE_GUARDED).verdict;
        accepted += verdict == VERDICT_ACCEPTED;
        rejected += verdict == VERDICT_REJECTED;
    }
    /* four standard errors of a share of 0.05 */
    const double width = 4 * sqrt(0.05 * 0.95 / trials);
    ck_assert_double_eq_tol((double)accepted / trials, 0.05, width);
    ck_assert_double_eq_tol((double)rejected / trials, 0.05, width);
}
END_TEST

/* The guard of 1.645 u draws every limit in, or widens it, by itself; an open side has none. */
START_TEST(each_limit_has_its_own_guard)
{
    const double guard = 1.6448536269514722 * 0.25;
    const struct limit both = make(10, 20), lower = make(10, INFINITY), upper = make(-INFINITY, 20);
    struct decision decision = decision_compute(15, 0.25, &both, RULE_GUARDED);
    ck_assert_double_eq_tol(decision.accept_lower, 10 + guard, 1e-12);
    ck_assert_double_eq_tol(decision.accept_upper, 20 - guard, 1e-12);
    ck_assert_double_eq_tol(decision.reject_lower, 10 - guard, 1e-12);
    ck_assert_double_eq_tol(decision.reject_upper, 20 + guard, 1e-12);
    decision = decision_compute(15, 0.25, &both, RULE_SIMPLE);
    ck_assert(decision.accept_lower == 10 && decision.accept_upper == 20);
    ck_assert(decision.reject_lower == 10 && decision.reject_upper == 20);
    decision = decision_compute(15, 0.25, &lower, RULE_GUARDED);
    ck_assert(decision.accept_upper == INFINITY && decision.reject_upper == INFINITY);
    decision = decision_compute(15, 0.25, &upper, RULE_GUARDED);
    ck_assert(decision.accept_lower == -INFINITY && decision.reject_lower == -INFINITY);
}
END_TEST

/* Phi(-1) + Phi(-3) outside of limits one and three u away; the far tail keeps its digits. */
START_TEST(both_tails_count)
{
    const struct limit limit = make(10, 18), lower = make(10, INFINITY);
    const double outside = 0.15865525393145707 + 0.0013498980316300933;
    struct decision decision = decision_compute(12, 2, &limit, RULE_SIMPLE);
    ck_assert_double_eq_tol(decision.consumer_risk, outside, 1e-15);
    ck_assert_double_eq_tol(decision.probability_conforming, 1 - outside, 1e-15);
    ck_assert(isnan(decision.producer_risk));
    decision = decision_compute(16, 2, &limit, RULE_SIMPLE);
    ck_assert_double_eq_tol(decision.consumer_risk, outside, 1e-15);
    decision = decision_compute(30, 2, &lower, RULE_GUARDED); /* Phi(-10) */
    ck_assert_double_eq_tol(decision.consumer_risk, 7.619853024160527e-24, 1e-35);
    decision = decision_compute(14, 2, &limit, RULE_GUARDED);
    ck_assert(decision.verdict == VERDICT_ACCEPTED);
    decision = decision_compute(13, 2, &limit, RULE_GUARDED);
    ck_assert(decision.verdict == VERDICT_UNDECIDED);
    ck_assert(isnan(decision.consumer_risk) && isnan(decision.producer_risk));
}
END_TEST

/* What lies on the border of acceptance is accepted, on that of rejection it is not rejected yet;
 * the next number is. */
START_TEST(each_border_belongs_to_the_better_verdict)
{
    const struct limit limit = make(10, 20);
    const struct decision at = decision_compute(15, 0.3, &limit, RULE_GUARDED);
    const struct {
        double border, out;
        enum verdict on, beyond;
    } list[] = {{at.accept_lower, -INFINITY, VERDICT_ACCEPTED, VERDICT_UNDECIDED},
        {at.accept_upper, INFINITY, VERDICT_ACCEPTED, VERDICT_UNDECIDED},
        {at.reject_lower, -INFINITY, VERDICT_UNDECIDED, VERDICT_REJECTED},
        {at.reject_upper, INFINITY, VERDICT_UNDECIDED, VERDICT_REJECTED}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const double beyond = nextafter(list[i].border, list[i].out);
        ck_assert_int_eq(
            decision_compute(list[i].border, 0.3, &limit, RULE_GUARDED).verdict, list[i].on);
        ck_assert_int_eq(
            decision_compute(beyond, 0.3, &limit, RULE_GUARDED).verdict, list[i].beyond);
    }
}
END_TEST

START_TEST(combines_to_the_worse_verdict)
{
    ck_assert(verdict_combine(VERDICT_ACCEPTED, VERDICT_UNDECIDED) == VERDICT_UNDECIDED);
    ck_assert(verdict_combine(VERDICT_REJECTED, VERDICT_UNDECIDED) == VERDICT_REJECTED);
    ck_assert(verdict_combine(VERDICT_UNDECIDED, VERDICT_REJECTED) == VERDICT_REJECTED);
    ck_assert(verdict_combine(VERDICT_ACCEPTED, VERDICT_ACCEPTED) == VERDICT_ACCEPTED);
    ck_assert_str_eq(verdict_get_name(VERDICT_ACCEPTED), "accepted");
    ck_assert_str_eq(verdict_get_name(VERDICT_UNDECIDED), "undecided");
    ck_assert_str_eq(verdict_get_name(VERDICT_REJECTED), "rejected");
}
END_TEST

Suite *decision_suite(void)
{
    Suite *suite = suite_create("decision");
    TCase *tests = tcase_create("decision");
    tcase_add_test(tests, knows_the_risk_at_the_acceptance_limit);
    tcase_add_test(tests, draws_the_limits_in_and_widens_them);
    tcase_add_test(tests, accepts_nothing_when_the_uncertainty_fills_the_limits);
    tcase_add_test(tests, decides_by_the_limits_alone_without_uncertainty);
    tcase_add_test(tests, accepts_falsely_as_often_as_stated);
    tcase_add_test(tests, each_limit_has_its_own_guard);
    tcase_add_test(tests, both_tails_count);
    tcase_add_test(tests, each_border_belongs_to_the_better_verdict);
    tcase_add_test(tests, combines_to_the_worse_verdict);
    suite_add_tcase(suite, tests);
    return suite;
}
