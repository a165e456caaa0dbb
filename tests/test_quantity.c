// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <string.h>

#include "quantity/quantity.h"
#include "suites.h"

#define NO_WIDTH (-1.0)

/* SI values are the doubles nearest to the decimal number, as if it had been written in SI. */
static const struct {
    const char *words;
    enum dimension dimension;
    double value;
    double half_width;
    enum distribution distribution;
} good[] = {
    {"25.00 mm \xC2\xB1 0.02 mm", DIMENSION_LENGTH, 0.025, 0.02e-3, DISTRIBUTION_NORMAL},
    {"25.03 mm", DIMENSION_LENGTH, 0.02503, NO_WIDTH, DISTRIBUTION_NORMAL},
    {"25.03mm\xC2\xB1"
     "0.02",
        DIMENSION_LENGTH, 0.02503, 0.02e-3, DISTRIBUTION_NORMAL},
    {"  25.00\xC2\xA0mm\t+/-\t20 um  ", DIMENSION_LENGTH, 0.025, 20e-6, DISTRIBUTION_NORMAL},
    {"2.5e1 mm \xC2\xB1 2e-2", DIMENSION_LENGTH, 0.025, 0.02e-3, DISTRIBUTION_NORMAL},
    {"+25 mm \xC2\xB1 0", DIMENSION_LENGTH, 0.025, 0, DISTRIBUTION_NORMAL},
    {"-25 mm \xC2\xB1 1 %", DIMENSION_LENGTH, -0.025, 0.00025, DISTRIBUTION_NORMAL},
    {"60 mm2", DIMENSION_AREA, 60e-6, NO_WIDTH, DISTRIBUTION_NORMAL},
    {"1 in \xC2\xB1 0.001", DIMENSION_LENGTH, 0.0254, 0.0000254, DISTRIBUTION_NORMAL},
    {"0.1 ohm +/- 1 %", DIMENSION_RESISTANCE, 0.1, 0.001, DISTRIBUTION_NORMAL},
    {"10 A/V \xC2\xB1 0.5 % rect", DIMENSION_TRANSFER, 10, 0.05, DISTRIBUTION_RECTANGULAR},
    {"1 V \xC2\xB1 100 ppm rect", DIMENSION_VOLTAGE, 1, 1e-4, DISTRIBUTION_RECTANGULAR},
    {"1 V \xC2\xB1 0.25rect", DIMENSION_VOLTAGE, 1, 0.25, DISTRIBUTION_RECTANGULAR},
    {"2.1 us \xC2\xB1 0.3 us", DIMENSION_TIME, 2.1e-6, 0.3e-6, DISTRIBUTION_NORMAL},
    {"-2.1 us \xC2\xB1 300 ns", DIMENSION_TIME, -2.1e-6, 300e-9, DISTRIBUTION_NORMAL},
    {"23 degC \xC2\xB1 2 degC", DIMENSION_TEMPERATURE, 296.15, 2, DISTRIBUTION_NORMAL},
    {"23 \xC2\xB0"
     "C \xC2\xB1 2 K",
        DIMENSION_TEMPERATURE, 296.15, 2, DISTRIBUTION_NORMAL},
    {"23 degC \xC2\xB1 2", DIMENSION_TEMPERATURE, 296.15, 2, DISTRIBUTION_NORMAL},
    {"296.15 K \xC2\xB1 2 degC", DIMENSION_TEMPERATURE, 296.15, 2, DISTRIBUTION_NORMAL},
    {"11.00 \xC2\xB1 0.02", DIMENSION_NUMBER, 11, 0.02, DISTRIBUTION_NORMAL},
    {"11.00 \xC2\xB1 2 %", DIMENSION_NUMBER, 11, 0.22, DISTRIBUTION_NORMAL},
    {"96 %", DIMENSION_NUMBER, 0.96, NO_WIDTH, DISTRIBUTION_NORMAL},
    {"96 % \xC2\xB1 1", DIMENSION_NUMBER, 0.96, 0.01, DISTRIBUTION_NORMAL},
    {"200", DIMENSION_NUMBER, 200, NO_WIDTH, DISTRIBUTION_NORMAL},
    {"10 mWb/V \xC2\xB1 0.5 %", DIMENSION_FLUX_PER_VOLT, 0.01, 5e-5, DISTRIBUTION_NORMAL},
    {"7.9 g/cm3", DIMENSION_DENSITY, 7900, NO_WIDTH, DISTRIBUTION_NORMAL},
    {"0.27 \xC2\xB5\xCE\xA9\xC2\xB7m", DIMENSION_RESISTIVITY, 0.27e-6, NO_WIDTH,
        DISTRIBUTION_NORMAL},
    {"250 Oe", DIMENSION_FIELD_STRENGTH, 250 * 79.57747154594767, NO_WIDTH, DISTRIBUTION_NORMAL},
    {"12 kG", DIMENSION_FLUX_DENSITY, 1.2, NO_WIDTH, DISTRIBUTION_NORMAL},
};

