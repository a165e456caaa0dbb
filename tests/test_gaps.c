// SPDX-License-Identifier: GPL-3.0-or-later
/* Records with missing samples, and samples at uneven times: what is there is used where it is, so
 * without noise the fit is the truth. */
#include <math.h>
#include <stdlib.h>

#include "num/periodic.h"
#include "num/random.h"
#include "suites.h"
#include "tone_fit.h"

/* As for even records; longer direct fits add up more rounding of the phases. */
static const double exact = 3e-11, exact_frequency = 1e-13;

/* Fits what is left of a record, and compares. */
static void check_values(
    const struct tone *tone, const double *values, const double *times, size_t frames, double begin)
{
    const struct tone_record record = {
        .values = values, .times = times, .frames = frames, .channels = 2, .chunk = 5000};
    struct periodic_fit fit;
    struct error err = {0};
    enum periodic_failure failure;
    ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
    tone_check(tone, &fit, begin, exact_frequency, exact);
    ck_assert_uint_eq(fit.harmonics, tone->harmonics);
    ck_assert_double_eq(fit.frames, (double)frames);
    ck_assert_double_lt(fit.noise_rms[0], 2e-6);
    ck_assert(!fit.is_unsteady);
    periodic_fit_clear(&fit);
}

/* 12 harmonics of 13 that the sampling carries: a fit that counted only the samples that are there
 * would lose some. */
static const struct {
    double period;
    size_t frames;
    double share;
} hole_list[] = {
    {27.3, 150, 0.1},                        /* direct */
    {27.3, 2000, 0.001},                     /* direct */
    {27.3, 2000, 0.4}, {27.3, 40000, 2e-4},  /* folded, rows left out */
    {27.3, 40000, 0.02},                     /* so many rows would go that it is fitted directly */
    {27.3, 40000, 0.4}, {255.9, 70000, 0.4}, /* every stretch of the first look lacks a sample */
    {1919.5, 12000, 0.05}, {96.3, 1100000, 1e-6}, /* streamed */
    {96.3, 1100000, 2e-4}, {27.3, 1060000, 0.4},  /* streamed as uneven */
};

START_TEST(missing_samples_cost_nothing_but_themselves)
{
    const size_t frames = hole_list[_i].frames;
    double *values = malloc(2 * frames * sizeof *values);
    struct tone tone;
    struct random random;
    tone_init(&tone, 12, 1.0 / hole_list[_i].period);
    tone_fill(&tone, 0, frames, values);
    random_init(&random, 1, (uint64_t)_i);
    for (size_t n = 0; n < frames; n++) { /* in either channel or both */
        const uint64_t which = random_get_below(&random, 3);
        if (random_get_uniform(&random) < hole_list[_i].share) {
            values[2 * n] = which != 0 ? NAN : values[2 * n];
            values[2 * n + 1] = which != 1 ? INFINITY : values[2 * n + 1];
        }
    }
    check_values(&tone, values, NULL, frames, 0.0);
    free(values);
}
END_TEST

/* Where the holes are: shares of the record. */
static const struct {
    const char *name;
    double from, to, every; /* every > 0: repeated so often */
} stretch_list[] = {{"in the middle", 0.4, 0.52, 0.0}, {"at the begin", 0.0, 0.1, 0.0},
    {"at the end", 0.9, 1.0, 0.0}, {"again and again", 0.0, 0.02, 0.1}};

static const struct {
    double period;
    size_t frames;
} extent_list[] = {{27.3, 900}, {27.3, 33000}, {96.3, 1100000}};

START_TEST(a_stretch_may_be_missing_wherever_it_is)
{
    const size_t frames = extent_list[_i].frames;
    double *values = malloc(2 * frames * sizeof *values);
    const size_t count = frames > 1000000 ? 1 : sizeof stretch_list / sizeof stretch_list[0];
    for (size_t i = 0; i < count; i++) {
        struct tone tone;
        tone_init(&tone, 12, 1.0 / extent_list[_i].period);
        tone_fill(&tone, 0, frames, values);
        for (size_t n = 0; n < frames; n++) {
            const double place = (double)n / (double)frames, every = stretch_list[i].every;
            const double x = every > 0.0 ? fmod(place, every) : place;
            if (x >= stretch_list[i].from && x < stretch_list[i].to) {
                values[2 * n + 1] = NAN;
            }
        }
        check_values(&tone, values, NULL, frames, 0.0);
    }
    free(values);
}
END_TEST

/* Times of a logger: on a grid but for jitter, or with steps of any length. Steps at random reach
 * past the mean of half the rate only now and then, so that K stays below half of it. */
enum clock { CLOCK_JITTER, CLOCK_STEPS, CLOCK_RANDOM };

static const struct {
    double period;
    size_t frames, harmonics;
    enum clock clock;
    double begin_s;
} clock_list[] = {
    {27.3, 100, 12, CLOCK_JITTER, 0.0}, {27.3, 100, 5, CLOCK_STEPS, 0.0},
    {27.3, 130, 4, CLOCK_RANDOM, 0.0}, {8.28, 3000, 4, CLOCK_JITTER, -3.0},
    {27.3, 3000, 6, CLOCK_STEPS, 3.0}, {2.9, 3000, 1, CLOCK_JITTER, 0.0},
    {255.9, 4000, 12, CLOCK_RANDOM, 0.0}, {1919.5, 20000, 12, CLOCK_STEPS, 0.0},
    {27.3, 40000, 12, CLOCK_JITTER, 0.0}, {96.3, 540000, 12, CLOCK_RANDOM, 1.0}, /* streamed */
};

