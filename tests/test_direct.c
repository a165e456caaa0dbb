// SPDX-License-Identifier: GPL-3.0-or-later
/* Fits to samples at any times, against the dense normal equations of all unknowns, solved by
 * GSL. */
#include "num/direct.h"

#include <gsl/gsl_linalg.h>
#include <math.h>

#include "num/pair.h"
#include "num/random.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

enum { TOP = 3, UNKNOWNS = 2 * TOP + 1, COUNT_LIMIT = 400 };

static double time_list[COUNT_LIMIT];
static double complex value_list[COUNT_LIMIT];

/* Amplitudes of the cosines and sines of k = 0 ... TOP, of both channels. */
static const double truth[2][2][TOP + 1] = {{{0.8, 1.0, -0.2, 0.1}, {0.0, 0.5, 0.1, 0.05}},
    {{-3.0, 20.0, 4.0, 0.0}, {0.0, -7.0, 1.0, 2.0}}};

static const struct extent {
    const char *name;
    size_t count;
    double cycles;
    double bend; /* how much denser the samples lie at the beginning */
    double noise;
} extent_list[] = {
    {"evenly over many cycles", 400, 37.2, 0.0, 1e-2},
    {"evenly over few", 60, 1.6, 0.0, 1e-2},
    {"denser at the beginning, few cycles", 100, 2.3, 0.9, 1e-3},
    {"denser at the end", 300, 6.4, -0.8, 1e-2},
    {"hardly more than unknowns", 12, 2.1, 0.3, 1e-3},
};

/* Times start at 5, so that the centre is not by chance at 0; one cycle is 1 / 0.7. */
static const double FREQUENCY = 0.7;

static struct direct_points make(const struct extent *extent)
{
    struct random random;
    random_init(&random, 21, 0);
    const double span = extent->cycles / FREQUENCY;
    for (size_t n = 0; n < extent->count; n++) {
        const double u = ((double)n + 0.8 * random_get_uniform(&random)) / (double)extent->count;
        const double t = 5.0 + span * u * (1.0 + extent->bend * (u - 1.0));
        double value[2];
        for (int m = 0; m < 2; m++) {
            value[m] = extent->noise * (m == 0 ? 1.0 : 20.0) * random_get_normal(&random);
            for (int k = 0; k <= TOP; k++) {
                const double x = TURN * FREQUENCY * k * t;
                value[m] += truth[m][0][k] * cos(x) + truth[m][1][k] * sin(x);
            }
        }
        time_list[n] = t;
        value_list[n] = as_complex(value[0], value[1]);
    }
    return (struct direct_points){extent->count, time_list, value_list};
}

/* One channel's derivatives by its linear unknowns (cosines, then sines) at a point. */
static void set_row(double t, double centre, double frequency, double *row)
{
    for (int k = 0; k <= TOP; k++) {
        row[k] = cos(TURN * frequency * k * (t - centre));
    }
    for (int k = 1; k <= TOP; k++) {
        row[TOP + k] = sin(TURN * frequency * k * (t - centre));
    }
}

/* Least squares of `y` by the rows, dense; gives the sum of squares that is left. */
static double fit_dense(
    const struct direct_points *points, double centre, double frequency, const double *y, double *x)
{
    gsl_matrix *rows = gsl_matrix_alloc(points->count, UNKNOWNS);
    gsl_vector *tau = gsl_vector_alloc(UNKNOWNS), *found = gsl_vector_alloc(UNKNOWNS);
    gsl_vector *rest = gsl_vector_alloc(points->count);
    gsl_vector_const_view right = gsl_vector_const_view_array(y, points->count);
    for (size_t n = 0; n < points->count; n++) {
        double row[UNKNOWNS];
        set_row(points->time[n], centre, frequency, row);
        for (size_t i = 0; i < UNKNOWNS; i++) {
            gsl_matrix_set(rows, n, i, row[i]);
        }
    }
    ck_assert_int_eq(gsl_linalg_QR_decomp(rows, tau), 0);
    ck_assert_int_eq(gsl_linalg_QR_lssolve(rows, tau, &right.vector, found, rest), 0);
    double sum = 0.0;
    for (size_t n = 0; n < points->count; n++) {
        sum += gsl_vector_get(rest, n) * gsl_vector_get(rest, n);
    }
    for (size_t i = 0; i < UNKNOWNS; i++) {
        x[i] = gsl_vector_get(found, i);
    }
    gsl_matrix_free(rows);
    gsl_vector_free(tau);
    gsl_vector_free(found);
    gsl_vector_free(rest);
    return sum;
}

