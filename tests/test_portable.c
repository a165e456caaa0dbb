// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/portable.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "suites.h"

/* The C library's functions are an independent implementation, good to about one unit in the last
 * place: 5 units of 1.1e-16 is what both may be off together. */
static const double tolerance = 5 * DBL_EPSILON / 2;

START_TEST(sine_and_cosine_agree_with_the_library)
{
    for (int i = -4000; i <= 4000; i++) {
        double turns = i * 0.000937;
        double sine, cosine;
        portable_sin_cos_turns(turns, &sine, &cosine);
        double x = 2.0 * 3.14159265358979323846 * (turns - floor(turns));
        /* the library's argument is rounded: up to 4.4e-16 for x near 2 pi */
        ck_assert_double_eq_tol(sine, sin(x), 2 * tolerance);
        ck_assert_double_eq_tol(cosine, cos(x), 2 * tolerance);
    }
}
END_TEST

START_TEST(sine_and_cosine_of_whole_eighths_are_exact_or_nearest)
{
    static const double root = 0.70710678118654752440;
    static const double expected[8][2] = {{0, 1}, {root, root}, {1, 0}, {root, -root}, {0, -1},
        {-root, -root}, {-1, 0}, {-root, root}};
    for (int i = -16; i < 16; i++) {
        double sine, cosine;
        portable_sin_cos_turns(i / 8.0, &sine, &cosine);
        ck_assert_double_eq_tol(sine, expected[(i + 16) % 8][0], 1.2e-16);
        ck_assert_double_eq_tol(cosine, expected[(i + 16) % 8][1], 1.2e-16);
    }
}
END_TEST

START_TEST(exponential_logarithm_and_tanh_agree_with_the_library)
{
    for (int i = -3000; i <= 3000; i++) {
        double x = i * 0.2337 + 1e-5;
        double e = portable_exp(x);
        ck_assert_double_eq_tol(e / exp(x), 1.0, tolerance);
        ck_assert_double_eq_tol(portable_log(e), log(e), tolerance * fabs(log(e)));
        double y = i * 0.00337 + 1e-9;
        ck_assert_double_eq_tol(portable_tanh(y), tanh(y), tolerance * fabs(tanh(y)));
        double z = 1.00003 + i * 1e-4;
        ck_assert_double_eq_tol(portable_log(z), log(z), tolerance * fabs(log(z)));
    }
}
END_TEST

START_TEST(ends_of_the_range_are_as_in_the_library)
{
    ck_assert_double_eq(portable_exp(-800.0), 0.0);
    ck_assert(isinf(portable_exp(710.0)));
    ck_assert_double_eq(portable_exp(0.0), 1.0);
    ck_assert_double_eq(portable_log(1.0), 0.0);
    ck_assert_double_eq(portable_tanh(-40.0), -1.0);
    ck_assert_double_eq(portable_tanh(0.0), 0.0);
}
END_TEST

/* Beyond 709 the result is infinite, below -740 nothing; up to there the library's. */
START_TEST(exponentials_end_where_numbers_do)
{
    ck_assert_double_eq_tol(portable_exp(709.0) / exp(709.0), 1.0, tolerance);
    ck_assert_double_eq_tol(portable_exp(708.0) / exp(708.0), 1.0, tolerance);
    ck_assert(isinf(portable_exp(1e300)));
    /* numbers this small are whole multiples of 5e-324 */
    ck_assert_double_eq_tol(portable_exp(-739.0), exp(-739.0), 1e-323);
    ck_assert_double_eq(portable_exp(-741.0), 0.0);
    ck_assert_double_eq(portable_exp(-1e300), 0.0);
    ck_assert_double_eq(portable_tanh(21.0), 1.0);
    ck_assert_double_eq_tol(portable_tanh(0.18), tanh(0.18), tolerance);
    ck_assert_double_eq_tol(portable_tanh(-0.17), tanh(-0.17), tolerance);
}
END_TEST

/* FNV-1a over the bits. */
static void add_bits(uint64_t *hash, double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    for (int i = 0; i < 8; i++) {
        *hash = (*hash ^ (bits & 0xff)) * 1099511628211u;
        bits >>= 8;
    }
}

/* The number was found with gcc 12 and clang 14, with and without optimization: a compiler that
 * fuses or reorders operations changes it. */
START_TEST(bits_are_the_same_with_every_compiler)
{
    uint64_t hash = 14695981039346656037u;
    for (int i = 1; i <= 20000; i++) {
        double x = i * 0.0123;
        double sine, cosine;
        portable_sin_cos_turns(x, &sine, &cosine);
        add_bits(&hash, sine);
        add_bits(&hash, cosine);
        add_bits(&hash, portable_exp(-x));
        add_bits(&hash, portable_log(x));
        add_bits(&hash, portable_tanh(x / 60.0));
    }
    ck_assert_uint_eq(hash, 2817120263093705131u);
}
END_TEST

Suite *portable_suite(void)
{
    Suite *suite = suite_create("portable");
    TCase *tests = tcase_create("portable");
    tcase_add_test(tests, sine_and_cosine_agree_with_the_library);
    tcase_add_test(tests, sine_and_cosine_of_whole_eighths_are_exact_or_nearest);
    tcase_add_test(tests, exponential_logarithm_and_tanh_agree_with_the_library);
    tcase_add_test(tests, ends_of_the_range_are_as_in_the_library);
    tcase_add_test(tests, exponentials_end_where_numbers_do);
    tcase_add_test(tests, bits_are_the_same_with_every_compiler);
    suite_add_tcase(suite, tests);
    return suite;
}
