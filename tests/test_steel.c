// SPDX-License-Identifier: GPL-3.0-or-later
#include "motor/steel.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "suites.h"

#define POINTS 6

/* Fields 10 to 60 kA/m, all quantities power laws of the field. */
static struct motor_steel create_steel(void)
{
    struct motor_steel steel = {.is_separated = true, .count = POINTS};
    steel.name = memory_copy_text("steel");
    steel.source = memory_copy_text("steel.json");
    steel.points = memory_create(POINTS, sizeof *steel.points);
    for (size_t i = 0; i < POINTS; i++) {
        const double field = 1e4 * (double)(i + 1);
        steel.points[i] = (struct steel_point){.field_peak = field,
            .u_field_peak = 1e-3 * field,
            .flux_density_peak = 0.3 * sqrt(field / 1e4),
            .loss = {5e3 * pow(field / 1e4, 1.7), 2 * pow(field / 1e4, 1.2), 0},
            .covariance = {{1e4, -30, 0}, {-30, 0.04, 0}, {0, 0, 0}},
            .lag_angle = 20 * pow(field / 1e4, 0.1),
            .u_lag_angle = 0.05,
            .squareness = 0.7,
            .fullness = NAN};
    }
    return steel;
}

START_TEST(power_laws_are_interpolated_exactly)
{
    struct motor_steel steel = create_steel();
    static const double fields[] = {1e4, 13700, 25000, 44444, 6e4};
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) {
        const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = fields[i]};
        struct steel_state state;
        ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, NULL), STATUS_OK);
        const double ratio = fields[i] / 1e4;
        ck_assert_double_eq_tol(state.point.field_peak, fields[i], 1e-9);
        ck_assert_double_eq_tol(state.point.flux_density_peak, 0.3 * sqrt(ratio), 1e-14);
        ck_assert_double_eq_tol(state.point.loss[0], 5e3 * pow(ratio, 1.7), 1e-8);
        ck_assert_double_eq_tol(state.point.loss[1], 2 * pow(ratio, 1.2), 1e-12);
        ck_assert_double_eq(state.point.loss[2], 0);
        ck_assert_double_eq_tol(state.point.lag_angle, 20 * pow(ratio, 0.1), 1e-12);
        ck_assert(isnan(state.point.fullness));
        ck_assert(!state.is_beyond);
        /* the measured field's u of 0.1 %, through both exponents, beside the terms' own */
        const double by_field = 1.7e-3 * state.point.loss[0], with = 1.2e-3 * state.point.loss[1];
        ck_assert_double_eq_tol(state.point.covariance[0][0], 1e4 + by_field * by_field, 1e-3);
        ck_assert_double_eq_tol(state.point.covariance[0][1], -30 + by_field * with, 1e-6);
    }
    motor_steel_clear(&steel);
}
END_TEST

START_TEST(a_stated_uncertainty_of_the_field_goes_through_the_slope)
{
    struct motor_steel steel = create_steel();
    const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = 3e4, .u = 600};
    struct steel_state state;
    ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, NULL), STATUS_OK);
    const double u = hypot(600, 30) / 3e4; /* and the measured field's own */
    ck_assert_double_eq_tol(
        state.point.covariance[0][0], 1e4 + pow(1.7 * u * state.point.loss[0], 2), 1e-3);
    ck_assert_double_eq_tol(
        state.point.u_lag_angle, hypot(0.05, 0.1 * u * state.point.lag_angle), 1e-9);
    motor_steel_clear(&steel);
}
END_TEST

START_TEST(flux_density_finds_the_same_state_as_field)
{
    struct motor_steel steel = create_steel();
    const struct motor_wanted wanted = {.kind = WANTED_FLUX_DENSITY, .value = 0.3 * sqrt(2.7)};
    struct steel_state state;
    ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, NULL), STATUS_OK);
    ck_assert_double_eq_tol(state.point.field_peak, 27000, 1e-8);
    ck_assert_double_eq_tol(state.point.loss[0], 5e3 * pow(2.7, 1.7), 1e-8);
    motor_steel_clear(&steel);
}
END_TEST