START_TEST(samples_at_uneven_times_are_used_where_they_are)
{
    const size_t frames = clock_list[_i].frames;
    double *values = malloc(2 * frames * sizeof *values), *times = malloc(frames * sizeof *times);
    struct tone tone;
    struct random random;
    tone_init(&tone, clock_list[_i].harmonics, 1.0 / clock_list[_i].period);
    random_init(&random, 2, (uint64_t)_i);
    double at = 0.3;
    for (size_t n = 0; n < frames; n++) {
        const double x = random_get_uniform(&random);
        times[n] = clock_list[_i].clock == CLOCK_JITTER ? (double)n + 0.3 * (x - 0.5) : at;
        at += clock_list[_i].clock == CLOCK_STEPS ? 0.2 + 1.6 * x : -log(x) + 1e-6;
    }
    tone_fill_at(&tone, times, frames, values);
    const double begin = times[0];
    for (size_t n = 0; n < frames; n++) {
        times[n] = times[n] / TONE_RATE + clock_list[_i].begin_s;
    }
    check_values(&tone, values, times, frames, begin);
    free(values);
    free(times);
}
END_TEST

START_TEST(rows_without_a_time_or_a_value_are_left_out)
{
    enum { FRAMES = 3000 };
    double values[2 * FRAMES], times[FRAMES];
    struct tone tone;
    tone_init(&tone, 6, 1.0 / 27.3);
    for (size_t n = 0; n < FRAMES; n++) {
        times[n] = (double)n + 0.2 * sin((double)(n * n));
    }
    tone_fill_at(&tone, times, FRAMES, values);
    for (size_t n = 0; n < FRAMES; n++) {
        times[n] = n % 31 == 7 ? NAN : times[n] / TONE_RATE;
        values[2 * n] = n % 43 == 11 ? NAN : values[2 * n];
    }
    check_values(&tone, values, times, FRAMES, 0.0);
}
END_TEST

START_TEST(what_is_left_may_be_too_little)
{
    static const struct {
        const char *name;
        size_t frames, every; /* only each so many-th sample is there */
        enum periodic_failure failure;
        const char *message;
    } list[] = {
        {"a dozen of many", 1000, 80, PERIODIC_SHORT, "the capture holds only 13 usable samples"},
        {"less than a cycle", 20, 1, PERIODIC_ABSENT, "no periodic waveform was found"},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        double *values = malloc(2 * list[i].frames * sizeof *values);
        struct tone tone;
        tone_init(&tone, 5, 1.0 / 27.3);
        tone_fill(&tone, 0, list[i].frames, values);
        for (size_t n = 0; n < list[i].frames; n++) {
            values[2 * n] = n % list[i].every == 0 ? values[2 * n] : NAN;
        }
        const struct tone_record record = {
            .values = values, .frames = list[i].frames, .channels = 2, .chunk = 100};
        struct periodic_fit fit;
        struct error err = {0};
        enum periodic_failure failure;
        ck_assert_int_eq(tone_record_fit(&record, &fit, &failure, &err), STATUS_CAPTURE);
        ck_assert_str_eq(err.message, list[i].message);
        ck_assert_int_eq(failure, list[i].failure);
        free(values);
    }
}
END_TEST

START_TEST(a_long_uneven_table_needs_cycles_enough)
{
    enum { FRAMES = (1 << 19) + 10 };
    double *values = malloc(2 * FRAMES * sizeof *values), *times = malloc(FRAMES * sizeof *times);
    struct tone tone;
    tone_init(&tone, 3, 1.0 / 20000.0); /* 26 cycles in the 2^19 rows that are looked at first */
    for (size_t n = 0; n < FRAMES; n++) {
        times[n] = (double)n + 0.2 * sin((double)n * (double)n);
    }
    tone_fill_at(&tone, times, FRAMES, values);
    for (size_t n = 0; n < FRAMES; n++) {
        times[n] /= TONE_RATE;
    }
    const struct tone_record record = {
        .values = values, .times = times, .frames = FRAMES, .channels = 2, .chunk = 10000};
    struct periodic_fit fit;
    struct error err = {0};
    enum periodic_failure failure;
    ck_assert_int_eq(tone_record_fit(&record, &fit, &failure, &err), STATUS_CAPTURE);
    ck_assert_str_eq(err.message, "uneven sampling with fewer than 32 cycles in 524288 rows");
    ck_assert_str_eq(err.hint, "record with an even clock, or thin the table before reading it");
    ck_assert_int_eq(failure, PERIODIC_UNFIT);
    free(values);
    free(times);
}
END_TEST

#define LENGTH(list) (int)(sizeof(list) / sizeof *(list))

Suite *gaps_suite(void)
{
    Suite *suite = suite_create("gaps");
    TCase *tests = tcase_create("gaps");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, missing_samples_cost_nothing_but_themselves, 0, LENGTH(hole_list));
    tcase_add_loop_test(tests, a_stretch_may_be_missing_wherever_it_is, 0, LENGTH(extent_list));
    tcase_add_loop_test(
        tests, samples_at_uneven_times_are_used_where_they_are, 0, LENGTH(clock_list));
    tcase_add_test(tests, rows_without_a_time_or_a_value_are_left_out);
    tcase_add_test(tests, what_is_left_may_be_too_little);
    tcase_add_test(tests, a_long_uneven_table_needs_cycles_enough);
    suite_add_tcase(suite, tests);
    return suite;
}