static void get_channel(const struct direct_points *points, int m, double *y)
{
    for (size_t n = 0; n < points->count; n++) {
        y[n] = m == 0 ? creal(points->value[n]) : cimag(points->value[n]);
    }
}

/* The waveform's derivative by frequency at each point. */
static void set_slope(
    const struct direct_points *points, double centre, double frequency, const double *x, double *s)
{
    for (size_t n = 0; n < points->count; n++) {
        const double t = points->time[n] - centre;
        s[n] = 0.0;
        for (int k = 1; k <= TOP; k++) {
            const double angle = TURN * frequency * k * t;
            s[n] += TURN * k * t * (x[TOP + k] * cos(angle) - x[k] * sin(angle));
        }
    }
}

static double get_mean_time(const struct direct_points *points)
{
    double sum = 0.0;
    for (size_t n = 0; n < points->count; n++) {
        sum += points->time[n];
    }
    return sum / (double)points->count;
}

START_TEST(the_fit_at_a_frequency_is_that_of_dense_least_squares)
{
    const struct extent *extent = &extent_list[_i];
    const struct direct_points points = make(extent);
    double complex c[2][TOP + 1];
    struct direct_result result = {.coefficient = {c[0], c[1]}};
    struct direct *direct = direct_create(TOP, COUNT_LIMIT);
    direct_solve(direct, &points, FREQUENCY, &result);
    direct_destroy(direct);
    ck_assert_double_eq_tol(result.centre, get_mean_time(&points), 1e-12);
    ck_assert_double_eq(result.freedom, (double)extent->count - UNKNOWNS);
    for (int m = 0; m < 2; m++) {
        double y[COUNT_LIMIT], x[UNKNOWNS];
        get_channel(&points, m, y);
        const double sum = fit_dense(&points, result.centre, FREQUENCY, y, x);
        ck_assert_double_eq_tol(result.square_sum[m], sum, 1e-8 * sum);
        for (int k = 0; k <= TOP; k++) {
            const double size = m == 0 ? 1.0 : 20.0;
            ck_assert_double_eq_tol(creal(c[m][k]), x[k], 1e-9 * size);
            ck_assert_double_eq_tol(cimag(c[m][k]), k == 0 ? 0.0 : -x[TOP + k], 1e-9 * size);
        }
    }
}
END_TEST

/* The information of a channel is what of the slope the linear unknowns do not take up, over the
 * variance of its residual: at the least of the sum of squares, that is the inverse of the
 * covariance's element. */
START_TEST(the_frequency_has_the_uncertainty_of_dense_least_squares)
{
    const struct extent *extent = &extent_list[_i];
    const struct direct_points points = make(extent);
    double complex c[2][TOP + 1];
    struct direct_result result = {.coefficient = {c[0], c[1]}};
    struct direct *direct = direct_create(TOP, COUNT_LIMIT);
    double frequency = FREQUENCY * (1.0 + 0.02 / extent->cycles), u = 0.0, information = 0.0;
    direct_refine(direct, &points, 20, &frequency, &u, &result);
    direct_destroy(direct);
    double gradient = 0.0;
    for (int m = 0; m < 2; m++) {
        double y[COUNT_LIMIT], slope[COUNT_LIMIT], x[UNKNOWNS], taken[UNKNOWNS];
        get_channel(&points, m, y);
        const double variance =
            fit_dense(&points, result.centre, frequency, y, x) / ((double)extent->count - UNKNOWNS);
        set_slope(&points, result.centre, frequency, x, slope);
        information += fit_dense(&points, result.centre, frequency, slope, taken) / variance;
        for (size_t n = 0; n < points.count; n++) {
            double row[UNKNOWNS], rest = y[n];
            set_row(points.time[n], result.centre, frequency, row);
            for (size_t i = 0; i < UNKNOWNS; i++) {
                rest -= x[i] * row[i];
            }
            gradient += slope[n] * rest / variance;
        }
    }
    /* a last step below a thousandth of u changes the information by about as much */
    ck_assert_double_eq_tol(u * sqrt(information), 1.0, 2e-3);
    /* where the search ends the sum of squares is flat, to that thousandth */
    ck_assert_double_le(fabs(gradient / sqrt(information)), 2e-3);
    ck_assert_double_le(fabs(frequency - FREQUENCY), 4.0 * u);
}
END_TEST

