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

/* Rings of one name in two heats, heats of one name of two suppliers, in an order that mixes them:
 * groups keep the order in which they first come. */
START_TEST(groups_by_supplier_heat_and_ring)
{
    static const struct {
        const char *supplier, *heat, *ring;
    } names[] = {{"a", "1", "x"}, {"b", "1", "x"}, {"a", "2", "x"}, {"a", "1", "y"},
        {"b", "1", "x"}, {"a", "1", "x"}, {"a", "2", "z"}, {"a", "1", "y"}, {"b", "1", "y"},
        {"a", "2", "x"}};
    static const size_t order[] = {0, 5, 3, 7, 1, 4, 8, 2, 9, 6};
    static const size_t firsts[] = {0, 2, 4, 6, 7, 9}, counts[] = {2, 2, 2, 1, 2, 1};
    static const size_t heat_firsts[] = {0, 2, 4};
    struct lot_item items[10];
    const struct limits limits = make_limits();
    struct qualification made;
    for (size_t i = 0; i < 10; i++) {
        items[i] = make(i, names[i].heat, names[i].ring, 18000 + 100 * (double)i, 50, 30000);
        items[i].supplier = names[i].supplier;
    }
    ck_assert(qualification_create(items, 10, &limits, &made, NULL) == STATUS_OK);
    ck_assert_mem_eq(made.order, order, sizeof order);
    ck_assert_uint_eq(made.specimen_count, 6);
    ck_assert_uint_eq(made.heat_count, 3);
    for (size_t s = 0; s < 6; s++) {
        const struct specimen_verdict *specimen = &made.specimens[s];
        ck_assert_uint_eq(specimen->first, firsts[s]);
        ck_assert_uint_eq(specimen->count, counts[s]);
        ck_assert_uint_eq(specimen->counted, counts[s]);
        ck_assert_str_eq(specimen->supplier, names[order[firsts[s]]].supplier);
        ck_assert_str_eq(specimen->heat, names[order[firsts[s]]].heat);
        ck_assert_str_eq(specimen->specimen, names[order[firsts[s]]].ring);
        double mean = 0;
        for (size_t i = 0; i < counts[s]; i++) {
            mean += (18000 + 100 * (double)order[firsts[s] + i]) / (double)counts[s];
        }
        ck_assert_double_eq_tol(specimen->checks[0].decision.value, mean, 1e-9);
    }
    for (size_t h = 0; h < 3; h++) {
        ck_assert_uint_eq(made.heats[h].first, heat_firsts[h]);
        ck_assert_uint_eq(made.heats[h].count, 2);
        ck_assert_str_eq(made.heats[h].supplier, h == 1 ? "b" : "a");
        ck_assert_str_eq(made.heats[h].heat, h == 2 ? "2" : "1");
    }
    qualification_clear(&made);
}
END_TEST

/* u over loops is a root mean square; one without u counts as 0; one without the figure does not
 * count at all. */
START_TEST(a_rings_u_is_that_of_its_loops)
{
    struct lot_item items[] = {make(0, "H", "1", 19000, 90, 30000),
        make(1, "H", "1", 19060, 120, 30000), make(2, "H", "1", 19000, 0, 30000),
        make(3, "H", "1", 0, 0, 30000), make(4, "H", "1", 5, 7, 100)};
    const struct limits limits = make_limits();
    struct qualification made;
    figure_list[2].list[FIGURE_COERCIVITY].has_u = false;
    figure_list[2].list[FIGURE_COERCIVITY].u = 1e6;
    figure_list[3].list[FIGURE_COERCIVITY].is_present = false;
    ck_assert(qualification_create(items, 5, &limits, &made, NULL) == STATUS_OK);
    const struct check *check = &made.specimens[0].checks[0];
    ck_assert_uint_eq(made.specimens[0].count, 5);
    ck_assert_uint_eq(made.specimens[0].counted, 4);
    ck_assert_uint_eq(check->loops, 3);
    ck_assert_double_eq_tol(check->decision.value, 19020, 1e-9);
    ck_assert_double_eq_tol(check->decision.u, sqrt((90.0 * 90 + 120 * 120) / 3), 1e-9);
    ck_assert_uint_eq(made.heats[0].figures[0].lot.values, 3);
    ck_assert_double_eq_tol(made.heats[0].figures[0].lot.u, check->decision.u, 1e-9);
    qualification_clear(&made);
}
END_TEST

