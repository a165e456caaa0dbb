// SPDX-License-Identifier: GPL-3.0-or-later
#include "motor/motor.h"

#include <math.h>
#include <string.h>

#include "motor/drive.h"
#include "motor/sweep.h"
#include "num/random.h"
#include "suites.h"

static const double pi = 3.14159265358979323846;

/* One amplitude, separated, terms correlated as those of a fit are. */
static struct steel_point point = {.frequency_most = 200,
    .field_peak = 3e4,
    .flux_density_peak = 1.1,
    .loss = {4e4, 120, 400},
    .covariance = {{250000, -4000, 20000}, {-4000, 100, -600}, {20000, -600, 6400}},
    .lag_angle = 25,
    .u_lag_angle = 0.1,
    .squareness = 0.8,
    .fullness = 0.4};

static struct motor_steel get_steel(void)
{
    return (struct motor_steel){.name = "steel",
        .source = "steel.json",
        .points = &point,
        .count = 1,
        .is_separated = true,
        .frequency_least = 10,
        .frequency_most = 200};
}

static struct quantity get_quantity(double value, double u)
{
    return (struct quantity){
        .value = value, .half_width = 2 * u, .is_present = true, .has_uncertainty = u > 0};
}

static struct motor_machine get_machine(void)
{
    return (struct motor_machine){.pole_pairs = 2,
        .supply = get_quantity(50, 0.05),
        .volume = get_quantity(2e-5, 1e-7),
        .load_torque = get_quantity(0.2, 0.004),
        .inertia = get_quantity(4e-5, 1e-6)};
}

static struct motor create(const struct motor_steel *steel, const struct motor_machine *machine)
{
    const struct motor_wanted wanted = {.kind = WANTED_LARGEST};
    struct motor motor;
    struct error err = {0};
    ck_assert_msg(!motor_create(steel, machine, &wanted, &motor, &err), "%s", err.message);
    return motor;
}

static double get(const struct motor *motor, enum motor_figure figure)
{
    ck_assert_msg(motor->figures[figure].is_present, "%s", motor_figure_table[figure].key);
    return motor->figures[figure].value;
}

START_TEST(figures_follow_from_the_terms)
{
    const struct motor_steel steel = get_steel();
    const struct motor_machine machine = get_machine();
    struct motor motor = create(&steel, &machine);
    const double scale = 2 * 2e-5 / (2 * pi);
    ck_assert_double_eq_tol(get(&motor, MOTOR_SYNCHRONOUS_SPEED), 1500, 1e-9);
    ck_assert_double_eq_tol(get(&motor, MOTOR_HYSTERESIS_TORQUE), scale * 4e4, 1e-14);
    ck_assert_double_eq_tol(get(&motor, MOTOR_EDDY_TORQUE), scale * 120 * 50, 1e-14);
    ck_assert_double_eq_tol(get(&motor, MOTOR_EXCESS_TORQUE), scale * 400 * sqrt(50), 1e-14);
    ck_assert_double_eq_tol(get(&motor, MOTOR_PULL_OUT_POWER), 2e-5 * 4e4 * 50, 1e-11);
    ck_assert_double_eq_tol(get(&motor, MOTOR_LOSS),
        get(&motor, MOTOR_HYSTERESIS_LOSS) + get(&motor, MOTOR_EDDY_LOSS) +
            get(&motor, MOTOR_EXCESS_LOSS),
        1e-11);
    ck_assert_double_eq(get(&motor, MOTOR_LAG_ANGLE), 25);
    ck_assert_double_eq_tol(get(&motor, MOTOR_LOAD_MARGIN), scale * 4e4 - 0.2, 1e-14);
    ck_assert_double_eq(get(&motor, MOTOR_FINAL_SLIP), 0);
    ck_assert(!motor.figures[MOTOR_AMPERE_TURNS].is_present);
    ck_assert_uint_eq(motor.curve.count, 101);
    ck_assert_double_eq(motor.curve.slip[0], 0);
    ck_assert_double_eq(motor.curve.slip[100], 1);
    ck_assert_double_eq(motor.angles.torque[motor.angles.count - 1], motor.curve.term[0][0]);
    motor_clear(&motor);
    motor_clear(&motor);
}
END_TEST

