// SPDX-License-Identifier: GPL-3.0-or-later
/* Certified values: NIST Statistical Reference Datasets, analysis of variance; data in
 * tests/data/statistics. */
#include "num/variance.h"

#include <math.h>

#include "certified.h"
#include "suites.h"

static const struct {
    const char *file;
    double between, within, ratio, explained, deviation;
    double digits; /* that the doubles carry */
} certified_list[] = {
    {"SiRstv", 5.11462616e-02, 2.16636560e-01, 1.18046237440255, 1.90999039051129e-01,
        1.04076068334656e-01, 12},
    {"AtmWtAg", 3.63834187500000e-09, 1.04951729166667e-08, 1.59467335677930e+01,
        2.57426544538321e-01, 1.51048314446410e-05, 9},
    {"SmLs01", 1.68, 1.80, 21, 4.82758620689655e-01, 0.1, 13},
    /* 7 and 13 digits shared: 0.1 is read from 1000000000000.4 in steps of 1.2e-4 */
    {"SmLs04", 1.68, 1.80, 21, 4.82758620689655e-01, 0.1, 8},
    {"SmLs07", 1.68, 1.80, 21, 4.82758620689655e-01, 0.1, 2},
    {"SmLs09", 1.6008e+02, 1.80e+02, 2.001e+03, 4.70712773465067e-01, 0.1, 2},
};

START_TEST(agrees_with_certified_analyses)
{
    struct certified data;
    struct variance_table table;
    struct error err = {0};
    certified_read(&data, certified_list[_i].file);
    ck_assert(variance_compute(data.value, data.group, data.count, 1, &table, &err) == STATUS_OK);
    const double digits = certified_list[_i].digits;
    certified_check(table.line[0].squares, certified_list[_i].between, digits, "between");
    certified_check(table.line[1].squares, certified_list[_i].within, digits, "within");
    certified_check(table.line[0].ratio, certified_list[_i].ratio, digits, "F");
    certified_check(table.explained, certified_list[_i].explained, digits, "R²");
    certified_check(
        sqrt(table.line[1].mean_square), certified_list[_i].deviation, digits, "deviation");
    certified_clear(&data);
}
END_TEST

START_TEST(parts_a_gauge_study_into_instruments_and_repeats)
{
    struct certified data;
    struct variance_table table;
    struct error err = {0};
    certified_read(&data, "SiRstv");
    ck_assert(variance_compute(data.value, data.group, data.count, 1, &table, &err) == STATUS_OK);
    /* (MSB - MSW)/5 from the certified mean squares */
    const double between = (1.27865654e-02 - 1.08318280e-02) / 5;
    certified_check(table.line[0].component, between, 10, "between");
    certified_check(sqrt(table.line[1].component), 0.104076068334656, 12, "repeatability");
    ck_assert_uint_eq(table.groups[0], 5);
    ck_assert_uint_eq(table.groups[1], 25);
    certified_clear(&data);
}
END_TEST

/* Two suppliers, heats within, rings within: by hand. Balanced: values
 * a: 1 3 | 2 6,  b: 7 9 | 12 14. Means of heats 2 4 8 13, of suppliers 3 10.5, of all 6.75. */
START_TEST(parts_nested_groups_as_by_hand)
{
    const double values[] = {1, 3, 2, 6, 7, 9, 12, 14};
    const size_t group[] = {1, 1, 1, 1, 2, 2, 2, 2, /* heats */ 1, 1, 2, 2, 1, 1, 2, 2};
    struct variance_table table;
    struct error err = {0};
    ck_assert(variance_compute(values, group, 8, 2, &table, &err) == STATUS_OK);
    ck_assert_double_eq_tol(table.line[0].squares, 8 * 3.75 * 3.75, 1e-12);
    ck_assert_double_eq_tol(table.line[1].squares, 4 * 1 + 4 * 6.25, 1e-12);
    ck_assert_double_eq_tol(table.line[2].squares, 2 + 8 + 2 + 2, 1e-12);
    ck_assert_double_eq(table.line[0].freedom, 1);
    ck_assert_double_eq(table.line[1].freedom, 2);
    ck_assert_double_eq(table.line[2].freedom, 4);
    ck_assert_double_eq_tol(table.line[2].component, 3.5, 1e-12);
    ck_assert_double_eq_tol(table.line[1].component, (14.5 - 3.5) / 2, 1e-12);
    ck_assert_double_eq_tol(table.line[0].component, (112.5 - 14.5) / 4, 1e-12);
    ck_assert_double_eq_tol(table.line[1].ratio, 14.5 / 3.5, 1e-12);
}
END_TEST

/* The expectation of the mean square between unequal groups: the coefficient is
 * (N - sum n²/N)/(groups - 1); Searle, Casella, McCulloch, section 3.6. */
START_TEST(weighs_groups_of_unequal_size)
{
    const double values[] = {1, 2, 4, 7, 7, 9};
    const size_t group[] = {1, 2, 2, 3, 3, 3};
    struct variance_table table;
    struct error err = {0};
    ck_assert(variance_compute(values, group, 6, 1, &table, &err) == STATUS_OK);
    ck_assert_double_eq_tol(table.line[0].coefficient[0], (6.0 - (1 + 4 + 9) / 6.0) / 2, 1e-12);
}
END_TEST