/* Two figures, each heat with its own: every ring's numbers go into its heat and figure, and
 * nowhere else. */
START_TEST(each_heat_and_figure_has_its_own_lot)
{
    struct lot_item items[8];
    static const char *const rings[] = {"1", "2", "3", "4"};
    struct limits limits = make_limits();
    struct qualification made;
    limits.figures[FIGURE_REMANENCE] = (struct limit){true, false, 0.9, INFINITY};
    limits.has_lot = true;
    limits.share = 0.9;
    limits.confidence = 0.99;
    for (size_t i = 0; i < 8; i++) {
        const size_t heat = i % 2, ring = i / 2;
        items[i] = make(i, heat ? "B" : "A", rings[ring],
            18000 + 1000 * (double)heat + 10 * (double)ring, 5, 30000);
        if (heat == 1) {
            figures_set(&figure_list[i], FIGURE_REMANENCE, 1 + 0.01 * (double)ring);
        }
    }
    ck_assert(qualification_create(items, 8, &limits, &made, NULL) == STATUS_OK);
    ck_assert_uint_eq(made.figure_count, 2);
    for (size_t h = 0; h < 2; h++) {
        const struct heat_verdict *heat = &made.heats[h];
        for (size_t f = 0; f < 2; f++) {
            const struct heat_figure *figure = &heat->figures[f];
            const bool is_coercivity = figure->figure == FIGURE_COERCIVITY;
            ck_assert_int_eq(figure->figure, made.figures[f]);
            ck_assert_int_eq(figure->has_lot, h == 1 || is_coercivity);
            ck_assert_int_eq(figure->has_capability, figure->has_lot);
            if (figure->has_lot) {
                const double mean = is_coercivity ? 18015 + 1000 * (double)h : 1.015;
                const double deviation = (is_coercivity ? 10 : 0.01) * sqrt(5.0 / 3);
                ck_assert_uint_eq(figure->lot.specimens, 4);
                ck_assert_double_eq_tol(figure->lot.summary.mean, mean, 1e-9 * mean);
                ck_assert_double_eq_tol(figure->lot.summary.deviation, deviation, 1e-9 * mean);
                ck_assert_double_eq_tol(figure->lot.u, is_coercivity ? 5 : 0, 1e-9);
                /* the confidence of the lot is that of the capability's interval */
                struct capability capability;
                ck_assert(
                    capability_compute(4, figure->lot.summary.mean, figure->lot.summary.deviation,
                        &limits.figures[figure->figure], 0.99, &capability, NULL) == STATUS_OK);
                ck_assert_double_eq(figure->capability.cpk_least, capability.cpk_least);
            }
        }
        /* the remanence of heat A was not measured: nothing is decided on its rings */
        ck_assert(heat->specimens == (h == 0 ? VERDICT_UNDECIDED : VERDICT_ACCEPTED));
        ck_assert(heat->verdict == verdict_combine(heat->specimens, heat->lot));
    }
    ck_assert(made.heats[0].lot == VERDICT_UNDECIDED);
    ck_assert(made.heats[1].lot == VERDICT_ACCEPTED);
    qualification_clear(&made);

    /* without a lot's share the interval is that of 95 %, and the rings' verdict is the heat's */
    limits.has_lot = false;
    ck_assert(qualification_create(items, 8, &limits, &made, NULL) == STATUS_OK);
    for (size_t h = 0; h < 2; h++) {
        ck_assert(made.heats[h].lot == made.heats[h].specimens);
        ck_assert(made.heats[h].verdict == made.heats[h].specimens);
    }
    const struct heat_figure *last = &made.heats[1].figures[1];
    struct capability capability;
    ck_assert(capability_compute(4, last->lot.summary.mean, last->lot.summary.deviation,
                  &limits.figures[last->figure], 0.95, &capability, NULL) == STATUS_OK);
    ck_assert_double_eq(last->capability.cpk_least, capability.cpk_least);
    qualification_clear(&made);
}
END_TEST

