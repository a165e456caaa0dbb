// SPDX-License-Identifier: GPL-3.0-or-later
/* Motors when memory runs out: each allocation is refused once. */
#include <math.h>
#include <string.h>

#include "base/tree.h"
#include "motor/compare.h"
#include "motor/drive.h"
#include "motor/motor.h"
#include "motor/sweep.h"
#include "scarce.h"
#include "suites.h"

#define LOOP(f, h, b, w)                                                                           \
    "{\"frequency_Hz\": " #f ", \"field_peak_A_per_m\": " #h ", \"flux_density_peak_T\": " #b      \
    ", \"loop_area_J_per_m3\": " #w ", \"lag_angle_deg\": 25}"

static const char series[] =
    "{\"schema\": \"lodecard-series/1\", \"specimen\": {\"name\": \"R\", \"alloy\": \"A\"}, "
    "\"loops\": [" LOOP(10, 10000, 0.5, 9000) ", " LOOP(10, 20000, 1.0, 41000) ", " LOOP(
        10, 30000, 1.2, 52000) "], \"separation\": ["
                               "{\"flux_density_peak_T\": 0.5, \"hysteresis_J_per_m3\": 8000}, "
                               "{\"flux_density_peak_T\": 1, \"hysteresis_J_per_m3\": 40000}, "
                               "{\"polarization_peak_T\": 1.1, \"hysteresis_J_per_m3\": 48000}, "
                               "{\"polarization_peak_T\": 7, \"hysteresis_J_per_m3\": 90000}]}";
static const char loop[] =
    "{\"schema\": \"lodecard-loop/1\", \"figures\": " LOOP(20, 30000, 1.1, 50000) "}";
static const char card[] = "{\"schema\": \"lodecard-card/1\", \"name\": \"N\", \"loops\": [" LOOP(
    10, 10000, 0.5, 9000) ", " LOOP(10, 20000, 1.0, 41000) "]}";

static enum status run_reading(void *data, struct error *err)
{
    struct motor_steel steel = {0};
    const enum status status = motor_steel_read_tree(data, &steel, err);
    motor_steel_clear(&steel);
    return status;
}

START_TEST(a_steel_is_whole_or_not_at_all)
{
    static const char *const texts[] = {loop, card};
    struct tree *tree = NULL;
    struct error err = {0};
    ck_assert_msg(!tree_read_bytes("steel.json", texts[_i], strlen(texts[_i]), &tree, &err), "%s",
        err.message);
    ck_assert_uint_ge(check_every_allocation(run_reading, tree), 3);
    tree_destroy(tree);
}
END_TEST

static const struct motor_machine machine = {.pole_pairs = 2,
    .supply = {.value = 50, .is_present = true},
    .volume = {.value = 2.7e-6, .is_present = true},
    .outer_diameter = {.value = 0.04, .is_present = true},
    .inner_diameter = {.value = 0.032, .is_present = true},
    .height = {.value = 0.006, .is_present = true},
    .load_torque = {.value = 0.001, .is_present = true}};

static enum status run_motor(void *data, struct error *err)
{
    const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = 15000};
    struct motor motor = {0};
    enum status status = motor_create(data, &machine, &wanted, &motor, err);
    if (status == STATUS_OK) {
        motor_add_notes(data, &machine, &wanted, &motor);
        status = motor.notes.failed ? fail_memory(err) : STATUS_OK;
    }
    motor_clear(&motor);
    return status;
}

START_TEST(a_motor_is_whole_or_not_at_all)
{
    struct tree *tree = NULL;
    struct motor_steel steel = {0};
    struct error err = {0};
    ck_assert(!tree_read_bytes("steel.json", series, strlen(series), &tree, &err));
    ck_assert_msg(!motor_steel_read_tree(tree, &steel, &err), "%s", err.message);
    ck_assert_uint_ge(check_every_allocation(run_motor, &steel), 8);
    motor_steel_clear(&steel);
    tree_destroy(tree);
}
END_TEST

/* An entry that got no memory is none that lies elsewhere: the steel would have other terms. The
 * polarization is sought in dozens of steps. */