/* u^2 = T^2 (u(V)/V)^2 + (pV/2pi)^2 g' C g, g the powers of the frequency; the negative correlation
 * of hysteresis and eddy term counts. */
START_TEST(uncertainty_of_the_torque_has_the_covariance_in_it)
{
    const struct motor_steel steel = get_steel();
    struct motor_machine machine = get_machine();
    machine.supply.has_uncertainty = false;
    struct motor motor = create(&steel, &machine);
    for (size_t i = 0; i < motor.curve.count; i += 20) {
        const double frequency = 50 * motor.curve.slip[i];
        const double powers[STEEL_TERMS] = {1, frequency, sqrt(frequency)};
        double variance = 0;
        for (int a = 0; a < STEEL_TERMS; a++)
            for (int b = 0; b < STEEL_TERMS; b++)
                variance += powers[a] * point.covariance[a][b] * powers[b];
        const double u = hypot(motor.curve.torque[i] * 0.005, 2 * 2e-5 / (2 * pi) * sqrt(variance));
        ck_assert_double_eq_tol(motor.curve.u_torque[i], u, 1e-9 * u);
    }
    motor_clear(&motor);
}
END_TEST

/* The model is nearly linear: 40 000 draws give u to 0.4 %, three times that is allowed. */
START_TEST(uncertainties_agree_with_monte_carlo)
{
    enum { DRAWS = 40000 };
    const struct motor_steel steel = get_steel();
    const struct motor_machine machine = get_machine();
    struct motor motor = create(&steel, &machine);
    /* Cholesky factor of the covariance */
    const double a = 500, b = -8, c = 40;
    const double d = sqrt(100 - b * b), e = (-600 - b * c) / d, f = sqrt(6400 - c * c - e * e);
    double sums[3][2] = {{0}};
    struct random random;
    random_init(&random, 5, 0);
    for (int i = 0; i < DRAWS; i++) {
        double z[7];
        for (int n = 0; n < 7; n++)
            z[n] = random_get_normal(&random);
        const struct torque_law law = {.pole_pairs = 2,
            .volume = 2e-5 + 1e-7 * z[3],
            .supply = 50 + 0.05 * z[4],
            .loss = {
                4e4 + a * z[0], 120 + b * z[0] + d * z[1], 400 + c * z[0] + e * z[1] + f * z[2]}};
        struct run_up run_up;
        torque_compute_run_up(&law, 0.2 + 0.004 * z[5], 4e-5 + 1e-6 * z[6], &run_up);
        const double values[3] = {
            torque_compute(&law, 1), torque_compute_loss(&law, 1), run_up.time};
        for (int n = 0; n < 3; n++) {
            sums[n][0] += values[n] / DRAWS;
            sums[n][1] += values[n] * values[n] / DRAWS;
        }
    }
    static const enum motor_figure figures[3] = {
        MOTOR_STARTING_TORQUE, MOTOR_LOSS, MOTOR_RUN_UP_TIME};
    for (int n = 0; n < 3; n++) {
        const double u = sqrt(sums[n][1] - sums[n][0] * sums[n][0]);
        /* the run-up time is not quite linear in the margin to the load */
        const double limit = figures[n] == MOTOR_RUN_UP_TIME ? 0.03 : 0.012;
        ck_assert_double_eq_tol(motor.figures[figures[n]].u, u, limit * u);
    }
    motor_clear(&motor);
}
END_TEST

START_TEST(a_load_close_to_the_limit_has_a_probability)
{
    const struct motor_steel steel = get_steel();
    struct motor_machine machine = get_machine();
    const double torque = 2 * 2e-5 * 4e4 / (2 * pi);
    struct motor motor = create(&steel, &machine);
    ck_assert_double_eq_tol(get(&motor, MOTOR_SYNCHRONIZING), 1, 1e-9);
    ck_assert(!notes_has(&motor.notes, "load-near-limit"));
    const double u = motor.figures[MOTOR_LOAD_MARGIN].u;
    motor_clear(&motor);

    machine.load_torque.value = torque - u;
    motor = create(&steel, &machine);
    ck_assert_double_eq_tol(get(&motor, MOTOR_SYNCHRONIZING), 0.8413447460685429, 1e-6);
    ck_assert(notes_has(&motor.notes, "load-near-limit"));
    motor_clear(&motor);

    machine.load_torque.value = 1.05 * torque;
    motor = create(&steel, &machine);
    ck_assert(notes_has(&motor.notes, "load-too-large"));
    ck_assert(!motor.figures[MOTOR_RUN_UP_TIME].is_present);
    ck_assert(!motor.figures[MOTOR_LOAD_ANGLE].is_present);
    ck_assert_double_gt(get(&motor, MOTOR_FINAL_SLIP), 0);
    motor_clear(&motor);
}
END_TEST

