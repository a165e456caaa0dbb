// SPDX-License-Identifier: GPL-3.0-or-later
/* Each member of a motor's JSON holds its own number: structs filled by hand, no number twice. */
#include <math.h>
#include <string.h>

#include "base/version.h"
#include "motor/compare.h"
#include "motor/motor.h"
#include "motor/sweep.h"
#include "suites.h"

static struct steel_point point = {.frequency_most = 200,
    .field_peak = 30000,
    .u_field_peak = 30,
    .flux_density_peak = 1.1,
    .u_flux_density_peak = 0.002,
    .loss = {40000, 120, 400},
    .covariance = {{250000, 0, 0}, {0, 100, 0}, {0, 0, 6400}},
    .lag_angle = 25,
    .squareness = 0.8,
    .fullness = 0.4};

static struct motor_steel steel = {.name = "R-1 · RS-36",
    .source = "steel.json",
    .origin = STEEL_FROM_SERIES,
    .points = &point,
    .count = 1,
    .is_separated = true,
    .frequency_least = 10,
    .frequency_most = 180};

static struct quantity get_quantity(double value, double u)
{
    return (struct quantity){
        .value = value, .half_width = 2 * u, .is_present = true, .has_uncertainty = u > 0};
}

static void check_text(struct text *out, const char *expected)
{
    ck_assert_str_eq(out->bytes, expected);
    text_clear(out);
}

static void write_motor(const struct motor_machine *machine, struct motor *motor, struct text *out)
{
    struct json json;
    json_init(&json, out, 0);
    json_begin_object(&json, NULL);
    motor_write_members(&json, &steel, machine, motor);
    json_end_object(&json);
}

START_TEST(a_motor_is_told_whole)
{
    double slip[] = {0, 1}, torque[] = {0.25, 0.5}, u[] = {0, 0.02}, loss[] = {1, 2};
    double hysteresis[] = {0.25, 0.125}, eddy[] = {0, 0.375}, excess[] = {0.0625, 0.75};
    double angle[] = {0, 25}, held[] = {3, 4};
    struct motor motor = {.state = {.point = point},
        .curve = {2, slip, torque, u, loss, {hysteresis, eddy, excess}},
        .angles = {2, angle, held}};
    const struct motor_machine machine = {.pole_pairs = 3,
        .supply = get_quantity(50, 0.05),
        .volume = get_quantity(2e-5, 1e-7),
        .outer_diameter = get_quantity(0.04, 0.001),
        .inner_diameter = get_quantity(0.03, 0),
        .height = get_quantity(0.006, 0.0001),
        .air_gap = get_quantity(0.0003, 0),
        .load_torque = get_quantity(0.2, 0.004),
        .inertia = get_quantity(4e-5, 1e-6)};
    struct text out = {0};
    for (int i = 0; i < MOTOR_FIGURE_COUNT; i++) {
        motor.figures[i] = (struct figure_value){.value = 100 + i,
            .u = i % 3,
            .is_present = i != MOTOR_LAG_ANGLE && i != MOTOR_RUN_UP_TIME};
    }
    write_motor(&machine, &motor, &out);
    check_text(&out, "{\"schema\": \"lodecard-motor/1\", \"version\": \"" LODECARD_VERSION "\", "
                     "\"steel\": {\"name\": \"R-1 · RS-36\", \"file\": \"steel.json\", "
                     "\"origin\": \"series\", \"is_separated\": true, \"frequency_least_Hz\": 10, "
                     "\"frequency_most_Hz\": 200, \"field_peak_A_per_m\": 30000, "
                     "\"u_field_peak_A_per_m\": 30, \"flux_density_peak_T\": 1.1, "
                     "\"u_flux_density_peak_T\": 0.002, \"hysteresis_J_per_m3\": 40000, "
                     "\"u_hysteresis_J_per_m3\": 500, \"linear_J_s_per_m3\": 120, "
                     "\"u_linear_J_s_per_m3\": 10, \"excess_J_per_m3_per_sqrt_Hz\": 400, "
                     "\"u_excess_J_per_m3_per_sqrt_Hz\": 80, \"squareness\": 0.8, "
                     "\"loop_fullness\": 0.4}, \"machine\": {\"pole_pairs\": 3, \"supply_Hz\": 50, "
                     "\"u_supply_Hz\": 0.05, \"volume_m3\": 2e-05, \"u_volume_m3\": 1e-07, "
                     "\"outer_diameter_m\": 0.04, \"u_outer_diameter_m\": 0.001, "
                     "\"inner_diameter_m\": 0.03, \"height_m\": 0.006, \"u_height_m\": 0.0001, "
                     "\"air_gap_m\": 0.0003, \"load_torque_N_m\": 0.2, "
                     "\"u_load_torque_N_m\": 0.004, \"inertia_kg_m2\": 4e-05, "
                     "\"u_inertia_kg_m2\": 1e-06}, \"figures\": {\"synchronous_speed_rpm\": 100, "
                     "\"hysteresis_torque_N_m\": 101, \"u_hysteresis_torque_N_m\": 1, "
                     "\"eddy_torque_standstill_N_m\": 102, \"u_eddy_torque_standstill_N_m\": 2, "
                     "\"excess_torque_standstill_N_m\": 103, \"starting_torque_N_m\": 104, "
                     "\"u_starting_torque_N_m\": 1, \"lag_angle_deg\": null, "
                     "\"loss_standstill_W\": 106, \"hysteresis_loss_standstill_W\": 107, "
                     "\"u_hysteresis_loss_standstill_W\": 1, \"eddy_loss_standstill_W\": 108, "
                     "\"u_eddy_loss_standstill_W\": 2, \"excess_loss_standstill_W\": 109, "
                     "\"pull_out_power_W\": 110, \"u_pull_out_power_W\": 1, "
                     "\"torque_per_volume_N_m_per_m3\": 111, "
                     "\"u_torque_per_volume_N_m_per_m3\": 2, \"ampere_turns_A\": 112, "
                     "\"torque_per_ampere_turn_N_m_per_A\": 113, "
                     "\"u_torque_per_ampere_turn_N_m_per_A\": 1, \"load_margin_N_m\": 114, "
                     "\"u_load_margin_N_m\": 2, \"probability_synchronizing\": 115, "
                     "\"load_angle_deg\": 116, \"u_load_angle_deg\": 1, \"final_slip\": 117, "
                     "\"u_final_slip\": 2}, \"curve\": {\"slip\": [0, 1], \"torque_N_m\": [0.25, "
                     "0.5], \"u_torque_N_m\": [0, 0.02], \"rotor_loss_W\": [1, 2], "
                     "\"hysteresis_torque_N_m\": [0.25, 0.125], \"eddy_torque_N_m\": [0, 0.375], "
                     "\"excess_torque_N_m\": [0.0625, 0.75]}, "
                     "\"synchronism\": {\"load_angle_deg\": [0, 25], \"torque_N_m\": [3, 4]}}");
}
END_TEST

