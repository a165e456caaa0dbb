// SPDX-License-Identifier: GPL-3.0-or-later
/* What makes curves of measured points: num/isotonic, num/thin, num/smooth, num/monotone. */
#include <math.h>

#include "num/isotonic.h"
#include "num/monotone.h"
#include "num/random.h"
#include "num/smooth.h"
#include "num/thin.h"
#include "suites.h"

#define COUNT 400

START_TEST(pools_neighbours_in_the_wrong_order)
{
    static const struct {
        double values[6], fit[6];
    } cases[] = {
        {{1, 2, 3, 4, 5, 6}, {1, 2, 3, 4, 5, 6}},
        {{1, 3, 2, 4, 5, 6}, {1, 2.5, 2.5, 4, 5, 6}},
        {{6, 5, 4, 3, 2, 1}, {3.5, 3.5, 3.5, 3.5, 3.5, 3.5}},
        {{1, 5, 2, 2.385, 8, 7},
            {1, 3.1283333333333334, 3.1283333333333334, 3.1283333333333334, 7.5, 7.5}},
    };
    struct error err;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        double fit[6];
        ck_assert_int_eq(isotonic_compute(cases[i].values, 6, fit, &err), STATUS_OK);
        for (size_t j = 0; j < 6; j++) {
            ck_assert_double_eq_tol(fit[j], cases[i].fit[j], 1e-15);
        }
    }
}
END_TEST

/* The definition of the nearest monotone sequence: the min-max formula (Barlow et al., Statistical
 * Inference under Order Restrictions, 1972, theorem 1.9): max over s <= i of min over t >= i of the
 * mean of values s ... t. */
START_TEST(agrees_with_the_min_max_formula)
{
    double values[40], fit[40];
    struct error err;
    struct random random;
    random_init(&random, 5, 0);
    for (size_t i = 0; i < 40; i++) {
        values[i] = 0.1 * (double)i + random_get_normal(&random);
    }
    ck_assert_int_eq(isotonic_compute(values, 40, fit, &err), STATUS_OK);
    for (size_t i = 0; i < 40; i++) {
        double most = -INFINITY;
        for (size_t s = 0; s <= i; s++) {
            double least = INFINITY, sum = 0;
            for (size_t t = s; t < 40; t++) {
                sum += values[t];
                least = t >= i ? fmin(least, sum / (double)(t - s + 1)) : least;
            }
            most = fmax(most, least);
        }
        ck_assert_double_eq_tol(fit[i], most, 1e-13);
    }
}
END_TEST

static void set_arc(double *x, double *y)
{
    for (size_t i = 0; i < COUNT; i++) {
        x[i] = -3.0 + 6.0 * (double)i / (COUNT - 1);
        y[i] = tanh(x[i]);
    }
}

START_TEST(thinned_points_keep_the_bound)
{
    double x[COUNT], y[COUNT];
    struct error err;
    size_t last_kept = 0;
    set_arc(x, y);
    static const double bounds[] = {1e-2, 1e-3, 1e-4};
    for (size_t b = 0; b < 3; b++) {
        bool keep[COUNT] = {false};
        keep[201] = true;
        ck_assert_int_eq(thin_compute(x, y, COUNT, bounds[b], keep, &err), STATUS_OK);
        ck_assert(keep[0] && keep[201] && keep[COUNT - 1]);
        size_t kept = 1, before = 0;
        double most = 0;
        for (size_t i = 1; i < COUNT; i++) {
            if (!keep[i]) {
                continue;
            }
            for (size_t j = before; j < i; j++) {
                const double line =
                    y[before] + (y[i] - y[before]) * (x[j] - x[before]) / (x[i] - x[before]);
                most = fmax(most, fabs(y[j] - line));
            }
            before = i;
            kept++;
        }
        ck_assert(most <= bounds[b] && most > 0.3 * bounds[b]);
        ck_assert(kept > last_kept && kept < 200);
        last_kept = kept;
    }
}
END_TEST

START_TEST(a_straight_line_needs_two_points)
{
    double x[5] = {0, 1, 2, 3, 4}, y[5] = {1, 3, 5, 7, 9};
    bool keep[5] = {false};
    struct error err;
    ck_assert_int_eq(thin_compute(x, y, 5, 1e-12, keep, &err), STATUS_OK);
    ck_assert(keep[0] && !keep[1] && !keep[2] && !keep[3] && keep[4]);
    bool one[2] = {false, false};
    ck_assert_int_eq(thin_compute(x, y, 0, 1e-12, one, &err), STATUS_OK);
    ck_assert(!one[0]);
    ck_assert_int_eq(thin_compute(x, y, 1, 1e-12, one, &err), STATUS_OK);
    ck_assert(one[0] && !one[1]);
}
END_TEST

START_TEST(smooths_as_far_as_the_bound_and_no_farther)
{
    double x[60], y[60], z[60], truth[60], bound[60];
    struct error err;
    struct random random;
    random_init(&random, 7, 0);
    for (size_t i = 0; i < 60; i++) {
        x[i] = (double)i + 0.3 * (double)(i % 3); /* uneven */
        bound[i] = 0.0125;                        /* 2.5 u */
        truth[i] = sin(0.1 * x[i]);
        y[i] = truth[i] + 0.005 * random_get_normal(&random);
    }
    ck_assert_int_eq(smooth_compute(x, y, bound, 60, z, &err), STATUS_OK);
    double most = 0, rough = 0, smooth = 0;
    for (size_t i = 0; i < 60; i++) {
        most = fmax(most, fabs(z[i] - y[i]));
        rough += (y[i] - truth[i]) * (y[i] - truth[i]);
        smooth += (z[i] - truth[i]) * (z[i] - truth[i]);
    }
    ck_assert_msg(most <= 0.0125 && most > 0.0124, "%g", most);
    ck_assert_msg(smooth < 0.25 * rough, "%g %g", smooth, rough);
}
END_TEST

