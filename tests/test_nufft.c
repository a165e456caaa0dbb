// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/nufft.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "num/pair.h"
#include "num/random.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

static const size_t harmonics_list[] = {0, 1, 4, 60, 900};
#define CASES (int)(sizeof harmonics_list / sizeof harmonics_list[0])

enum { POINTS = 400, MODES_LIMIT = 2 * 900 + 1 };

/* Points at random and at the ends and seams of a cycle, all over the numbers. */
struct data {
    double phase[POINTS];
    double complex z[POINTS];
    double complex c[MODES_LIMIT];
    double z_sum, c_sum; /* of the absolute values */
};

static void fill(struct data *data, size_t harmonics)
{
    static const double seams[] = {0.0, 1.0, -1.0, 0.5, 1.0 - 1.2e-16, -1e-20, 1e-300, -0.25, 7.0,
        -3.75, 12.25, 1048576.3, -65536.7};
    struct random random;
    random_init(&random, 1 + harmonics, 0);
    *data = (struct data){0};
    for (size_t n = 0; n < POINTS; n++) {
        data->phase[n] = n < sizeof seams / sizeof seams[0]
                             ? seams[n]
                             : 40.0 * (random_get_uniform(&random) - 0.5);
        const double re = random_get_normal(&random);
        data->z[n] = as_complex(re, random_get_normal(&random));
        data->z_sum += cabs(data->z[n]);
    }
    for (size_t k = 0; k <= 2 * harmonics; k++) {
        const double re = random_get_normal(&random);
        data->c[k] = as_complex(re, random_get_normal(&random));
        data->c_sum += cabs(data->c[k]);
    }
}

/* e^{2 pi i k phase}, the product taken free of rounding. */
static double complex turn(double k, double phase)
{
    const long double turns = (long double)k * phase;
    return cexp(I * TURN * (double)(turns - roundl(turns)));
}

/* 13 grid points to each side: 1e-12 of what is added up (the header), 3e-12 at the highest modes,
 * where the Gaussian is undone by the largest factors. */
static const double tolerance = 3e-12;

START_TEST(sums_over_points_are_those_added_up_one_by_one)
{
    const size_t top = harmonics_list[_i];
    struct data *data = malloc(sizeof *data);
    double complex *sums = malloc((2 * top + 1) * sizeof *sums);
    struct nufft *nufft = nufft_create(top);
    fill(data, top);
    nufft_compute_sums(nufft, POINTS, data->phase, data->z, sums);
    for (size_t i = 0; i <= 2 * top; i++) {
        const double k = (double)i - (double)top;
        double complex sum = 0.0;
        for (size_t n = 0; n < POINTS; n++) {
            sum += data->z[n] * turn(-k, data->phase[n]);
        }
        ck_assert_msg(cabs(sums[i] - sum) < tolerance * data->z_sum, "k = %g: off by %.2g", k,
            cabs(sums[i] - sum) / data->z_sum);
    }
    nufft_destroy(nufft);
    free(sums);
    free(data);
}
END_TEST

START_TEST(values_at_points_are_those_of_the_series)
{
    const size_t top = harmonics_list[_i];
    struct data *data = malloc(sizeof *data);
    double complex values[POINTS];
    struct nufft *nufft = nufft_create(top);
    fill(data, top);
    nufft_compute_values(nufft, data->c, POINTS, data->phase, values);
    for (size_t n = 0; n < POINTS; n++) {
        double complex sum = 0.0;
        for (size_t i = 0; i <= 2 * top; i++) {
            sum += data->c[i] * turn((double)i - (double)top, data->phase[n]);
        }
        ck_assert_msg(cabs(values[n] - sum) < tolerance * data->c_sum, "phase %.17g: off by %.2g",
            data->phase[n], cabs(values[n] - sum) / data->c_sum);
    }
    nufft_destroy(nufft);
    free(data);
}
END_TEST

/* <A z, c> = <z, A* c>: both ways grid with the same kernel, so only rounding is left, whatever the
 * kernel's own error. */
START_TEST(sums_and_values_are_adjoint)
{
    const size_t top = harmonics_list[_i];
    struct data *data = malloc(sizeof *data);
    double complex *sums = malloc((2 * top + 1) * sizeof *sums);
    double complex values[POINTS], left = 0.0, right = 0.0;
    struct nufft *nufft = nufft_create(top);
    fill(data, top);
    nufft_compute_sums(nufft, POINTS, data->phase, data->z, sums);
    nufft_compute_values(nufft, data->c, POINTS, data->phase, values);
    for (size_t i = 0; i <= 2 * top; i++) {
        left += conj(data->c[i]) * sums[i];
    }
    for (size_t n = 0; n < POINTS; n++) {
        right += conj(values[n]) * data->z[n];
    }
    const double scale = sqrt((double)(2 * top + 1)) * POINTS;
    ck_assert_double_le(cabs(left - right), 1e-13 * scale);
    nufft_destroy(nufft);
    free(sums);
    free(data);
}
END_TEST

START_TEST(prepared_points_give_the_same_bits)
{
    const size_t top = harmonics_list[_i];
    struct data *data = malloc(sizeof *data);
    const size_t bytes = (2 * top + 1) * sizeof(double complex);
    double complex *plain = malloc(bytes), *prepared = malloc(bytes);
    struct nufft *nufft = nufft_create(top);
    struct nufft_points *points = nufft_points_create(POINTS);
    fill(data, top);
    nufft_points_set(points, nufft, POINTS, data->phase);
    for (int round = 0; round < 2; round++) {
        nufft_compute_sums(nufft, POINTS, data->phase, data->z, plain);
        nufft_compute_sums_at(nufft, points, data->z, prepared);
        ck_assert_int_eq(memcmp(plain, prepared, bytes), 0);
        data->z[3] = -2.385;
        double complex values[POINTS], at_points[POINTS];
        nufft_compute_values(nufft, data->c, POINTS, data->phase, values);
        nufft_compute_values_at(nufft, points, data->c, at_points);
        ck_assert_int_eq(memcmp(values, at_points, sizeof values), 0);
        data->c[0] = 0.5;
    }
    nufft_points_destroy(points);
    nufft_destroy(nufft);
    free(plain);
    free(prepared);
    free(data);
}
END_TEST

START_TEST(no_points_give_no_sums)
{
    double complex sums[9];
    struct nufft *nufft = nufft_create(4);
    nufft_compute_sums(nufft, 0, NULL, NULL, sums);
    for (size_t i = 0; i < 9; i++) {
        ck_assert(sums[i] == 0.0);
    }
    nufft_destroy(nufft);
    nufft_destroy(NULL);
    nufft_points_destroy(NULL);
}
END_TEST

Suite *nufft_suite(void)
{
    Suite *suite = suite_create("nufft");
    TCase *tests = tcase_create("nufft");
    tcase_add_loop_test(tests, sums_over_points_are_those_added_up_one_by_one, 0, CASES);
    tcase_add_loop_test(tests, values_at_points_are_those_of_the_series, 0, CASES);
    tcase_add_loop_test(tests, sums_and_values_are_adjoint, 0, CASES);
    tcase_add_loop_test(tests, prepared_points_give_the_same_bits, 0, CASES);
    tcase_add_test(tests, no_points_give_no_sums);
    suite_add_tcase(suite, tests);
    return suite;
}
