// SPDX-License-Identifier: GPL-3.0-or-later
/* Repeats observed together: means, standard uncertainties and correlations worked out anew; series
 * whose neighbours resemble each other. */
#include "budget/scatter.h"

#include <math.h>

#include "suites.h"

static const double PI = 3.14159265358979323846;

/* Four quantities, far from 0: two that scatter, their sum, and one that does not. */
START_TEST(means_scatter_and_correlate_as_by_hand)
{
    static const double first[] = {3, 1, 4, 1, 5, 9, 2}, second[] = {2, 7, 1, 8, 2, 8, 1};
    enum { N = 7, Q = 4 };
    double values[N][Q], mean[Q] = {0}, products[Q][Q] = {{0}};
    struct scatter scatter;
    for (size_t i = 0; i < N; i++) {
        const double row[Q] = {1e6 + first[i], 5 - second[i], first[i] + second[i], 11};
        for (size_t q = 0; q < Q; q++) {
            values[i][q] = row[q];
            mean[q] += row[q] / N;
        }
    }
    for (size_t i = 0; i < N; i++) {
        for (size_t a = 0; a < Q; a++) {
            for (size_t b = 0; b < Q; b++) {
                products[a][b] += (values[i][a] - mean[a]) * (values[i][b] - mean[b]);
            }
        }
    }
    ck_assert_int_eq(scatter_create(&scatter, *values, N, Q, false, NULL), STATUS_OK);
    ck_assert_uint_eq(scatter.quantities, Q);
    for (size_t a = 0; a < Q; a++) {
        ck_assert_double_eq_tol(scatter.mean[a], mean[a], 1e-8);
        ck_assert_double_eq_tol(scatter.u[a], sqrt(products[a][a] / (N - 1) / N), 1e-8);
        ck_assert_double_eq(scatter.freedom[a], N - 1);
        for (size_t b = 0; b < Q; b++) {
            const double scale = sqrt(products[a][a] * products[b][b]);
            const double r = a == b ? 1 : a == 3 || b == 3 ? 0 : products[a][b] / scale;
            ck_assert_double_eq_tol(scatter.correlation[a * Q + b], r, 1e-8);
        }
    }
    ck_assert_double_eq(scatter.u[3], 0);
    scatter_clear(&scatter);
}
END_TEST

/* Of n = 25 repeats r may be 1.645 / 5 = 0.329 by chance, when 1/n is added to it, which the mean
 * of independent repeats lacks. A series that alternates about a step or a wave has any r: it is
 * worked out anew, and (1 + r) / (1 - r) inflates u^2; beyond r = 0.95 no more. */
START_TEST(neighbours_that_resemble_each_other_count_from_a_border_on)
{
    enum { N = 25 };
    bool was_even = false, was_inflated = false, was_most = false;
    for (int step = 0; step <= 400; step++) {
        double values[N], mean = 0, squares = 0, products = 0;
        for (int i = 0; i < N; i++) {
            const double level = step <= 200 ? 0.01 * step * (i < 12 ? -1 : 1)
                                             : 0.1 * (step - 200) * sin(2 * PI * i / N);
            values[i] = 40 + level + (i % 2 == 0 ? 0.5 : -0.5);
            mean += values[i] / N;
        }
        for (int i = 0; i < N; i++) {
            squares += pow(values[i] - mean, 2);
            products += i > 0 ? (values[i] - mean) * (values[i - 1] - mean) : 0;
        }
        const double r = products / squares + 1.0 / N;
        const bool is_even = r <= 1.645 / 5;
        const double held = fmin(r, 0.95), inflation = is_even ? 1 : (1 + held) / (1 - held);
        struct scatter plain, series;
        ck_assert_int_eq(scatter_create(&plain, values, N, 1, false, NULL), STATUS_OK);
        ck_assert_int_eq(scatter_create(&series, values, N, 1, true, NULL), STATUS_OK);
        const double u = sqrt(squares / (N - 1) / N);
        ck_assert_double_eq_tol(plain.u[0], u, 1e-9);
        ck_assert_double_eq_tol(series.u[0], u * sqrt(inflation), 1e-9);
        ck_assert_double_eq(plain.freedom[0], N - 1);
        ck_assert_double_eq_tol(series.freedom[0], fmax(N / inflation - 1, 1), 1e-9);
        was_even = was_even || (is_even && r > 0.32);
        was_inflated = was_inflated || (!is_even && r < 0.34);
        was_most = was_most || r > 0.95;
        scatter_clear(&plain);
        scatter_clear(&series);
    }
    ck_assert(was_even && was_inflated && was_most);
}
END_TEST

/* Repeats that are all the same, and a series of two. */
START_TEST(a_series_without_scatter_has_none)
{
    static const double same[] = {7, 7, 7, 7}, two[] = {1, 3};
    struct scatter scatter;
    ck_assert_int_eq(scatter_create(&scatter, same, 4, 1, true, NULL), STATUS_OK);
    ck_assert_double_eq(scatter.mean[0], 7);
    ck_assert_double_eq(scatter.u[0], 0);
    ck_assert_double_eq(scatter.freedom[0], 3);
    ck_assert_double_eq(scatter.correlation[0], 1);
    scatter_clear(&scatter);
    ck_assert_int_eq(scatter_create(&scatter, two, 2, 1, true, NULL), STATUS_OK);
    ck_assert_double_eq_tol(scatter.u[0], 1, 1e-12); /* variance 2 over 2 */
    ck_assert_double_eq(scatter.freedom[0], 1);
    scatter_clear(&scatter);
}
END_TEST

Suite *scatter_suite(void)
{
    Suite *suite = suite_create("scatter");
    TCase *tests = tcase_create("scatter");
    tcase_add_test(tests, means_scatter_and_correlate_as_by_hand);
    tcase_add_test(tests, neighbours_that_resemble_each_other_count_from_a_border_on);
    tcase_add_test(tests, a_series_without_scatter_has_none);
    suite_add_tcase(suite, tests);
    return suite;
}
