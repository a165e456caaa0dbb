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

Suite *sides_suite(void)
{
    Suite *suite = suite_create("sides");
    TCase *tests = tcase_create("sides");
    tcase_add_test(tests, takes_each_ring_once_and_tells_rings_of_one_name_apart);
    tcase_add_test(tests, writes_both_sides_and_the_margin_that_was_given);
    tcase_add_test(tests, takes_heats_where_there_are_not_two_suppliers);
    suite_add_tcase(suite, tests);
    return suite;
}