/* Two suppliers, of one heat with two rings and of two heats with two and one. */
START_TEST(tests_exactly_only_where_the_numbers_are_equal)
{
    const double values[] = {1, 3, 7, 9, 12};
    const size_t group[] = {1, 1, 2, 2, 2, /* heats */ 1, 1, 1, 1, 2};
    struct variance_table table;
    struct error err = {0};
    ck_assert(variance_compute(values, group, 5, 2, &table, &err) == STATUS_OK);
    ck_assert(isfinite(table.line[0].ratio) && isnan(table.line[0].significance));
    /* heats over rings, 2/3 4² over 2 with 1 and 2 degrees of freedom: 1 - sqrt(F/(2 + F)) */
    const double f = 16.0 / 3;
    ck_assert_double_eq_tol(table.line[1].ratio, f, 1e-12);
    ck_assert_double_eq_tol(table.line[1].significance, 1 - sqrt(f / (2 + f)), 1e-12);
}
END_TEST

START_TEST(has_no_ratio_where_nothing_is_repeated)
{
    const double values[] = {1, 5, 2};
    const size_t group[] = {1, 2, 3};
    struct variance_table table;
    struct error err = {0};
    ck_assert(variance_compute(values, group, 3, 1, &table, &err) == STATUS_OK);
    ck_assert_double_eq(table.line[1].freedom, 0);
    ck_assert(isnan(table.line[1].mean_square) && isnan(table.line[0].ratio));
    ck_assert(isnan(table.line[0].significance) && isnan(table.line[0].kept));
    ck_assert(
        variance_compute(values, group, 3, VARIANCE_LEVELS + 1, &table, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no analysis of variance of 3 values in 7 levels of groups");
}
END_TEST

START_TEST(keeps_no_negative_variance)
{
    const double values[] = {1, 5, 2, 4};
    const size_t group[] = {1, 1, 2, 2};
    struct variance_table table;
    struct error err = {0};
    ck_assert(variance_compute(values, group, 4, 1, &table, &err) == STATUS_OK);
    ck_assert_double_lt(table.line[0].component, 0);
    ck_assert_double_eq(table.line[0].kept, 0);
}
END_TEST

START_TEST(refuses_what_has_no_scatter_to_part)
{
    const double values[] = {1, NAN};
    const size_t group[] = {1, 2};
    struct variance_table table;
    struct error err = {0};
    ck_assert(variance_compute(values, group, 1, 1, &table, &err) == STATUS_INPUT);
    ck_assert(variance_compute(values, group, 2, 0, &table, &err) == STATUS_INPUT);
    ck_assert(variance_compute(values, group, 2, 1, &table, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "value 2 of an analysis of variance is not a number");
}
END_TEST

/* 128 values that follow one another in pairs, pairs of pairs and so on: 6 levels at most. The
 * value is the sum of the bits of its number, each with a size of its own, so that a level's
 * squares are 128 times the square of half its size. */
START_TEST(parts_values_into_as_many_levels_as_there_can_be)
{
    static const double size[VARIANCE_LEVELS + 1] = {64, 1, 32, 2, 16, 4, 8};
    double value[128];
    size_t group[VARIANCE_LEVELS * 128];
    struct variance_table table;
    struct error err = {0};
    for (size_t i = 0; i < 128; i++) {
        value[i] = 0;
        for (size_t level = 0; level <= VARIANCE_LEVELS; level++) {
            value[i] += (double)(i >> (VARIANCE_LEVELS - level) & 1) * size[level];
            if (level < VARIANCE_LEVELS) {
                group[level * 128 + i] = i >> (VARIANCE_LEVELS - level);
            }
        }
    }
    ck_assert_msg(
        !variance_compute(value, group, 128, VARIANCE_LEVELS, &table, &err), "%s", err.message);
    ck_assert_uint_eq(table.levels, VARIANCE_LEVELS);
    for (size_t level = 0; level <= VARIANCE_LEVELS; level++) {
        ck_assert_double_eq_tol(
            table.line[level].squares, 128 * 0.25 * size[level] * size[level], 1e-9);
        ck_assert_uint_eq(table.groups[level], (size_t)2 << level);
    }
    ck_assert_int_eq(
        variance_compute(value, group, 128, VARIANCE_LEVELS + 1, &table, &err), STATUS_INPUT);
}
END_TEST

Suite *variance_suite(void)
{
    Suite *suite = suite_create("variance");
    TCase *tests = tcase_create("variance");
    tcase_add_loop_test(
        tests, agrees_with_certified_analyses, 0, sizeof certified_list / sizeof *certified_list);
    tcase_add_test(tests, parts_a_gauge_study_into_instruments_and_repeats);
    tcase_add_test(tests, parts_nested_groups_as_by_hand);
    tcase_add_test(tests, weighs_groups_of_unequal_size);
    tcase_add_test(tests, tests_exactly_only_where_the_numbers_are_equal);
    tcase_add_test(tests, has_no_ratio_where_nothing_is_repeated);
    tcase_add_test(tests, keeps_no_negative_variance);
    tcase_add_test(tests, refuses_what_has_no_scatter_to_part);
    tcase_add_test(tests, parts_values_into_as_many_levels_as_there_can_be);
    suite_add_tcase(suite, tests);
    return suite;
}