static enum status run_series(void *data, struct error *err)
{
    struct motor_steel steel = {0};
    const enum status status = motor_steel_read_tree(data, &steel, err);
    if (status == STATUS_OK) {
        ck_assert_uint_eq(steel.count, 3);
        ck_assert(steel.is_separated);
    }
    motor_steel_clear(&steel);
    return status;
}

START_TEST(no_entry_of_a_separation_is_dropped_in_silence)
{
    struct tree *tree = NULL;
    struct error err = {0};
    ck_assert(!tree_read_bytes("steel.json", series, strlen(series), &tree, &err));
    ck_assert_uint_ge(check_every_place(run_series, tree), 6);
    tree_destroy(tree);
}
END_TEST

static struct motor_steel read_series(void)
{
    struct tree *tree = NULL;
    struct motor_steel steel = {0};
    struct error err = {0};
    ck_assert(!tree_read_bytes("steel.json", series, strlen(series), &tree, &err));
    ck_assert_msg(!motor_steel_read_tree(tree, &steel, &err), "%s", err.message);
    tree_destroy(tree);
    return steel;
}

/* The search, and what the ampere-turns and the gap are uncertain by. */
static enum status run_drive(void *data, struct error *err)
{
    struct motor_machine gapped = machine;
    const struct motor_drive drive = {
        .ampere_turns = {
            .value = 200, .half_width = 2, .is_present = true, .has_uncertainty = true}};
    struct motor_wanted wanted = {.value = -1};
    gapped.air_gap = (struct quantity){
        .value = 1e-4, .half_width = 1e-5, .is_present = true, .has_uncertainty = true};
    const enum status status = motor_drive_find(&drive, data, &gapped, &wanted, err);
    ck_assert((status == STATUS_OK) == (wanted.u > 0.0));
    ck_assert((status == STATUS_OK) == (wanted.value > 0.0));
    return status;
}

/* Some rows are to be had; the others are left out. */
static enum status run_sweep(void *data, struct error *err)
{
    const struct sweep_options options = {
        .kind = SWEEP_THICKNESS, .least = 1e-4, .most = 8.1e-3, .ampere_turns = 262};
    struct motor_machine ring = machine;
    struct motor_sweep sweep = {0};
    ring.volume = (struct quantity){0};
    const enum status status = sweep_create(data, &ring, &options, &sweep, err);
    if (status == STATUS_OK) {
        ck_assert_uint_eq(sweep.count + sweep.left_out, 81);
        ck_assert_uint_ge(sweep.count, 1);
        ck_assert_uint_ge(sweep.left_out, 1);
    }
    sweep_clear(&sweep);
    return status;
}

static enum status run_comparison(void *data, struct error *err)
{
    const struct motor_wanted wanted = {.kind = WANTED_FIELD, .value = 15000};
    struct comparison_row row = {0};
    const enum status status = comparison_set(&row, data, &machine, &wanted, err);
    ck_assert((status == STATUS_OK) == row.asked.is_present);
    return status;
}

static struct {
    scenario *run;
    size_t places; /* at least: how many differ hangs on what the compiler puts inline */
} run_list[] = {{run_drive, 8}, {run_sweep, 8}, {run_comparison, 6}};

START_TEST(a_search_without_memory_is_no_amplitude_out_of_range)
{
    struct motor_steel steel = read_series();
    ck_assert_uint_ge(check_every_place(run_list[_i].run, &steel), run_list[_i].places);
    motor_steel_clear(&steel);
}
END_TEST

Suite *scarce_motor_suite(void)
{
    Suite *suite = suite_create("scarce_motor");
    TCase *tests = tcase_create("scarce_motor");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, a_steel_is_whole_or_not_at_all, 0, 2);
    tcase_add_test(tests, a_motor_is_whole_or_not_at_all);
    tcase_add_test(tests, no_entry_of_a_separation_is_dropped_in_silence);
    tcase_add_loop_test(tests, a_search_without_memory_is_no_amplitude_out_of_range, 0, 3);
    suite_add_tcase(suite, tests);
    return suite;
}
