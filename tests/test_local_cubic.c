// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/local_cubic.h"

#include <math.h>

#include "suites.h"

static double apply(const struct local_cubic *cubic, const double *weights, const double *y)
{
    double sum = 0;
    for (size_t i = 0; i < cubic->count; i++)
        sum += weights[i] * y[cubic->first + i];
    return sum;
}

START_TEST(is_exact_for_cubics_with_their_slope)
{
    const double x[] = {-1, 0.3, 1, 2.2, 2.5, 4}, points[] = {-1.2, -1, 0, 0.7, 1.9, 2.3, 3.9, 4.1};
    double y[6];
    for (int i = 0; i < 6; i++)
        y[i] = 2 + x[i] * (-1 + x[i] * (0.5 + x[i] * 0.25));
    for (size_t i = 0; i < sizeof points / sizeof *points; i++) {
        const double at = points[i];
        struct local_cubic cubic;
        local_cubic_find(x, 6, at, &cubic);
        ck_assert_uint_eq(cubic.count, 4);
        ck_assert_double_eq_tol(
            apply(&cubic, cubic.weight, y), 2 + at * (-1 + at * (0.5 + at * 0.25)), 1e-13);
        ck_assert_double_eq_tol(apply(&cubic, cubic.slope, y), -1 + at * (1 + at * 0.75), 1e-12);
    }
}
END_TEST

START_TEST(takes_two_points_on_either_side)
{
    const double x[] = {0, 1, 2, 3, 4, 5};
    struct local_cubic cubic;
    local_cubic_find(x, 6, 2.5, &cubic);
    ck_assert_uint_eq(cubic.first, 1);
    local_cubic_find(x, 6, 0.5, &cubic);
    ck_assert_uint_eq(cubic.first, 0);
    local_cubic_find(x, 6, 4.9, &cubic);
    ck_assert_uint_eq(cubic.first, 2);
}
END_TEST

START_TEST(has_a_parabola_beside_it_that_leaves_the_farther_point_out)
{
    const double x[] = {0, 1, 2, 4}, y[] = {1, 2, 5, 17}; /* 1 + x² */
    struct local_cubic cubic;
    local_cubic_find(x, 4, 1.2, &cubic);
    ck_assert_double_eq_tol(apply(&cubic, cubic.lower, y), 1 + 1.44, 1e-14);
    ck_assert_double_eq(cubic.lower[3], 0);
    local_cubic_find(x, 4, 3, &cubic);
    ck_assert_double_eq(cubic.lower[0], 0);
}
END_TEST

START_TEST(makes_do_with_fewer_points)
{
    const double x[] = {1, 3, 4}, y[] = {2, 8, 17};
    struct local_cubic cubic;
    local_cubic_find(x, 1, 9, &cubic);
    ck_assert_double_eq(apply(&cubic, cubic.weight, y), 2);
    ck_assert_double_eq(apply(&cubic, cubic.lower, y), 2);
    local_cubic_find(x, 2, 2, &cubic);
    ck_assert_double_eq_tol(apply(&cubic, cubic.weight, y), 5, 1e-14);
    ck_assert_double_eq_tol(apply(&cubic, cubic.slope, y), 3, 1e-14);
    local_cubic_find(x, 3, 2, &cubic); /* 2x² - 5x + 5 through all three */
    ck_assert_double_eq_tol(apply(&cubic, cubic.weight, y), 3, 1e-14);
}
END_TEST

Suite *local_cubic_suite(void)
{
    Suite *suite = suite_create("local_cubic");
    TCase *tests = tcase_create("local_cubic");
    tcase_add_test(tests, is_exact_for_cubics_with_their_slope);
    tcase_add_test(tests, takes_two_points_on_either_side);
    tcase_add_test(tests, has_a_parabola_beside_it_that_leaves_the_farther_point_out);
    tcase_add_test(tests, makes_do_with_fewer_points);
    suite_add_tcase(suite, tests);
    return suite;
}
