// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/random.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "suites.h"

/* Known answers that were published with the generator: file kat_vectors of the Random123 library,
 * lines "philox4x32 10". */
static const struct {
    uint32_t counter[4], key[2], block[4];
} known_list[] = {
    {{0, 0, 0, 0}, {0, 0}, {0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}},
    {{0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff}, {0xffffffff, 0xffffffff},
        {0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}},
    {{0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0},
        {0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}},
};

START_TEST(generator_gives_the_published_answers)
{
    for (size_t i = 0; i < sizeof known_list / sizeof known_list[0]; i++) {
        uint32_t block[4];
        random_compute_block(known_list[i].counter, known_list[i].key, block);
        for (int j = 0; j < 4; j++)
            ck_assert_uint_eq(block[j], known_list[i].block[j]);
    }
}
END_TEST

START_TEST(first_numbers_of_a_stream_are_the_first_blocks)
{
    struct random random;
    random_init(&random, 0, 0);
    ck_assert_uint_eq(random_get_bits(&random), 0xe169c58d6627e8d5u);
    ck_assert_uint_eq(random_get_bits(&random), 0x9b00dbd8bc57ac4cu);
    uint32_t block[4];
    random_compute_block((uint32_t[4]){1, 0, 0, 0}, (uint32_t[2]){0, 0}, block);
    ck_assert_uint_eq(random_get_bits(&random), (uint64_t)block[1] << 32 | block[0]);
}
END_TEST

START_TEST(any_place_of_a_stream_can_be_reached_at_once)
{
    struct random forward, jumping;
    random_init(&forward, 99, 4);
    random_init(&jumping, 99, 4);
    for (uint64_t i = 0; i < 100; i++) {
        uint64_t expected = random_get_bits(&forward);
        random_set_index(&jumping, i);
        ck_assert_uint_eq(random_get_bits(&jumping), expected);
    }
    random_set_index(&jumping, (uint64_t)1 << 33); /* the block number needs its second word */
    uint32_t block[4];
    random_compute_block((uint32_t[4]){0, 1, 4, 0}, (uint32_t[2]){99, 0}, block);
    ck_assert_uint_eq(random_get_bits(&jumping), (uint64_t)block[1] << 32 | block[0]);
}
END_TEST

START_TEST(seeds_and_streams_differ_in_all_their_bits)
{
    static const uint64_t list[] = {0, 1, (uint64_t)1 << 32, UINT64_MAX};
    uint64_t seen[32];
    size_t count = 0;
    for (size_t i = 0; i < 4; i++) {
        for (size_t j = 0; j < 4; j++) {
            struct random random;
            random_init(&random, list[i], list[j]);
            seen[count] = random_get_bits(&random);
            for (size_t k = 0; k < count; k++)
                ck_assert_uint_ne(seen[k], seen[count]);
            count++;
        }
    }
}
END_TEST

/* The test values that AS 241 prints for PPND16 (0.25, 0.001, 1e-20), and quantiles found in every
 * table of the normal distribution. */
static const struct {
    double probability, quantile;
} quantile_list[] = {
    {0.25, -0.6744897501960817},
    {0.001, -3.090232306167814},
    {1e-20, -9.262340089798408},
    {1e-9, -5.997807015007687},
    {0.5, 0.0},
    {0.75, 0.6744897501960817},
    {0.8413447460685429, 1.0},
    {0.95, 1.6448536269514722},
    {0.975, 1.959963984540054},
    {0.995, 2.5758293035489004},
};

START_TEST(normal_quantiles_are_those_of_the_tables)
{
    for (size_t i = 0; i < sizeof quantile_list / sizeof quantile_list[0]; i++) {
        double quantile = random_compute_quantile(quantile_list[i].probability);
        ck_assert_double_eq_tol(
            quantile, quantile_list[i].quantile, 2e-15 * (1.0 + fabs(quantile)));
    }
}
END_TEST

/* From the middle to 1e-300, to either side: algorithm AS 241 has three rational functions. */
START_TEST(normal_quantiles_are_those_of_the_library)
{
    for (double p = 0.4999; p > 1e-300; p *= p > 0.01 ? 0.97 : 0.5) {
        const double wanted = gsl_cdf_ugaussian_Pinv(p);
        ck_assert_double_eq_tol(random_compute_quantile(p) / wanted, 1.0, 1e-13);
        if (p > 1e-3) {
            ck_assert_double_eq_tol(random_compute_quantile(1.0 - p) / wanted, -1.0, 1e-12);
        }
    }
}
END_TEST

