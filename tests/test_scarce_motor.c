// SPDX-License-Identifier: GPL-3.0-or-later
/* Motors when memory runs out: each allocation is refused once. */
#include <math.h>
#include <string.h>

#include "base/tree.h"
#include "motor/motor.h"
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
                               "{\"flux_density_peak_T\": 1, \"hysteresis_J_per_m3\": 40000}]}";
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

Suite *scarce_motor_suite(void)
{
    Suite *suite = suite_create("scarce_motor");
    TCase *tests = tcase_create("scarce_motor");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, a_steel_is_whole_or_not_at_all, 0, 2);
    tcase_add_test(tests, a_motor_is_whole_or_not_at_all);
    suite_add_tcase(suite, tests);
    return suite;
}
