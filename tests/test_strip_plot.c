// SPDX-License-Identifier: GPL-3.0-or-later
/* What is drawn, as data: the looks are for eyes, on the finished reports. */
#include "paper/strip_plot.h"

#include <math.h>

#include "suites.h"

START_TEST(finds_quartiles_as_definition_seven_does)
{
    /* R. J. Hyndman, Y. Fan (1996): quantile(c(1, 3, 4, 8, 10, 13)) of definition 7 */
    static const double list[] = {1, 3, 4, 8, 10, 13};
    ck_assert_double_eq_tol(strip_compute_quantile(list, 6, 0.25), 3.25, 1e-12);
    ck_assert_double_eq_tol(strip_compute_quantile(list, 6, 0.5), 6, 1e-12);
    ck_assert_double_eq_tol(strip_compute_quantile(list, 6, 0.75), 9.5, 1e-12);
    ck_assert_double_eq_tol(strip_compute_quantile(list, 6, 1), 13, 1e-12);
    ck_assert_double_eq_tol(strip_compute_quantile(list, 1, 0.25), 1, 1e-12);
}
END_TEST

static const double wide[] = {18900, 19500, 18000, 20100, 18400, 19000};
static const double close[] = {19000, 19001, 19002};
static const struct strip_group groups[] = {
    {"C7", wide, 6, 16000, INFINITY}, {"a < b", close, 3, NAN, NAN}, {"none", NULL, 0, NAN, NAN}};
static const struct limit limit = {true, true, 17500, 20500};

START_TEST(draws_each_value_in_its_group_and_the_limits_across)
{
    const struct strip_panel panel = {FIGURE_COERCIVITY, groups, 3, &limit};
    struct quality_chart made;
    ck_assert(strip_chart_create(&panel, 1, &made, NULL) == STATUS_OK);
    const struct chart_panel *drawn = &made.chart.panels[0];
    ck_assert_uint_eq(drawn->mark_count, 9);
    ck_assert_uint_eq(drawn->x.name_count, 3);
    ck_assert_str_eq(drawn->x.names[1], "a &lt; b");
    ck_assert_double_eq_tol(drawn->lines[0].y[0], 17.5, 1e-12);
    ck_assert_double_eq_tol(drawn->lines[1].y[1], 20.5, 1e-12);
    for (size_t i = 0; i < 9; i++) {
        const double group = i < 6 ? 1 : 2;
        ck_assert(fabs(drawn->marks[i].x - group) < 0.35);
        ck_assert(drawn->marks[i].y > drawn->y.least && drawn->marks[i].y < drawn->y.most);
    }
    /* those that lie on each other step aside */
    ck_assert(drawn->marks[6].x != drawn->marks[7].x && drawn->marks[7].x != drawn->marks[8].x);
    /* the tolerance interval reaches down to 16 kA/m */
    ck_assert(drawn->y.least < 16);
    quality_chart_clear(&made);
}
END_TEST

START_TEST(needs_no_limits_and_no_values)
{
    const struct strip_panel panels[] = {
        {FIGURE_REMANENCE, groups + 2, 1, NULL}, {FIGURE_COERCIVITY, groups + 1, 1, NULL}};
    struct quality_chart made;
    ck_assert(strip_chart_create(panels, 2, &made, NULL) == STATUS_OK);
    ck_assert_uint_eq(made.chart.panel_count, 2);
    ck_assert(isfinite(made.chart.panels[0].y.least) && isfinite(made.chart.panels[0].y.most));
    ck_assert(made.chart.panels[1].left > 0.4);
    quality_chart_clear(&made);
    quality_chart_clear(&made);
}
END_TEST

Suite *strip_plot_suite(void)
{
    Suite *suite = suite_create("strip_plot");
    TCase *tests = tcase_create("strip_plot");
    tcase_add_test(tests, finds_quartiles_as_definition_seven_does);
    tcase_add_test(tests, draws_each_value_in_its_group_and_the_limits_across);
    tcase_add_test(tests, needs_no_limits_and_no_values);
    suite_add_tcase(suite, tests);
    return suite;
}
