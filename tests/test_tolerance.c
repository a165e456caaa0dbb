// SPDX-License-Identifier: GPL-3.0-or-later
/* Normal tolerance factors. Exact values: quadrature with 30 digits of the formulae of ISO 16269-6
 * and of Krishnamoorthy and Mathew (2009); they agree with the printed tables of the exact factors.
 */
#include "num/tolerance.h"

#include <math.h>
#include <string.h>

#include "num/distribution.h"
#include "num/range.h"
#include "num/student.h"
#include "suites.h"

static const struct {
    size_t count;
    double share, confidence, one_sided, two_sided; /* 0: not in the list */
} factor_list[] = {
    {5, 0.90, 0.95, 3.4066332628, 4.29060407},
    {5, 0.95, 0.95, 4.20268074126, 5.07687453},
    {5, 0.99, 0.95, 5.74108451723, 0},
    {10, 0.90, 0.95, 2.35464013183, 2.85631085},
    {10, 0.95, 0.95, 2.91096341308, 3.39342948},
    {10, 0.99, 0.95, 3.98111784527, 4.43690873},
    {20, 0.95, 0.95, 2.39600168375, 2.76034618},
    {20, 0.99, 0.95, 3.29515693617, 0},
    {30, 0.95, 0.95, 2.21983753204, 2.55489281},
    {30, 0.99, 0.95, 3.06390112624, 3.35457584},
    {50, 0.95, 0.95, 2.06499341774, 2.38155974},
    {100, 0.95, 0.95, 0, 2.23388202},
    {10, 0.95, 0.99, 3.73831496416, 0},
    {30, 0.99, 0.99, 3.44650596122, 0},
    /* sample of the NIST/SEMATECH e-Handbook, 7.2.6.3, whose own approximations are 1.8751896 and
     * 2.2173159 */
    {43, 0.90, 0.99, 1.87395360585, 2.22282517},
};

START_TEST(agrees_with_exact_factors)
{
    struct error err = {0};
    const size_t count = factor_list[_i].count;
    const double share = factor_list[_i].share, confidence = factor_list[_i].confidence;
    double factor;
    if (factor_list[_i].one_sided != 0) {
        ck_assert(
            tolerance_compute_one_sided(count, share, confidence, &factor, &err) == STATUS_OK);
        ck_assert_double_eq_tol(factor, factor_list[_i].one_sided, 1e-9);
    }
    if (factor_list[_i].two_sided != 0) {
        ck_assert(
            tolerance_compute_two_sided(count, share, confidence, &factor, &err) == STATUS_OK);
        ck_assert_double_eq_tol(factor, factor_list[_i].two_sided, 1e-8);
    }
}
END_TEST

START_TEST(finds_share_and_confidence_back_from_the_factor)
{
    ck_assert_double_eq_tol(tolerance_compute_confidence(10, 0.95, 2.91096341308), 0.95, 1e-10);
    ck_assert_double_eq_tol(tolerance_compute_share(10, 0.95, 2.91096341308), 0.95, 1e-10);
    /* with the mean on the limit, half is above it: as sure as the mean is above the median */
    ck_assert_double_eq_tol(tolerance_compute_confidence(7, 0.5, 0), 0.5, 1e-12);
    ck_assert_double_lt(tolerance_compute_share(7, 0.95, 0), 0.5);
    /* for another share: as sure as the mean of 7 is beyond the quantile z, 1 - F(z sqrt 7) */
    const double z = normal_compute_quantile(0.6);
    ck_assert_double_eq_tol(
        tolerance_compute_confidence(7, 0.6, 0), 0.5 * erfc(z * sqrt(7.0) / sqrt(2.0)), 1e-12);
    ck_assert_double_eq_tol(
        tolerance_compute_confidence_two_sided(10, 0.95, 3.39342948), 0.95, 1e-8);
    ck_assert_double_eq(tolerance_compute_confidence_two_sided(10, 1, 3), 0);
}
END_TEST

/* From nearly nothing to nearly all of the population. */
START_TEST(finds_the_share_of_any_factor)
{
    static const double factors[] = {-60, -5, -1, -0.01, 0, 0.01, 1, 2.5, 6, 20};
    static const size_t counts[] = {2, 3, 10, 200};
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        for (size_t j = 0; j < sizeof counts / sizeof counts[0]; j++) {
            const double share = tolerance_compute_share(counts[j], 0.9, factors[i]);
            ck_assert(share >= 0 && share <= 1);
            if (share > 1e-12 && share < 1 - 1e-12) {
                ck_assert_double_eq_tol(
                    tolerance_compute_confidence(counts[j], share, factors[i]), 0.9, 1e-6);
            } else {
                ck_assert((share > 0.5) == (factors[i] > 0));
            }
        }
    }
}
END_TEST

/* Large samples: the factor tends to the normal quantile. */
START_TEST(tends_to_the_normal_quantile)
{
    struct error err = {0};
    double factor;
    ck_assert(tolerance_compute_one_sided(100000, 0.975, 0.5, &factor, &err) == STATUS_OK);
    ck_assert_double_eq_tol(factor, 1.959963984540054, 1e-4);
}
END_TEST

