// SPDX-License-Identifier: GPL-3.0-or-later
/* Header cells taken apart, and the clocks of time columns: the rules of table_name.h and
 * table_clock.h case by case. */
#include <math.h>
#include <string.h>

#include "capture/table_clock.h"
#include "capture/table_name.h"
#include "suites.h"

static const struct {
    const char *cell;
    const char *name;
    const char *unit; /* "": none */
    double factor;
    bool is_unknown;
} name_list[] = {
    /* brackets: any unit */
    {"u2 (mV)", "u2", "mV", 1e-3, false},
    {"u2[mV]", "u2", "mV", 1e-3, false},
    {"H ( A/m )", "H", "A/m", 1, false},
    {"H / (kA/m)", "H", "kA/m", 1e3, false},
    {"u (pickup) (V)", "u (pickup)", "V", 1, false},
    {"(mV)", "", "mV", 1e-3, false},
    {"mass (g)", "mass", "g", 1e-3, false},
    {"Voltage (V) - Plot 0", "Voltage (V) - Plot 0", "V", 1, false},
    {"time (\xC2\xB5s)", "time", "\xC2\xB5s", 1e-6, false},
    {"H (Oe)", "H", "Oe", 79.57747154594767, false}, /* 1000/(4 pi) */
    {"Current (mAmps)", "Current", "mAmps", 1, true},
    {"Current (Amps)", "Current", "Amps", 1, false},
    {"time (hh:mm:ss)", "time", "hh:mm:ss", 1, true},
    {"u (AC)", "u", "AC", 1, true},
    {"u (AC) left", "u (AC) left", "", 1, false},
    {"u ()", "u ()", "", 1, false},
    {"u (mV", "u (mV", "", 1, false},
    /* a stroke */
    {"u / mV", "u", "mV", 1e-3, false},
    {"t/s", "t", "s", 1, false},
    {"B/T", "B", "T", 1, false},
    {"H/(A/m)", "H", "A/m", 1, false},
    {"u/i", "u/i", "", 1, false},
    {"A/m", "A/m", "", 1, false},
    {"V/A", "V/A", "", 1, false},
    {"samples/s", "samples/s", "", 1, false},
    {"N1/N2", "N1/N2", "", 1, false},
    /* an underscore */
    {"u2_mV", "u2", "mV", 1e-3, false},
    {"i_A", "i", "A", 1, false},
    {"u_pickup_V", "u_pickup", "V", 1, false},
    {"time_ms", "time", "ms", 1e-3, false},
    {"t_s", "t", "s", 1, false},
    {"B_G", "B", "G", 1e-4, false},
    {"field_A_per_m", "field", "A_per_m", 1, false},
    {"flux_density_T", "flux_density", "T", 1, false},
    {"field strength_kA/m", "field strength", "kA/m", 1e3, false},
    {"channel_a", "channel_a", "", 1, false},
    {"channel_A", "channel_A", "", 1, false},
    {"left probe_V", "left probe_V", "", 1, false},
    {"Probe 2_V", "Probe 2", "V", 1, false}, /* the number counts already */
    {"ch_mV", "ch", "mV", 1e-3, false},      /* two letters leave no doubt */
    {"run_G", "run_G", "", 1, false},
    {"u_min", "u_min", "", 1, false},
    {"coil_m", "coil_m", "", 1, false},
    {"rate_h", "rate_h", "", 1, false},
    {"_V", "_V", "", 1, false},
    {"u_", "u_", "", 1, false},
    /* none */
    {"u2", "u2", "", 1, false},
    {"pickup voltage", "pickup voltage", "", 1, false},
    {"", "", "", 1, false},
};

START_TEST(splits_names_and_units)
{
    struct table_name name = {0};
    ck_assert(table_name_init(&name, name_list[_i].cell));
    bool has_unit = name_list[_i].unit[0] != '\0' && !name_list[_i].is_unknown;
    ck_assert_str_eq(name.name, name_list[_i].name);
    ck_assert_str_eq(name.unit, name_list[_i].unit);
    ck_assert_int_eq(name.has_unit, has_unit);
    ck_assert_int_eq(name.is_unit_unknown, name_list[_i].is_unknown);
    ck_assert_double_eq_tol(name.factor, name_list[_i].factor, 1e-15 * name_list[_i].factor);
    table_name_clear(&name);
    table_name_clear(&name);
}
END_TEST