START_TEST(goes_on_a_little_beyond_and_refuses_more)
{
    struct motor_steel steel = create_steel();
    struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = 62900};
    struct steel_state state;
    struct error err = {0};
    ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, &err), STATUS_OK);
    ck_assert(state.is_beyond);
    ck_assert_double_eq_tol(state.point.loss[0], 5e3 * pow(6.29, 1.7), 1e-7);
    wanted.value = 63100;
    ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, &err), STATUS_USAGE);
    ck_assert_str_eq(
        err.message, "'steel.json' was measured from 10 kA/m to 60 kA/m, and 63.1 kA/m is wanted");
    wanted.value = 9400;
    ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, &err), STATUS_USAGE);
    wanted.value = NAN;
    ck_assert_int_eq(motor_steel_find(&steel, &wanted, &state, &err), STATUS_USAGE);
    motor_steel_clear(&steel);
}
END_TEST

/* W / H = 0.5 (H / 10 kA/m)^0.7 T rises to the end; with a bend it has its largest value inside. */
START_TEST(finds_the_amplitude_of_most_torque_per_ampere_turn)
{
    struct motor_steel steel = create_steel();
    struct steel_state state;
    bool is_at_end;
    ck_assert_int_eq(motor_steel_find_best(&steel, &state, &is_at_end, NULL), STATUS_OK);
    ck_assert(is_at_end);
    ck_assert_double_eq_tol(state.point.field_peak, 6e4, 1e-8);
    for (size_t i = 3; i < POINTS; i++)
        steel.points[i].loss[0] = steel.points[2].loss[0] * (double)(i + 10) / 12;
    ck_assert_int_eq(motor_steel_find_best(&steel, &state, &is_at_end, NULL), STATUS_OK);
    ck_assert(!is_at_end);
    ck_assert_double_eq_tol(state.point.field_peak, 3e4, 2000);
    motor_steel_clear(&steel);
}
END_TEST

/* --- reading -----------------------------------------------------------------------------------
 */

static enum status read_words(const char *words, struct motor_steel *steel, struct error *err)
{
    struct tree *tree = NULL;
    enum status status = tree_read_bytes("a/b.json", words, strlen(words), &tree, err);
    if (!status)
        status = motor_steel_read_tree(tree, steel, err);
    tree_destroy(tree);
    return status;
}

START_TEST(a_loop_is_one_point_that_is_not_separated)
{
    struct motor_steel steel = {0};
    struct error err = {0};
    ck_assert_msg(!read_words("{\"schema\": \"lodecard-loop/1\", \"specimen\": {\"name\": \"R\", "
                              "\"alloy\": \"A\", \"heat\": \"H\", \"resistivity_ohm_m\": 2e-7, "
                              "\"ring\": {\"outer_diameter_m\": 0.04, \"inner_diameter_m\": 0.03, "
                              "\"height_m\": 0.006}}, \"figures\": {\"frequency_Hz\": 20, "
                              "\"field_peak_A_per_m\": 3e4, \"flux_density_peak_T\": 1.1, "
                              "\"loop_area_J_per_m3\": 5e4, \"u_loop_area_J_per_m3\": 100, "
                              "\"lag_angle_deg\": 30}}",
                      &steel, &err),
        "%s", err.message);
    ck_assert_str_eq(steel.name, "R \u00B7 A, heat H");
    ck_assert_str_eq(steel.source, "b.json");
    ck_assert_uint_eq(steel.count, 1);
    ck_assert(!steel.is_separated && !steel.has_lag_from_area);
    ck_assert_double_eq(steel.frequency_most, 20);
    ck_assert_double_eq_tol(steel.thickness, 0.005, 1e-12);
    ck_assert_double_eq(steel.points[0].covariance[0][0], 1e4);
    ck_assert_double_eq(steel.points[0].lag_angle, 30);
    const struct motor_wanted near = {.kind = WANTED_FIELD, .value = 30200},
                              far = {.kind = WANTED_FIELD, .value = 31000};
    struct steel_state state;
    ck_assert_int_eq(motor_steel_find(&steel, &near, &state, &err), STATUS_OK);
    ck_assert_double_eq(state.point.field_peak, 3e4);
    ck_assert_int_eq(motor_steel_find(&steel, &far, &state, &err), STATUS_USAGE);
    ck_assert_str_eq(
        err.message, "'b.json' is one loop with a peak of 30 kA/m, and 31 kA/m is wanted");
    motor_steel_clear(&steel);
}
END_TEST

