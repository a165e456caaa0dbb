// SPDX-License-Identifier: GPL-3.0-or-later
/* Steels of one loop, and what a series or a card tells of them beside its loops. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "motor/steel.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;

static struct motor_steel steel;

static void tear_down(void)
{
    motor_steel_clear(&steel);
}

static enum status read_figures(const struct figures *figures, struct error *err)
{
    return motor_steel_read_figures("ring", "ring.json", figures, &steel, err);
}

static struct figures get_figures(void)
{
    struct figures figures = {0};
    figures_set(&figures, FIGURE_FIELD_PEAK, 30000);
    figures_set_u(&figures, FIGURE_FIELD_PEAK, 60);
    figures_set(&figures, FIGURE_FLUX_DENSITY_PEAK, 1.1);
    figures_set_u(&figures, FIGURE_FLUX_DENSITY_PEAK, 0.002);
    figures_set(&figures, FIGURE_LOOP_AREA, 50000);
    figures_set_u(&figures, FIGURE_LOOP_AREA, 100);
    return figures;
}

/* sin d = W/(pi Hm Bm), du/dW = tan d/W. */
START_TEST(the_lag_of_a_loop_without_time_is_that_of_its_area)
{
    struct figures figures = get_figures();
    ck_assert_int_eq(read_figures(&figures, NULL), STATUS_OK);
    const struct steel_point *point = &steel.points[0];
    const double lag = asin(50000 / (PI * 30000 * 1.1));
    ck_assert(steel.has_lag_from_area && !steel.is_separated);
    ck_assert_double_eq_tol(point->lag_angle, lag * 180 / PI, 1e-10);
    ck_assert_double_eq_tol(point->u_lag_angle, tan(lag) * 100 / 50000 * 180 / PI, 1e-12);
    ck_assert_double_eq(point->u_field_peak, 60);
    ck_assert_double_eq(point->u_flux_density_peak, 0.002);
    ck_assert_double_eq(point->covariance[STEEL_HYSTERESIS][STEEL_HYSTERESIS], 1e4);
    ck_assert_double_eq(point->frequency_most, 0);
    ck_assert_double_eq(steel.frequency_most, 0);
    ck_assert(isnan(point->squareness) && isnan(point->fullness));
}
END_TEST

START_TEST(a_loop_fuller_than_an_ellipse_has_no_lag)
{
    struct figures figures = get_figures();
    figures_set(&figures, FIGURE_LOOP_AREA, 1.001 * PI * 30000 * 1.1);
    ck_assert_int_eq(read_figures(&figures, NULL), STATUS_OK);
    ck_assert(isnan(steel.points[0].lag_angle));
}
END_TEST

START_TEST(what_a_loop_tells_itself_is_taken)
{
    struct figures figures = get_figures();
    figures_set(&figures, FIGURE_LAG_ANGLE_AREA, 31);
    figures_set_u(&figures, FIGURE_LAG_ANGLE_AREA, 0.25);
    figures_set(&figures, FIGURE_SQUARENESS, 0.75);
    figures_set(&figures, FIGURE_LOOP_FULLNESS, 0.5);
    figures_set(&figures, FIGURE_FREQUENCY, 20);
    ck_assert_int_eq(read_figures(&figures, NULL), STATUS_OK);
    ck_assert(steel.has_lag_from_area);
    ck_assert_double_eq(steel.points[0].lag_angle, 31);
    ck_assert_double_eq(steel.points[0].u_lag_angle, 0.25);
    ck_assert_double_eq(steel.points[0].squareness, 0.75);
    ck_assert_double_eq(steel.points[0].fullness, 0.5);
    ck_assert_double_eq(steel.points[0].frequency_most, 20);
    ck_assert_double_eq(steel.frequency_least, 20);
    ck_assert_double_eq(steel.frequency_most, 20);
    tear_down();
    figures_set(&figures, FIGURE_LAG_ANGLE, 29);
    ck_assert_int_eq(read_figures(&figures, NULL), STATUS_OK);
    ck_assert(!steel.has_lag_from_area);
    ck_assert_double_eq(steel.points[0].lag_angle, 29);
    ck_assert_double_eq(steel.points[0].u_lag_angle, 0);
}
END_TEST

START_TEST(energy_is_area_or_else_loss_over_frequency)
{
    struct figures figures = get_figures();
    figures.list[FIGURE_LOOP_AREA].is_present = false;
    figures_set(&figures, FIGURE_LOSS, 800000);
    figures_set_u(&figures, FIGURE_LOSS, 4000);
    ck_assert_int_eq(read_figures(&figures, NULL), STATUS_INPUT);
    figures_set(&figures, FIGURE_FREQUENCY, 0);
    ck_assert_int_eq(read_figures(&figures, NULL), STATUS_INPUT);
    figures_set(&figures, FIGURE_FREQUENCY, 20);
    ck_assert_int_eq(read_figures(&figures, NULL), STATUS_OK);
    ck_assert_double_eq(steel.points[0].loss[STEEL_HYSTERESIS], 40000);
    ck_assert_double_eq_tol(steel.points[0].covariance[0][0], 200 * 200, 1e-9);
}
END_TEST

