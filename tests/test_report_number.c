// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_number.h"

#include <math.h>
#include <string.h>

#include "suites.h"

/* U of 2 * 48 A/m is 0.096 kA/m: three decimals, for all numbers of the column. */
START_TEST(gives_the_expanded_uncertainty_two_digits)
{
    static const struct {
        enum figure figure;
        double value, u;
        const char *words, *unit;
    } list[] = {
        {FIGURE_COERCIVITY, 18535.4, 48, "18.535 ± 0.096", "kA/m"},
        {FIGURE_COERCIVITY, 18535.4, 50, "18.54 ± 0.10", "kA/m"},
        {FIGURE_COERCIVITY, 18535.4, 1200, "18.5 ± 2.4", "kA/m"},
        {FIGURE_REMANENCE, 0.9528, 0.0028, "952.8 ± 5.6", "mT"},
        {FIGURE_LAG_ANGLE, 17.94, 0.034, "17.940 ± 0.068", "°"},
        {FIGURE_AMPLITUDE_PERMEABILITY, 12345, 620, "12300 ± 1200", ""},
        {FIGURE_COERCIVITY, -0.0001, 0.4, "0.00 ± 0.80", "A/m"},
        {FIGURE_COERCIVITY, 18535.4, 0, "18.535", "kA/m"},
    };
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        char words[2 * REPORT_NUMBER_SIZE];
        const double most = fabs(list[i].value) > 1 ? fabs(list[i].value) : 1;
        const struct report_scale scale = report_scale_compute(
            list[i].figure, list[i].figure == FIGURE_REMANENCE ? 0.9528 : most, list[i].u);
        ck_assert_str_eq(
            report_write_expanded(&scale, list[i].value, list[i].u, words), list[i].words);
        ck_assert_str_eq(scale.unit, list[i].unit);
    }
}
END_TEST

START_TEST(writes_limits_as_they_were_given_and_ranges_rounded)
{
    const struct report_scale scale = report_scale_compute(FIGURE_COERCIVITY, 18000, 48);
    const struct limit both = {true, true, 17500, 20512.5}, lower = {true, false, 920, 0},
                       upper = {false, true, 0, 20500}, none = {0};
    char words[3 * REPORT_NUMBER_SIZE];
    ck_assert_str_eq(report_write_limit(&scale, &both, words), "17.5 to 20.5125 kA/m");
    ck_assert_str_eq(report_write_limit(&scale, &lower, words), "at least 0.92 kA/m");
    ck_assert_str_eq(report_write_limit(&scale, &upper, words), "at most 20.5 kA/m");
    ck_assert_str_eq(report_write_limit(&scale, &none, words), "\u2013");
    ck_assert_str_eq(report_write_range(&scale, 17578.96, INFINITY, words), "at least 17.579");
    ck_assert_str_eq(report_write_range(&scale, 17578.96, 20421.04, words), "17.579 to 20.421");
}
END_TEST

START_TEST(writes_no_number_where_there_is_none)
{
    const struct report_scale scale = report_scale_compute(FIGURE_COERCIVITY, 18000, 48);
    char words[2 * REPORT_NUMBER_SIZE];
    ck_assert_str_eq(report_write_number(&scale, NAN, words), "\u2013");
    ck_assert_str_eq(report_write_value(&scale, INFINITY, false, words), "\u2013");
    ck_assert_str_eq(report_write_expanded(&scale, NAN, 48, words), "\u2013");
    ck_assert_str_eq(report_write_share(NAN, words), "\u2013");
    ck_assert_str_eq(report_write_share(0.99995, words), "> 99.99 %");
    ck_assert_str_eq(report_write_share(0.00005, words), "< 0.01 %");
    ck_assert_str_eq(report_write_share(0.74881, words), "74.88 %");
    ck_assert_str_eq(report_write_value(&scale, 302.1, true, words), "0.3021 kA/m");
}
END_TEST

Suite *report_number_suite(void)
{
    Suite *suite = suite_create("report_number");
    TCase *tests = tcase_create("report_number");
    tcase_add_test(tests, gives_the_expanded_uncertainty_two_digits);
    tcase_add_test(tests, writes_limits_as_they_were_given_and_ranges_rounded);
    tcase_add_test(tests, writes_no_number_where_there_is_none);
    suite_add_tcase(suite, tests);
    return suite;
}
