// SPDX-License-Identifier: GPL-3.0-or-later
#include <string.h>

#include "quantity/quantity.h"
#include "suites.h"

/* Factors: the SI brochure, 9th edition (BIPM 2019); for oersted, gauss, maxwell and erg its 8th
 * edition (2006), table 9; inch and pound: the international yard and pound agreement of 1959. */
static const struct {
    const char *words;
    enum dimension dimension;
    double factor;
    double offset;
} known_units[] = {
    {"V", DIMENSION_VOLTAGE, 1, 0},
    {"mV", DIMENSION_VOLTAGE, 1e-3, 0},
    {"uV", DIMENSION_VOLTAGE, 1e-6, 0},
    {"\xC2\xB5V", DIMENSION_VOLTAGE, 1e-6, 0},
    {"\xCE\xBCV", DIMENSION_VOLTAGE, 1e-6, 0},
    {"yV", DIMENSION_VOLTAGE, 1e-24, 0},
    {"zV", DIMENSION_VOLTAGE, 1e-21, 0},
    {"aV", DIMENSION_VOLTAGE, 1e-18, 0},
    {"fV", DIMENSION_VOLTAGE, 1e-15, 0},
    {"pV", DIMENSION_VOLTAGE, 1e-12, 0},
    {"nV", DIMENSION_VOLTAGE, 1e-9, 0},
    {"cV", DIMENSION_VOLTAGE, 1e-2, 0},
    {"dV", DIMENSION_VOLTAGE, 1e-1, 0},
    {"daV", DIMENSION_VOLTAGE, 1e1, 0},
    {"hV", DIMENSION_VOLTAGE, 1e2, 0},
    {"kV", DIMENSION_VOLTAGE, 1e3, 0},
    {"MV", DIMENSION_VOLTAGE, 1e6, 0},
    {"GV", DIMENSION_VOLTAGE, 1e9, 0},
    {"TV", DIMENSION_VOLTAGE, 1e12, 0},
    {"PV", DIMENSION_VOLTAGE, 1e15, 0},
    {"EV", DIMENSION_VOLTAGE, 1e18, 0},
    {"ZV", DIMENSION_VOLTAGE, 1e21, 0},
    {"YV", DIMENSION_VOLTAGE, 1e24, 0},
    {"W/A", DIMENSION_VOLTAGE, 1, 0},
    {"mA", DIMENSION_CURRENT, 1e-3, 0},
    {"V/ohm", DIMENSION_CURRENT, 1, 0},
    {"ohm", DIMENSION_RESISTANCE, 1, 0},
    {"Ohm", DIMENSION_RESISTANCE, 1, 0},
    {"m\xCE\xA9", DIMENSION_RESISTANCE, 1e-3, 0},
    {"k\xE2\x84\xA6", DIMENSION_RESISTANCE, 1e3, 0},
    {"V/A", DIMENSION_RESISTANCE, 1, 0},
    {"uF", DIMENSION_CAPACITANCE, 1e-6, 0},
    {"s/ohm", DIMENSION_CAPACITANCE, 1, 0},
    {"mH", DIMENSION_INDUCTANCE, 1e-3, 0},
    {"Wb/A", DIMENSION_INDUCTANCE, 1, 0},
    {"mm", DIMENSION_LENGTH, 1e-3, 0},
    {"m", DIMENSION_LENGTH, 1, 0},
    {"in", DIMENSION_LENGTH, 0.0254, 0},
    {"mm2", DIMENSION_AREA, 1e-6, 0},
    {"mm^2", DIMENSION_AREA, 1e-6, 0},
    {"mm**2", DIMENSION_AREA, 1e-6, 0},
    {"mm\xC2\xB2", DIMENSION_AREA, 1e-6, 0},
    {"m\xC2\xB3", DIMENSION_VOLUME, 1, 0},
    {"cm3", DIMENSION_VOLUME, 1e-6, 0},
    {"kg", DIMENSION_MASS, 1, 0},
    {"g", DIMENSION_MASS, 1e-3, 0},
    {"lb", DIMENSION_MASS, 0.45359237, 0},
    {"kg/m3", DIMENSION_DENSITY, 1, 0},
    {"kg/m\xC2\xB3", DIMENSION_DENSITY, 1, 0},
    {"kg m-3", DIMENSION_DENSITY, 1, 0},
    {"g/cm3", DIMENSION_DENSITY, 1e3, 0},
    {"s", DIMENSION_TIME, 1, 0},
    {"\xC2\xB5s", DIMENSION_TIME, 1e-6, 0},
    {"min", DIMENSION_TIME, 60, 0},
    {"h", DIMENSION_TIME, 3600, 0},
    {"ohm uF", DIMENSION_TIME, 1e-6, 0},
    {"Hz", DIMENSION_FREQUENCY, 1, 0},
    {"kHz", DIMENSION_FREQUENCY, 1e3, 0},
    {"1/s", DIMENSION_FREQUENCY, 1, 0},
    {"rad", DIMENSION_ANGLE, 1, 0},
    {"deg", DIMENSION_ANGLE, 0.017453292519943295, 0},
    {"\xC2\xB0", DIMENSION_ANGLE, 0.017453292519943295, 0},
    {"K", DIMENSION_TEMPERATURE, 1, 0},
    {"degC", DIMENSION_TEMPERATURE, 1, 273.15},
    {"\xC2\xB0"
     "C",
        DIMENSION_TEMPERATURE, 1, 273.15},
    {"A/m", DIMENSION_FIELD_STRENGTH, 1, 0},
    {"kA m^-1", DIMENSION_FIELD_STRENGTH, 1e3, 0},
    {"A\xC2\xB7m\xE2\x81\xBB\xC2\xB9", DIMENSION_FIELD_STRENGTH, 1, 0},
    {"A/cm", DIMENSION_FIELD_STRENGTH, 100, 0},
    {"Oe", DIMENSION_FIELD_STRENGTH, 79.57747154594767, 0},
    {"kOe", DIMENSION_FIELD_STRENGTH, 79577.47154594767, 0},
    {"T", DIMENSION_FLUX_DENSITY, 1, 0},
    {"mT", DIMENSION_FLUX_DENSITY, 1e-3, 0},
    {"MT", DIMENSION_FLUX_DENSITY, 1e6, 0},
    {"V s/m2", DIMENSION_FLUX_DENSITY, 1, 0},
    {"Vs/m\xC2\xB2", DIMENSION_FLUX_DENSITY, 1, 0},
    {"Wb/m2", DIMENSION_FLUX_DENSITY, 1, 0},
    {"G", DIMENSION_FLUX_DENSITY, 1e-4, 0},
    {"kG", DIMENSION_FLUX_DENSITY, 0.1, 0},
    {"gauss", DIMENSION_FLUX_DENSITY, 1e-4, 0},
    {"mWb", DIMENSION_FLUX, 1e-3, 0},
    {"mV s", DIMENSION_FLUX, 1e-3, 0},
    {"mVs", DIMENSION_FLUX, 1e-3, 0},
    {"Mx", DIMENSION_FLUX, 1e-8, 0},
    {"uohm m", DIMENSION_RESISTIVITY, 1e-6, 0},
    {"uohm*m", DIMENSION_RESISTIVITY, 1e-6, 0},
    {"\xC2\xB5\xCE\xA9\xC2\xB7m", DIMENSION_RESISTIVITY, 1e-6, 0},
    {"\xC2\xB5\xCE\xA9m", DIMENSION_RESISTIVITY, 1e-6, 0},
    {"nohm.m", DIMENSION_RESISTIVITY, 1e-9, 0},
    {"uohm-cm", DIMENSION_RESISTIVITY, 1e-8, 0},
    {"ohm mm2/m", DIMENSION_RESISTIVITY, 1e-6, 0},
    {"A/V", DIMENSION_TRANSFER, 1, 0},
    {"S", DIMENSION_TRANSFER, 1, 0},
    {"mA/mV", DIMENSION_TRANSFER, 1, 0},
    {"mWb/V", DIMENSION_FLUX_PER_VOLT, 1e-3, 0},
    {"V s/V", DIMENSION_FLUX_PER_VOLT, 1, 0},
    {"Wb/(V)", DIMENSION_FLUX_PER_VOLT, 1, 0},
    {"J/m3", DIMENSION_ENERGY_DENSITY, 1, 0},
    {"T kA/m", DIMENSION_ENERGY_DENSITY, 1e3, 0},
    {"G Oe", DIMENSION_ENERGY_DENSITY, 0.0079577471545947667, 0},
    {"erg/cm3", DIMENSION_ENERGY_DENSITY, 0.1, 0},
    {"MW/m3", DIMENSION_POWER_DENSITY, 1e6, 0},
    {"J/(m3 s)", DIMENSION_POWER_DENSITY, 1, 0},
    {"W/kg", DIMENSION_SPECIFIC_POWER, 1, 0},
    {"W/lb", DIMENSION_SPECIFIC_POWER, 2.2046226218487757, 0},
    {"mN m", DIMENSION_TORQUE, 1e-3, 0},
    {"N\xC2\xB7"
     "cm",
        DIMENSION_TORQUE, 1e-2, 0},
    {"kg m2", DIMENSION_INERTIA, 1, 0},
    {"g cm2", DIMENSION_INERTIA, 1e-7, 0},
    {"", DIMENSION_NUMBER, 1, 0},
    {"%", DIMENSION_NUMBER, 1e-2, 0},
    {"ppm", DIMENSION_NUMBER, 1e-6, 0},
    {"V/V", DIMENSION_NUMBER, 1, 0},
};