START_TEST(what_one_frequency_cannot_tell_is_not_told)
{
    struct motor_steel steel = get_steel();
    struct motor_machine machine = get_machine();
    steel.is_separated = false;
    struct motor motor = create(&steel, &machine);
    ck_assert(!motor.figures[MOTOR_EDDY_TORQUE].is_present);
    ck_assert(!motor.figures[MOTOR_STARTING_TORQUE].is_present);
    ck_assert(notes_has(&motor.notes, "single-frequency"));
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    motor_write_members(&json, &steel, &machine, &motor);
    json_end_object(&json);
    ck_assert_ptr_nonnull(strstr(out.bytes, "\"eddy_torque_standstill_N_m\": null"));
    ck_assert_ptr_null(strstr(out.bytes, "starting_torque"));
    text_clear(&out);
    motor_clear(&motor);
}
END_TEST

START_TEST(notes_tell_what_the_loops_do_not_cover)
{
    struct motor_steel steel = get_steel();
    struct motor_machine machine = get_machine();
    machine.supply.value = 400;
    steel.has_lag_from_area = true;
    steel.resistivity = 2.7e-7;
    steel.thickness = 0.002;
    machine.outer_diameter = get_quantity(0.04, 0);
    machine.inner_diameter = get_quantity(0.03, 0);
    machine.height = get_quantity(0.006, 0);
    struct motor motor = create(&steel, &machine);
    static const char *const codes[] = {
        "beyond-frequency", "lag-from-area", "other-thickness", "skin-effect", "left-out"};
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++)
        ck_assert_msg(notes_has(&motor.notes, codes[i]), "%s", codes[i]);
    motor_clear(&motor);
}
END_TEST

/* --- machine and drive -------------------------------------------------------------------------
 */

START_TEST(the_ring_has_the_volume_of_its_dimensions)
{
    struct motor_machine machine = {.pole_pairs = 1,
        .supply = get_quantity(50, 0),
        .outer_diameter = get_quantity(0.04, 1e-5),
        .inner_diameter = get_quantity(0.032, 2e-5),
        .height = get_quantity(0.006, 3e-5)};
    ck_assert_int_eq(machine_compute_volume(&machine, NULL), STATUS_OK);
    ck_assert_double_eq_tol(machine.volume.value, 2.714336052701582e-06, 1e-20);
    const double u =
        sqrt(pow(0.5 * pi * 0.04 * 0.006 * 1e-5, 2) + pow(0.5 * pi * 0.032 * 0.006 * 2e-5, 2) +
             pow(machine.volume.value / 0.006 * 3e-5, 2));
    ck_assert_double_eq_tol(quantity_get_uncertainty(&machine.volume), u, 1e-6 * u);
}
END_TEST

START_TEST(refuses_machines_that_lack_something)
{
    struct error err = {0};
    struct motor_machine machine = {0};
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "the number of pole pairs is missing");
    machine.pole_pairs = 2;
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "the supply frequency is missing");
    machine.supply = get_quantity(50, 0);
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "the volume of the rotor's ring is missing");
    machine.height = get_quantity(0.01, 0);
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "the ring has only some of its dimensions");
    machine.outer_diameter = get_quantity(0.03, 0);
    machine.inner_diameter = get_quantity(0.04, 0);
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(
        err.message, "a ring of 0.03 m outside, 0.04 m inside and 0.01 m height is impossible");
    machine.volume = get_quantity(1e-5, 0);
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "the ring has both a volume and dimensions");
    machine = (struct motor_machine){
        .pole_pairs = 1, .supply = get_quantity(-50, 0), .volume = get_quantity(1e-5, 0)};
    ck_assert_int_eq(machine_compute_volume(&machine, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "--supply is -50, and must be above 0");
}
END_TEST

