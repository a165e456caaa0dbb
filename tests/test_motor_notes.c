// SPDX-License-Identifier: GPL-3.0-or-later
/* Each note on a motor stands behind its limit and not before, and tells its numbers. */
#include <math.h>
#include <string.h>

#include "motor/motor.h"
#include "suites.h"

static const double pi = 3.14159265358979323846;

/* A motor of which nothing but its limits is odd. */
static struct bench {
    struct steel_point points[2];
    struct motor_steel steel;
    struct motor_machine machine;
    struct motor_wanted wanted;
    struct motor motor;
} bench;

static void set_up(void)
{
    bench = (struct bench){.points = {{.field_peak = 10000}, {.field_peak = 60000}},
        .steel = {.is_separated = true,
            .source = "steel.json",
            .points = bench.points,
            .count = 2,
            .frequency_most = 100,
            .resistivity = 2.7e-7},
        .machine = {.pole_pairs = 2,
            .supply = {.value = 50, .is_present = true},
            .volume = {.value = 1e-5, .is_present = true, .has_uncertainty = true},
            .load_torque = {.value = 0.25}},
        .wanted = {.kind = WANTED_FIELD},
        .motor = {.state.point = {.frequency_most = 100,
                      .field_peak = 30000,
                      .flux_density_peak = 1.1,
                      .covariance = {{1}},
                      .lag_angle = 25},
            .law = {.pole_pairs = 2, .volume = 1e-5, .supply = 50, .loss = {4e4}},
            .run_up = {.is_starting = true, .is_synchronizing = true}}};
}

static void tear_down(void)
{
    motor_clear(&bench.motor);
}

/* The ring's dimensions make it `thickness` m wide, and 6 mm high. */
static void set_thickness(double thickness)
{
    bench.machine.outer_diameter = (struct quantity){.value = 0.04, .is_present = true};
    bench.machine.inner_diameter =
        (struct quantity){.value = 0.04 - 2 * thickness, .is_present = true};
    bench.machine.height = (struct quantity){.value = 0.006, .is_present = true};
}

static void set_one_loop(void)
{
    bench.steel.count = 1;
}

static void set_largest(void)
{
    bench.wanted.kind = WANTED_LARGEST;
}

static void set_single_frequency(void)
{
    bench.steel.is_separated = false;
}

static void set_slow(void)
{
    set_single_frequency();
    bench.steel.frequency_most = 0;
}

static void set_beyond(void)
{
    bench.motor.state.is_beyond = true;
}

static void set_supply_at_limit(void)
{
    bench.machine.supply.value = 100.09;
}

static void set_supply_beyond(void)
{
    bench.machine.supply.value = 100.11;
}

static void set_lag_from_area(void)
{
    bench.steel.has_lag_from_area = true;
}

static void set_no_lag(void)
{
    set_lag_from_area();
    bench.motor.state.point.lag_angle = NAN;
}

static void set_specimen(double thickness)
{
    bench.steel.thickness = 0.002;
    bench.steel.resistivity = 0;
    set_thickness(thickness);
}

static void set_like_specimen(void)
{
    set_specimen(0.002098);
}

static void set_thinner_than_specimen(void)
{
    set_specimen(0.001898);
}

static void set_thicker_than_specimen(void)
{
    set_specimen(0.0022);
}

static void set_specimen_only(void)
{
    bench.steel.thickness = 0.002;
}

static void set_unseparated_thickness(void)
{
    set_specimen(0.004);
    bench.steel.is_separated = false;
}

/* A skin of that depth in the ring of 3 mm. */
static void set_skin(double depth)
{
    set_thickness(0.003);
    bench.steel.resistivity = depth * depth * pi * 50 * 1.1 / 30000;
}

static void set_thick_skin(void)
{
    set_skin(0.003003);
}

static void set_thin_skin(void)
{
    set_skin(0.002997);
}

static void set_skin_of_specimen(void)
{
    set_skin(0.001997);
    bench.steel.thickness = 0.002;
    bench.machine.height.is_present = false;
}

static void set_margin(double margin)
{
    bench.motor.figures[MOTOR_LOAD_MARGIN] =
        (struct figure_value){.is_present = true, .has_u = true, .value = margin, .u = 0.004};
}

static void set_margin_enough(void)
{
    set_margin(0.00801);
}

static void set_margin_near(void)
{
    set_margin(0.00799);
}

static void set_margin_of_no_u(void)
{
    set_margin(0.001);
    bench.motor.figures[MOTOR_LOAD_MARGIN].has_u = false;
}

static void set_not_starting(void)
{
    set_margin(-1);
    bench.motor.run_up.is_starting = bench.motor.run_up.is_synchronizing = false;
}

static void set_not_synchronizing(void)
{
    set_margin(-1);
    bench.motor.run_up.is_synchronizing = false;
    bench.motor.run_up.slip = 0.125;
}