#define LOOP(f, h, b, w)                                                                           \
    "{\"frequency_Hz\": " #f ", \"field_peak_A_per_m\": " #h ", \"flux_density_peak_T\": " #b      \
    ", \"loop_area_J_per_m3\": " #w ", \"lag_angle_area_deg\": 25}"

START_TEST(a_series_takes_its_terms_from_the_separation)
{
    struct motor_steel steel = {0};
    struct error err = {0};
    ck_assert_msg(
        !read_words(
            "{\"schema\": \"lodecard-series/1\", \"specimen\": {\"name\": \"R\"}, "
            "\"loops\": [" LOOP(50, 20000, 1.0, 43000) ", " LOOP(10, 20000, 1.0, 41000) ", " LOOP(
                10, 10000, 0.5,
                9000) "], \"separation\": [{\"flux_density_peak_T\": 0.5, "
                      "\"frequency_Hz\": [10, 20], \"hysteresis_J_per_m3\": 8000, "
                      "\"u_hysteresis_J_per_m3\": 50, "
                      "\"classical_J_s_per_m3\": 20, \"excess_J_per_m3_per_sqrt_Hz\": 3}, "
                      "{\"flux_density_peak_T\": 1, \"hysteresis_J_per_m3\": 40000, "
                      "\"linear_J_s_per_m3\": 80, \"covariance\": [[4, -1, 0], [-1, 2, 0], [0, 0, "
                      "0]]}]}",
            &steel, &err),
        "%s", err.message);
    ck_assert(steel.is_separated && steel.has_lag_from_area);
    ck_assert_uint_eq(steel.count, 2);
    ck_assert_double_eq(steel.frequency_least, 10);
    ck_assert_double_eq(steel.frequency_most, 50);
    ck_assert_double_eq(steel.points[0].frequency_most, 20);
    ck_assert_double_eq(steel.points[1].frequency_most, 50);
    ck_assert_double_eq_tol(steel.points[0].field_peak, 1e4, 1e-8);
    ck_assert_double_eq(steel.points[0].loss[STEEL_LINEAR], 20);
    ck_assert_double_eq(steel.points[0].loss[STEEL_EXCESS], 3);
    ck_assert_double_eq(steel.points[0].covariance[0][0], 2500);
    ck_assert_double_eq(steel.points[1].loss[STEEL_HYSTERESIS], 40000);
    ck_assert_double_eq(steel.points[1].loss[STEEL_LINEAR], 80);
    ck_assert_double_eq(steel.points[1].covariance[0][1], -1);
    ck_assert_double_eq(steel.points[1].covariance[1][1], 2);
    motor_steel_clear(&steel);
}
END_TEST

