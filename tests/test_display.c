// SPDX-License-Identifier: GPL-3.0-or-later
#include "quantity/display.h"

#include <math.h>
#include <string.h>

#include "suites.h"

struct rounding {
    double value, u; /* u 0: none */
    const char *unit;
    bool has_prefix;
    const char *shown, *shown_u, *shown_unit;
};

static void check(const struct rounding *list, size_t count, int digits)
{
    for (size_t i = 0; i < count; i++) {
        struct figure_value value = {
            .value = list[i].value, .u = list[i].u, .is_present = true, .has_u = list[i].u != 0};
        struct display display;
        display_set(&display, &value, list[i].unit, list[i].has_prefix, digits);
        ck_assert_str_eq(display.value, list[i].shown);
        ck_assert_str_eq(display.u, list[i].shown_u);
        ck_assert_str_eq(display.unit, list[i].shown_unit);
    }
}

START_TEST(rounds_to_two_digits_of_the_uncertainty)
{
    static const struct rounding list[] = {
        /* the examples of JCGM 100:2008: 7.2.2, a mass of 100.02147 g with 0.35 mg; 7.2.6, a
         * resistance of 10.05762 ohm with 27 mohm, to be rounded to 10.058 ohm */
        {0.10002147, 0.35e-6, "g", true, "100.02147", "0.00035", "mg"},
        {10.05762, 0.027, "ohm", true, "10.058", "0.027", "ohm"},
        {18912.345, 1.88, "A/m", true, "18.9123", "0.0019", "kA/m"},
        {1.20714, 0.0000213, "T", true, "1.207140", "0.000021", "T"},
        /* the second digit moves when rounding carries over */
        {18912.3, 0.0996, "A/m", true, "18.91230", "0.00010", "kA/m"},
        {5.55555, 0.00995, "T", true, "5.556", "0.010", "T"},
        /* an uncertainty as large as the value, and larger */
        {567.8, 123.4, "A/m", true, "570", "120", "A/m"},
        {0.001, 0.52, "A/m", true, "0", "520", "mA/m"},
        {0, 0.0031, "T", true, "0.0", "3.1", "mT"},
        {-0.00001, 0.0031, "T", true, "0.0", "3.1", "mT"},
        {-38.21237, 0.0131, "\u00B0", false, "-38.212", "0.013", "\u00B0"},
        {37.912, 0.04, "", false, "37.912", "0.040", ""},
        {1234.5, 250, "", false, "1230", "250", ""},
    };
    check(list, sizeof list / sizeof *list, 6);
}
END_TEST

START_TEST(joins_value_and_uncertainty)
{
    static const struct {
        double value, u;
        const char *unit, *shown;
    } list[] = {
        /* JCGM 100:2008, 7.2.2, second form */
        {0.10002147, 0.35e-6, "g", "100.02147(35) mg"},
        {18535.44, 47.6, "A/m", "18.535(48) kA/m"},
        {60000, 100, "A/m", "60.00(10) kA/m"},
        {0.9528, 0.0028, "T", "952.8(28) mT"},
        {5.6, 2.8, "T", "5.6(28) T"},
        {567.8, 123.4, "A/m", "570(120) A/m"},
        {17.9608, 0.0731, "", "17.961(73)"},
        {-38.21237, 0.0131, "\u00B0", "-38.212(13) \u00B0"},
        {50.000123456789012, 3.14e-14, "Hz", "50.0001234568(3.1e-14) Hz"},
        {1.2345678, 0, "T", "1.23457 T"},
    };
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const struct figure_value value = {
            .value = list[i].value, .u = list[i].u, .is_present = true, .has_u = list[i].u != 0};
        const bool has_prefix = *list[i].unit && strcmp(list[i].unit, "\u00B0") != 0;
        struct display display;
        char words[DISPLAY_JOINED_SIZE];
        display_set(&display, &value, list[i].unit, has_prefix, 6);
        display_join(&display, words, sizeof words);
        ck_assert_str_eq(words, list[i].shown);
    }
}
END_TEST

START_TEST(cuts_values_that_are_known_to_more_than_twelve_digits)
{
    static const struct rounding list[] = {
        {50.000123456789012, 3.14e-14, "Hz", true, "50.0001234568", "3.1e-14", "Hz"},
        {18912.345678901, 2.2e-13, "A/m", true, "18.9123456789", "2.2e-16", "kA/m"},
    };
    check(list, sizeof list / sizeof *list, 6);
}
END_TEST

START_TEST(shows_six_digits_without_uncertainty)
{
    static const struct rounding list[] = {
        {50, 0, "Hz", true, "50.0000", "", "Hz"},
        {18912.3456, 0, "A/m", true, "18.9123", "", "kA/m"},
        {0.00070710678, 0, "T", true, "707.107", "", "\u00B5T"},
        {999.9996, 0, "A/m", true, "1.00000", "", "kA/m"},
        {999999.6, 0, "J/m\u00B3", true, "1.00000", "", "MJ/m\u00B3"},
        {-12.5, 0, "\u00B0", false, "-12.5000", "", "\u00B0"},
        {4823.456789, 0, "", false, "4823.46", "", ""},
        {2e7, 0, "", false, "2.00000e7", "", ""},
        {-1.23456789e-9, 0, "", false, "-1.23457e-9", "", ""},
        {0, 0, "T", true, "0", "", "T"},
        {NAN, 0, "T", true, "none", "", ""},
    };
    check(list, sizeof list / sizeof *list, 6);
}
END_TEST

START_TEST(takes_units_and_whole_numbers_from_the_table)
{
    struct figure_value value = {.value = 15, .is_present = true};
    struct display display;
    display_set_figure(&display, FIGURE_HARMONICS, &value, 6);
    ck_assert_str_eq(display.value, "15");
    value.value = 69553.1;
    display_set_figure(&display, FIGURE_LOOP_AREA, &value, 4);
    ck_assert_str_eq(display.value, "69.55");
    ck_assert_str_eq(display.unit, "kJ/m\u00B3");
}
END_TEST

Suite *display_suite(void)
{
    Suite *suite = suite_create("display");
    TCase *tests = tcase_create("display");
    tcase_add_test(tests, rounds_to_two_digits_of_the_uncertainty);
    tcase_add_test(tests, joins_value_and_uncertainty);
    tcase_add_test(tests, cuts_values_that_are_known_to_more_than_twelve_digits);
    tcase_add_test(tests, shows_six_digits_without_uncertainty);
    tcase_add_test(tests, takes_units_and_whole_numbers_from_the_table);
    suite_add_tcase(suite, tests);
    return suite;
}
