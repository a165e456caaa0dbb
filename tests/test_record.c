// SPDX-License-Identifier: GPL-3.0-or-later
/* Records in memory: how many harmonics are looked for, and what is told of their blocks. */
#include "num/record.h"

#include <math.h>
#include <stdlib.h>

#include "num/pair.h"
#include "num/periodic_parts.h"
#include "num/random.h"
#include "suites.h"
#include "tone_fit.h"

static const double PI = 3.14159265358979323846;

/* ---- what the sampling carries ---- */

START_TEST(harmonics_lie_below_half_the_rate)
{
    static const struct {
        double period;
        size_t fixed, expected;
    } list[] = {{64.0, 0, 31}, {64.1, 0, 32}, {63.9, 0, 31}, {2.7, 0, 1}, {4.0, 0, 1}, {1.5, 0, 1},
        {4097.9, 0, 2048}, {4095.9, 0, 2047}, {9000.0, 0, 2048}, {64.0, 5, 5},
        {9000.0, 3000, 3000}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        ck_assert_uint_eq(record_get_limit(1.0 / list[i].period, list[i].fixed), list[i].expected);
    }
}
END_TEST

/* By a tenth of a turn over the record a harmonic must be off half the rate: of 1000 samples, by
 * 1e-4 of the rate. */
START_TEST(a_harmonic_beside_half_the_rate_must_drift_against_the_samples)
{
    ck_assert_uint_eq(record_get_safe_limit((0.5 - 0.9e-4) / 7.0, 1000.0, 0), 6);
    ck_assert_uint_eq(record_get_safe_limit((0.5 - 1.1e-4) / 7.0, 1000.0, 0), 7);
    ck_assert_uint_eq(record_get_safe_limit((0.5 - 0.9e-4) / 7.0, 1000.0, 9), 9);
}
END_TEST

/* ---- harmonics of folded records ---- */

/* Cosines of the listed harmonics, `size` each, in both channels, with noise. */
struct wave {
    double nu;
    size_t top, extra; /* 1 ... top, and one more */
    double size;       /* of all but the fundamental, which is 1 */
};

static void set_wave(const struct wave *wave, size_t frames, double noise, double complex *values)
{
    struct random random;
    random_init(&random, 5, 0);
    for (size_t n = 0; n < frames; n++) {
        const double turns = fmod(wave->nu * (double)n, 1.0);
        double a = 0.0, b = 0.0;
        for (size_t k = 1; k <= wave->top || k == wave->extra; k++) {
            const double size = k == 1 ? 1.0 : wave->size;
            a += size * cos(2.0 * PI * (double)k * turns + 0.7 * (double)(k * k));
            b += size * cos(2.0 * PI * (double)k * turns - 0.3 * (double)(k * k));
            k = k == wave->top && wave->extra > k ? wave->extra - 1 : k;
        }
        a += noise * random_get_normal(&random);
        values[n] = as_complex(a, b + noise * random_get_normal(&random));
    }
}

/* With 64 samples a cycle 31 harmonics fit, 24 of them leave a measure of the noise: more are
 * looked for when more than 22 of those are there. */
static const struct {
    size_t top, extra, expected;
} top_list[] = {{5, 0, 5}, {22, 0, 22}, {23, 0, 23}, {23, 28, 28}, {31, 0, 31}, {24, 31, 31}};

START_TEST(harmonics_up_to_the_last_are_found)
{
    enum { FRAMES = 40000 };
    const struct wave wave = {1.0 / 64.0, top_list[_i].top, top_list[_i].extra, 0.1};
    double complex *values = malloc(FRAMES * sizeof *values);
    set_wave(&wave, FRAMES, 1e-4, values);
    const struct record record = {.channels = 2, .count = FRAMES, .value = values};
    struct block_list blocks;
    struct error err = {0};
    double nu = wave.nu * (1.0 + 1e-6);
    ck_assert_msg(!record_fit_folded(&record, 1, &nu, &blocks, &err), "%s", err.message);
    ck_assert_uint_eq(blocks.harmonics, top_list[_i].expected);
    /* the noise of the frequency is far below */
    ck_assert_double_eq_tol(nu / wave.nu, 1.0, 1e-8);
    block_list_clear(&blocks);
    free(values);
}
END_TEST

/* ---- long records with uneven times ---- */

/* Every second sample of an even record is missing, so that 2^19 are there when its first 2^20 have
 * come: just as many as are taken to begin with. */