/* The gridding's own error is far below what counts as left of a channel at least: 1e-23 of the sum
 * of its squares. */
START_TEST(a_channel_keeps_a_least_rest_of_its_own_size)
{
    for (size_t n = 0; n < 100; n++) {
        time_list[n] = (double)n;
        value_list[n] = as_complex(1000.0, n % 2 == 0 ? 0.5 : 0.25);
    }
    const struct direct_points points = {100, time_list, value_list};
    double complex c[2][2];
    struct direct_result result = {.coefficient = {c[0], c[1]}};
    struct direct *direct = direct_create(1, COUNT_LIMIT);
    direct_solve(direct, &points, 0.5 * FREQUENCY, &result);
    ck_assert_double_eq_tol(result.square_sum[0] / (1e-23 * 100.0 * 1e6), 1.0, 1e-12);
    ck_assert_double_eq_tol(creal(c[0][0]), 1000.0, 1e-9);
    for (size_t n = 0; n < 100; n++) {
        value_list[n] = as_complex(cimag(value_list[n]), 1000.0);
    }
    direct_solve(direct, &points, 0.5 * FREQUENCY, &result);
    ck_assert_double_eq_tol(result.square_sum[1] / (1e-23 * 100.0 * 1e6), 1.0, 1e-12);
    direct_destroy(direct);
}
END_TEST

/* Where there are too many points for their places to be kept, they are worked out each time. */
START_TEST(fits_without_kept_places_are_the_same)
{
    static const size_t limits[] = {COUNT_LIMIT, 1 << 16, (1 << 16) + 1};
    const struct direct_points points = make(&extent_list[0]);
    double frequency[3], u[3];
    double complex c[3][2][TOP + 1];
    for (size_t i = 0; i < 3; i++) {
        struct direct_result result = {.coefficient = {c[i][0], c[i][1]}};
        struct direct *direct = direct_create(TOP, limits[i]);
        frequency[i] = FREQUENCY * 1.0005;
        direct_refine(direct, &points, 20, &frequency[i], &u[i], &result);
        direct_destroy(direct);
        ck_assert_double_eq_tol(frequency[i], frequency[0], 1e-12);
        ck_assert_double_eq_tol(u[i] / u[0], 1.0, 1e-9);
        for (int m = 0; m < 2; m++) {
            for (int k = 0; k <= TOP; k++) {
                ck_assert(cabs(c[i][m][k] - c[0][m][k]) < 1e-9);
            }
        }
    }
}
END_TEST

/* A step goes no farther than a quarter of a cycle over the record, nor to a frequency of 0. */
START_TEST(a_search_goes_in_steps_of_a_quarter_of_a_cycle)
{
    const struct direct_points points = make(&extent_list[0]);
    const double span = points.time[points.count - 1] - points.time[0];
    double complex c[2][TOP + 1];
    struct direct_result result = {.coefficient = {c[0], c[1]}};
    struct direct *direct = direct_create(TOP, COUNT_LIMIT);
    for (int side = -1; side <= 1; side += 2) {
        const double start = FREQUENCY + side * 0.45 / span;
        double frequency = start, u;
        direct_refine(direct, &points, 1, &frequency, &u, &result);
        ck_assert_double_le(fabs(frequency - start), 0.25 / span * (1.0 + 1e-9));
    }
    direct_destroy(direct);
}
END_TEST

Suite *direct_suite(void)
{
    Suite *suite = suite_create("direct");
    TCase *tests = tcase_create("direct");
    const int count = (int)(sizeof extent_list / sizeof extent_list[0]);
    tcase_add_loop_test(tests, the_fit_at_a_frequency_is_that_of_dense_least_squares, 0, count);
    tcase_add_loop_test(tests, the_frequency_has_the_uncertainty_of_dense_least_squares, 0, count);
    tcase_add_test(tests, a_channel_keeps_a_least_rest_of_its_own_size);
    tcase_add_test(tests, fits_without_kept_places_are_the_same);
    tcase_add_test(tests, a_search_goes_in_steps_of_a_quarter_of_a_cycle);
    suite_add_tcase(suite, tests);
    return suite;
}