START_TEST(refuses_samples_and_shares_that_have_no_limit)
{
    struct error err = {0};
    double factor = 7;
    ck_assert(tolerance_compute_one_sided(1, 0.95, 0.95, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no tolerance limit from a sample of 1");
    ck_assert(tolerance_compute_two_sided(5, 1, 0.95, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "the share of 1 is not in 0.5 ... 1");
    ck_assert(tolerance_compute_two_sided(5, 0.95, 1, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "the confidence of 1 is not in 0.5 ... 1");
    ck_assert(tolerance_compute_two_sided(5, 0.49, 0.95, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "the share of 0.49 is not in 0.5 ... 1");
    ck_assert(tolerance_compute_two_sided(5, 0.95, 0.49, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "the confidence of 0.49 is not in 0.5 ... 1");
    ck_assert(tolerance_compute_two_sided(5, NAN, 0.95, &factor, &err) == STATUS_INPUT);
    ck_assert(tolerance_compute_two_sided(5, 0.95, NAN, &factor, &err) == STATUS_INPUT);
    ck_assert(tolerance_compute_two_sided(100001, 0.95, 0.95, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no tolerance limit from a sample of 100001");
    ck_assert_double_eq(factor, 7);
}
END_TEST

/* By symmetry: mean + 0 s lies above the median as often as below. */
START_TEST(half_of_the_population_with_even_odds_needs_no_factor)
{
    struct error err = {0};
    double factor = 7;
    ck_assert(tolerance_compute_one_sided(9, 0.5, 0.5, &factor, &err) == STATUS_OK);
    ck_assert_double_eq(factor, 0);
    ck_assert_double_eq(tolerance_compute_confidence(9, 0, 3), 1);
    ck_assert_double_eq(tolerance_compute_confidence(9, 1, 3), 0);
}
END_TEST

START_TEST(says_when_no_factor_is_large_enough)
{
    struct error err = {0};
    double factor = 7;
    ck_assert(tolerance_compute_one_sided(2, 0.95, 1 - 1e-15, &factor, &err) == STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "no factor below 1e+12 shows a share of"));
    ck_assert_double_eq(factor, 7);
    ck_assert(tolerance_compute_one_sided(100001, 0.95, 0.95, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no tolerance limit from a sample of 100001");
    ck_assert(tolerance_compute_one_sided(5, 0.4, 0.95, &factor, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "the share of 0.4 is not in 0.5 ... 1");
    ck_assert(tolerance_compute_one_sided(5, 0.95, NAN, &factor, &err) == STATUS_INPUT);
}
END_TEST

/* d2, d3 and c4 as the tables of ISO 7870-2 and of the handbooks print them (from memory, three and
 * four decimals; n = 2 in closed form: 2/sqrt pi, sqrt(2 - 4/pi), sqrt(2/pi)). */
START_TEST(knows_the_constants_of_control_charts)
{
    static const struct {
        size_t count;
        double d2, d3, c4;
    } list[] = {{2, 1.128, 0.853, 0.7979}, {3, 1.693, 0.888, 0.8862}, {5, 2.326, 0.864, 0.9400},
        {10, 3.078, 0.797, 0.9727}, {25, 3.931, 0.708, 0.9896}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        ck_assert_double_eq_tol(range_compute_mean(list[i].count), list[i].d2, 0.00051);
        ck_assert_double_eq_tol(range_compute_deviation(list[i].count), list[i].d3, 0.00051);
        ck_assert_double_eq_tol(deviation_compute_mean(list[i].count), list[i].c4, 0.000051);
    }
    /* by SciPy: quad over 1 - F^n - (1 - F)^n, and over the density of the range with 160 points */
    static const struct {
        size_t count;
        double d2, d3;
    } fine[] = {{3, 1.6925687506, 0.8883680040}, {5, 2.3259289473, 0.8640819411},
        {10, 3.0775054617, 0.7970506735}, {25, 3.9306292195, 0.7084407659}};
    for (size_t i = 0; i < sizeof fine / sizeof *fine; i++) {
        ck_assert_double_eq_tol(range_compute_mean(fine[i].count), fine[i].d2, 2e-10);
        ck_assert_double_eq_tol(range_compute_deviation(fine[i].count), fine[i].d3, 2e-10);
    }
    ck_assert_double_eq_tol(range_compute_mean(100), 5.0151872729, 2e-10);
    const double pi = acos(-1);
    ck_assert_double_eq_tol(range_compute_mean(2), 2 / sqrt(pi), 1e-10);
    ck_assert_double_eq_tol(range_compute_deviation(2), sqrt(2 - 4 / pi), 1e-10);
    ck_assert_double_eq_tol(deviation_compute_mean(2), sqrt(2 / pi), 1e-14);
    ck_assert(isnan(range_compute_mean(1)) && isnan(range_compute_mean(101)));
    ck_assert(isnan(deviation_compute_mean(1)) && isnan(deviation_compute_mean(101)));
}
END_TEST

Suite *tolerance_suite(void)
{
    Suite *suite = suite_create("tolerance");
    TCase *tests = tcase_create("tolerance");
    tcase_add_loop_test(
        tests, agrees_with_exact_factors, 0, sizeof factor_list / sizeof *factor_list);
    tcase_add_test(tests, finds_share_and_confidence_back_from_the_factor);
    tcase_add_test(tests, finds_the_share_of_any_factor);
    tcase_add_test(tests, tends_to_the_normal_quantile);
    tcase_add_test(tests, refuses_samples_and_shares_that_have_no_limit);
    tcase_add_test(tests, half_of_the_population_with_even_odds_needs_no_factor);
    tcase_add_test(tests, says_when_no_factor_is_large_enough);
    tcase_add_test(tests, knows_the_constants_of_control_charts);
    suite_add_tcase(suite, tests);
    return suite;
}