static struct motor_machine get_ring(void)
{
    return (struct motor_machine){.pole_pairs = 2,
        .supply = get_quantity(50, 0),
        .volume = get_quantity(2.714336052701582e-06, 0),
        .outer_diameter = get_quantity(0.04, 0),
        .inner_diameter = get_quantity(0.032, 0),
        .height = get_quantity(0.006, 0)};
}

/* Without a gap Ampere's law alone: F = H r / p. */
START_TEST(ampere_turns_are_field_times_radius_over_pole_pairs)
{
    struct motor_machine machine = get_ring();
    ck_assert_double_eq_tol(drive_compute_ampere_turns(&machine, &point), 3e4 * 0.018 / 2, 1e-10);
    /* the gap alone, of a flux in phase: g t p B / (mu0 r) */
    machine.air_gap = get_quantity(3e-4, 0);
    struct steel_point flux = {.flux_density_peak = 1.1, .lag_angle = 0};
    ck_assert_double_eq_tol(drive_compute_ampere_turns(&machine, &flux),
        3e-4 * 0.004 * 2 * 1.1 / (4e-7 * pi * 0.018), 1e-9);
}
END_TEST

/* Points of a power law: the field found takes the ampere-turns it was asked for. */
START_TEST(finds_the_field_of_given_ampere_turns)
{
    struct steel_point points[4];
    struct motor_steel steel = get_steel();
    struct motor_machine machine = get_ring();
    struct motor_drive drive = {.ampere_turns = get_quantity(250, 2)};
    struct motor_wanted wanted;
    struct error err = {0};
    for (int i = 0; i < 4; i++) {
        points[i] = point;
        points[i].field_peak = 1e4 * (i + 1);
        points[i].flux_density_peak = 0.4 * sqrt(i + 1);
        points[i].loss[0] = 1e4 * pow(i + 1, 1.5);
    }
    steel.points = points;
    steel.count = 4;
    machine.air_gap = get_quantity(3e-4, 1e-5);
    ck_assert_int_eq(motor_drive_find(&drive, &steel, &machine, &wanted, &err), STATUS_OK);
    struct steel_state state;
    const struct motor_wanted at = {.kind = WANTED_FIELD, .value = wanted.value};
    ck_assert_int_eq(motor_steel_find(&steel, &at, &state, &err), STATUS_OK);
    ck_assert_double_eq_tol(drive_compute_ampere_turns(&machine, &state.point), 250, 1e-9);
    /* what one u of the ampere-turns and one of the gap move the field by, upwards */
    double more = 0, wide = 0;
    ck_assert(!drive_find_field(&steel, &machine, 252, &more, &err));
    machine.air_gap.value += 1e-5;
    ck_assert(!drive_find_field(&steel, &machine, 250, &wide, &err));
    machine.air_gap.value -= 1e-5;
    ck_assert_double_eq_tol(
        wanted.u, hypot(more - wanted.value, wide - wanted.value), 1e-6 * wanted.u);
    drive.ampere_turns.value = 5000;
    ck_assert_int_eq(motor_drive_find(&drive, &steel, &machine, &wanted, &err), STATUS_USAGE);
    ck_assert_ptr_nonnull(strstr(err.message, "5000 ampere-turns are not within"));
}
END_TEST

/* A ring without a gap and points of a straight line: H = F p / r, and u goes with it. Where the
 * measured amplitudes end, u is taken from the side that has any; where neither has, it is 0. */