static void set_nothing_uncertain(void)
{
    bench.machine.volume.has_uncertainty = false;
    bench.motor.state.point.covariance[0][0] = 0;
}

static void set_loops_certain(void)
{
    bench.motor.state.point.covariance[0][0] = 0;
}

static void set_volume_certain(void)
{
    bench.machine.volume.has_uncertainty = false;
}

static void set_nothing(void)
{
}

/* "": no note but the one that always stands. */
static const struct {
    void (*set)(void);
    const char *code;
    enum note_level level;
    const char *words;
} note_list[] = {
    {set_nothing, "", NOTE_INFO, ""},
    {set_one_loop, "single-amplitude", NOTE_INFO, "the torque is for 30 kA/m, the only amplitude"},
    {set_largest, "largest-amplitude", NOTE_INFO, "the largest one measured is taken, 30 kA/m"},
    {set_single_frequency, "single-frequency", NOTE_WARNING, "was measured at 100 Hz only"},
    {set_slow, "single-frequency", NOTE_INFO, "the loop was traversed slowly"},
    {set_beyond, "extrapolated", NOTE_WARNING, "of 30 kA/m is outside the measured 10 to 60 kA/m"},
    {set_supply_at_limit, "", NOTE_INFO, ""},
    {set_supply_beyond, "beyond-frequency", NOTE_WARNING,
        "reach 100 Hz, and the ring sees 100.1 Hz at standstill: above a slip of 0.999 "},
    {set_lag_from_area, "lag-from-area", NOTE_INFO, "the lag angle is that of the ellipse"},
    {set_no_lag, "", NOTE_INFO, ""},
    {set_like_specimen, "", NOTE_INFO, ""},
    {set_thinner_than_specimen, "other-thickness", NOTE_WARNING,
        "a section 2 mm thick, and the rotor's ring has 1.9 mm: its eddy torque is about 0.9 "
        "times"},
    {set_thicker_than_specimen, "other-thickness", NOTE_WARNING,
        "a section 2 mm thick, and the rotor's ring has 2.2 mm: its eddy torque is about 1.2 "
        "times"},
    {set_specimen_only, "", NOTE_INFO, ""},
    {set_unseparated_thickness, "single-frequency", NOTE_WARNING, "100 Hz only"},
    {set_thick_skin, "", NOTE_INFO, ""},
    {set_thin_skin, "skin-effect", NOTE_WARNING,
        "about 3 mm deep (skin depth at 50 Hz), less than the 3 mm of the section"},
    {set_skin_of_specimen, "skin-effect", NOTE_WARNING, "less than the 2 mm of the section"},
    {set_margin_enough, "", NOTE_INFO, ""},
    {set_margin_near, "load-near-limit", NOTE_WARNING,
        "the load of 0.25 N m is below the hysteresis torque by 2 standard uncertainties"},
    {set_margin_of_no_u, "", NOTE_INFO, ""},
    {set_not_starting, "load-too-large", NOTE_WARNING,
        "the load of 0.25 N m is above the torque at standstill, 0.1273 N m"},
    {set_not_synchronizing, "load-too-large", NOTE_WARNING, "it stays at a slip of 0.125"},
    {set_nothing_uncertain, "incomplete-uncertainty", NOTE_INFO, "from the loops and the volume"},
    {set_loops_certain, "incomplete-uncertainty", NOTE_INFO, "no part from the loops"},
    {set_volume_certain, "incomplete-uncertainty", NOTE_INFO, "no part from the volume"},
};

START_TEST(a_note_on_a_motor_stands_behind_its_limit)
{
    const bool has_note = note_list[_i].code[0] != '\0';
    note_list[_i].set();
    motor_add_notes(&bench.steel, &bench.machine, &bench.wanted, &bench.motor);
    const struct notes *notes = &bench.motor.notes;
    ck_assert_uint_eq(notes->count, has_note ? 2 : 1);
    ck_assert_str_eq(notes->list[notes->count - 1].code, "left-out");
    if (has_note) {
        ck_assert_str_eq(notes->list[0].code, note_list[_i].code);
        ck_assert_int_eq(notes->list[0].level, note_list[_i].level);
        ck_assert_msg(strstr(notes->list[0].message, note_list[_i].words) != NULL, "%s",
            notes->list[0].message);
        ck_assert_uint_gt(strlen(notes->list[0].hint), 10);
    }
}
END_TEST

Suite *motor_notes_suite(void)
{
    Suite *suite = suite_create("motor_notes");
    TCase *tests = tcase_create("motor_notes");
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_loop_test(tests, a_note_on_a_motor_stands_behind_its_limit, 0,
        (int)(sizeof note_list / sizeof *note_list));
    suite_add_tcase(suite, tests);
    return suite;
}
