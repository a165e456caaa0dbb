// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/qualification.h"

#include <math.h>
#include <string.h>

#include "suites.h"

#define ITEMS 12

static struct figures figure_list[ITEMS];

/* A loop of `specimen` in heat `heat` of Northgate Foundry. */
static struct lot_item make(size_t at, const char *heat, const char *specimen, double coercivity,
    double u, double field_peak)
{
    figure_list[at] = (struct figures){0};
    figures_set(&figure_list[at], FIGURE_COERCIVITY, coercivity);
    figures_set_u(&figure_list[at], FIGURE_COERCIVITY, u);
    figures_set(&figure_list[at], FIGURE_FIELD_PEAK, field_peak);
    return (struct lot_item){.file = "ring.flac",
        .sha256 = "",
        .supplier = "Northgate Foundry",
        .heat = heat,
        .specimen = specimen,
        .figures = &figure_list[at]};
}

static struct limits make_limits(void)
{
    struct limits limits = {0};
    limits.figures[FIGURE_COERCIVITY] = (struct limit){true, true, 17500, 20500};
    limits.conditions[FIGURE_FIELD_PEAK] = (struct limit){true, false, 25000, INFINITY};
    return limits;
}

START_TEST(decides_specimen_by_specimen_and_heat_by_heat)
{
    const struct lot_item items[] = {make(0, "H1", "R-1", 19000, 100, 30000),
        make(1, "H2", "R-8", 21000, 100, 30000), make(2, "H1", "R-2", 17600, 100, 30000),
        make(3, "H1", "R-1", 19200, 100, 30000), make(4, "H2", "R-9", 18000, 100, 30000)};
    const struct limits limits = make_limits();
    struct qualification made;
    struct error err = {0};
    ck_assert(qualification_create(items, 5, &limits, &made, &err) == STATUS_OK);
    ck_assert_uint_eq(made.heat_count, 2);
    ck_assert_uint_eq(made.specimen_count, 4);
    ck_assert_str_eq(made.specimens[0].specimen, "R-1");
    ck_assert_uint_eq(made.specimens[0].count, 2);
    ck_assert_double_eq_tol(made.specimens[0].checks[0].decision.value, 19100, 1e-9);
    ck_assert_double_eq_tol(made.specimens[0].checks[0].decision.u, 100, 1e-9);
    ck_assert(made.specimens[0].verdict == VERDICT_ACCEPTED);
    ck_assert_str_eq(made.specimens[1].specimen, "R-2");
    ck_assert(made.specimens[1].verdict == VERDICT_UNDECIDED);
    ck_assert(made.heats[0].verdict == VERDICT_UNDECIDED);
    ck_assert_str_eq(made.heats[1].heat, "H2");
    ck_assert(made.specimens[2].verdict == VERDICT_REJECTED);
    ck_assert(made.heats[1].verdict == VERDICT_REJECTED && made.verdict == VERDICT_REJECTED);
    qualification_clear(&made);
    qualification_clear(&made);
}
END_TEST

START_TEST(leaves_out_loops_that_do_not_meet_the_conditions)
{
    const struct lot_item items[] = {make(0, "H1", "R-1", 19000, 100, 20000),
        make(1, "H1", "R-2", 19000, 100, 20000), make(2, "H1", "R-2", 18500, 100, 26000)};
    const struct limits limits = make_limits();
    struct qualification made;
    struct error err = {0};
    ck_assert(qualification_create(items, 3, &limits, &made, &err) == STATUS_OK);
    ck_assert(!made.counts[0] && !made.counts[1] && made.counts[2]);
    ck_assert_uint_eq(made.specimens[0].counted, 0);
    ck_assert(made.specimens[0].verdict == VERDICT_UNDECIDED);
    ck_assert_uint_eq(made.specimens[0].checks[0].loops, 0);
    ck_assert_double_eq_tol(made.specimens[1].checks[0].decision.value, 18500, 1e-9);
    ck_assert(qualification_find_unmet(&limits, items[0].figures) == FIGURE_FIELD_PEAK);
    qualification_clear(&made);
}
END_TEST