START_TEST(what_ampere_turns_are_uncertain_by_is_taken_from_the_side_that_was_measured)
{
    struct steel_point points[3] = {point, point, point};
    struct motor_steel steel = get_steel();
    const struct motor_machine machine = get_ring();
    struct error err = {0};
    for (int i = 0; i < 3; i++) {
        points[i].field_peak = 1e4 * (i + 1);
        points[i].flux_density_peak = 0.4 * (i + 1);
        points[i].loss[0] = 1e4 * (i + 1);
    }
    steel.points = points;
    steel.count = 3;
    /* 10 to 30 kA/m: 90 to 270 ampere-turns of a mean radius of 18 mm and two pole pairs */
    static const struct {
        double turns, u, field, u_field;
    } cases[] = {{180, 2, 20000, 2000.0 / 9}, {269, 2, 269 / 0.009, 2000.0 / 9},
        {91, 2, 91 / 0.009, 2000.0 / 9}, {90.01, 1, 90.01 / 0.009, 1000.0 / 9},
        {180, 100, 20000, 0}, {180, 0, 20000, 0}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct motor_drive drive = {.ampere_turns = get_quantity(cases[i].turns, cases[i].u)};
        struct motor_wanted wanted;
        ck_assert_msg(
            !motor_drive_find(&drive, &steel, &machine, &wanted, &err), "%s", err.message);
        ck_assert_int_eq(wanted.kind, WANTED_FIELD);
        ck_assert_double_eq_tol(wanted.value, cases[i].field, 1e-8 * cases[i].field);
        ck_assert_double_eq_tol(wanted.u, cases[i].u_field, 1e-6 * cases[i].u_field + 1e-8);
    }
}
END_TEST

/* A single loop stands for amplitudes within 1 % of its own. */
START_TEST(one_loop_stands_for_what_is_close_by)
{
    const struct motor_steel steel = get_steel();
    const struct motor_machine machine = get_ring();
    struct error err = {0};
    static const struct {
        double times;
        bool is_close;
    } cases[] = {{1, true}, {1.0098, true}, {1 / 1.0098, true}, {1.011, false}, {1 / 1.011, false}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct motor_wanted at[] = {{.kind = WANTED_FIELD, .value = 3e4 * cases[i].times},
            {.kind = WANTED_FLUX_DENSITY, .value = 1.1 * cases[i].times}};
        const enum status expected = cases[i].is_close ? STATUS_OK : STATUS_USAGE;
        struct steel_state state;
        double field = -1;
        ck_assert_int_eq(motor_steel_find(&steel, &at[0], &state, &err), expected);
        ck_assert_int_eq(motor_steel_find(&steel, &at[1], &state, &err), expected);
        ck_assert_int_eq(
            drive_find_field(&steel, &machine, 270 * cases[i].times, &field, &err), expected);
        if (cases[i].is_close) {
            ck_assert_double_eq_tol(field, 3e4 * cases[i].times, 1e-6);
        } else {
            ck_assert_double_eq(field, -1);
            ck_assert_ptr_nonnull(strstr(err.message, "ampere-turns are not within"));
        }
    }
}
END_TEST

/* Two curves between the same points bound a rectangle of their distance: its standard uncertainty,
 * where the loops themselves have none. */
START_TEST(the_choice_of_a_curve_is_a_rectangle)
{
    struct steel_point points[4];
    struct motor_steel steel = get_steel();
    struct steel_state state;
    const double fields[] = {1e4, 2e4, 3e4, 5e4}, losses[] = {5e3, 2.5e4, 4e4, 5e4};
    for (int i = 0; i < 4; i++) {
        points[i] = (struct steel_point){.field_peak = fields[i],
            .flux_density_peak = 0.3 * (i + 1),
            .loss = {losses[i]},
            .lag_angle = NAN,
            .squareness = NAN,
            .fullness = NAN};
    }
    steel.points = points;
    steel.count = 4;
    for (int i = 0; i < 3; i++) {
        const struct motor_wanted wanted = {
            .kind = WANTED_FIELD, .value = fields[i] + 0.3 * (fields[i + 1] - fields[i])};
        ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, NULL), STATUS_OK);
        const double share = log(wanted.value / fields[i]) / log(fields[i + 1] / fields[i]);
        const double straight = losses[i] * pow(losses[i + 1] / losses[i], share);
        const double u = fabs(state.point.loss[0] - straight) / sqrt(3);
        ck_assert_double_gt(u, 1);
        ck_assert_double_eq_tol(sqrt(state.point.covariance[0][0]), u, 1e-9 * u);
    }
}
END_TEST

/* Without load and inertia nothing of them is told; with a lag angle whose u is not known, what
 * goes with it has no u from it; each input's part is the closed form, the others without. */