static void fit_with_holes(size_t frames, size_t hole_every, struct periodic_fit *fit)
{
    struct tone tone;
    struct error err = {0};
    double *values = malloc(2 * frames * sizeof *values);
    tone_init(&tone, 3, 1.0 / 96.3);
    tone_fill(&tone, 0, frames, values);
    for (size_t n = 1; n < frames; n += hole_every) {
        values[2 * n] = NAN;
    }
    enum periodic_failure failure;
    const struct tone_record record = {
        .values = values, .frames = frames, .channels = 2, .chunk = 1 << 16};
    ck_assert_msg(!tone_record_fit(&record, fit, &failure, &err), "%s", err.message);
    ck_assert_uint_eq(fit->harmonics, 3);
    tone_check(&tone, fit, 0.0, 1e-12, 1e-9);
    free(values);
}

START_TEST(uneven_records_that_just_fill_the_head_lose_nothing)
{
    struct periodic_fit fit;
    fit_with_holes(HEAD_EVEN, 2, &fit);
    /* eight blocks of the first look, each an eighth of the record */
    ck_assert_uint_eq(fit.block_count, 8);
    for (size_t b = 0; b < 8; b++) {
        /* 65536 samples, 2 apart */
        const double middle = 131072.0 * (double)b + 65535.0;
        ck_assert_double_eq(fit.blocks[b].frames, HEAD_UNEVEN / 8.0);
        ck_assert_double_eq_tol(fit.blocks[b].time_s * TONE_RATE, middle, 1e-6);
        ck_assert_double_lt(fabs(fit.blocks[b].phase), 1e-8);
    }
    ck_assert_double_eq(fit.frames, (double)HEAD_EVEN);
    periodic_fit_clear(&fit);
}
END_TEST

/* ---- why there is no fit ---- */

static void check_failure(const struct periodic_options *options, const struct tone *tone,
    size_t frames, enum periodic_failure reason, const char *key, double value, double limit)
{
    double values[2 * 2000], found = -1.0, most = -1.0;
    struct error err = {0};
    struct periodic_fit fit;
    struct periodic *periodic = periodic_create(options, &err);
    ck_assert_ptr_null(periodic_get_failure_count(periodic, &found, &most));
    ck_assert(found == -1.0 && most == -1.0);
    tone_fill(tone, 0, frames, values);
    ck_assert(!periodic_add(periodic, values, NULL, frames, &err));
    ck_assert_int_eq(periodic_finish(periodic, &fit, &err), STATUS_CAPTURE);
    ck_assert_int_eq(periodic_get_failure(periodic), reason);
    const char *name = periodic_get_failure_count(periodic, &found, &most);
    if (key == NULL) {
        ck_assert_ptr_null(name);
    } else {
        ck_assert_str_eq(name, key);
    }
    ck_assert_double_eq_tol(found, value, 0.02);
    ck_assert_double_eq(most, limit);
    periodic_destroy(periodic);
}

START_TEST(a_failure_tells_what_was_too_few_or_too_many)
{
    struct tone tone;
    tone_init(&tone, 3, 1.0 / 100.0);
    struct periodic_options options = {.channels = 2, .sample_rate_Hz = TONE_RATE};
    check_failure(&options, &tone, 15, PERIODIC_SHORT, "samples", 15.0, 16.0);
    options.frequency_Hz = TONE_RATE / 100.0;
    check_failure(&options, &tone, 260, PERIODIC_SHORT, "cycles", 2.6, 3.0);
    options.harmonics = 50;
    check_failure(&options, &tone, 2000, PERIODIC_UNFIT, "harmonics", 50.0, 49.0);
    options = (struct periodic_options){.channels = 2, .sample_rate_Hz = TONE_RATE};
    for (size_t k = 0; k <= 3; k++) {
        tone.c[0][k] = tone.c[1][k] = 0.0;
    }
    check_failure(&options, &tone, 2000, PERIODIC_ABSENT, NULL, -1.0, -1.0);
}
END_TEST

Suite *record_suite(void)
{
    Suite *suite = suite_create("record");
    TCase *tests = tcase_create("record");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, harmonics_lie_below_half_the_rate);
    tcase_add_test(tests, a_harmonic_beside_half_the_rate_must_drift_against_the_samples);
    tcase_add_loop_test(
        tests, harmonics_up_to_the_last_are_found, 0, (int)(sizeof top_list / sizeof *top_list));
    tcase_add_test(tests, uneven_records_that_just_fill_the_head_lose_nothing);
    tcase_add_test(tests, a_failure_tells_what_was_too_few_or_too_many);
    suite_add_tcase(suite, tests);
    return suite;
}
