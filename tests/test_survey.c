// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/survey.h"

#include <math.h>
#include <stdlib.h>

#include "num/random.h"
#include "suites.h"

/* The same by the plainest of means: every sample looked at on its own. */
static void look_plainly(const double *values, size_t frames, struct survey *out)
{
    survey_init(out);
    int64_t repeats = 0;
    for (size_t n = 0; n < frames; n++) {
        const double *here = values + 2 * n;
        out->missing += !isfinite(here[0]) || !isfinite(here[1]);
        const int same = n > 0 && here[0] == here[-2] && here[1] == here[-1];
        repeats = same ? repeats + 1 : 0;
        if (repeats > out->repeated_run) {
            out->repeated_run = repeats;
            out->repeated_at = (int64_t)n - repeats;
        }
    }
    out->frames = (int64_t)frames;
    for (int m = 0; m < 2; m++) {
        struct survey_channel *channel = &out->channel[m];
        int64_t top = 0, bottom = 0;
        for (size_t n = 0; n < frames; n++) {
            channel->minimum = fmin(channel->minimum, values[2 * n + m]);
            channel->maximum = fmax(channel->maximum, values[2 * n + m]);
        }
        for (size_t n = 0; n < frames; n++) {
            top = values[2 * n + m] == channel->maximum ? top + 1 : 0;
            bottom = values[2 * n + m] == channel->minimum ? bottom + 1 : 0;
            channel->top_count += top > 0;
            channel->bottom_count += bottom > 0;
            channel->top_run = top > channel->top_run ? top : channel->top_run;
            channel->bottom_run = bottom > channel->bottom_run ? bottom : channel->bottom_run;
        }
    }
}

static void check_same(const struct survey *found, const struct survey *plain)
{
    ck_assert_int_eq(found->frames, plain->frames);
    ck_assert_int_eq(found->missing, plain->missing);
    ck_assert_int_eq(found->repeated_run, plain->repeated_run);
    if (plain->repeated_run > 0) {
        ck_assert_int_eq(found->repeated_at, plain->repeated_at);
    }
    for (int m = 0; m < 2; m++) {
        const struct survey_channel *a = &found->channel[m], *b = &plain->channel[m];
        ck_assert_double_eq(a->minimum, b->minimum);
        ck_assert_double_eq(a->maximum, b->maximum);
        ck_assert_int_eq(a->top_run, b->top_run);
        ck_assert_int_eq(a->top_count, b->top_count);
        ck_assert_int_eq(a->bottom_run, b->bottom_run);
        ck_assert_int_eq(a->bottom_count, b->bottom_count);
    }
}

/* Surveys of few levels, so that extremes and repeats are met again and again; the seed is told. */
START_TEST(any_record_in_any_pieces_is_surveyed_as_by_looking_at_each_sample)
{
    enum { FRAMES = 1500 };
    double values[2 * FRAMES];
    for (uint64_t seed = 0; seed < 60; seed++) {
        struct random random;
        random_init(&random, 17, seed);
        const double levels = 1.0 + (double)random_get_below(&random, 40);
        const double sticks = 0.9 * random_get_uniform(&random);
        const double holes = seed % 3 == 0 ? 0.01 : 0.0;
        for (size_t n = 0; n < FRAMES; n++) {
            const int stays = n > 0 && random_get_uniform(&random) < sticks;
            for (size_t m = 0; m < 2; m++) {
                const double fresh = floor(levels * random_get_uniform(&random)) - 3.0;
                values[2 * n + m] = stays ? values[2 * n + m - 2] : fresh;
                if (random_get_uniform(&random) < holes) {
                    values[2 * n + m] = NAN;
                }
            }
        }
        struct survey plain, found;
        look_plainly(values, FRAMES, &plain);
        survey_init(&found);
        for (size_t done = 0; done < FRAMES;) {
            const size_t left = FRAMES - done;
            const size_t piece = 1 + random_get_below(&random, seed % 2 == 0 ? 700 : 9);
            survey_add(&found, values + 2 * done, piece < left ? piece : left);
            done += piece < left ? piece : left;
        }
        check_same(&found, &plain);
        if (seed == 0) {
            ck_assert_int_gt(plain.missing, 0);
            ck_assert_int_gt(plain.repeated_run, 0);
        }
    }
}
END_TEST

START_TEST(a_run_at_the_extreme_counts_over_the_seams_of_pieces)
{
    /* clipped between frames 250 and 520: over two seams of 256 */
    double values[2 * 1000];
    for (size_t n = 0; n < 1000; n++) {
        values[2 * n] = n >= 250 && n < 520 ? 0.75 : 0.5 + 1e-4 * (double)(n % 77);
        values[2 * n + 1] = 1e-3 * (double)n; /* rises, so that no frame repeats */
    }
    struct survey survey;
    survey_init(&survey);
    survey_add(&survey, values, 300);
    survey_add(&survey, values + 600, 700);
    ck_assert_double_eq(survey.channel[0].maximum, 0.75);
    ck_assert_int_eq(survey.channel[0].top_run, 270);
    ck_assert_int_eq(survey.channel[0].top_count, 270);
    ck_assert_double_eq(survey.channel[0].minimum, 0.5);
    ck_assert_int_eq(survey.channel[0].bottom_run, 1);
    ck_assert_int_eq(survey.channel[0].bottom_count, 10);
    ck_assert_int_eq(survey.channel[1].top_count, 1);
    ck_assert_double_eq(survey.channel[1].maximum, 0.999);
    ck_assert_int_eq(survey.repeated_run, 0);
}
END_TEST

START_TEST(frames_repeat_only_when_both_channels_do)
{
    double values[2 * 600];
    for (size_t n = 0; n < 600; n++) {
        values[2 * n] = 0.25;
        values[2 * n + 1] = (double)(n < 400 ? n : n < 420 ? 400 : n - 19);
    }
    struct survey survey;
    survey_init(&survey);
    survey_add(&survey, values, 600);
    ck_assert_int_eq(survey.repeated_run, 19);
    ck_assert_int_eq(survey.repeated_at, 400);
    ck_assert_int_eq(survey.channel[0].top_run, 600);
}
END_TEST

START_TEST(nothing_was_seen_in_an_empty_record)
{
    struct survey survey;
    survey_init(&survey);
    survey_add(&survey, NULL, 0);
    ck_assert_int_eq(survey.frames, 0);
    ck_assert_double_eq(survey.channel[0].maximum, -INFINITY);
    ck_assert_double_eq(survey.channel[1].minimum, INFINITY);
    static const double hole[] = {NAN, 1.0, 2.0, NAN, INFINITY, 0.0};
    survey_add(&survey, hole, 3);
    ck_assert_int_eq(survey.missing, 3);
    ck_assert_int_eq(survey.frames, 3);
}
END_TEST

Suite *survey_suite(void)
{
    Suite *suite = suite_create("survey");
    TCase *tests = tcase_create("survey");
    tcase_add_test(tests, any_record_in_any_pieces_is_surveyed_as_by_looking_at_each_sample);
    tcase_add_test(tests, a_run_at_the_extreme_counts_over_the_seams_of_pieces);
    tcase_add_test(tests, frames_repeat_only_when_both_channels_do);
    tcase_add_test(tests, nothing_was_seen_in_an_empty_record);
    suite_add_tcase(suite, tests);
    return suite;
}
