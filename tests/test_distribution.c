// SPDX-License-Identifier: GPL-3.0-or-later
/* Against closed forms, which the distributions have for one or two degrees of freedom. */
#include "num/distribution.h"

#include <math.h>

#include "suites.h"

static const double PI = 3.14159265358979323846;

START_TEST(one_and_two_degrees_of_freedom_have_their_closed_forms)
{
    static const double list[] = {1e-3, 0.2, 1.0, 2.7, 40.0};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        const double x = list[i];
        ck_assert_double_eq_tol(student_compute_share(x, 1), 0.5 + atan(x) / PI, 1e-14);
        ck_assert_double_eq_tol(student_compute_quantile(0.5 + atan(x) / PI, 1), x, 1e-10 * x);
        ck_assert_double_eq_tol(chi_square_compute_share(x, 2), 1 - exp(-x / 2), 1e-14);
        ck_assert_double_eq_tol(fisher_compute_share(x, 2, 2), x / (1 + x), 1e-14);
        ck_assert_double_eq_tol(fisher_compute_share_above(x, 2, 2), 1 / (1 + x), 1e-14);
    }
    ck_assert_double_eq_tol(chi_square_compute_quantile(0.95, 2), -2 * log(0.05), 1e-12);
    ck_assert_double_eq_tol(normal_compute_quantile(0.975), 1.959963984540054, 1e-14);
}
END_TEST

START_TEST(beyond_the_ends_a_share_is_nothing_or_all)
{
    for (double x = 0; x > -3; x--) {
        ck_assert_double_eq(chi_square_compute_share(x, 3), 0);
        ck_assert_double_eq(fisher_compute_share(x, 3, 5), 0);
        ck_assert_double_eq(fisher_compute_share_above(x, 3, 5), 1);
    }
    ck_assert(normal_compute_quantile(0) == -INFINITY && normal_compute_quantile(1) == INFINITY);
}
END_TEST

Suite *distribution_suite(void)
{
    Suite *suite = suite_create("distribution");
    TCase *tests = tcase_create("distribution");
    tcase_add_test(tests, one_and_two_degrees_of_freedom_have_their_closed_forms);
    tcase_add_test(tests, beyond_the_ends_a_share_is_nothing_or_all);
    suite_add_tcase(suite, tests);
    return suite;
}