START_TEST(a_loop_needs_field_flux_density_and_energy_above_0)
{
    static const enum figure needed[] = {
        FIGURE_FIELD_PEAK, FIGURE_FLUX_DENSITY_PEAK, FIGURE_LOOP_AREA};
    struct error err = {0};
    for (int i = 0; i < 3; i++) {
        for (int is_zero = 0; is_zero < 2; is_zero++) {
            struct figures figures = get_figures();
            figures.list[needed[i]].is_present = is_zero;
            figures.list[needed[i]].value = 0;
            ck_assert_int_eq(read_figures(&figures, &err), STATUS_INPUT);
            ck_assert_str_eq(err.message,
                "'ring.json' has no loop with peak field, peak flux density and loop area");
        }
    }
    struct figures figures = get_figures();
    figures.list[FIGURE_FLUX_DENSITY_PEAK].is_present = false;
    figures_set(&figures, FIGURE_POLARIZATION_PEAK, 1);
    ck_assert_int_eq(read_figures(&figures, &err), STATUS_OK);
    ck_assert_double_eq_tol(steel.points[0].flux_density_peak, 1 + 4e-7 * PI * 30000, 1e-9);
}
END_TEST

/* --- results ------------------------------------------------------------------------------------
 */

#define LOOP(f, h, b, w)                                                                           \
    "{\"frequency_Hz\": " #f ", \"field_peak_A_per_m\": " #h ", \"flux_density_peak_T\": " #b      \
    ", \"loop_area_J_per_m3\": " #w ", \"lag_angle_deg\": 25}"

static void read_words(const char *words)
{
    struct tree *tree = NULL;
    struct error err = {0};
    ck_assert_msg(
        !tree_read_bytes("a/b.json", words, strlen(words), &tree, &err), "%s", err.message);
    ck_assert_msg(!motor_steel_read_tree(tree, &steel, &err), "%s", err.message);
    tree_destroy(tree);
}

static const struct {
    const char *specimen, *name;
    double thickness, resistivity;
} specimen_list[] = {
    {"{\"name\": \"R\", \"alloy\": \"A\", \"heat\": \"H\"}", "R · A, heat H", 0, 0},
    {"{\"alloy\": \"A\", \"resistivity_ohm_m\": 3e-7}", "A", 0, 3e-7},
    {"{\"name\": \"R\"}", "R", 0, 0},
    {"{\"heat\": \"H\"}", "b.json, heat H", 0, 0},
    {"{\"thickness_m\": 0.001, \"ring\": {\"outer_diameter_m\": 0.04, \"inner_diameter_m\": 0.03, "
     "\"height_m\": 0.006}}",
        "b.json", 0.001, 0},
    {"{\"ring\": {\"outer_diameter_m\": 0.04, \"inner_diameter_m\": 0.03, \"height_m\": 0.006}}",
        "b.json", 0.005, 0},
    {"{\"ring\": {\"outer_diameter_m\": 0.04, \"inner_diameter_m\": 0.03, \"height_m\": 0.004}}",
        "b.json", 0.004, 0},
    {"{\"ring\": {\"outer_diameter_m\": 0.04, \"inner_diameter_m\": 0.03}}", "b.json", 0, 0},
    {"{\"ring\": {\"outer_diameter_m\": 0.04, \"inner_diameter_m\": 0.03, \"height_m\": 0.004, "
     "\"stacking_factor\": 0.95}}",
        "b.json", 0, 0},
};

START_TEST(a_specimen_has_a_name_and_a_thickness)
{
    static const char *const schemas[] = {"loop", "series"};
    for (int i = 0; i < 2; i++) {
        char words[900];
        snprintf(words, sizeof words,
            "{\"schema\": \"lodecard-%s/1\", \"specimen\": %s, \"%s\": %s" LOOP(
                20, 30000, 1.1, 50000) "%s}",
            schemas[i], specimen_list[_i].specimen, i == 0 ? "figures" : "loops", i == 0 ? "" : "[",
            i == 0 ? "" : "]");
        read_words(words);
        ck_assert_str_eq(steel.name, specimen_list[_i].name);
        ck_assert_str_eq(steel.source, "b.json");
        ck_assert_double_eq_tol(steel.thickness, specimen_list[_i].thickness, 1e-15);
        ck_assert_double_eq(steel.resistivity, specimen_list[_i].resistivity);
        ck_assert_int_eq(steel.origin, i == 0 ? STEEL_FROM_LOOP : STEEL_FROM_SERIES);
        tear_down();
    }
}
END_TEST

/* Of loops of one amplitude the first counts, and amplitudes within 0.1 % are one; B must rise with
 * H; frequencies within 0.1 % of the lowest are the lowest. */
