// SPDX-License-Identifier: GPL-3.0-or-later
/* What honest waveforms do of themselves, on waveforms whose tops and slopes are known in closed
 * form; and where harmonics come back that the sampling does not carry. */
#include "loop/natural.h"

#include <math.h>

#include "loop/notes_part.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;

enum { MOST = 12 };

static struct bench {
    struct capture_info info;
    struct survey survey;
    struct periodic_fit fit;
    struct evidence evidence;
    double complex wave[2][MOST + 1];
} bench;

/* Cosines of amplitude 0.5 in both inputs. */
static void set_up(void)
{
    bench = (struct bench){.info = {.kind = CAPTURE_AUDIO, .bits = 8},
        .fit = {.channels = 2,
            .harmonics = MOST,
            .frequency_Hz = 50.0,
            .frames = 9600.0,
            .samples_per_cycle = 160.0,
            .coefficient = {bench.wave[0], bench.wave[1]}}};
    for (int m = 0; m < 2; m++) {
        bench.survey.channel[m] = (struct survey_channel){.minimum = -0.5, .maximum = 0.5};
        bench.wave[m][1] = 0.5;
    }
    bench.evidence =
        (struct evidence){.info = &bench.info, .survey = &bench.survey, .fit = &bench.fit};
}

/* The grid's step is 160/4096 of a sample; a stretch has two ends. */
static const double GRID_STEP = 160.0 / 4096.0;

/* 0.5 cos x stays within 1 % of its range of 1, on both sides half of that each, while cos x is
 * above 0.99; a coarse format does not widen it, a fine one narrows it by the fourth root. */
static const struct {
    int bits;
    bool is_float;
    double resolution;
} top_list[] = {
    {8, false, 1.0 / 128}, {12, false, 1.0 / 2048}, {16, false, 1.0 / 32768}, {24, true, 0.5e-7}};

START_TEST(the_top_of_a_cosine_has_the_width_of_its_arc)
{
    const double wide = acos(0.99) / PI * 160.0;
    const double share = fmin(1.0, pow(1.5 * top_list[_i].resolution / 0.005, 0.25));
    bench.info.bits = top_list[_i].bits;
    bench.info.is_float = top_list[_i].is_float;
    for (int m = 0; m < 2; m++) {
        ck_assert_double_eq_tol(
            natural_get_top(&bench.evidence, m), 1.0 + wide * share, 2.0 * GRID_STEP * share);
    }
}
END_TEST

/* cos x ± cos(2x)/4 is 3/4 ± (1 - cos)^2/2 from the flat side: within 1/200 of its range of 2 while
 * 1 - cos stays below sqrt(0.02). */
START_TEST(the_flatter_side_counts)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        bench.wave[1][1] = sign;
        bench.wave[1][2] = 0.25;
        ck_assert_double_eq_tol(natural_get_top(&bench.evidence, 1),
            1.0 + acos(1.0 - sqrt(0.02)) / PI * 160.0, 2.0 * GRID_STEP);
    }
}
END_TEST

/* Harmonics above a sixteenth of the sampling rate do not count, the first three always do. */
START_TEST(a_staircase_of_rounding_is_smoothed)
{
    const double plain = natural_get_top(&bench.evidence, 0);
    bench.wave[0][11] = 0.05;
    ck_assert_double_eq(natural_get_top(&bench.evidence, 0), plain);
    bench.wave[0][10] = 0.05;
    ck_assert_double_ne(natural_get_top(&bench.evidence, 0), plain);
    bench.fit.samples_per_cycle = 20.0;
    bench.wave[0][4] = 0.1;
    ck_assert_double_eq_tol(natural_get_top(&bench.evidence, 0), 1.0 + (plain - 1.0) / 8.0, 1e-9);
    bench.wave[0][3] = 0.1;
    ck_assert_double_ne(natural_get_top(&bench.evidence, 0), 1.0 + (plain - 1.0) / 8.0);
}
END_TEST

/* A cosine changes by 0.5 (2 pi/160) sin x a sample, and repeats while that is below 1.5 steps. */
START_TEST(both_inputs_repeat_where_both_are_slow)
{
    const double angle = asin(1.5 / 128 * 160.0 / PI);
    ck_assert_double_eq_tol(
        natural_get_repeat(&bench.evidence), 1.0 + angle / PI * 160.0, 2.0 * GRID_STEP);
    bench.wave[1][1] = 0.5 * cexp(0.2 * I);
    ck_assert_double_eq_tol(
        natural_get_repeat(&bench.evidence), 1.0 + (angle - 0.1) / PI * 160.0, 2.0 * GRID_STEP);
    bench.wave[1][1] = 0.5 * I; /* slow where the other is fast */
    ck_assert_double_eq(natural_get_repeat(&bench.evidence), 1.0);
    bench.wave[0][1] = bench.wave[1][1] = 1e-4; /* slow all over the cycle */
    ck_assert_double_eq_tol(natural_get_repeat(&bench.evidence), 161.0, 1e-9);
}
END_TEST

