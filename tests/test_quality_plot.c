// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/quality_plot.h"

#include "suites.h"

/* n = 4, k = 1.5, sigma known: P = Phi((z - k) sqrt n) with z = 2.326348 at 1 % and 1.281552 at
 * 10 %, so Phi(1.652696) = 95.08 % and Phi(-0.436897) = 33.11 % (tables of the normal
 * distribution). */
START_TEST(the_legend_of_a_plan_tells_its_two_shares_as_they_are_marked)
{
    static const char *const cells[] = {
        "1\u00A0%", "95.1\u00A0%", "4.9\u00A0%", "10\u00A0%", "33.1\u00A0%", "66.9\u00A0%"};
    const struct plan plan = {.count = 4, .factor = 1.5, .is_deviation_known = true};
    struct quality_chart made;
    struct error err = {0};
    ck_assert_msg(!quality_chart_create_plan(&plan, 0.01, 0.1, &made, &err), "%s", err.message);
    const struct chart_legend *legend = &made.chart.legend;
    const struct chart_panel *panel = &made.chart.panels[0];
    ck_assert_uint_eq(legend->columns, 3);
    ck_assert_uint_eq(legend->rows, 2);
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++)
        ck_assert_str_eq(legend->cells[i], cells[i]);
    ck_assert_uint_eq(panel->mark_count, 2);
    for (size_t i = 0; i < 2; i++) {
        ck_assert_double_eq_tol(panel->marks[i].x, i == 0 ? 1 : 10, 1e-12);
        ck_assert_double_eq_tol(panel->marks[i].y, i == 0 ? 0.9508 : 0.3311, 5e-5);
        ck_assert_int_eq(panel->marks[i].style.marker, legend->styles[i].marker);
        ck_assert_int_eq(panel->lines[i + 1].style.dash, legend->styles[i].dash);
    }
    ck_assert_int_ne(legend->styles[0].marker, legend->styles[1].marker);
    quality_chart_clear(&made);
}
END_TEST

Suite *quality_plot_suite(void)
{
    Suite *suite = suite_create("quality_plot");
    TCase *tests = tcase_create("quality_plot");
    tcase_add_test(tests, the_legend_of_a_plan_tells_its_two_shares_as_they_are_marked);
    suite_add_tcase(suite, tests);
    return suite;
}