START_TEST(knows_unit_factor_and_dimension)
{
    enum dimension dimension = DIMENSION_COUNT;
    double factor = 0;
    double offset = 1;
    struct error err = {0};
    enum status status = unit_read(known_units[_i].words, &dimension, &factor, &offset, &err);
    ck_assert_msg(status == STATUS_OK, "'%s': %s", known_units[_i].words, err.message);
    ck_assert_msg(dimension == known_units[_i].dimension, "'%s' is %s", known_units[_i].words,
        dimension_get_name(dimension));
    double error = factor / known_units[_i].factor - 1; /* two roundings at most */
    ck_assert_msg(error < 3e-16 && error > -3e-16, "'%s': %.17g", known_units[_i].words, factor);
    ck_assert_double_eq(offset, known_units[_i].offset);
}
END_TEST

static const char form_hint[] = "write it like 'kA/m', 'kg/m3', 'V s' or 'W/(m2 Hz)'";
static const char stroke_hint[] =
    "put all that stands below the stroke in parentheses: 'W/(m2 Hz)'";
static const char known_hint[] =
    "use a unit such as V, A, ohm, mm, s, Hz, kA/m, T, mWb, J/m3 or W/kg";
static const char emu_hint[] =
    "1 emu/cm3 is a magnetization of 1 kA/m, or a polarization of 1.25664 mT: write that";