/* With the outermost step e^-w of the noise's tail, (1 - e^-w)^n = 1e-6. */
START_TEST(noise_heaps_as_its_tail_tells)
{
    static const double widths[] = {0.02, 0.7, 2.0, 2.99, 3.01};
    const double step = 1.0 / 2048;
    bench.info.bits = 12;
    for (int i = 0; i < 5; i++) {
        const double w = widths[i];
        bench.fit.noise_rms[1] = step * sqrt(2.0 * log(9600.0) / (w * w) + 1.0 / 12.0);
        const double pile = natural_get_pile(&bench.evidence, 1);
        if (i == 0) {
            ck_assert_double_eq(pile, 4.0);
        } else if (i == 4) {
            ck_assert(isinf(pile));
        } else {
            ck_assert_double_eq_tol(pow(1.0 - exp(-w), pile), 1e-6, 1e-12);
        }
    }
}
END_TEST

START_TEST(without_noise_that_is_wider_than_a_step_no_heap_is_told)
{
    bench.info.bits = 12;
    bench.fit.noise_rms[0] = 1e-3;
    bench.fit.frames = 16.0;
    ck_assert(isfinite(natural_get_pile(&bench.evidence, 0)));
    bench.fit.frames = 15.9;
    ck_assert(isinf(natural_get_pile(&bench.evidence, 0)));
    bench.fit.frames = 9600.0;
    ck_assert(isfinite(natural_get_pile(&bench.evidence, 0)));
    bench.fit.noise_rms[0] = 1.0 / 2048 / sqrt(12.1); /* rounding alone */
    ck_assert(isinf(natural_get_pile(&bench.evidence, 0)));
    bench.fit.noise_rms[0] = 1e-3;
    bench.info.is_float = true;
    ck_assert(isinf(natural_get_pile(&bench.evidence, 0)));
    bench.info = (struct capture_info){.kind = CAPTURE_AUDIO, .bits = 32};
    bench.fit.noise_rms[0] = 0.51e-6; /* of an amplitude of 0.5 */
    ck_assert(isfinite(natural_get_pile(&bench.evidence, 0)));
    bench.fit.noise_rms[0] = 0.49e-6;
    ck_assert(isinf(natural_get_pile(&bench.evidence, 0)));
}
END_TEST

/* At 965 samples a second: k 50 Hz comes back at its distance from the nearest multiple of 965 Hz.
 */
static const struct {
    double frequency;
    size_t harmonics, limit, folded;
} fold_list[] = {
    {465.0, 9, 9, 10},              /* 965 - 500: the first that the sampling does not carry */
    {450.0, 9, 9, 0},               /* 9 is carried */
    {140.0, 9, 9, 80},              /* 4 * 965 - 4000: the last that is looked for */
    {190.0, 9, 9, 0},               /* 81 */
    {465.0, 6, 9, 10},              /* 0.6 of the harmonics are there */
    {465.0, 5, 9, 0},               /* they are not */
    {415.0 + 0.24 / 1.2, 9, 9, 11}, /* a quarter of a line beside 11 */
    {415.0 - 0.26 / 1.2, 9, 9, 0},
};

START_TEST(a_tone_is_found_among_the_harmonics_that_fold)
{
    const struct stray stray = {.frequency_Hz = fold_list[_i].frequency, .width_Hz = 1.0 / 1.2};
    bench.fit.samples_per_cycle = 19.3;
    bench.fit.harmonics = fold_list[_i].harmonics;
    bench.fit.harmonics_limit = fold_list[_i].limit;
    ck_assert_uint_eq(evidence_find_folded(&bench.evidence, &stray), fold_list[_i].folded);
}
END_TEST

Suite *natural_suite(void)
{
    Suite *suite = suite_create("natural");
    TCase *tests = tcase_create("natural");
    tcase_add_checked_fixture(tests, set_up, NULL);
    tcase_add_loop_test(tests, the_top_of_a_cosine_has_the_width_of_its_arc, 0, 4);
    tcase_add_test(tests, the_flatter_side_counts);
    tcase_add_test(tests, a_staircase_of_rounding_is_smoothed);
    tcase_add_test(tests, both_inputs_repeat_where_both_are_slow);
    tcase_add_test(tests, noise_heaps_as_its_tail_tells);
    tcase_add_test(tests, without_noise_that_is_wider_than_a_step_no_heap_is_told);
    tcase_add_loop_test(tests, a_tone_is_found_among_the_harmonics_that_fold, 0,
        (int)(sizeof fold_list / sizeof *fold_list));
    suite_add_tcase(suite, tests);
    return suite;
}