START_TEST(loops_are_sorted_and_thinned)
{
    read_words("{\"schema\": \"lodecard-series/1\", \"loops\": [" LOOP(
        10, 20000, 0.9, 30000) ", " LOOP(10, 10000, 0.5, 9000) ", " LOOP(10, 10009, 0.51,
        1) ", " LOOP(10, 10011, 0.52, 9100) ", " LOOP(10.009, 15000, 0.7, 20000) ", " LOOP(10.011,
        17000, 0.8, 25000) ", " LOOP(10, 30000, 0.9, 40000) "]}");
    static const double fields[] = {10000, 10011, 15000, 20000};
    ck_assert_uint_eq(steel.count, 4);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_double_eq(steel.points[i].field_peak, fields[i]);
    }
    ck_assert_double_eq(steel.frequency_least, 10.009);
    ck_assert_double_eq(steel.frequency_most, 10.009);
    ck_assert(!steel.is_separated);
}
END_TEST

/* A card's major loop stands at its top and counts as one more; losses per kg are times the
 * density. */
START_TEST(a_card_has_a_major_loop_and_terms_per_mass)
{
    read_words(
        "{\"schema\": \"lodecard-card/1\", \"name\": \"N\", \"steel\": {\"density_kg_per_m3\": "
        "8000, \"resistivity_ohm_m\": 2e-7, \"thickness_m\": 0.002}, \"figures\": " LOOP(
            20, 40000, 1.2, 60000) ", \"loops\": [" LOOP(20, 10000, 0.5, 9000) ", " LOOP(20, 20000,
            1.0, 41000) "], \"separation\": [{\"flux_density_peak_T\": 1.2, "
                        "\"hysteresis_J_per_kg\": 7, \"u_hysteresis_J_per_kg\": 0.25, "
                        "\"classical_J_s_per_kg\": 0.01, \"linear_J_s_per_kg\": 5, "
                        "\"excess_J_per_kg_per_sqrt_Hz\": 0.5, \"frequency_most_Hz\": 80, "
                        "\"covariance\": [[0.0625, 0.5, 0], [0.5, 2, 0], [0, 0, 3]]}, "
                        "{\"flux_density_peak_T\": 1, \"hysteresis_J_per_kg\": 5, "
                        "\"u_hysteresis_J_per_kg\": 0.25, \"linear_J_s_per_kg\": 0.02}, "
                        "{\"flux_density_peak_T\": 0.75, \"hysteresis_J_per_m3\": 0}, "
                        "{\"flux_density_peak_T\": 1.5, \"hysteresis_J_per_m3\": 9}, "
                        "{\"hysteresis_J_per_m3\": 9}, {\"flux_density_peak_T\": 0.75}]}");
    ck_assert_str_eq(steel.name, "N");
    ck_assert_int_eq(steel.origin, STEEL_FROM_CARD);
    ck_assert_double_eq(steel.resistivity, 2e-7);
    ck_assert_double_eq(steel.thickness, 0.002);
    ck_assert(steel.is_separated);
    ck_assert_uint_eq(steel.count, 2);
    const struct steel_point *low = &steel.points[0], *high = &steel.points[1];
    ck_assert_double_eq_tol(low->field_peak, 20000, 1e-6);
    ck_assert_double_eq_tol(high->field_peak, 40000, 1e-6);
    ck_assert_double_eq(low->loss[STEEL_HYSTERESIS], 40000);
    ck_assert_double_eq(low->loss[STEEL_LINEAR], 160);
    ck_assert_double_eq(low->covariance[0][0], 2000.0 * 2000.0);
    ck_assert_double_eq(low->covariance[0][1], 0);
    ck_assert_double_eq(low->frequency_most, 20);
    ck_assert_double_eq(high->loss[STEEL_HYSTERESIS], 56000);
    ck_assert_double_eq(high->loss[STEEL_LINEAR], 80);
    ck_assert_double_eq(high->loss[STEEL_EXCESS], 4000);
    ck_assert_double_eq(high->frequency_most, 80);
    ck_assert_double_eq(high->covariance[0][1], 0.5 * 8000 * 8000);
    ck_assert_double_eq(high->covariance[2][2], 3.0 * 8000 * 8000);
}
END_TEST

Suite *steel_loop_suite(void)
{
    Suite *suite = suite_create("steel_loop");
    TCase *tests = tcase_create("steel_loop");
    tcase_add_checked_fixture(tests, NULL, tear_down);
    tcase_add_test(tests, the_lag_of_a_loop_without_time_is_that_of_its_area);
    tcase_add_test(tests, a_loop_fuller_than_an_ellipse_has_no_lag);
    tcase_add_test(tests, what_a_loop_tells_itself_is_taken);
    tcase_add_test(tests, energy_is_area_or_else_loss_over_frequency);
    tcase_add_test(tests, a_loop_needs_field_flux_density_and_energy_above_0);
    tcase_add_loop_test(tests, a_specimen_has_a_name_and_a_thickness, 0,
        (int)(sizeof specimen_list / sizeof *specimen_list));
    tcase_add_test(tests, loops_are_sorted_and_thinned);
    tcase_add_test(tests, a_card_has_a_major_loop_and_terms_per_mass);
    suite_add_tcase(suite, tests);
    return suite;
}