START_TEST(what_is_not_given_adds_nothing)
{
    const struct motor_steel steel = get_steel();
    const struct steel_point kept = point;
    struct motor_machine machine = {
        .pole_pairs = 2, .supply = get_quantity(50, 0), .volume = get_quantity(2e-5, 0)};
    static const enum motor_figure absent[] = {MOTOR_LOAD_MARGIN, MOTOR_LOAD_ANGLE,
        MOTOR_FINAL_SLIP, MOTOR_RUN_UP_TIME, MOTOR_SYNCHRONIZING};
    const double scale = 2 * 2e-5 / (2 * pi);
    struct motor motor = create(&steel, &machine);
    for (size_t i = 0; i < sizeof absent / sizeof *absent; i++) {
        ck_assert(!motor.figures[absent[i]].is_present);
    }
    ck_assert(!motor.figures[MOTOR_SYNCHRONOUS_SPEED].has_u);
    ck_assert_double_eq_tol(motor.figures[MOTOR_LAG_ANGLE].u, 0.1, 1e-9);
    ck_assert_double_eq_tol(motor.figures[MOTOR_HYSTERESIS_TORQUE].u, scale * 500, 1e-9);
    ck_assert_double_eq_tol(motor.figures[MOTOR_EDDY_TORQUE].u, scale * 50 * 10, 1e-9);
    ck_assert_double_eq_tol(motor.figures[MOTOR_EXCESS_TORQUE].u, scale * sqrt(50) * 80, 1e-9);
    motor_clear(&motor);

    point.u_lag_angle = NAN;
    memset(point.covariance, 0, sizeof point.covariance);
    motor = create(&steel, &machine);
    for (int i = 0; i < MOTOR_FIGURE_COUNT; i++) {
        ck_assert_msg(!motor.figures[i].has_u, "%s", motor_figure_table[i].key);
    }
    motor_clear(&motor);

    /* the volume alone, then the supply alone: relative, and in the speed */
    machine.volume = get_quantity(2e-5, 2e-7);
    motor = create(&steel, &machine);
    ck_assert_double_eq_tol(motor.figures[MOTOR_HYSTERESIS_TORQUE].u, scale * 400, 1e-9);
    ck_assert_double_eq_tol(motor.figures[MOTOR_STARTING_TORQUE].u,
        0.01 * motor.figures[MOTOR_STARTING_TORQUE].value, 1e-9);
    ck_assert(!motor.figures[MOTOR_SYNCHRONOUS_SPEED].has_u);
    motor_clear(&motor);
    machine.volume = get_quantity(2e-5, 0);
    machine.supply = get_quantity(50, 0.5);
    motor = create(&steel, &machine);
    ck_assert_double_eq_tol(motor.figures[MOTOR_SYNCHRONOUS_SPEED].u, 15, 1e-6);
    ck_assert(!motor.figures[MOTOR_HYSTERESIS_TORQUE].has_u);
    ck_assert_double_eq_tol(motor.figures[MOTOR_EDDY_TORQUE].u, scale * 120 * 0.5, 1e-9);
    motor_clear(&motor);

    /* the load alone: the margin has its u, and nothing else but what follows from it */
    machine.supply = get_quantity(50, 0);
    machine.load_torque = get_quantity(0.2, 0.004);
    motor = create(&steel, &machine);
    ck_assert_double_eq_tol(motor.figures[MOTOR_LOAD_MARGIN].u, 0.004, 1e-10);
    ck_assert(motor.figures[MOTOR_LOAD_ANGLE].has_u);
    ck_assert(!motor.figures[MOTOR_HYSTERESIS_TORQUE].has_u);
    ck_assert(!motor.figures[MOTOR_RUN_UP_TIME].is_present);
    motor_clear(&motor);
    point = kept;
}
END_TEST

