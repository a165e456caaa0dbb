// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/fold.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "suites.h"
#include "tone.h"

/* per harmonic of the highest: samples = period / K; an eighth of its cycle is one class or one
 * thinned stretch; thinning leaves rows 256 samples at least */
static const struct {
    double period;
    size_t harmonics;
    struct fold_shape shape;
} shapes[] = {
    {960.0, 12, {.row_cycles = 1, .row_length = 960, .classes = 1, .thinning = 3}},
    {2.7, 1, {.row_cycles = 95, .row_length = 256, .classes = 3, .thinning = 1}},
    {27.3, 12, {.row_cycles = 10, .row_length = 273, .classes = 4, .thinning = 1}},
    {8.28, 4, {.row_cycles = 31, .row_length = 256, .classes = 4, .thinning = 1}},
    {255.9, 127, {.row_cycles = 2, .row_length = 511, .classes = 4, .thinning = 1}},
    {20000.5, 12, {.row_cycles = 1, .row_length = 20000, .classes = 1, .thinning = 78}},
    {20000.5, 2000, {.row_cycles = 1, .row_length = 20000, .classes = 1, .thinning = 1}},
    {256.0, 1000, {.row_cycles = 1, .row_length = 256, .classes = 8, .thinning = 1}},
    {1024.0, 0, {.row_cycles = 1, .row_length = 1024, .classes = 1, .thinning = 4}},
    /* a hundredth of a sample is forgiven */
    {959.995, 479, {.row_cycles = 1, .row_length = 960, .classes = 4, .thinning = 1}},
    {959.98, 479, {.row_cycles = 1, .row_length = 959, .classes = 4, .thinning = 1}},
};

START_TEST(a_shape_has_rows_classes_and_thinning_as_the_highest_harmonic_needs)
{
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        const struct fold_shape *wanted = &shapes[i].shape;
        const struct fold_shape shape =
            fold_find_shape(1.0 / shapes[i].period, shapes[i].harmonics);
        ck_assert_double_eq(shape.nu, 1.0 / shapes[i].period);
        ck_assert_uint_eq(shape.harmonics, shapes[i].harmonics);
        ck_assert_msg(shape.row_cycles == wanted->row_cycles &&
                          shape.row_length == wanted->row_length &&
                          shape.classes == wanted->classes && shape.thinning == wanted->thinning,
            "period %g, K %zu: %zu cycles, %zu samples, %zu classes, thinned by %zu",
            shapes[i].period, shapes[i].harmonics, shape.row_cycles, shape.row_length,
            shape.classes, shape.thinning);
    }
}
END_TEST

/* A fold and its result, fed from a tone whose cycle begins at 0. */
struct setup {
    struct tone tone;
    struct fold_shape shape;
    struct fold *fold;
    struct fold_result result;
};

static void setup_init(struct setup *setup, double period, size_t harmonics)
{
    tone_init(&setup->tone, harmonics, 1.0 / period);
    setup->tone.start = 0.0;
    setup->shape = fold_find_shape(1.0 / period, harmonics);
    setup->fold = fold_create(&setup->shape);
    for (int m = 0; m < 2; m++) {
        setup->result.coefficient[m] = malloc((harmonics + 1) * sizeof(double complex));
    }
}

static void setup_clear(struct setup *setup)
{
    fold_destroy(setup->fold);
    free(setup->result.coefficient[0]);
    free(setup->result.coefficient[1]);
}

/* Adds rows from the first-th on. */
static void add_rows(struct setup *setup, size_t first, size_t rows)
{
    const size_t length = setup->shape.row_length;
    double *row = malloc(2 * length * sizeof *row);
    for (size_t r = first; r < first + rows; r++) {
        const double begin = (double)r * (double)setup->shape.row_cycles / setup->tone.nu,
                     at = round(begin);
        tone_fill(&setup->tone, (size_t)at, length, row);
        ck_assert(!fold_add(setup->fold, row, at - begin, NULL));
    }
    free(row);
}

static void check(const struct setup *setup, double tolerance)
{
    for (size_t m = 0; m < 2; m++) {
        for (size_t k = 0; k <= setup->tone.harmonics; k++) {
            const double off = cabs(setup->result.coefficient[m][k] - setup->tone.c[m][k]);
            ck_assert_msg(off <= tolerance, "channel %zu, k %zu: off by %.2g", m, k, off);
        }
    }
}

static const struct {
    double period;
    size_t harmonics, rows;
} folds[] = {{27.3, 12, 1}, {27.3, 12, 40}, {27.3, 13, 7}, {2.7, 1, 3}, {8.28, 4, 100},
    {255.9, 30, 50}, {256.0, 30, 5}, {256.0, 0, 5}, {960.0, 6, 9}, {1919.5, 20, 2},
    {5000.25, 3, 11}, {5000.25, 32, 4}, {27.3, 4, 700}};

START_TEST(what_was_folded_without_noise_is_fitted_exactly)
{
    struct setup setup;
    setup_init(&setup, folds[_i].period, folds[_i].harmonics);
    add_rows(&setup, 3, folds[_i].rows);
    ck_assert_uint_eq(fold_get_rows(setup.fold), folds[_i].rows);
    fold_solve(setup.fold, &setup.result);
    ck_assert_uint_eq(fold_get_rows(setup.fold), 0);
    /* conjugate gradients end at 1e-13, the gridding is good to 1e-12; the phases of the rows to
     * 1e-16 of up to 1e5 samples */
    check(&setup, 1e-11);
    for (int m = 0; m < 2; m++) {
        /* what is left of the energy is known to its rounding only */
        const double rms = sqrt(setup.result.square_sum[m] / setup.result.freedom);
        ck_assert_double_lt(rms, 1e-6);
    }
    setup_clear(&setup);
}
END_TEST

