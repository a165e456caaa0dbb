// SPDX-License-Identifier: GPL-3.0-or-later
#include "motor/torque.h"

#include <math.h>

#include "num/random.h"
#include "suites.h"

#define LAWS 50
#define SLIPS 40
static const double pi = 3.14159265358979323846;

/* Laws of all sizes; every fifth has no excess, every seventh no eddy term. */
static struct torque_law draw_law(uint64_t seed)
{
    struct random random;
    random_init(&random, 77, seed);
    struct torque_law law = {.pole_pairs = (double)(1 + random_get_below(&random, 24)),
        .volume = 1e-7 * pow(1e4, random_get_uniform(&random)),
        .supply = 10 * pow(100, random_get_uniform(&random)),
        .loss = {100 * pow(1e3, random_get_uniform(&random)),
            seed % 7 == 0 ? 0 : pow(100, random_get_uniform(&random)),
            seed % 5 == 0 ? 0 : pow(1000, random_get_uniform(&random))}};
    return law;
}

/* T. Wildi, "Electrical Machines, Drives and Power Systems", example of a hysteresis clock motor:
 * 32 poles, 60 Hz, 0.8 J lost in the rotor in each turn relative to the field. Printed: 0.127 N m,
 * 225 r/min, 3 W before it stalls, 3 W lost when stalled. A turn is 16 cycles of 0.05 J. */
START_TEST(gives_the_textbook_clock_motor)
{
    const struct torque_law law = {
        .pole_pairs = 16, .volume = 2e-5, .supply = 60, .loss = {0.05 / 2e-5}};
    const double torque = torque_compute(&law, 1);
    const double speed = torque_compute_synchronous_speed(&law);
    ck_assert_double_eq_tol(torque, 0.127, 0.0005);
    ck_assert_double_eq_tol(torque, 0.12732395447351627, 1e-16);
    ck_assert_double_eq_tol(speed * 60 / (2 * pi), 225, 1e-12);
    ck_assert_double_eq_tol(torque * speed, 3, 1e-14);
    ck_assert_double_eq_tol(torque_compute_loss(&law, 1), 3, 1e-14);
    ck_assert_double_eq(torque_compute_loss(&law, 0), 0);
}
END_TEST

/* T = p V W / 2 pi = 4 * 2e-5 * 4e4 / 2 pi */
START_TEST(gives_the_torque_of_a_ring_of_20_cm3)
{
    const struct torque_law law = {
        .pole_pairs = 4, .volume = 2e-5, .supply = 50, .loss = {4e4, 30, 200}};
    ck_assert_double_eq_tol(
        torque_compute_term(&law, STEEL_HYSTERESIS, 0.3), 0.5092958178940651, 1e-15);
}
END_TEST

START_TEST(each_part_follows_its_power_of_the_slip)
{
    /* exponents of the slip: in the torque and in the loss */
    static const double powers[STEEL_TERMS][2] = {{0, 1}, {1, 2}, {0.5, 1.5}};
    for (uint64_t seed = 0; seed < LAWS; seed++) {
        const struct torque_law law = draw_law(seed);
        for (int term = 0; term < STEEL_TERMS; term++) {
            const double torque = torque_compute_term(&law, (enum steel_term)term, 1);
            const double loss = torque_compute_term_loss(&law, (enum steel_term)term, 1);
            for (int i = 0; i <= SLIPS; i++) {
                const double slip = (double)i / SLIPS;
                ck_assert_double_eq_tol(torque_compute_term(&law, (enum steel_term)term, slip),
                    torque * pow(slip, powers[term][0]), 1e-14 * torque + 1e-30);
                ck_assert_double_eq_tol(torque_compute_term_loss(&law, (enum steel_term)term, slip),
                    loss * pow(slip, powers[term][1]), 1e-14 * loss + 1e-30);
            }
        }
    }
}
END_TEST

/* What crosses the air gap leaves by the shaft or becomes heat in the ring. */
START_TEST(air_gap_power_is_shaft_power_and_rotor_loss_at_every_slip)
{
    for (uint64_t seed = 0; seed < LAWS; seed++) {
        const struct torque_law law = draw_law(seed);
        for (int i = 0; i <= SLIPS; i++) {
            const double slip = (double)i / SLIPS;
            const double speed = torque_compute_synchronous_speed(&law);
            const double torque = torque_compute(&law, slip);
            const double gap = torque * speed, shaft = torque * speed * (1 - slip);
            ck_assert_double_eq_tol(
                gap, shaft + torque_compute_loss(&law, slip), 1e-12 * gap + 1e-30);
        }
    }
}
END_TEST