/* Each ring passes, the lot does not: its tolerance limits leave the limits. */
START_TEST(rejects_a_lot_whose_rings_all_pass)
{
    struct lot_item items[6];
    static const double list[] = {18000, 20000, 18100, 19900, 18000, 20000};
    static const char *const names[] = {"1", "2", "3", "4", "5", "6"};
    struct limits limits = make_limits();
    struct qualification made;
    struct error err = {0};
    for (size_t i = 0; i < 6; i++) {
        items[i] = make(i, "C7", names[i], list[i], 50, 30000);
    }
    limits.has_lot = true;
    limits.share = limits.confidence = 0.95;
    ck_assert(qualification_create(items, 6, &limits, &made, &err) == STATUS_OK);
    ck_assert(made.heats[0].specimens == VERDICT_ACCEPTED);
    ck_assert(made.heats[0].lot == VERDICT_REJECTED);
    ck_assert(made.verdict == VERDICT_REJECTED);
    ck_assert(made.heats[0].figures[0].has_capability);
    qualification_clear(&made);
}
END_TEST

START_TEST(writes_what_others_read)
{
    const struct lot_item items[] = {make(0, "H1", "R-1", 19000, 100, 30000)};
    const struct limits limits = make_limits();
    struct qualification made;
    struct text out = {0};
    struct json json;
    ck_assert(qualification_create(items, 1, &limits, &made, NULL) == STATUS_OK);
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    qualification_write_json(&json, &made);
    json_end_object(&json);
    const char *const parts[] = {"{\"verdict\": \"accepted\"", "\"rule\": \"guarded\"",
        "\"heat\": \"H1\", \"specimen\": \"R-1\", \"figure\"",
        "\"figure\": \"coercivity_A_per_m\", \"loops\": 1, \"value\": 19000, \"u\": 100",
        "\"lower\": 17500, \"upper\": 20500, \"accept_lower\": 17664.485362695148",
        "\"lot\": {\"supplier\": \"Northgate Foundry\", \"heat\": \"H1\", \"specimens\": 1"};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        ck_assert_msg(strstr(out.bytes, parts[i]) != NULL, "no %s in %s", parts[i], out.bytes);
    }
    text_clear(&out);
    qualification_clear(&made);
}
END_TEST

START_TEST(refuses_nothing_at_all)
{
    const struct limits limits = make_limits();
    struct qualification made;
    struct error err = {0};
    ck_assert(qualification_create(NULL, 0, &limits, &made, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "nothing to qualify");
}
END_TEST

/* Two figures at their limits: one half each; and one that is not measured. */
START_TEST(bounds_the_probability_that_all_figures_conform)
{
    struct lot_item items[] = {make(0, "H1", "R-1", 17500, 100, 30000),
        make(1, "H1", "R-2", 19000, 100, 30000), make(2, "H1", "R-3", 17500, 100, 30000)};
    struct limits limits = make_limits();
    struct qualification made;
    struct error err = {0};
    limits.figures[FIGURE_REMANENCE] = (struct limit){true, false, 0.9, INFINITY};
    for (size_t i = 0; i < 2; i++) {
        figures_set(&figure_list[i], FIGURE_REMANENCE, 0.9);
        figures_set_u(&figure_list[i], FIGURE_REMANENCE, 0.003);
    }
    ck_assert(qualification_create(items, 3, &limits, &made, &err) == STATUS_OK);
    ck_assert_double_eq_tol(made.specimens[0].all_least, 0, 1e-12);
    ck_assert_double_eq_tol(made.specimens[0].all_most, 0.5, 1e-12);
    ck_assert_double_eq_tol(made.specimens[1].all_least, 0.5, 1e-12);
    ck_assert_double_eq_tol(made.specimens[1].all_most, 0.5, 1e-12);
    ck_assert(isnan(made.specimens[2].all_least) && isnan(made.specimens[2].all_most));
    qualification_clear(&made);
}
END_TEST

Suite *qualification_suite(void)
{
    Suite *suite = suite_create("qualification");
    TCase *tests = tcase_create("qualification");
    tcase_add_test(tests, bounds_the_probability_that_all_figures_conform);
    tcase_add_test(tests, decides_specimen_by_specimen_and_heat_by_heat);
    tcase_add_test(tests, leaves_out_loops_that_do_not_meet_the_conditions);
    tcase_add_test(tests, rejects_a_lot_whose_rings_all_pass);
    tcase_add_test(tests, writes_what_others_read);
    tcase_add_test(tests, refuses_nothing_at_all);
    suite_add_tcase(suite, tests);
    return suite;
}