START_TEST(solving_clears_for_the_next_block)
{
    struct setup used, fresh;
    setup_init(&used, 27.3, 8);
    setup_init(&fresh, 27.3, 8);
    add_rows(&used, 0, 30);
    fold_solve(used.fold, &used.result);
    add_rows(&used, 100, 12);
    fold_clear(used.fold);
    add_rows(&used, 55, 21);
    add_rows(&fresh, 55, 21);
    fold_solve(used.fold, &used.result);
    fold_solve(fresh.fold, &fresh.result);
    for (int m = 0; m < 2; m++) {
        ck_assert_int_eq(memcmp(used.result.coefficient[m], fresh.result.coefficient[m],
                             9 * sizeof(double complex)),
            0);
        ck_assert_double_eq(used.result.square_sum[m], fresh.result.square_sum[m]);
    }
    setup_clear(&used);
    setup_clear(&fresh);
}
END_TEST

START_TEST(another_frequency_is_fitted_with_rows_of_the_same_length)
{
    struct setup setup;
    setup_init(&setup, 27.3, 8);
    add_rows(&setup, 0, 30);
    fold_solve(setup.fold, &setup.result);
    setup.tone.nu *= 1.0003;
    fold_set_frequency(setup.fold, setup.tone.nu);
    add_rows(&setup, 7, 30);
    fold_solve(setup.fold, &setup.result);
    check(&setup, 1e-11);
    setup_clear(&setup);
}
END_TEST

START_TEST(rows_that_begin_half_a_sample_off_count_like_the_others)
{
    struct setup setup;
    setup_init(&setup, 64.0, 10);
    const size_t length = setup.shape.row_length;
    double *row = malloc(2 * length * sizeof *row);
    static const double offsets[] = {-0.5, 0.5, -0.499999, 0.0, 0.25};
    for (size_t i = 0; i < sizeof offsets / sizeof offsets[0]; i++) {
        setup.tone.start = offsets[i] / 64.0;
        tone_fill(&setup.tone, 0, length, row);
        ck_assert(!fold_add(setup.fold, row, offsets[i], NULL));
    }
    setup.tone.start = 0.0;
    fold_solve(setup.fold, &setup.result);
    check(&setup, 1e-11);
    free(row);
    setup_clear(&setup);
}
END_TEST

START_TEST(residuals_tell_the_noise_of_a_sample)
{
    static const double periods[] = {27.3, 255.9, 960.0, 20000.5};
    for (size_t i = 0; i < sizeof periods / sizeof periods[0]; i++) {
        struct setup setup;
        setup_init(&setup, periods[i], 6);
        setup.tone.noise[0] = 0.01;
        setup.tone.noise[1] = 2.385;
        add_rows(&setup, 0, 20);
        fold_solve(setup.fold, &setup.result);
        const double freedom = setup.result.freedom;
        ck_assert_double_ge(freedom, (double)(setup.shape.row_length / setup.shape.thinning) - 13);
        for (int m = 0; m < 2; m++) {
            const double variance = setup.tone.noise[m] * setup.tone.noise[m];
            /* chi-square: four standard deviations, of eight draws with a fixed seed */
            ck_assert_double_eq_tol(
                setup.result.square_sum[m] / freedom / variance, 1.0, 4.0 * sqrt(2.0 / freedom));
        }
        setup_clear(&setup);
    }
}
END_TEST

START_TEST(more_unknowns_than_samples_leave_one_degree_of_freedom)
{
    struct setup setup;
    setup_init(&setup, 256.0, 32);
    setup.shape.harmonics = 32;
    add_rows(&setup, 0, 1);
    fold_solve(setup.fold, &setup.result);
    ck_assert_double_eq(setup.result.freedom, 256.0 - 65.0);
    setup_clear(&setup);
    /* 8 classes, one of them used: 256 samples */
    const struct fold_shape shape = fold_find_shape(1.0 / 256.0, 200);
    struct fold *fold = fold_create(&shape);
    double complex a[201], b[201];
    double *row = calloc(512, sizeof *row);
    struct fold_result result = {.coefficient = {a, b}};
    ck_assert(!fold_add(fold, row, 0.0, NULL));
    fold_solve(fold, &result);
    ck_assert_double_eq(result.freedom, 1.0);
    ck_assert(a[5] == 0.0 && b[200] == 0.0);
    free(row);
    fold_destroy(fold);
    fold_destroy(NULL);
}
END_TEST

Suite *fold_suite(void)
{
    Suite *suite = suite_create("fold");
    TCase *tests = tcase_create("fold");
    tcase_add_test(tests, a_shape_has_rows_classes_and_thinning_as_the_highest_harmonic_needs);
    tcase_add_loop_test(tests, what_was_folded_without_noise_is_fitted_exactly, 0,
        (int)(sizeof folds / sizeof folds[0]));
    tcase_add_test(tests, solving_clears_for_the_next_block);
    tcase_add_test(tests, another_frequency_is_fitted_with_rows_of_the_same_length);
    tcase_add_test(tests, rows_that_begin_half_a_sample_off_count_like_the_others);
    tcase_add_test(tests, residuals_tell_the_noise_of_a_sample);
    tcase_add_test(tests, more_unknowns_than_samples_leave_one_degree_of_freedom);
    suite_add_tcase(suite, tests);
    return suite;
}