START_TEST(what_is_not_known_of_a_motor_is_left_out)
{
    double slip[] = {0, 1}, torque[] = {0.25, 0.5}, u[] = {0, 0}, loss[] = {1, 2};
    struct motor motor = {.state = {.point = {.field_peak = 100,
                                        .flux_density_peak = 1,
                                        .loss = {7},
                                        .squareness = NAN,
                                        .fullness = NAN}},
        .curve = {2, slip, torque, u, loss, {torque, loss, loss}}};
    const struct motor_machine machine = {
        .pole_pairs = 1, .supply = get_quantity(60, 0), .volume = get_quantity(1e-5, 0)};
    struct text out = {0};
    steel.is_separated = false;
    steel.origin = STEEL_FROM_LOOP;
    write_motor(&machine, &motor, &out);
    steel.is_separated = true;
    check_text(&out, "{\"schema\": \"lodecard-motor/1\", \"version\": \"" LODECARD_VERSION "\", "
                     "\"steel\": {\"name\": \"R-1 · RS-36\", \"file\": \"steel.json\", "
                     "\"origin\": \"loop\", \"is_separated\": false, \"frequency_least_Hz\": 10, "
                     "\"frequency_most_Hz\": 0, \"field_peak_A_per_m\": 100, "
                     "\"flux_density_peak_T\": 1, \"hysteresis_J_per_m3\": 7}, "
                     "\"machine\": {\"pole_pairs\": 1, \"supply_Hz\": 60, \"volume_m3\": 1e-05}, "
                     "\"figures\": {\"synchronous_speed_rpm\": null, "
                     "\"hysteresis_torque_N_m\": null, \"eddy_torque_standstill_N_m\": null, "
                     "\"lag_angle_deg\": null, \"loss_standstill_W\": null, "
                     "\"pull_out_power_W\": null}, \"curve\": {\"slip\": [0, 1], "
                     "\"torque_N_m\": [0.25, 0.5], \"rotor_loss_W\": [1, 2]}}");
}
END_TEST

