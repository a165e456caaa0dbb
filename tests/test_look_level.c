// SPDX-License-Identifier: GPL-3.0-or-later
/* The level of a channel, of samples that can be counted by hand, in one piece and in any two. */
#include "loop/look_level.h"

#include <math.h>

#include "suites.h"

#define COUNT 14

/* Every second value; the steps between neighbours are 2, 2, 0, 1, 2.5, ... and the least is 0.5.
 */
static const double values[2 * COUNT] = {
    5, 9, 7, 9, 9, 9, 9, 9, 8, 9, 5.5, 9, 5, 9, 5, 9, 5, 9, NAN, 9, 5, 9, 9, 9, 9, 9, 6, 9};

START_TEST(levels_are_counted_as_by_hand)
{
    for (size_t cut = 0; cut <= COUNT; cut++) {
        struct look_level level;
        look_level_init(&level);
        look_level_add(&level, values, 2, cut);
        look_level_add(&level, values + 2 * cut, 2, COUNT - cut);
        ck_assert_int_eq(level.samples, 13);
        ck_assert_int_eq(level.missing, 1);
        ck_assert_double_eq(level.minimum, 5);
        ck_assert_double_eq(level.maximum, 9);
        ck_assert_double_eq(level.step, 0.5);
        ck_assert_int_eq(level.top_longest, 2);
        ck_assert_int_eq(level.top_count, 4);
        ck_assert_int_eq(level.bottom_longest, 3); /* a missing sample ends it */
        ck_assert_int_eq(level.bottom_count, 5);
        ck_assert_double_eq(level.last, 6);
        const double mean = 87.5 / 13, square = 628.25 / 13;
        ck_assert_double_eq_tol(look_level_get_mean(&level), mean, 1e-14);
        ck_assert_double_eq_tol(look_level_get_rms(&level, 0), sqrt(square), 1e-14);
        ck_assert_double_eq_tol(
            look_level_get_rms(&level, mean), sqrt(square - mean * mean), 1e-13);
    }
}
END_TEST

/* A new extreme begins to count anew. */
START_TEST(only_the_last_extremes_count)
{
    static const double rising[] = {1, 1, 1, 2, 3, 3};
    struct look_level level;
    look_level_init(&level);
    look_level_add(&level, rising, 1, 6);
    ck_assert_int_eq(level.top_longest, 2);
    ck_assert_int_eq(level.top_count, 2);
    ck_assert_int_eq(level.bottom_longest, 3);
    ck_assert_double_eq(level.step, 1);
}
END_TEST

START_TEST(without_samples_or_change_there_is_none)
{
    static const double same[] = {NAN, INFINITY, 4, 4, NAN, 5};
    struct look_level level;
    look_level_init(&level);
    look_level_add(&level, same, 1, 2);
    ck_assert(isnan(look_level_get_mean(&level)) && isnan(look_level_get_rms(&level, 0)));
    look_level_add(&level, same + 2, 1, 4);
    ck_assert_int_eq(level.missing, 3);
    ck_assert(isinf(level.step)); /* 4 and 5 are no neighbours */
    look_level_init(&level);
    look_level_add(&level, same + 2, 1, 2);
    ck_assert_double_eq(look_level_get_rms(&level, 4), 0);
}
END_TEST

Suite *look_level_suite(void)
{
    Suite *suite = suite_create("look_level");
    TCase *tests = tcase_create("look_level");
    tcase_add_test(tests, levels_are_counted_as_by_hand);
    tcase_add_test(tests, only_the_last_extremes_count);
    tcase_add_test(tests, without_samples_or_change_there_is_none);
    suite_add_tcase(suite, tests);
    return suite;
}