START_TEST(half_the_flux_of_a_pole_goes_through_the_ring)
{
    const struct motor_steel steel = get_steel();
    const struct motor_machine machine = get_ring();
    struct motor_drive drive = {
        .air_gap_flux = get_quantity(52.8e-6, 0.528e-6), .ring_section = get_quantity(24e-6, 0)};
    struct motor_wanted wanted;
    struct error err = {0};
    ck_assert_int_eq(motor_drive_find(&drive, &steel, &machine, &wanted, &err), STATUS_OK);
    ck_assert_int_eq(wanted.kind, WANTED_FLUX_DENSITY);
    ck_assert_double_eq_tol(wanted.value, 1.1, 1e-14);
    ck_assert_double_eq_tol(wanted.u, 0.011, 1e-12);
    drive.field = get_quantity(1e4, 0);
    ck_assert_int_eq(motor_drive_find(&drive, &steel, &machine, &wanted, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "--field and --air-gap-flux both give the amplitude in the ring");
    drive = (struct motor_drive){.air_gap_flux = get_quantity(1e-4, 0)};
    ck_assert_int_eq(motor_drive_find(&drive, &steel, &machine, &wanted, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, "the flux of a pole and the section of the ring belong together");
}
END_TEST

/* Each row of a sweep at fixed ampere-turns takes them, and its torque is that of its volume. */
START_TEST(a_sweep_over_thickness_keeps_the_ampere_turns)
{
    struct steel_point points[2] = {point, point};
    struct motor_steel steel = get_steel();
    struct motor_machine machine = get_ring();
    struct motor_sweep sweep;
    struct error err = {0};
    points[0].field_peak = 5e3;
    points[0].flux_density_peak = 0.2;
    points[0].loss[0] = 1e3;
    steel.points = points;
    steel.count = 2;
    machine.air_gap = get_quantity(3e-4, 0);
    const struct sweep_options options = {.kind = SWEEP_THICKNESS, .ampere_turns = 250};
    ck_assert_msg(!sweep_create(&steel, &machine, &options, &sweep, &err), "%s", err.message);
    ck_assert_uint_gt(sweep.count, 40);
    for (size_t i = 0; i < sweep.count; i++) {
        const double width = sweep.variable[i];
        const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = sweep.field[i]};
        struct steel_state state;
        ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, &err), STATUS_OK);
        struct motor_machine ring = machine;
        ring.inner_diameter.value = 0.04 - 2 * width;
        ck_assert_double_eq_tol(drive_compute_ampere_turns(&ring, &state.point), 250, 1e-8);
        const double volume = pi * (0.04 - width) * width * 0.006;
        const double torque = 2 * volume * state.point.loss[0] / (2 * pi);
        ck_assert_double_eq_tol(sweep.hysteresis[i], torque, 1e-9 * torque);
        ck_assert_double_le(sweep.hysteresis[i], sweep.hysteresis[sweep.best]);
    }
    sweep_clear(&sweep);
    const struct sweep_options upside_down = {.kind = SWEEP_FIELD, .least = 2e4, .most = 1e4};
    ck_assert_int_eq(sweep_create(&steel, &machine, &upside_down, &sweep, &err), STATUS_USAGE);
}
END_TEST

Suite *motor_suite(void)
{
    Suite *suite = suite_create("motor");
    TCase *tests = tcase_create("motor");
    tcase_add_test(tests, figures_follow_from_the_terms);
    tcase_add_test(tests, uncertainty_of_the_torque_has_the_covariance_in_it);
    tcase_add_test(tests, uncertainties_agree_with_monte_carlo);
    tcase_add_test(tests, a_load_close_to_the_limit_has_a_probability);
    tcase_add_test(tests, what_one_frequency_cannot_tell_is_not_told);
    tcase_add_test(tests, notes_tell_what_the_loops_do_not_cover);
    tcase_add_test(tests, the_ring_has_the_volume_of_its_dimensions);
    tcase_add_test(tests, refuses_machines_that_lack_something);
    tcase_add_test(tests, ampere_turns_are_field_times_radius_over_pole_pairs);
    tcase_add_test(tests, finds_the_field_of_given_ampere_turns);
    tcase_add_test(
        tests, what_ampere_turns_are_uncertain_by_is_taken_from_the_side_that_was_measured);
    tcase_add_test(tests, one_loop_stands_for_what_is_close_by);
    tcase_add_test(tests, the_choice_of_a_curve_is_a_rectangle);
    tcase_add_test(tests, what_is_not_given_adds_nothing);
    tcase_add_test(tests, half_the_flux_of_a_pole_goes_through_the_ring);
    tcase_add_test(tests, a_sweep_over_thickness_keeps_the_ampere_turns);
    suite_add_tcase(suite, tests);
    return suite;
}