static const struct {
    const char *words;
    const char *message;
    const char *hint;
} bad_units[] = {
    {"Khz", "unit 'Khz' is unknown", "did you mean 'kHz'?"},
    {"KHz", "unit 'KHz' is unknown", "did you mean 'kHz'?"},
    {"hz", "unit 'hz' is unknown", "did you mean 'Hz'?"},
    {"Kg", "unit 'Kg' is unknown", "did you mean 'kg'?"},
    {"v", "unit 'v' is unknown", "did you mean 'V'?"},
    {"sec", "unit 'sec' is unknown", "write 's'"},
    {"kmin", "unit 'kmin' is unknown", "did you mean 'min'?"},
    {"emu", "unit 'emu' is unknown", emu_hint},
    {"emu/cm3", "unit 'emu' is unknown", emu_hint},
    {"C", "unit 'C' is unknown", "write a temperature in 'degC' or 'K'"},
    {"furlong", "unit 'furlong' is unknown", ""},
    {"W/m2 K", "unit 'W/m2 K' goes on after its stroke", stroke_hint},
    {"rad/s", "unit 'rad/s' belongs to no quantity known here", known_hint},
    {"m4", "unit 'm4' belongs to no quantity known here", known_hint},
    {"W/degC", "unit 'W/degC' belongs to no quantity known here", known_hint},
    {"mm22", "unit 'mm22' has a power that cannot be", "use powers from -9 to 9"},
    {"m0", "unit 'm0' has a power that cannot be", "use powers from -9 to 9"},
    {"m9m9m9m9m9m9m9m9m9m9m9m9", "unit 'm9m9m9m9m9m9m9m9m9m9m9m9' has a power that cannot be",
        "use powers from -9 to 9"},
    {"m^", "unit 'm^' cannot be read from '^' on", form_hint},
    {"m)", "unit 'm)' cannot be read from ')' on", form_hint},
    {"(m", "unit '(m' has no closing parenthesis", form_hint},
    {"((((((m))))))", "unit '((((((m))))))' cannot be read from '((m))))))' on", form_hint},
    {"m/", "unit 'm/' cannot be read from '' on", form_hint},
    {"$", "unit '$' cannot be read from '$' on", form_hint},
    {"2 m", "unit '2 m' has a number in it", "the number stands before the unit, once: '2.5 mm'"},
    {"Ym9 Ym9", "unit 'Ym9 Ym9' is out of range", form_hint},
    {"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa",
        "the unit is longer than 64 bytes", form_hint},
};

