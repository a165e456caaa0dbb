// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/sides.h"

#include <string.h>

#include "suites.h"

#define ITEMS 8

static struct figures figure_list[ITEMS];

static struct lot_item make(
    size_t at, const char *supplier, const char *heat, const char *specimen, double coercivity)
{
    figure_list[at] = (struct figures){0};
    if (coercivity > 0) {
        figures_set(&figure_list[at], FIGURE_COERCIVITY, coercivity);
    }
    return (struct lot_item){.file = "",
        .sha256 = "",
        .supplier = supplier,
        .heat = heat,
        .specimen = specimen,
        .figures = &figure_list[at]};
}

/* Ring 1 of heat A is another one than ring 1 of heat B; its two loops are one value. */
START_TEST(takes_each_ring_once_and_tells_rings_of_one_name_apart)
{
    const struct lot_item items[] = {make(0, "Northgate Foundry", "A", "1", 18000),
        make(1, "Northgate Foundry", "B", "1", 19000), make(2, "Calder & Sons", "C", "1", 20000),
        make(3, "Northgate Foundry", "A", "1", 18200), make(4, "Calder & Sons", "C", "2", 20500),
        make(5, "Calder & Sons", "C", "3", 0)};
    struct sides sides;
    ck_assert(sides_create(items, 6, SIDES_BY_ANY, FIGURE_COERCIVITY, &sides, NULL) == STATUS_OK);
    ck_assert(!sides.is_by_heat);
    ck_assert_str_eq(sides.names[0], "Northgate Foundry");
    ck_assert_str_eq(sides.names[1], "Calder & Sons");
    ck_assert_uint_eq(sides.counts[0], 2);
    ck_assert_double_eq_tol(sides.values[0][0], 18100, 1e-9);
    ck_assert_double_eq_tol(sides.values[0][1], 19000, 1e-9);
    ck_assert_uint_eq(sides.counts[1], 2); /* ring 3 was not measured */
    ck_assert_str_eq(sides.specimens[1][1], "2");
    sides_clear(&sides);
    sides_clear(&sides);
}
END_TEST

START_TEST(takes_heats_where_there_are_not_two_suppliers)
{
    const struct lot_item items[] = {make(0, "Northgate Foundry", "A", "1", 18000),
        make(1, "Northgate Foundry", "B", "1", 19000)};
    struct sides sides;
    struct error err = {0};
    ck_assert(sides_create(items, 2, SIDES_BY_ANY, FIGURE_COERCIVITY, &sides, &err) == STATUS_OK);
    ck_assert(sides.is_by_heat);
    ck_assert_str_eq(sides.names[1], "B");
    sides_clear(&sides);
    ck_assert(
        sides_create(items, 2, SIDES_BY_SUPPLIER, FIGURE_COERCIVITY, &sides, &err) == STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "a comparison takes two sides; there are 1 suppliers and 2 heats");
}
END_TEST

/* The margin stands in the object only where one was given. */
START_TEST(writes_both_sides_and_the_margin_that_was_given)
{
    const struct lot_item items[] = {make(0, "Northgate Foundry", "A", "1", 18000),
        make(1, "Northgate Foundry", "A", "2", 18200), make(2, "Calder & Sons", "C", "1", 19000),
        make(3, "Calder & Sons", "C", "2", 19300)};
    for (int by_heat = 0; by_heat < 2; by_heat++) {
        struct sides sides;
        struct comparison comparison;
        struct text out = {0};
        struct json json;
        struct error err = {0};
        ck_assert(sides_create(items, 4, by_heat ? SIDES_BY_HEAT : SIDES_BY_SUPPLIER,
                      FIGURE_COERCIVITY, &sides, &err) == STATUS_OK);
        ck_assert(comparison_compute((struct lot_sample){sides.values[0], sides.counts[0]},
                      (struct lot_sample){sides.values[1], sides.counts[1]}, 0, by_heat ? 500 : 0,
                      0.95, &comparison, &err) == STATUS_OK);
        json_init(&json, &out, 0);
        json_begin_object(&json, NULL);
        sides_write_json(&json, &sides, &comparison, 0.95);
        json_end_object(&json);
        ck_assert_ptr_nonnull(strstr(out.bytes,
            by_heat ? "[{\"heat\": \"A\", \"specimens\": 2, \"mean\": 18100"
                    : "[{\"supplier\": \"Northgate Foundry\", \"specimens\": 2, \"mean\": 18100"));
        ck_assert_ptr_nonnull(strstr(out.bytes, "\"difference\": 1050"));
        ck_assert((strstr(out.bytes, "\"margin\": 500") != NULL) == (by_heat == 1));
        ck_assert((strstr(out.bytes, "significance_equivalence") != NULL) == (by_heat == 1));
        text_clear(&out);
        sides_clear(&sides);
    }
}
END_TEST

