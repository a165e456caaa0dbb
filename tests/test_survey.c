// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop/survey.h"

#include <math.h>
#include <stdlib.h>

#include "loop/survey_part.h"
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
            const size_t piece = seed % 7 == 3 /* more than is looked at in one go */
                                     ? FRAMES
                                     : 1 + random_get_below(&random, seed % 2 == 0 ? 700 : 9);
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

/* The frame that the next one is held against is the last one of the piece before, and none at
 * first.
 */
START_TEST(frames_repeat_over_seams_only_what_stands_before_them)
{
    static const double values[][2] = {
        {0, 0}, {1, 1}, {2, 2}, {3, 3}, {2, 2}, {2, 2}, {2, 2}, {4, 4}, {5, 5}, {5, 5}};
    static const struct {
        size_t frames;
        int64_t run, at;
    } pieces[] = {{2, 0, 0}, {2, 0, 0}, {1, 0, 0}, {1, 1, 4}, {3, 2, 4}, {1, 2, 4}};
    struct survey survey;
    survey_init(&survey);
    size_t done = 0;
    for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++) {
        survey_add(&survey, values[done], pieces[i].frames);
        done += pieces[i].frames;
        ck_assert_int_eq(survey.repeated_run, pieces[i].run);
        ck_assert_int_eq(survey.repeated_at, pieces[i].at);
    }
    ck_assert_int_eq(survey.run, 1);
    ck_assert_int_eq(survey.frames, 10);
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

/* By the definition; what stands behind the frames must not count. */
START_TEST(a_glance_sees_what_there_is_to_follow)
{
    enum { MOST = 61 };
    double values[2 * (MOST + 8)];
    size_t repeats = 0, holes = 0, trials = 0;
    for (uint64_t seed = 0; seed < 40; seed++) {
        struct random random;
        random_init(&random, 18, seed);
        for (size_t frames = 1; frames <= MOST; frames++) {
            double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
            int same[2] = {0, 0}, is_finite = 1;
            for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
                values[i] = random_get_uniform(&random);
            }
            for (size_t i = 2; i < 2 * frames; i++) {
                const int stays = random_get_uniform(&random) < 0.5 / (double)frames;
                values[i] = stays ? values[i - 2] : values[i];
                same[i % 2] += stays;
            }
            for (size_t i = 2 * frames; i < sizeof values / sizeof values[0]; i++) {
                values[i] = i < 2 * frames + 4 ? values[i - 2] : i % 4 < 2 ? 1e3 : NAN;
            }
            if (seed % 4 == 0) {
                values[random_get_below(&random, (uint32_t)(2 * frames))] =
                    seed % 8 == 0 ? NAN : INFINITY;
                is_finite = 0;
            }
            for (size_t i = 0; i < 2 * frames; i++) {
                low[i % 2] = fmin(low[i % 2], values[i]);
                high[i % 2] = fmax(high[i % 2], values[i]);
            }
            struct survey_glance glance;
            survey_glance(values, frames, &glance);
            for (int m = 0; m < 2; m++) {
                ck_assert_double_eq(glance.minimum[m], low[m]);
                ck_assert_double_eq(glance.maximum[m], high[m]);
            }
            ck_assert_int_eq(glance.is_finite, is_finite);
            if (is_finite) { /* a hole may have taken the place of what repeats */
                ck_assert_int_eq(glance.repeats, same[0] && same[1]);
                ck_assert_double_eq(glance.same[0], same[0]);
                ck_assert_double_eq(glance.same[1], same[1]);
                repeats += same[0] && same[1];
            }
            holes += !is_finite;
            trials++;
        }
    }
    ck_assert_uint_gt(repeats, trials / 20);
    ck_assert_uint_lt(repeats, trials / 2);
    ck_assert_uint_gt(holes, trials / 10);
}
END_TEST

Suite *survey_suite(void)
{
    Suite *suite = suite_create("survey");
    TCase *tests = tcase_create("survey");
    tcase_add_test(tests, any_record_in_any_pieces_is_surveyed_as_by_looking_at_each_sample);
    tcase_add_test(tests, a_glance_sees_what_there_is_to_follow);
    tcase_add_test(tests, frames_repeat_over_seams_only_what_stands_before_them);
    tcase_add_test(tests, a_run_at_the_extreme_counts_over_the_seams_of_pieces);
    tcase_add_test(tests, frames_repeat_only_when_both_channels_do);
    tcase_add_test(tests, nothing_was_seen_in_an_empty_record);
    suite_add_tcase(suite, tests);
    return suite;
}