/* A condition on what was not measured is not met; its borders are. */
START_TEST(a_condition_is_met_up_to_its_border)
{
    struct limits limits = make_limits();
    struct figures figures = {0};
    limits.conditions[FIGURE_FREQUENCY] = (struct limit){true, true, 10, 20};
    figures_set(&figures, FIGURE_FIELD_PEAK, 25000);
    ck_assert(qualification_find_unmet(&limits, &figures) == FIGURE_FREQUENCY);
    static const double list[] = {9.99, 10, 20, 20.01};
    for (size_t i = 0; i < 4; i++) {
        figures_set(&figures, FIGURE_FREQUENCY, list[i]);
        ck_assert(qualification_find_unmet(&limits, &figures) ==
                  (i == 1 || i == 2 ? FIGURE_COUNT : FIGURE_FREQUENCY));
    }
    figures_set(&figures, FIGURE_FREQUENCY, 15);
    figures_set(&figures, FIGURE_FIELD_PEAK, 24999);
    ck_assert(qualification_find_unmet(&limits, &figures) == FIGURE_FIELD_PEAK);
}
END_TEST

/* Probabilities p and q of two figures: between p + q - 1 and the lesser of them. */
START_TEST(bounds_lie_between_the_sum_and_the_least)
{
    struct lot_item items[] = {make(0, "H1", "R-1", 17500 + 128.1551565544600, 100, 30000)};
    struct limits limits = make_limits();
    struct qualification made;
    limits.figures[FIGURE_REMANENCE] = (struct limit){true, false, 0.9, INFINITY};
    figures_set(&figure_list[0], FIGURE_REMANENCE, 0.9 + 0.003 * 0.8416212335729143);
    figures_set_u(&figure_list[0], FIGURE_REMANENCE, 0.003);
    ck_assert(qualification_create(items, 1, &limits, &made, NULL) == STATUS_OK);
    /* normal quantiles of 0.9 and 0.8 */
    ck_assert_double_eq_tol(made.specimens[0].all_least, 0.7, 1e-9);
    ck_assert_double_eq_tol(made.specimens[0].all_most, 0.8, 1e-9);
    qualification_clear(&made);
}
END_TEST

Suite *qualification_suite(void)
{
    Suite *suite = suite_create("qualification");
    TCase *tests = tcase_create("qualification");
    tcase_add_test(tests, groups_by_supplier_heat_and_ring);
    tcase_add_test(tests, a_rings_u_is_that_of_its_loops);
    tcase_add_test(tests, each_heat_and_figure_has_its_own_lot);
    tcase_add_test(tests, a_condition_is_met_up_to_its_border);
    tcase_add_test(tests, bounds_lie_between_the_sum_and_the_least);
    tcase_add_test(tests, bounds_the_probability_that_all_figures_conform);
    tcase_add_test(tests, decides_specimen_by_specimen_and_heat_by_heat);
    tcase_add_test(tests, leaves_out_loops_that_do_not_meet_the_conditions);
    tcase_add_test(tests, rejects_a_lot_whose_rings_all_pass);
    tcase_add_test(tests, writes_what_others_read);
    tcase_add_test(tests, refuses_nothing_at_all);
    suite_add_tcase(suite, tests);
    return suite;
}