/* Each member holds its own number: structs filled by hand; the rings' means give 2, 5 and 2, 1. */
START_TEST(a_comparison_is_told_whole)
{
    static double first[] = {4, 6}, second[] = {1, 2, 3};
    struct sides sides = {.figure = FIGURE_COERCIVITY,
        .names = {"Northgate Foundry", "Calder & Sons"},
        .values = {first, second},
        .counts = {2, 3}};
    struct comparison comparison = {.difference = -3,
        .u = 11,
        .freedom = 12,
        .lower = -13,
        .upper = 14,
        .significance = 0.15,
        .margin = 16,
        .significance_equivalence = 0.17,
        .inner_lower = 18,
        .inner_upper = 19,
        .spread_ratio = 20,
        .significance_spread = 0.21,
        .verdict = CANNOT_TELL};
    static const char *const margins[] = {
        "", "\"margin\": 16, \"significance_equivalence\": 0.17, "};
    for (int has_margin = 0; has_margin < 2; has_margin++) {
        struct text out = {0}, expected = {0};
        struct json json;
        comparison.margin = has_margin ? 16 : 0;
        json_init(&json, &out, 0);
        json_begin_object(&json, NULL);
        sides_write_json(&json, &sides, &comparison, 0.9);
        json_end_object(&json);
        text_add_format(&expected,
            "{\"figure\": \"coercivity_A_per_m\", \"sides\": [{\"supplier\": "
            "\"Northgate Foundry\", \"specimens\": 2, \"mean\": 5, \"deviation\": "
            "1.4142135623730951}, {\"supplier\": \"Calder & Sons\", \"specimens\": 3, "
            "\"mean\": 2, \"deviation\": 1}], \"difference\": -3, \"u_difference\": 11, "
            "\"degrees_of_freedom\": 12, \"confidence\": 0.9, \"lower\": -13, \"upper\": 14, "
            "\"significance\": 0.15, %s\"spread_ratio\": 20, \"significance_spread\": 0.21, "
            "\"verdict\": \"cannot tell\"}",
            margins[has_margin]);
        ck_assert_str_eq(out.bytes, expected.bytes);
        text_clear(&out);
        text_clear(&expected);
    }
}
END_TEST

/* Three suppliers of two heats, three heats of two suppliers, three of both; and a side asked for
 * that is there although the other one would do, too. */
START_TEST(three_names_are_no_two_sides)
{
    static const struct {
        const char *suppliers[4], *heats[4];
        enum sides_by by;
        int is_by_heat; /* -1: refused */
    } cases[] = {
        {{"a", "b", "c", "a"}, {"A", "B", "A", "B"}, SIDES_BY_ANY, 1},
        {{"a", "b", "a", "b"}, {"A", "B", "C", "A"}, SIDES_BY_ANY, 0},
        {{"a", "b", "a", "b"}, {"A", "B", "A", "B"}, SIDES_BY_ANY, 0},
        {{"a", "b", "a", "b"}, {"A", "B", "A", "B"}, SIDES_BY_HEAT, 1},
        {{"a", "b", "a", "b"}, {"A", "B", "C", "A"}, SIDES_BY_HEAT, -1},
        {{"a", "b", "c", "a"}, {"A", "B", "A", "B"}, SIDES_BY_SUPPLIER, -1},
        {{"a", "b", "c", "c"}, {"A", "B", "C", "D"}, SIDES_BY_ANY, -1},
        {{"a", "a", "a", "a"}, {"A", "A", "A", "A"}, SIDES_BY_ANY, -1},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct lot_item items[4];
        struct sides sides = {0};
        struct error err = {0};
        static const char *const rings[] = {"1", "2", "3", "4"};
        for (size_t n = 0; n < 4; n++) {
            items[n] = make(n, cases[i].suppliers[n], cases[i].heats[n], rings[n], 100 * (double)n);
        }
        const enum status status =
            sides_create(items, 4, cases[i].by, FIGURE_COERCIVITY, &sides, &err);
        ck_assert_int_eq(status, cases[i].is_by_heat < 0 ? STATUS_INPUT : STATUS_OK);
        if (status == STATUS_OK) {
            ck_assert_int_eq(sides.is_by_heat, cases[i].is_by_heat);
            ck_assert_str_eq(sides.names[0], cases[i].is_by_heat ? "A" : "a");
            ck_assert_str_eq(sides.names[1], cases[i].is_by_heat ? "B" : "b");
            /* the first one has no coercivity */
            ck_assert_uint_eq(sides.counts[0] + sides.counts[1], 3);
        } else {
            ck_assert_ptr_nonnull(strstr(err.message, "a comparison takes two sides; there are "));
        }
        sides_clear(&sides);
    }
}
END_TEST

/* Three loops of a ring in the middle of others: its mean is that of the three. */
START_TEST(a_ring_is_the_mean_of_all_its_loops)
{
    const struct lot_item items[] = {make(0, "a", "A", "1", 100), make(1, "a", "A", "2", 200),
        make(2, "b", "B", "1", 400), make(3, "a", "A", "2", 230), make(4, "a", "A", "1", 103),
        make(5, "a", "A", "2", 260), make(6, "b", "B", "1", 410), make(7, "a", "A", "3", 900)};
    struct sides sides;
    ck_assert(sides_create(items, 8, SIDES_BY_ANY, FIGURE_COERCIVITY, &sides, NULL) == STATUS_OK);
    ck_assert_uint_eq(sides.counts[0], 3);
    ck_assert_uint_eq(sides.counts[1], 1);
    ck_assert_double_eq_tol(sides.values[0][0], 101.5, 1e-9);
    ck_assert_double_eq_tol(sides.values[0][1], 230, 1e-9);
    ck_assert_double_eq_tol(sides.values[0][2], 900, 1e-9);
    ck_assert_double_eq_tol(sides.values[1][0], 405, 1e-9);
    ck_assert_str_eq(sides.heats[1][0], "B");
    sides_clear(&sides);
}
END_TEST

Suite *sides_suite(void)
{
    Suite *suite = suite_create("sides");
    TCase *tests = tcase_create("sides");
    tcase_add_test(tests, takes_each_ring_once_and_tells_rings_of_one_name_apart);
    tcase_add_test(tests, a_comparison_is_told_whole);
    tcase_add_test(tests, three_names_are_no_two_sides);
    tcase_add_test(tests, a_ring_is_the_mean_of_all_its_loops);
    tcase_add_test(tests, writes_both_sides_and_the_margin_that_was_given);
    tcase_add_test(tests, takes_heats_where_there_are_not_two_suppliers);
    suite_add_tcase(suite, tests);
    return suite;
}
