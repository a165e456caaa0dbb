// SPDX-License-Identifier: GPL-3.0-or-later
/* Sweeps and comparisons say what a motor of each row says by itself. */
#include "motor/sweep.h"

#include <math.h>
#include <string.h>

#include "motor/compare.h"
#include "motor/drive.h"
#include "motor/motor.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;

static struct steel_point points[3];
static struct motor_steel steel;
static struct motor_machine machine;

static struct quantity get_quantity(double value, double u)
{
    return (struct quantity){
        .value = value, .half_width = 2 * u, .is_present = true, .has_uncertainty = u > 0};
}

/* Losses bend at 20 kA/m, where the torque per field is largest. */
static void set_up(void)
{
    static const double losses[] = {10000, 30000, 40000};
    for (size_t i = 0; i < 3; i++) {
        points[i] = (struct steel_point){.frequency_most = 200,
            .field_peak = 1e4 * (double)(i + 1),
            .flux_density_peak = 0.4 * (double)(i + 1),
            .loss = {losses[i], 30 * (double)(i + 1), 100},
            .covariance = {{250000, 0, 0}, {0, 1, 0}, {0, 0, 1}},
            .lag_angle = 25,
            .squareness = 0.8,
            .fullness = 0.4};
    }
    steel = (struct motor_steel){.name = "steel",
        .source = "steel.json",
        .points = points,
        .count = 3,
        .is_separated = true,
        .frequency_least = 10,
        .frequency_most = 200};
    machine = (struct motor_machine){.pole_pairs = 2,
        .supply = get_quantity(50, 0),
        .outer_diameter = get_quantity(0.04, 0),
        .inner_diameter = get_quantity(0.032, 0),
        .height = get_quantity(0.006, 3e-5)};
    ck_assert(!machine_compute_volume(&machine, NULL));
}

static struct motor create(double field)
{
    const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = field};
    struct motor motor;
    struct error err = {0};
    ck_assert_msg(!motor_create(&steel, &machine, &wanted, &motor, &err), "%s", err.message);
    return motor;
}

START_TEST(a_row_over_the_field_is_the_motor_at_that_field)
{
    const struct sweep_options options = {.kind = SWEEP_FIELD};
    struct motor_sweep sweep;
    struct error err = {0};
    ck_assert_msg(!sweep_create(&steel, &machine, &options, &sweep, &err), "%s", err.message);
    ck_assert_uint_eq(sweep.count, 81);
    ck_assert_uint_eq(sweep.left_out, 0);
    ck_assert(sweep.has_eddy);
    ck_assert_uint_eq(sweep.best, 80);
    for (size_t i = 0; i < sweep.count; i += 20) {
        ck_assert_double_eq_tol(sweep.variable[i], 1e4 + 2e4 * (double)i / 80, 1e-9);
        ck_assert_double_eq(sweep.field[i], sweep.variable[i]);
        struct motor motor = create(sweep.variable[i]);
        const struct figure_value *figures = motor.figures;
        ck_assert_double_eq_tol(sweep.hysteresis[i], figures[MOTOR_HYSTERESIS_TORQUE].value, 1e-12);
        ck_assert_double_eq_tol(sweep.u_hysteresis[i], figures[MOTOR_HYSTERESIS_TORQUE].u,
            1e-6 * figures[MOTOR_HYSTERESIS_TORQUE].u);
        ck_assert_double_eq_tol(sweep.starting[i], figures[MOTOR_STARTING_TORQUE].value, 1e-12);
        ck_assert_double_eq_tol(sweep.loss[i], figures[MOTOR_LOSS].value, 1e-10);
        ck_assert_double_eq_tol(
            sweep.ampere_turns_taken[i], figures[MOTOR_AMPERE_TURNS].value, 1e-9);
        ck_assert_double_eq_tol(sweep.flux_density[i], motor.state.point.flux_density_peak, 1e-12);
        motor_clear(&motor);
    }
    sweep_clear(&sweep);
}
END_TEST

