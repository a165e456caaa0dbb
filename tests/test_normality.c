// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/normality.h"

#include <math.h>

#include "suites.h"

/* Weights of eleven men, S. S. Shapiro, M. B. Wilk, Biometrika 52 (1965) 591, section 4: they print
 * W = 0.79. The further digits and the significance are those of algorithm AS R94 in SciPy 1.10. */
START_TEST(agrees_with_the_publication)
{
    const double pounds[] = {148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236};
    struct normality normality;
    struct error err = {0};
    ck_assert(normality_compute(pounds, 11, &normality, &err) == STATUS_OK);
    ck_assert_double_eq_tol(normality.w, 0.79, 0.005);
    ck_assert_double_eq_tol(normality.w, 0.7888147830963135, 1e-6);
    ck_assert_double_eq_tol(normality.significance, 0.006703833118081093, 1e-6);
}
END_TEST

/* Three values: W = (x3 - x1)²/(2 sum of squares) in closed form, its significance too. */
START_TEST(is_exact_for_three_values)
{
    const double values[] = {4, 1, 2};
    struct normality normality;
    struct error err = {0};
    ck_assert(normality_compute(values, 3, &normality, &err) == STATUS_OK);
    const double w = 9 / (2 * (14.0 / 3));
    ck_assert_double_eq_tol(normality.w, w, 1e-14);
    ck_assert_double_eq_tol(
        normality.significance, 6 / acos(-1) * (asin(sqrt(w)) - asin(sqrt(0.75))), 1e-12);
}
END_TEST

START_TEST(does_not_care_for_order_scale_or_sign)
{
    const double values[] = {3.1, -2, 0.4, 7, 1.1, 0.2, -1, 2.2};
    double turned[8];
    for (int i = 0; i < 8; i++) {
        turned[i] = 1e6 - 3 * values[(i * 3 + 1) % 8];
    }
    struct normality first, second;
    struct error err = {0};
    ck_assert(normality_compute(values, 8, &first, &err) == STATUS_OK);
    ck_assert(normality_compute(turned, 8, &second, &err) == STATUS_OK);
    ck_assert_double_eq_tol(first.w, second.w, 1e-9);
}
END_TEST

START_TEST(refuses_too_few_values_and_equal_ones)
{
    const double values[] = {2, 2, 2};
    struct normality normality;
    struct error err = {0};
    ck_assert(normality_compute(values, 2, &normality, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no test of normality on 2 values");
    ck_assert(normality_compute(values, 3, &normality, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no test of normality on values without scatter");
    ck_assert(normality_compute(values, 2001, &normality, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no test of normality on 2001 values");
}
END_TEST

/* By SciPy 1.10, which counts in single precision. The values x of k = 0 ... n - 1 are the rest of
 * 7 k^2 over 2 n + 1, and k^2 / 100. */
START_TEST(agrees_with_another_program_for_any_number_of_values)
{
    static const struct {
        size_t count;
        double w, significance;
    } list[] = {{4, 0.7354251146, 0.02793873474}, {5, 0.9090856910, 0.4621154964},
        {6, 0.9578267932, 0.8028451800}, {7, 0.9410041571, 0.6477802396},
        {12, 0.8854734302, 0.1030380726}, {20, 0.9632963538, 0.6115882396},
        {50, 0.9702973366, 0.2379720509}, {500, 0.9515665173, 9.836134511e-12},
        {2000, 0.9079688787, 3.788461805e-33}};
    double values[2000];
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const size_t n = list[i].count;
        struct normality normality;
        struct error err = {0};
        for (size_t k = 0; k < n; k++) {
            values[k] = (double)(7 * k * k % (2 * n + 1)) + 0.01 * (double)(k * k);
        }
        ck_assert(normality_compute(values, n, &normality, &err) == STATUS_OK);
        ck_assert_double_eq_tol(normality.w, list[i].w, 5e-6);
        /* the normal score goes with ln(1 - W), whose digits become those of the score */
        ck_assert_double_eq_tol(log(normality.significance) / log(list[i].significance), 1.0, 2e-4);
    }
}
END_TEST

/* Values at Blom's scores are as normal as can be: the weights go with the scores. */
START_TEST(scores_are_quantiles_of_the_normal_distribution)
{
    /* (i + 5/8) / (n + 1/4): of three the first is at 0.625 / 3.25, the second in the middle */
    ck_assert_double_eq_tol(normality_compute_score(1, 3), 0.0, 1e-15);
    ck_assert_double_eq_tol(
        0.5 * erfc(-normality_compute_score(0, 3) / sqrt(2.0)), 0.625 / 3.25, 1e-12);
    ck_assert_double_eq_tol(normality_compute_score(9, 10), -normality_compute_score(0, 10), 1e-12);
}
END_TEST

Suite *normality_suite(void)
{
    Suite *suite = suite_create("normality");
    TCase *tests = tcase_create("normality");
    tcase_add_test(tests, agrees_with_the_publication);
    tcase_add_test(tests, is_exact_for_three_values);
    tcase_add_test(tests, agrees_with_another_program_for_any_number_of_values);
    tcase_add_test(tests, scores_are_quantiles_of_the_normal_distribution);
    tcase_add_test(tests, does_not_care_for_order_scale_or_sign);
    tcase_add_test(tests, refuses_too_few_values_and_equal_ones);
    suite_add_tcase(suite, tests);
    return suite;
}