/* Seen from the other end the smoothest curve is the same, first and last point too. */
START_TEST(smooths_alike_from_both_ends)
{
    enum { SIZE = 12 };
    double x[SIZE], y[SIZE], bound[SIZE], z[SIZE], turned[SIZE], back[SIZE];
    double other_x[SIZE], other_bound[SIZE];
    struct error err;
    for (size_t i = 0; i < SIZE; i++) {
        x[i] = (double)i + 0.2 * (double)(i % 3);
        y[i] = 0.1 * x[i] * x[i] + (i % 2 == 0 ? 0.05 : -0.03);
        bound[i] = 0.04 + 0.01 * (double)(i % 4);
    }
    for (size_t i = 0; i < SIZE; i++) {
        const size_t k = SIZE - 1 - i;
        other_x[i] = 20.0 - x[k];
        turned[i] = y[k];
        other_bound[i] = bound[k];
    }
    ck_assert_int_eq(smooth_compute(x, y, bound, SIZE, z, &err), STATUS_OK);
    ck_assert_int_eq(smooth_compute(other_x, turned, other_bound, SIZE, back, &err), STATUS_OK);
    for (size_t i = 0; i < SIZE; i++) {
        ck_assert_double_eq_tol(z[i], back[SIZE - 1 - i], 1e-9);
        ck_assert_double_gt(fabs(z[i] - y[i]), 1e-6);
    }
}
END_TEST

START_TEST(leaves_a_straight_line_alone)
{
    double x[5] = {0, 1, 3, 4, 9}, y[5] = {1, 3, 7, 9, 19}, z[5];
    double bound[5] = {0.1, 0.2, 0.1, 0.1, 0.1};
    struct error err;
    ck_assert_int_eq(smooth_compute(x, y, bound, 5, z, &err), STATUS_OK);
    for (size_t i = 0; i < 5; i++) {
        ck_assert_double_eq_tol(z[i], y[i], 1e-6);
    }
    ck_assert_int_eq(smooth_compute(x, y, bound, 3, z, &err), STATUS_OK);
    ck_assert_double_eq(z[1], 3);
}
END_TEST

START_TEST(the_curve_is_monotone_through_its_points)
{
    static const double x[] = {0, 1, 2, 4, 5, 8}, y[] = {0, 0.5, 0.5000001, 3, 3.2, 3.4};
    struct monotone *curve = NULL;
    struct error err;
    ck_assert_int_eq(monotone_create(x, y, 6, &curve, &err), STATUS_OK);
    double before = -1;
    for (double at = 0; at <= 8; at += 0.01) {
        double slope;
        const double value = monotone_get(curve, at, &slope);
        const double ahead = monotone_get(curve, at + 1e-6, NULL);
        ck_assert(value >= before && slope >= 0);
        ck_assert_double_eq_tol((ahead - value) / 1e-6, slope, 1e-4);
        before = value;
    }
    for (size_t i = 0; i < 6; i++) {
        ck_assert_double_eq_tol(monotone_get(curve, x[i], NULL), y[i], 1e-15);
    }
    double slope;
    monotone_get(curve, 8, &slope);
    ck_assert_double_eq_tol(monotone_get(curve, 10, NULL), 3.4 + 2 * slope, 1e-14);
    monotone_destroy(curve);
}
END_TEST

START_TEST(two_points_make_a_straight_line_and_bad_ones_none)
{
    static const double x[] = {1, 3, 3}, y[] = {2, 6, 7};
    struct monotone *curve = NULL;
    struct error err;
    ck_assert_int_eq(monotone_create(x, y, 2, &curve, &err), STATUS_OK);
    ck_assert_double_eq(monotone_get(curve, 2, NULL), 4);
    monotone_destroy(curve);
    curve = NULL;
    ck_assert_int_eq(monotone_create(x, y, 3, &curve, &err), STATUS_FAULT);
    ck_assert_int_eq(monotone_create(x, y, 1, &curve, &err), STATUS_FAULT);
    ck_assert_ptr_null(curve);
    monotone_destroy(NULL);
}
END_TEST

Suite *curve_suite(void)
{
    Suite *suite = suite_create("curve");
    TCase *test = tcase_create("curve");
    tcase_add_test(test, pools_neighbours_in_the_wrong_order);
    tcase_add_test(test, agrees_with_the_min_max_formula);
    tcase_add_test(test, thinned_points_keep_the_bound);
    tcase_add_test(test, a_straight_line_needs_two_points);
    tcase_add_test(test, smooths_as_far_as_the_bound_and_no_farther);
    tcase_add_test(test, smooths_alike_from_both_ends);
    tcase_add_test(test, leaves_a_straight_line_alone);
    tcase_add_test(test, the_curve_is_monotone_through_its_points);
    tcase_add_test(test, two_points_make_a_straight_line_and_bad_ones_none);
    suite_add_tcase(suite, test);
    return suite;
}
