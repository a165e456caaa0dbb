// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/ode.h"

#include <math.h>

#include "suites.h"

/* y' = -2 x y^2, y(0) = 1: y = 1 / (1 + x^2). */
static double get_slope(double x, double y, void *context)
{
    (*(int *)context)++;
    return -2.0 * x * y * y;
}

static double integrate(double end, int steps, double *error_sum, int *calls)
{
    const struct ode ode = {.slope = get_slope, .context = calls};
    double y = 1.0;
    *error_sum = 0.0;
    for (int i = 0; i < steps; i++) {
        double error;
        y = ode_compute_step(&ode, end * i / steps, y, end / steps, &error);
        *error_sum += error;
    }
    return y;
}

START_TEST(halving_the_step_divides_the_error_by_two_to_the_eighth)
{
    int calls = 0;
    double bound;
    double coarse = fabs(integrate(2.0, 6, &bound, &calls) - 0.2);
    ck_assert_double_gt(bound, coarse);
    double fine = fabs(integrate(2.0, 12, &bound, &calls) - 0.2);
    ck_assert_double_gt(bound, fine);
    double order = log2(coarse / fine);
    ck_assert_double_gt(order, 7.0);
    ck_assert_double_lt(order, 9.5);
}
END_TEST

START_TEST(fifty_steps_reach_rounding)
{
    int calls = 0;
    double bound;
    ck_assert_double_eq_tol(integrate(2.0, 50, &bound, &calls), 0.2, 1e-15);
    ck_assert_int_eq(calls, 50 * (3 + 5 + 7 + 9));
}
END_TEST

START_TEST(backward_steps_undo_forward_ones)
{
    int calls = 0;
    const struct ode ode = {.slope = get_slope, .context = &calls};
    double there = ode_compute_step(&ode, 0.3, 0.9, 0.05, NULL);
    ck_assert_double_eq_tol(ode_compute_step(&ode, 0.35, there, -0.05, NULL), 0.9, 1e-15);
}
END_TEST

Suite *ode_suite(void)
{
    Suite *suite = suite_create("ode");
    TCase *tests = tcase_create("ode");
    tcase_add_test(tests, halving_the_step_divides_the_error_by_two_to_the_eighth);
    tcase_add_test(tests, fifty_steps_reach_rounding);
    tcase_add_test(tests, backward_steps_undo_forward_ones);
    suite_add_tcase(suite, tests);
    return suite;
}