/* At standstill all terms are in the torque: its u is known if any is. */
START_TEST(a_curve_has_its_u_if_the_torque_at_standstill_has)
{
    static const struct {
        size_t count;
        double u[3];
        bool is_told;
    } cases[] = {{0, {1, 1, 1}, false}, {1, {0.5, 0, 0}, true}, {1, {0, 0.5, 0.5}, false},
        {2, {0, 0.5, 0}, true}, {3, {0.5, 0.5, 0}, false}, {3, {0, 0, 0.5}, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double row[] = {1, 2, 3}, u[3];
        memcpy(u, cases[i].u, sizeof u);
        struct motor motor = {.state = {.point = point},
            .curve = {cases[i].count, row, row, u, row, {row, row, row}}};
        const struct motor_machine machine = {
            .pole_pairs = 1, .supply = get_quantity(60, 0), .volume = get_quantity(1e-5, 0)};
        struct text out = {0};
        write_motor(&machine, &motor, &out);
        ck_assert_int_eq(strstr(out.bytes, "u_torque_N_m") != NULL, cases[i].is_told);
        text_clear(&out);
    }
}
END_TEST

START_TEST(a_sweep_is_told_whole)
{
    double variable[] = {0.001, 0.002}, field[] = {10, 20}, flux[] = {0.5, 0.6}, torque[] = {3, 4},
           u[] = {0.25, 0.5}, starting[] = {5, 6}, loss[] = {7, 8}, taken[] = {9, 11};
    struct motor_sweep sweep = {SWEEP_FIELD, true, 400, 0.0003, 2, 0, variable, field, flux, torque,
        u, starting, loss, taken, 1};
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    sweep_write_json(&json, "field", &sweep);
    sweep.kind = SWEEP_THICKNESS;
    sweep.has_eddy = false;
    u[0] = 0;
    sweep_write_json(&json, "thickness", &sweep);
    json_end_object(&json);
    check_text(&out,
        "{\"field\": {\"variable\": \"field_peak_A_per_m\", \"field_peak_A_per_m\": [10, "
        "20], \"flux_density_peak_T\": [0.5, 0.6], \"hysteresis_torque_N_m\": [3, "
        "4], \"u_hysteresis_torque_N_m\": [0.25, 0.5], \"starting_torque_N_m\": [5, "
        "6], \"loss_standstill_W\": [7, 8], \"ampere_turns_A\": [9, 11]}, "
        "\"thickness\": {\"variable\": \"thickness_m\", \"ampere_turns_A\": 400, "
        "\"air_gap_m\": 0.0003, \"thickness_m\": [0.001, 0.002], "
        "\"field_peak_A_per_m\": [10, 20], \"flux_density_peak_T\": [0.5, 0.6], "
        "\"hysteresis_torque_N_m\": [3, 4], \"hysteresis_loss_standstill_W\": [7, "
        "8]}}");
}
END_TEST

START_TEST(a_comparison_is_told_whole)
{
    struct comparison_row rows[] = {{&steel, {true, point, 0.25, 0.01, 5, 6, 0.5},
                                        {true, point, 0.75, 0.02, 8, 9, 0.125}, true},
        {&steel, {.is_present = false},
            {true,
                {.field_peak = 1,
                    .flux_density_peak = 2,
                    .loss = {3},
                    .squareness = NAN,
                    .fullness = NAN},
                4, 0, 5, 6, 0},
            false}};
    struct text out = {0};
    struct json json;
    json_init(&json, &out, 0);
    json_begin_object(&json, NULL);
    comparison_write_json(&json, "comparison", rows, 2);
    json_end_object(&json);
    check_text(&out,
        "{\"comparison\": [{\"name\": \"R-1 · RS-36\", \"file\": \"steel.json\", "
        "\"is_separated\": true, \"asked\": {\"field_peak_A_per_m\": 30000, "
        "\"flux_density_peak_T\": 1.1, \"hysteresis_J_per_m3\": 40000, "
        "\"hysteresis_torque_N_m\": 0.25, \"u_hysteresis_torque_N_m\": 0.01, "
        "\"torque_per_volume_N_m_per_m3\": 5, \"torque_per_field_T\": 6, "
        "\"torque_per_ampere_turn_N_m_per_A\": 0.5, \"squareness\": 0.8, "
        "\"loop_fullness\": 0.4}, \"best\": {\"field_peak_A_per_m\": 30000, "
        "\"flux_density_peak_T\": 1.1, \"hysteresis_J_per_m3\": 40000, "
        "\"hysteresis_torque_N_m\": 0.75, \"u_hysteresis_torque_N_m\": 0.02, "
        "\"torque_per_volume_N_m_per_m3\": 8, \"torque_per_field_T\": 9, "
        "\"torque_per_ampere_turn_N_m_per_A\": 0.125, \"squareness\": 0.8, "
        "\"loop_fullness\": 0.4}, \"is_best_at_end\": true}, {\"name\": \"R-1 · RS-36\", "
        "\"file\": \"steel.json\", \"is_separated\": true, "
        "\"best\": {\"field_peak_A_per_m\": 1, \"flux_density_peak_T\": 2, "
        "\"hysteresis_J_per_m3\": 3, \"hysteresis_torque_N_m\": 4, "
        "\"torque_per_volume_N_m_per_m3\": 5, \"torque_per_field_T\": 6}, "
        "\"is_best_at_end\": false}]}");
}
END_TEST

Suite *motor_json_suite(void)
{
    Suite *suite = suite_create("motor_json");
    TCase *tests = tcase_create("motor_json");
    tcase_add_test(tests, a_motor_is_told_whole);
    tcase_add_test(tests, what_is_not_known_of_a_motor_is_left_out);
    tcase_add_test(tests, a_curve_has_its_u_if_the_torque_at_standstill_has);
    tcase_add_test(tests, a_sweep_is_told_whole);
    tcase_add_test(tests, a_comparison_is_told_whole);
    suite_add_tcase(suite, tests);
    return suite;
}