/* One that was not separated has hysteresis only; rows beyond the measured fields are left out. */
START_TEST(rows_beyond_the_measured_fields_are_left_out)
{
    const struct sweep_options options = {.kind = SWEEP_FIELD, .least = 1e4, .most = 5e4};
    struct motor_sweep sweep;
    struct error err = {0};
    steel.is_separated = false;
    ck_assert(!sweep_create(&steel, &machine, &options, &sweep, &err));
    ck_assert_uint_eq(sweep.count, 41);
    ck_assert_uint_eq(sweep.left_out, 40);
    ck_assert(!sweep.has_eddy);
    ck_assert_double_eq(sweep.starting[40], sweep.hysteresis[40]);
    sweep_clear(&sweep);
    const struct sweep_options beyond = {.kind = SWEEP_FIELD, .least = 5e4, .most = 6e4};
    ck_assert_int_eq(sweep_create(&steel, &machine, &beyond, &sweep, &err), STATUS_USAGE);
    ck_assert_str_eq(
        err.message, "no row of the sweep has a field among those measured in 'steel.json'");
}
END_TEST

/* From a quarter to 2.5 times the ring's width, 4 mm, but 0.9 of the radius at most. */
START_TEST(a_sweep_over_the_thickness_has_a_range_of_its_own)
{
    struct motor_sweep sweep;
    struct error err = {0};
    machine.height = get_quantity(0.006, 0);
    machine.volume = (struct quantity){0};
    for (int is_wide = 0; is_wide < 2; is_wide++) {
        machine.inner_diameter.value = is_wide ? 0.02 : 0.032;
        const double least = is_wide ? 0.0025 : 0.001, most = is_wide ? 0.018 : 0.01;
        const struct sweep_options options = {.kind = SWEEP_THICKNESS, .ampere_turns = 120};
        ck_assert_msg(!sweep_create(&steel, &machine, &options, &sweep, &err), "%s", err.message);
        ck_assert_double_eq(sweep.ampere_turns, 120);
        ck_assert(!sweep.has_eddy);
        for (size_t i = 0; i < sweep.count; i++) {
            const double row = (sweep.variable[i] - least) / (most - least) * 80;
            ck_assert_double_eq_tol(row, round(row), 1e-9);
            ck_assert_double_ge(row, -1e-9);
            ck_assert_double_le(row, 80 + 1e-9);
        }
        ck_assert_uint_eq(sweep.count + sweep.left_out, 81);
        sweep_clear(&sweep);
    }
    const struct sweep_options fat = {
        .kind = SWEEP_THICKNESS, .least = 0.01, .most = 0.0201, .ampere_turns = 120};
    ck_assert_int_eq(sweep_create(&steel, &machine, &fat, &sweep, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "a sweep from 0.01 to 0.0201 m is impossible");
    machine.height.is_present = false;
    const struct sweep_options thickness = {.kind = SWEEP_THICKNESS};
    ck_assert_int_eq(sweep_create(&steel, &machine, &thickness, &sweep, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "a sweep over the thickness needs the dimensions of the ring");
    steel.count = 1;
    const struct sweep_options field = {.kind = SWEEP_FIELD};
    ck_assert_int_eq(sweep_create(&steel, &machine, &field, &sweep, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "'steel.json' is one loop: there is no other field to sweep to");
}
END_TEST

static void check_entry(const struct comparison_entry *entry, double field)
{
    struct motor motor = create(field);
    const struct figure_value *figures = motor.figures;
    const double energy = motor.state.point.loss[STEEL_HYSTERESIS];
    ck_assert(entry->is_present);
    ck_assert_double_eq_tol(entry->point.field_peak, field, 1e-6);
    ck_assert_double_eq_tol(entry->torque, figures[MOTOR_HYSTERESIS_TORQUE].value, 1e-9);
    ck_assert_double_eq_tol(entry->u_torque, figures[MOTOR_HYSTERESIS_TORQUE].u,
        1e-5 * figures[MOTOR_HYSTERESIS_TORQUE].u);
    ck_assert_double_eq_tol(
        entry->per_volume, figures[MOTOR_TORQUE_PER_VOLUME].value, 1e-6 * entry->per_volume);
    ck_assert_double_eq_tol(entry->per_field, energy / field, 1e-9);
    ck_assert_double_eq_tol(entry->per_ampere_turn, figures[MOTOR_TORQUE_PER_AMPERE_TURN].value,
        1e-9 * entry->per_ampere_turn);
    motor_clear(&motor);
}

START_TEST(a_comparison_has_the_motor_asked_for_and_the_best)
{
    const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = 13000},
                              beyond = {.kind = WANTED_FIELD, .value = 40000};
    struct comparison_row row;
    struct error err = {0};
    ck_assert_msg(!comparison_set(&row, &steel, &machine, &wanted, &err), "%s", err.message);
    ck_assert_ptr_eq(row.steel, &steel);
    ck_assert(!row.is_best_at_end);
    check_entry(&row.asked, 13000);
    check_entry(&row.best, row.best.point.field_peak);
    ck_assert_double_eq_tol(row.best.point.field_peak, 20000, 1500);
    ck_assert(!comparison_set(&row, &steel, &machine, &beyond, &err));
    ck_assert(!row.asked.is_present && row.best.is_present);
    machine.height.is_present = false;
    ck_assert(!comparison_set(&row, &steel, &machine, &wanted, &err));
    ck_assert_double_eq(row.asked.per_ampere_turn, 0);
}
END_TEST

/* --- machines ------------------------------------------------------------------------------------
 */

static const struct {
    size_t offset;
    double value;
    const char *message; /* NULL: fine */
} machine_list[] = {
#define AT(member) offsetof(struct motor_machine, member)
    {AT(supply), 0, "--supply is 0, and must be above 0"},
    {AT(inertia), 0, "--inertia is 0, and must be above 0"}, {AT(inertia), 1e-5, NULL},
    {AT(load_torque), -1, "--load-torque is -1, and must be 0 or more"}, {AT(load_torque), 0, NULL},
    {AT(air_gap), -0.001, "--air-gap is -0.001, and must be 0 or more"}, {AT(air_gap), 0, NULL},
    {AT(height), 0, "a ring of 0.04 m outside, 0.032 m inside and 0 m height is impossible"},
    {AT(inner_diameter), 0.04,
        "a ring of 0.04 m outside, 0.04 m inside and 0.006 m height is impossible"},
    {AT(inner_diameter), -0.01,
        "a ring of 0.04 m outside, -0.01 m inside and 0.006 m height is impossible"},
    {AT(inner_diameter), 0, NULL}, /* a disc */
};

START_TEST(what_a_machine_cannot_have_is_refused)
{
    struct error err = {0};
    machine.volume = (struct quantity){0};
    *(struct quantity *)((char *)&machine + machine_list[_i].offset) =
        get_quantity(machine_list[_i].value, 0);
    const enum status status = machine_compute_volume(&machine, &err);
    if (machine_list[_i].message == NULL) {
        const double inner = machine.inner_diameter.value;
        ck_assert_int_eq(status, STATUS_OK);
        ck_assert_double_eq_tol(machine.volume.value,
            PI / 4 * (0.04 * 0.04 - inner * inner) * machine.height.value, 1e-18);
    } else {
        ck_assert_int_eq(status, STATUS_USAGE);
        ck_assert_str_eq(err.message, machine_list[_i].message);
    }
}
END_TEST

START_TEST(the_section_is_as_thick_as_its_lesser_side)
{
    ck_assert_double_eq_tol(machine_get_thickness(&machine), 0.004, 1e-15);
    machine.height.value = 0.003;
    ck_assert_double_eq(machine_get_thickness(&machine), 0.003);
    machine.height.is_present = false;
    ck_assert_double_eq(machine_get_thickness(&machine), 0);
    struct error err = {0};
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "the ring has only some of its dimensions");
    machine = (struct motor_machine){.pole_pairs = 1,
        .supply = get_quantity(50, 0),
        .volume = get_quantity(1e-5, 0),
        .air_gap = get_quantity(0.001, 0)};
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "--air-gap needs the dimensions of the ring");
}
END_TEST

Suite *sweep_suite(void)
{
    Suite *suite = suite_create("sweep");
    TCase *tests = tcase_create("sweep");
    tcase_add_checked_fixture(tests, set_up, NULL);
    tcase_add_test(tests, a_row_over_the_field_is_the_motor_at_that_field);
    tcase_add_test(tests, rows_beyond_the_measured_fields_are_left_out);
    tcase_add_test(tests, a_sweep_over_the_thickness_has_a_range_of_its_own);
    tcase_add_test(tests, a_comparison_has_the_motor_asked_for_and_the_best);
    tcase_add_loop_test(tests, what_a_machine_cannot_have_is_refused, 0,
        (int)(sizeof machine_list / sizeof *machine_list));
    tcase_add_test(tests, the_section_is_as_thick_as_its_lesser_side);
    suite_add_tcase(suite, tests);
    return suite;
}
