// SPDX-License-Identifier: GPL-3.0-or-later
/* Spectra of values with zeros behind them, against the sums of the header. */
#include "num/padded.h"

#include <math.h>

#include "num/random.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

enum { MOST = 700 };

static double complex sum_up(const double complex *x, size_t count, size_t k, size_t size)
{
    double complex sum = 0.0;
    for (size_t n = 0; n < count; n++) {
        sum += x[n] * cexp(-I * TURN * (double)(k * n % size) / (double)size);
    }
    return sum;
}

static void fill(double complex *x, size_t count)
{
    struct random random;
    random_init(&random, count, 0);
    for (size_t n = 0; n < count; n++) {
        x[n] = random_get_normal(&random) + I * random_get_normal(&random);
    }
}

START_TEST(sizes_are_even_and_twice_the_values_or_more)
{
    static const size_t sizes[][2] = {
        {1, 2}, {5, 10}, {7, 16}, {512, 1024}, {601, 1250}, {65536, 131072}};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        ck_assert_uint_eq(padded_find_size(sizes[i][0]), sizes[i][1]);
    }
}
END_TEST

/* Counts around the run that shares a table, with and without room behind; used twice, so that what
 * is left of the first does not show in the second. */
START_TEST(every_place_is_the_sum_of_the_header)
{
    static const size_t counts[] = {1, 2, 17, 255, 256, 257, 600, MOST};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        const size_t count = counts[i], size = padded_find_size(count + i % 3);
        double complex x[MOST];
        struct padded *padded = padded_create(size);
        ck_assert_ptr_nonnull(padded);
        for (size_t part = 2; part >= 1; part--) {
            const size_t used = (count + part - 1) / part;
            fill(x, used);
            padded_compute(padded, x, used);
            for (size_t k = 0; k < size; k++) {
                const double off = cabs(padded_get(padded, k) - sum_up(x, used, k, size));
                ck_assert_double_le(off, 1e-12); /* up to 700 roundings of terms near 1 */
            }
        }
        padded_destroy(padded);
    }
    padded_destroy(NULL);
}
END_TEST

Suite *padded_suite(void)
{
    Suite *suite = suite_create("padded");
    TCase *tests = tcase_create("padded");
    tcase_add_test(tests, sizes_are_even_and_twice_the_values_or_more);
    tcase_add_test(tests, every_place_is_the_sum_of_the_header);
    suite_add_tcase(suite, tests);
    return suite;
}
