// SPDX-License-Identifier: GPL-3.0-or-later
/* Certified values: NIST Statistical Reference Datasets, univariate summary statistics; data in
 * tests/data/statistics. */
#include "num/statistics.h"

#include <math.h>

#include "certified.h"
#include "suites.h"

static const struct {
    const char *file;
    double mean, deviation, autocorrelation;
    double digits; /* of the deviation and the autocorrelation that the doubles carry: values that
                      share their leading digits have lost as many of the scatter's when read */
} certified_list[] = {
    {"Lew", -177.435, 277.332168044316, -0.307304800605679, 14},
    {"Mavro", 2.001856, 0.000429123454003053, 0.937989183438248, 12},
    {"Michelso", 299.8524, 0.0790105478190518, 0.535199668621283, 13},
    {"NumAcc1", 10000002, 1, -0.5, 15},
    {"NumAcc2", 1.2, 0.1, -0.999, 14},
    {"NumAcc3", 1000000.2, 0.1, -0.999, 9},
    {"NumAcc4", 10000000.2, 0.1, -0.999, 8},
};

START_TEST(agrees_with_certified_means_and_deviations)
{
    struct certified data;
    certified_read(&data, certified_list[_i].file);
    const struct summary summary = summary_compute(data.value, data.count);
    certified_check(summary.mean, certified_list[_i].mean, 15, "mean");
    certified_check(
        summary.deviation, certified_list[_i].deviation, certified_list[_i].digits, "deviation");
    certified_check(summary.autocorrelation, certified_list[_i].autocorrelation,
        certified_list[_i].digits, "autocorrelation");
    certified_clear(&data);
}
END_TEST

START_TEST(has_no_figure_where_there_are_too_few_values)
{
    const double one = 3.5;
    struct summary none = summary_compute(NULL, 0);
    ck_assert(isnan(none.mean) && isnan(none.deviation));
    struct summary single = summary_compute(&one, 1);
    ck_assert_double_eq(single.mean, 3.5);
    ck_assert(isnan(single.deviation) && isnan(single.autocorrelation));
}
END_TEST

START_TEST(sums_what_plain_addition_loses)
{
    const double list[] = {1, 1e100, 1, -1e100};
    ck_assert_double_eq(compensated_sum(list, 4), 2);
}
END_TEST

Suite *statistics_suite(void)
{
    Suite *suite = suite_create("statistics");
    TCase *tests = tcase_create("statistics");
    tcase_add_loop_test(tests, agrees_with_certified_means_and_deviations, 0,
        sizeof certified_list / sizeof *certified_list);
    tcase_add_test(tests, has_no_figure_where_there_are_too_few_values);
    tcase_add_test(tests, sums_what_plain_addition_loses);
    suite_add_tcase(suite, tests);
    return suite;
}