static const struct {
    const char *cell;
    bool is_time;
} time_list[] = {
    {"time", true},
    {"Time", true},
    {"T", true},
    {"t (ms)", true},
    {"TIME [s]", true},
    {"t/s", true},
    {"time_us", true},
    {"Time (hh:mm:ss)", true},
    {"t (V)", false},
    {"timestamp", false},
    {"time 2", false},
    {"t0", false},
    {"", false},
};

START_TEST(knows_the_header_of_a_time)
{
    struct table_name name = {0};
    ck_assert(table_name_init(&name, time_list[_i].cell));
    ck_assert_int_eq(table_name_is_time(&name), time_list[_i].is_time);
    table_name_clear(&name);
}
END_TEST

static const struct {
    const char *cell;
    double seconds; /* since 1970, midnight or the hour; NaN: refused */
    double quantum;
} clock_list[] = {
    {"00:00:00", 0, 1},
    {"1:02:03", 3723, 1},
    {"23:59:59.125", 86399.125, 1e-3},
    {"23:59:59,5", 86399.5, 0.1},
    {"23:59:60", 86400, 1}, /* a leap second */
    {"123:00:00", 442800, 1},
    {"59:59.5", 3599.5, 0.1},
    {"00:00", 0, 1},
    {"1970-01-01 00:00:00", 0, 1},
    {"1970-01-02T00:00", 86400, 60},
    {"2000-03-01T00:00:00Z", 951868800,
        1}, /* 11017 days: POSIX.1-2017, 4.16, days and leap years */
    {"1999/12/31 23:59:59", 946684799, 1},
    {"31.12.1999 23:59:59,5", 946684799.5, 0.1},
    {"1.1.2000  0:00:00", 946684800, 1},
    {"2000-01-01T01:00:00+01:00", 946684800, 1},
    {"2000-01-01T01:30:00+0130", 946684800, 1},
    {"2000-01-01 00:00:00 -02", 946692000, 1},
    {"24:00:00", 86400, 1}, /* an elapsed time */
    {"", NAN, 0},
    {"10", NAN, 0},
    {"10:", NAN, 0},
    {"10:0", NAN, 0},
    {"10:60:00", NAN, 0},
    {"10:00:61", NAN, 0},
    {"10:00:00.", NAN, 0},
    {"10:00:00:00", NAN, 0},
    {"-10:00:00", NAN, 0},
    {"10:00:00 PM", NAN, 0},
    {"123456:00:00", NAN, 0},
    {"2000-01-01", NAN, 0},
    {"2000-01-01T", NAN, 0},
    {"2000-01-01T24:00:00", NAN, 0},
    {"2000-02-30 00:00:00", NAN, 0},
    {"2023-02-29 00:00:00", NAN, 0},
    {"2000-13-01 00:00:00", NAN, 0},
    {"2000-1-1 00:00:00", NAN, 0},
    {"1/2/2000 00:00:00", NAN, 0},
    {"01-02-2000 00:00:00", NAN, 0},
    {"2000-01-01T00:00:00+15:00", NAN, 0},
    {"2000-01-01T00:00:00+1", NAN, 0},
};

START_TEST(reads_clocks_and_dates)
{
    struct table_clock clock = {.seconds = -7};
    const char *cell = clock_list[_i].cell;
    bool is_read = table_clock_read(cell, strlen(cell), &clock);
    ck_assert_int_eq(is_read, !isnan(clock_list[_i].seconds));
    if (is_read) {
        double seconds = (double)clock.seconds + (double)clock.attoseconds / 1e18;
        ck_assert_double_eq(seconds, clock_list[_i].seconds);
        ck_assert_double_eq(clock.quantum_s, clock_list[_i].quantum);
    } else {
        ck_assert_int_eq(clock.seconds, -7);
    }
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *table_name_suite(void)
{
    Suite *suite = suite_create("table_name");
    TCase *tests = tcase_create("table_name");
    tcase_add_loop_test(tests, splits_names_and_units, 0, COUNT(name_list));
    tcase_add_loop_test(tests, knows_the_header_of_a_time, 0, COUNT(time_list));
    tcase_add_loop_test(tests, reads_clocks_and_dates, 0, COUNT(clock_list));
    suite_add_tcase(suite, tests);
    return suite;
}