START_TEST(reads_value_unit_and_half_width)
{
    struct quantity quantity = {0};
    struct error err = {0};
    enum status status = quantity_read(good[_i].words, good[_i].dimension, &quantity, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert(quantity.is_present);
    ck_assert_msg(quantity.value == good[_i].value, "'%s': %.17g", good[_i].words, quantity.value);
    ck_assert_int_eq(quantity.has_uncertainty, good[_i].half_width != NO_WIDTH);
    double wanted = quantity.has_uncertainty ? good[_i].half_width : 0;
    /* a relative half-width is a product: one rounding more */
    ck_assert_msg(fabs(quantity.half_width - wanted) <= 2.3e-16 * wanted, "'%s': %.17g",
        good[_i].words, quantity.half_width);
    ck_assert_int_eq(quantity.distribution, good[_i].distribution);
}
END_TEST

static const char length_hint[] = "write it like '40 mm'";
static const char uncertainty_hint[] =
    "behind the \xC2\xB1 stands an expanded uncertainty (k = 2), or a limit that ends in 'rect'";

static const struct {
    const char *words;
    enum dimension dimension;
    const char *message;
    const char *hint;
} bad[] = {
    {"", DIMENSION_LENGTH, "'' lacks a number, expected a length", length_hint},
    {"25.00", DIMENSION_LENGTH, "'25.00' has no unit, expected a length", length_hint},
    {"0", DIMENSION_AREA, "'0' has no unit, expected an area", "write it like '60 mm2'"},
    {"25.00 \xC2\xB1 0.02 mm", DIMENSION_LENGTH,
        "'25.00 \xC2\xB1 0.02 mm' has no unit, expected a length", length_hint},
    {"abc", DIMENSION_LENGTH, "'abc' has something else where a number is due, expected a length",
        length_hint},
    {"nan mm", DIMENSION_LENGTH,
        "'nan mm' has something else where a number is due, expected a length", length_hint},
    {"25,00 mm", DIMENSION_LENGTH, "'25,00 mm' has a comma in its number",
        "write a decimal point, and no thousands separator: '25.00 mm'"},
    {"25.00 mm \xC2\xB1 0,02", DIMENSION_LENGTH,
        "'25.00 mm \xC2\xB1 0,02' has a comma in its number",
        "write a decimal point, and no thousands separator: '0.02'"},
    {"1,234 mm", DIMENSION_LENGTH, "'1,234 mm' has a comma in its number",
        "write a decimal point, and no thousands separator"},
    {"1,234.5 mm", DIMENSION_LENGTH, "'1,234.5 mm' has a comma in its number",
        "write a decimal point, and no thousands separator"},
    {"1 000 mm", DIMENSION_LENGTH,
        "'1 000 mm': unit '000 mm' has a number in it, expected a length",
        "the number stands before the unit, once: '2.5 mm'"},
    {"5 mA", DIMENSION_VOLTAGE, "'5 mA' is a current, expected a voltage",
        "write it like '1.55 V'"},
    {"5 S", DIMENSION_TIME, "'5 S' is a current per voltage, expected a time", "did you mean 's'?"},
    {"5 m", DIMENSION_NUMBER, "'5 m' is a length, expected a plain number", "write it like '1.5'"},
    {"5 m4", DIMENSION_LENGTH, "'5 m4' is no quantity known here, expected a length", length_hint},
    {"10 ms", DIMENSION_FLUX_PER_VOLT, "'10 ms' is a time, expected a flux per voltage",
        "write it like '10 mWb/V'"},
    {"10 mWb/V", DIMENSION_TIME, "'10 mWb/V' is a flux per voltage, expected a time",
        "write it like '2.1 us'"},
    {"10 Khz", DIMENSION_FREQUENCY, "'10 Khz': unit 'Khz' is unknown, expected a frequency",
        "did you mean 'kHz'?"},
    {"25 mn", DIMENSION_LENGTH, "'25 mn': unit 'mn' is unknown, expected a length",
        "did you mean 'mm'?"},
    {"25 furlong", DIMENSION_LENGTH, "'25 furlong': unit 'furlong' is unknown, expected a length",
        length_hint},
    {"23 C", DIMENSION_TEMPERATURE, "'23 C': unit 'C' is unknown, expected a temperature",
        "write a temperature in 'degC' or 'K'"},
    {"23 degC \xC2\xB1 1 %", DIMENSION_TEMPERATURE,
        "'23 degC \xC2\xB1 1 %' has a share of a temperature behind the \xC2\xB1",
        "write it like '23 degC \xC2\xB1 2 degC'"},
    {"96 % \xC2\xB1 1 %", DIMENSION_NUMBER,
        "'96 % \xC2\xB1 1 %' can be read in two ways, points or a share of the value",
        "write both as plain numbers: '0.96 \xC2\xB1 0.01'"},
    {"200 turns", DIMENSION_NUMBER, "'200 turns': unit 'turns' is unknown, expected a plain number",
        "a number of turns is written without a unit"},
    {"25 mm \xC2\xB1", DIMENSION_LENGTH, "'25 mm \xC2\xB1' lacks a number, expected a length",
        length_hint},
    {"25 mm \xC2\xB1 rect", DIMENSION_LENGTH,
        "'25 mm \xC2\xB1 rect' lacks a number, expected a length", length_hint},
    {"25 mm rect", DIMENSION_LENGTH, "'25 mm rect': unit 'rect' is unknown, expected a length",
        length_hint},
    {"25 mm \xC2\xB1 -0.02", DIMENSION_LENGTH, "'25 mm \xC2\xB1 -0.02' has a negative half-width",
        "a half-width is positive or 0"},
    {"25 mm \xC2\xB1 0.02 kg", DIMENSION_LENGTH,
        "'25 mm \xC2\xB1 0.02 kg' is a mass behind the \xC2\xB1, expected a length", length_hint},
    {"25 mm \xC2\xB1 1 \xC2\xB1 1", DIMENSION_LENGTH,
        "'25 mm \xC2\xB1 1 \xC2\xB1 1' has more than one \xC2\xB1", uncertainty_hint},
    {"25 mm \xC2\xB1 1 (k=2)", DIMENSION_LENGTH,
        "'25 mm \xC2\xB1 1 (k=2)': unit 'k' is unknown, expected a length", uncertainty_hint},
    {"1e400 mm", DIMENSION_LENGTH, "'1e400 mm' is beyond the largest number",
        "check the number and its unit"},
    {"25 mm\n", DIMENSION_LENGTH, "the value has a control character in it, expected a length",
        "write it on one line"},
};

START_TEST(refuses_bad_value_and_says_what_was_expected)
{
    const struct quantity untouched = {.value = 7, .half_width = 3};
    struct quantity quantity = untouched;
    struct error err = {0};
    enum status status = quantity_read(bad[_i].words, bad[_i].dimension, &quantity, &err);
    ck_assert_msg(status == STATUS_INPUT, "'%s' was read", bad[_i].words);
    ck_assert_str_eq(err.message, bad[_i].message);
    ck_assert_str_eq(err.hint, bad[_i].hint);
    ck_assert_double_eq(quantity.value, untouched.value);
    ck_assert_double_eq(quantity.half_width, untouched.half_width);
    ck_assert(!quantity.is_present);
    ck_assert_int_eq(quantity_read(bad[_i].words, bad[_i].dimension, &quantity, NULL), status);
}
END_TEST

START_TEST(refuses_endless_value)
{
    char words[1000];
    struct quantity quantity = {0};
    struct error err = {0};
    memset(words, '1', sizeof words - 1);
    words[sizeof words - 1] = '\0';
    ck_assert_int_eq(quantity_read(words, DIMENSION_NUMBER, &quantity, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "the value is longer than 200 bytes, expected a plain number");
}
END_TEST

/* JCGM 100:2008, 4.3.3 (k = 2) and 4.3.7 (uniform distribution). */
START_TEST(gives_standard_uncertainty_of_both_distributions)
{
    struct quantity quantity = {.value = 1, .half_width = 0.3, .has_uncertainty = true};
    ck_assert_double_eq(quantity_get_uncertainty(&quantity), 0.15);
    quantity.distribution = DISTRIBUTION_RECTANGULAR;
    ck_assert_double_eq_tol(quantity_get_uncertainty(&quantity), 0.17320508075688773, 1e-16);
    quantity.has_uncertainty = false;
    ck_assert_double_eq(quantity_get_uncertainty(&quantity), 0);
}
END_TEST

Suite *quantity_suite(void)
{
    Suite *suite = suite_create("quantity");
    TCase *tests = tcase_create("quantity");
    tcase_add_loop_test(tests, reads_value_unit_and_half_width, 0, sizeof good / sizeof good[0]);
    tcase_add_loop_test(
        tests, refuses_bad_value_and_says_what_was_expected, 0, sizeof bad / sizeof bad[0]);
    tcase_add_test(tests, refuses_endless_value);
    tcase_add_test(tests, gives_standard_uncertainty_of_both_distributions);
    suite_add_tcase(suite, tests);
    return suite;
}