START_TEST(refuses_bad_unit_and_says_what_to_write)
{
    enum dimension dimension = DIMENSION_COUNT;
    double factor = -1;
    double offset = -1;
    struct error err = {0};
    enum status status = unit_read(bad_units[_i].words, &dimension, &factor, &offset, &err);
    ck_assert_msg(status == STATUS_INPUT, "'%s' was read", bad_units[_i].words);
    ck_assert_str_eq(err.message, bad_units[_i].message);
    ck_assert_str_eq(err.hint, bad_units[_i].hint);
    ck_assert_int_eq(dimension, DIMENSION_COUNT);
    ck_assert_double_eq(factor, -1);
    ck_assert_double_eq(offset, -1);
}
END_TEST

START_TEST(every_dimension_reads_its_own_unit_and_example)
{
    enum dimension dimension = DIMENSION_COUNT;
    double factor;
    double offset;
    struct error err = {0};
    const char *unit = dimension_get_unit((enum dimension)_i);
    enum status status = unit_read(unit, &dimension, &factor, &offset, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_int_eq(dimension, _i);
    ck_assert_double_eq(factor, 1);
    ck_assert_double_eq(offset, 0);
    struct quantity quantity;
    const char *example = dimension_get_example((enum dimension)_i);
    status = quantity_read(example, (enum dimension)_i, &quantity, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_int_gt(strlen(dimension_get_name((enum dimension)_i)), 0);
}
END_TEST

START_TEST(splits_value_for_display_by_engineering_prefix)
{
    static const struct {
        double value;
        const char *prefix;
        double scale;
    } list[] = {{0, "", 1}, {1, "", 1}, {999.5, "", 1}, {1000, "k", 1e3}, {-2.5e4, "k", 1e3},
        {0.5, "m", 1e-3}, {1e-3, "m", 1e-3}, {-2.1e-6, "\xC2\xB5", 1e-6}, {3e-9, "n", 1e-9},
        {4e7, "M", 1e6}, {5e23, "Z", 1e21}, {1e30, "", 1}, {1e-30, "", 1}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        double scale = 0;
        ck_assert_str_eq(unit_get_prefix(list[i].value, &scale), list[i].prefix);
        ck_assert_double_eq(scale, list[i].scale);
    }
}
END_TEST

Suite *unit_suite(void)
{
    Suite *suite = suite_create("unit");
    TCase *tests = tcase_create("unit");
    tcase_add_loop_test(
        tests, knows_unit_factor_and_dimension, 0, sizeof known_units / sizeof known_units[0]);
    tcase_add_loop_test(
        tests, refuses_bad_unit_and_says_what_to_write, 0, sizeof bad_units / sizeof bad_units[0]);
    tcase_add_loop_test(tests, every_dimension_reads_its_own_unit_and_example, 0, DIMENSION_COUNT);
    tcase_add_test(tests, splits_value_for_display_by_engineering_prefix);
    suite_add_tcase(suite, tests);
    return suite;
}