/* With linear torque t = J w0 / Te0 ln((Th - TL + Te0) / (Th - TL)); with the excess part, whose
 * discriminant is negative here, an arc tangent more (I. S. Gradshteyn, I. M. Ryzhik, "Table of
 * Integrals, Series, and Products", 2.103 and 2.172). */
START_TEST(run_up_takes_the_time_of_the_closed_forms)
{
    struct torque_law law = {.pole_pairs = 2, .volume = 2e-5, .supply = 50, .loss = {4e4, 300, 0}};
    const double speed = torque_compute_synchronous_speed(&law);
    const double inertia = 4e-5, load = 0.1;
    struct run_up run_up;
    torque_compute_run_up(&law, load, inertia, &run_up);
    const double a = torque_compute_term(&law, STEEL_HYSTERESIS, 1) - load;
    const double c = torque_compute_term(&law, STEEL_LINEAR, 1);
    ck_assert(run_up.is_starting && run_up.is_synchronizing);
    ck_assert_double_eq(run_up.slip, 0);
    ck_assert_double_eq_tol(run_up.time, inertia * speed / c * log((a + c) / a), 1e-15);

    law.loss[STEEL_EXCESS] = 1000;
    torque_compute_run_up(&law, load, inertia, &run_up);
    const double b = torque_compute_term(&law, STEEL_EXCESS, 1);
    const double root = sqrt(4 * a * c - b * b);
    const double arc = 2 / root * (atan((2 * c + b) / root) - atan(b / root));
    ck_assert_double_eq_tol(
        run_up.time, inertia * speed / c * (log((a + b + c) / a) - b * arc), 1e-13);

    law.loss[STEEL_EXCESS] = law.loss[STEEL_LINEAR] = 0;
    torque_compute_run_up(&law, load, inertia, &run_up);
    ck_assert_double_eq_tol(run_up.time, inertia * speed / a, 1e-16);
}
END_TEST

START_TEST(a_load_above_the_hysteresis_torque_stays_where_the_torque_equals_it)
{
    const struct torque_law law = {
        .pole_pairs = 2, .volume = 2e-5, .supply = 50, .loss = {4e4, 300, 1000}};
    struct run_up run_up;
    torque_compute_run_up(&law, torque_compute(&law, 0.4), 1e-5, &run_up);
    ck_assert(run_up.is_starting && !run_up.is_synchronizing);
    ck_assert_double_eq_tol(run_up.slip, 0.4, 1e-14);
    ck_assert(isnan(run_up.time));
    torque_compute_run_up(&law, torque_compute(&law, 0), 1e-5, &run_up);
    ck_assert(!run_up.is_synchronizing);
    ck_assert_double_eq(run_up.slip, 0);
    torque_compute_run_up(&law, 1.001 * torque_compute(&law, 1), 1e-5, &run_up);
    ck_assert(!run_up.is_starting && !run_up.is_synchronizing);
    ck_assert_double_eq(run_up.slip, 1);
}
END_TEST

START_TEST(the_load_angle_goes_from_nothing_to_the_lag_angle)
{
    const struct torque_law law = {.pole_pairs = 2, .volume = 2e-5, .supply = 50, .loss = {4e4}};
    const double torque = torque_compute(&law, 0), lag = 40;
    ck_assert_double_eq(torque_compute_at_angle(&law, lag, 0), 0);
    ck_assert_double_eq_tol(torque_compute_at_angle(&law, lag, lag), torque, 1e-16);
    ck_assert_double_eq_tol(torque_compute_at_angle(&law, lag, 15),
        torque * 0.25881904510252074 / 0.6427876096865393, 1e-15); /* sin 15°, sin 40° */
    ck_assert_double_eq_tol(torque_compute_load_angle(&law, lag, torque), lag, 1e-12);
    ck_assert_double_eq_tol(
        torque_compute_load_angle(&law, lag, torque_compute_at_angle(&law, lag, 15)), 15, 1e-12);
    ck_assert(isnan(torque_compute_load_angle(&law, lag, 1.01 * torque)));
}
END_TEST

Suite *torque_suite(void)
{
    Suite *suite = suite_create("torque");
    TCase *tests = tcase_create("torque");
    tcase_add_test(tests, gives_the_textbook_clock_motor);
    tcase_add_test(tests, gives_the_torque_of_a_ring_of_20_cm3);
    tcase_add_test(tests, each_part_follows_its_power_of_the_slip);
    tcase_add_test(tests, air_gap_power_is_shaft_power_and_rotor_loss_at_every_slip);
    tcase_add_test(tests, run_up_takes_the_time_of_the_closed_forms);
    tcase_add_test(tests, a_load_above_the_hysteresis_torque_stays_where_the_torque_equals_it);
    tcase_add_test(tests, the_load_angle_goes_from_nothing_to_the_lag_angle);
    suite_add_tcase(suite, tests);
    return suite;
}