/* B = J + µ0 H: at J = 1 T and 100 kA/m it is 1.12566 T. */
START_TEST(peaks_of_polarization_become_flux_densities)
{
    struct motor_steel steel = {0};
    struct error err = {0};
    ck_assert_msg(
        !read_words("{\"schema\": \"lodecard-series/1\", \"loops\": [{\"field_peak_A_per_m\": "
                    "1e5, \"polarization_peak_T\": 1, \"loop_area_J_per_m3\": 4e4}, "
                    "{\"field_peak_A_per_m\": 2e5, \"polarization_peak_T\": 1.2, "
                    "\"loop_area_J_per_m3\": 6e4}], \"separation\": "
                    "[{\"polarization_peak_T\": 1, \"hysteresis_J_per_m3\": 3e4}]}",
            &steel, &err),
        "%s", err.message);
    ck_assert_uint_eq(steel.count, 1);
    ck_assert_double_eq_tol(steel.points[0].flux_density_peak, 1.1256637061435917, 1e-9);
    ck_assert_double_eq_tol(steel.points[0].field_peak, 1e5, 1e-3);
    motor_steel_clear(&steel);
}
END_TEST

/* Its loops have 20 Hz; the separation stands at 0.5 T and 1 T. */
START_TEST(the_sample_card_is_read)
{
    struct tree *tree = NULL;
    struct motor_steel steel = {0};
    struct error err = {0};
    ck_assert_int_eq(tree_read("samples/card/rs36-h2291.json", 1 << 24, &tree, &err), STATUS_OK);
    ck_assert_msg(!motor_steel_read_tree(tree, &steel, &err), "%s", err.message);
    ck_assert_str_eq(steel.name, "RS-36, heat H2291");
    ck_assert(steel.is_separated);
    ck_assert_double_eq_tol(steel.resistivity, 2.7e-7, 1e-20);
    ck_assert_double_eq_tol(steel.thickness, 0.004, 1e-15);
    ck_assert_double_gt(steel.points[steel.count - 1].loss[STEEL_HYSTERESIS], 4e4);
    motor_steel_clear(&steel);
    tree_destroy(tree);
}
END_TEST

START_TEST(refuses_what_holds_no_steel_and_says_why)
{
    static const struct {
        const char *words, *message;
    } cases[] = {
        {"{}", "'a/b.json': 'schema' is missing; a text is needed"},
        {"{\"schema\": \"lodecard-verdict/1\"}",
            "'a/b.json' has the schema 'lodecard-verdict/1', which holds no steel"},
        {"{\"schema\": \"lodecard-loop/1\"}",
            "'b.json' has no loop with peak field, peak flux density and loop area"},
        {"{\"schema\": \"lodecard-loop/1\", \"figures\": " LOOP(5, 100, 1, -3) "}",
            "'b.json' has no loop with peak field, peak flux density and loop area"},
        {"{\"schema\": \"lodecard-series/1\", \"loops\": []}",
            "'a/b.json' has no loop with peak field, peak flux density and loop area"},
        {"{\"schema\": \"lodecard-card/1\", \"loops\": 7}",
            "'a/b.json' has no loop with peak field, peak flux density and loop area"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct motor_steel steel = {0};
        struct error err = {0};
        ck_assert_int_eq(read_words(cases[i].words, &steel, &err), STATUS_INPUT);
        ck_assert_msg(strstr(err.message, cases[i].message) != NULL, "%s", err.message);
        ck_assert_ptr_null(steel.points);
    }
}
END_TEST

Suite *steel_suite(void)
{
    Suite *suite = suite_create("steel");
    TCase *tests = tcase_create("steel");
    tcase_add_test(tests, power_laws_are_interpolated_exactly);
    tcase_add_test(tests, a_stated_uncertainty_of_the_field_goes_through_the_slope);
    tcase_add_test(tests, flux_density_finds_the_same_state_as_field);
    tcase_add_test(tests, goes_on_a_little_beyond_and_refuses_more);
    tcase_add_test(tests, finds_the_amplitude_of_most_torque_per_ampere_turn);
    tcase_add_test(tests, a_loop_is_one_point_that_is_not_separated);
    tcase_add_test(tests, a_series_takes_its_terms_from_the_separation);
    tcase_add_test(tests, peaks_of_polarization_become_flux_densities);
    tcase_add_test(tests, the_sample_card_is_read);
    tcase_add_test(tests, refuses_what_holds_no_steel_and_says_why);
    suite_add_tcase(suite, tests);
    return suite;
}