/* However many are filled at once, whole batches or not. */
START_TEST(filled_arrays_hold_the_numbers_that_come_one_by_one)
{
    static const size_t counts[] = {0, 1, 63, 64, 65, 129, 1000};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        struct random one, many;
        double values[1001];
        random_init(&one, 17, 3);
        random_init(&many, 17, 3);
        values[counts[i]] = -99.0;
        random_fill_normal(&many, values, counts[i]);
        for (size_t k = 0; k < counts[i]; k++) {
            ck_assert_double_eq(values[k], random_get_normal(&one));
        }
        ck_assert_double_eq(values[counts[i]], -99.0);
        random_fill_uniform(&many, values, counts[i]);
        for (size_t k = 0; k < counts[i]; k++) {
            ck_assert_double_eq(values[k], random_get_uniform(&one));
        }
        ck_assert_double_eq(values[counts[i]], -99.0);
    }
}
END_TEST

START_TEST(uniforms_lie_inside_the_unit_interval_and_fill_it)
{
    struct random random;
    random_init(&random, 20, 3);
    enum { COUNT = 200000, CELLS = 20 };
    int cells[CELLS] = {0};
    for (int i = 0; i < COUNT; i++) {
        double u = random_get_uniform(&random);
        ck_assert(u > 0.0 && u < 1.0);
        cells[(int)(u * CELLS)]++;
    }
    double chi_squared = 0.0;
    for (int i = 0; i < CELLS; i++)
        chi_squared += pow(cells[i] - COUNT / CELLS, 2) / (COUNT / CELLS);
    /* 19 degrees of freedom: 99.9 % of all seeds lie below 43.8 */
    ck_assert_double_lt(chi_squared, 43.8);
}
END_TEST

START_TEST(normals_have_the_moments_of_the_normal_distribution)
{
    struct random random;
    random_init(&random, 7, 0);
    enum { COUNT = 400000 };
    double sum[5] = {0};
    for (int i = 0; i < COUNT; i++) {
        double z = random_get_normal(&random);
        for (int power = 1; power <= 4; power++)
            sum[power] += pow(z, power) / COUNT;
    }
    /* four standard errors: sqrt(1, 2, 15, 96 over COUNT) */
    ck_assert_double_eq_tol(sum[1], 0.0, 4 * sqrt(1.0 / COUNT));
    ck_assert_double_eq_tol(sum[2], 1.0, 4 * sqrt(2.0 / COUNT));
    ck_assert_double_eq_tol(sum[3], 0.0, 4 * sqrt(15.0 / COUNT));
    ck_assert_double_eq_tol(sum[4], 3.0, 4 * sqrt(96.0 / COUNT));
}
END_TEST

/* Found with gcc 12 and clang 14, with and without optimization. */
START_TEST(normals_have_the_same_bits_everywhere)
{
    struct random random;
    random_init(&random, 12345, 6);
    uint64_t hash = 14695981039346656037u;
    for (int i = 0; i < 20000; i++) {
        double z = random_get_normal(&random);
        uint64_t bits;
        memcpy(&bits, &z, sizeof bits);
        hash = (hash ^ bits) * 1099511628211u;
    }
    ck_assert_uint_eq(hash, 3321477592489476421u);
}
END_TEST

START_TEST(numbers_below_a_limit_are_equally_probable)
{
    struct random random;
    random_init(&random, 1, 1);
    int cells[7] = {0};
    for (int i = 0; i < 70000; i++) {
        uint64_t number = random_get_below(&random, 7);
        ck_assert_uint_lt(number, 7);
        cells[number]++;
    }
    for (int i = 0; i < 7; i++)
        ck_assert_int_lt(abs(cells[i] - 10000), 400); /* four standard deviations: 370 */
    ck_assert_uint_eq(random_get_below(&random, 1), 0);
}
END_TEST

Suite *random_suite(void)
{
    Suite *suite = suite_create("random");
    TCase *tests = tcase_create("random");
    tcase_add_test(tests, generator_gives_the_published_answers);
    tcase_add_test(tests, first_numbers_of_a_stream_are_the_first_blocks);
    tcase_add_test(tests, any_place_of_a_stream_can_be_reached_at_once);
    tcase_add_test(tests, seeds_and_streams_differ_in_all_their_bits);
    tcase_add_test(tests, normal_quantiles_are_those_of_the_tables);
    tcase_add_test(tests, normal_quantiles_are_those_of_the_library);
    tcase_add_test(tests, filled_arrays_hold_the_numbers_that_come_one_by_one);
    tcase_add_test(tests, uniforms_lie_inside_the_unit_interval_and_fill_it);
    tcase_add_test(tests, normals_have_the_moments_of_the_normal_distribution);
    tcase_add_test(tests, normals_have_the_same_bits_everywhere);
    tcase_add_test(tests, numbers_below_a_limit_are_equally_probable);
    suite_add_tcase(suite, tests);
    return suite;
}
