// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/fft.h"

#include <math.h>
#include <pthread.h>

#include "num/pair.h"
#include "num/random.h"
#include "scarce.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

static void fill(double complex *x, size_t size, uint64_t seed)
{
    struct random random;
    random_init(&random, seed, 0);
    for (size_t n = 0; n < size; n++) {
        const double re = random_get_normal(&random);
        x[n] = as_complex(re, random_get_normal(&random));
    }
}

static double complex sum_up(const double complex *x, size_t size, size_t k, enum fft_sign sign)
{
    double complex sum = 0.0;
    for (size_t n = 0; n < size; n++) {
        sum += x[n] * cexp(I * (double)sign * TURN * (double)(k * n % size) / (double)size);
    }
    return sum;
}

START_TEST(both_directions_are_the_sums_of_the_header)
{
    static const size_t sizes[] = {1, 2, 3, 7, 16, 30, 97, 240};
    static const enum fft_sign signs[] = {FFT_FORWARD, FFT_BACKWARD};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        for (size_t s = 0; s < 2; s++) {
            const size_t size = sizes[i];
            double complex x[240];
            struct fft *fft = fft_create(size, signs[s]);
            fill(x, size, i + 1);
            for (size_t n = 0; n < size; n++) {
                fft_get_buffer(fft)[n] = x[n];
            }
            fft_compute(fft);
            for (size_t k = 0; k < size; k++) {
                /* terms of size 1, up to 240 roundings and arguments good to 4e-16 */
                const double complex d = fft_get_buffer(fft)[k] - sum_up(x, size, k, signs[s]);
                ck_assert_double_le(cabs(d), 1e-13);
            }
            fft_destroy(fft);
        }
    }
}
END_TEST

START_TEST(a_buffer_is_zero_at_first_however_often_it_was_used)
{
    for (int round = 0; round < 3; round++) {
        struct fft *fft = fft_create(36, FFT_FORWARD);
        for (size_t n = 0; n < 36; n++) {
            ck_assert(fft_get_buffer(fft)[n] == 0.0);
        }
        fill(fft_get_buffer(fft), 36, 7);
        fft_compute(fft);
        fft_destroy(fft);
    }
}
END_TEST

START_TEST(more_plans_than_the_pool_holds_live_side_by_side)
{
    enum { COUNT = 80 };
    struct fft *list[COUNT];
    for (size_t round = 0; round < 2; round++) {
        for (size_t i = 0; i < COUNT; i++) {
            list[i] = fft_create(8 + i / 2, i % 2 == 0 ? FFT_FORWARD : FFT_BACKWARD);
            ck_assert_ptr_nonnull(list[i]);
            fft_get_buffer(list[i])[0] = (double)i;
        }
        for (size_t i = 0; i < COUNT; i++) {
            fft_compute(list[i]);
            ck_assert(cabs(fft_get_buffer(list[i])[7] - (double)i) < 1e-13);
            fft_destroy(list[i]);
        }
    }
    fft_destroy(NULL);
}
END_TEST

/* Of a pulse at 1 all values have the size 1, and value k the phase -turn k/size. */
static void check_pulse(struct fft *fft, size_t size)
{
    ck_assert_ptr_nonnull(fft);
    for (size_t n = 0; n < size; n++) {
        fft_get_buffer(fft)[n] = n == 1 ? 1.0 : 0.0;
    }
    fft_compute(fft);
    for (size_t k = 0; k < size; k += size / 7) {
        const double complex d =
            fft_get_result(fft)[k] - cexp(-I * TURN * (double)k / (double)size);
        ck_assert_double_le(cabs(d), 1e-13);
    }
}

START_TEST(large_transforms_come_and_go_beside_the_pool)
{
    enum { SMALL = 48, FULL = 1 << 20, LARGE = 3 << 19 };
    fft_destroy(fft_create(SMALL, FFT_FORWARD));
    for (int round = 0; round < 2; round++) {
        static const size_t sizes[] = {LARGE, FULL, SMALL};
        for (size_t i = 0; i < 3; i++) {
            struct fft *fft = fft_create(sizes[i], FFT_FORWARD);
            check_pulse(fft, sizes[i]);
            fft_destroy(fft);
        }
    }
    struct fft *quick = fft_create_quick(SMALL), *exact = fft_create(SMALL, FFT_FORWARD);
    check_pulse(quick, SMALL);
    check_pulse(exact, SMALL);
    fft_destroy(quick);
    fft_destroy(exact);
}
END_TEST

static enum status run_large(void *data, struct error *err)
{
    struct fft *fft = fft_create_quick(3 << 19); /* larger than what is kept */
    (void)data;
    if (fft == NULL) {
        return fail_memory(err);
    }
    fft_destroy(fft);
    return STATUS_OK;
}

START_TEST(a_transform_without_memory_is_none)
{
    ck_assert_uint_eq(check_every_allocation(run_large, NULL), 3);
}
END_TEST

static void *plan_often(void *result)
{
    for (size_t i = 0; i < 300; i++) {
        const size_t size = 5 + i % 37;
        struct fft *fft = fft_create(size, FFT_BACKWARD);
        fft_get_buffer(fft)[1] = 1.0;
        fft_compute(fft);
        const double complex last = fft_get_buffer(fft)[size - 1];
        *(double *)result += cabs(last - cexp(-I * TURN / (double)size));
        fft_destroy(fft);
    }
    return NULL;
}

START_TEST(threads_plan_and_transform_at_once)
{
    pthread_t threads[4];
    double errors[4] = {0.0};
    for (size_t i = 0; i < 4; i++) {
        ck_assert_int_eq(pthread_create(&threads[i], NULL, plan_often, &errors[i]), 0);
    }
    for (size_t i = 0; i < 4; i++) {
        pthread_join(threads[i], NULL);
        ck_assert_double_lt(errors[i], 1e-12); /* 300 roundings */
    }
}
END_TEST

START_TEST(sizes_are_the_next_with_factors_of_two_three_and_five_only)
{
    static const size_t sizes[][2] = {{0, 1}, {1, 1}, {2, 2}, {7, 8}, {11, 12}, {13, 15}, {31, 32},
        {61, 64}, {121, 125}, {257, 270}, {1009, 1024}, {4097, 4320}, {65537, 65610}};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        ck_assert_uint_eq(fft_find_size(sizes[i][0]), sizes[i][1]);
    }
}
END_TEST

Suite *fft_suite(void)
{
    Suite *suite = suite_create("fft");
    TCase *tests = tcase_create("fft");
    tcase_add_test(tests, both_directions_are_the_sums_of_the_header);
    tcase_add_test(tests, a_buffer_is_zero_at_first_however_often_it_was_used);
    tcase_add_test(tests, more_plans_than_the_pool_holds_live_side_by_side);
    tcase_add_test(tests, large_transforms_come_and_go_beside_the_pool);
    tcase_add_test(tests, a_transform_without_memory_is_none);
    tcase_add_test(tests, threads_plan_and_transform_at_once);
    tcase_add_test(tests, sizes_are_the_next_with_factors_of_two_three_and_five_only);
    suite_add_tcase(suite, tests);
    return suite;
}
