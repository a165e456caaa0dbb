// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/quadrature.h"

#include <math.h>

#include "suites.h"

static double get_inverse_root(double x, void *context)
{
    return *(const double *)context / sqrt(x);
}

static double get_power(double x, void *context)
{
    return pow(x, *(const double *)context);
}

START_TEST(integrates_smooth_functions_and_singular_ends)
{
    double one = 1, exponent = 6.5;
    ck_assert_double_eq_tol(quadrature_compute(get_inverse_root, &one, 0, 4), 4, 1e-10);
    ck_assert_double_eq_tol(
        quadrature_compute(get_power, &exponent, 0, 2), pow(2, 7.5) / 7.5, 1e-11);
    ck_assert_double_eq_tol(
        quadrature_compute(get_power, &exponent, 2, 0), -pow(2, 7.5) / 7.5, 1e-11);
}
END_TEST

START_TEST(has_no_value_for_what_diverges)
{
    double exponent = -1;
    ck_assert(isnan(quadrature_compute(get_power, &exponent, 0, 1)));
}
END_TEST

Suite *quadrature_suite(void)
{
    Suite *suite = suite_create("quadrature");
    TCase *tests = tcase_create("quadrature");
    tcase_add_test(tests, integrates_smooth_functions_and_singular_ends);
    tcase_add_test(tests, has_no_value_for_what_diverges);
    suite_add_tcase(suite, tests);
    return suite;
}
