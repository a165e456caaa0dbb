// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_TORQUE_H
#define LODECARD_MOTOR_TORQUE_H

#include <stdbool.h>

#include "motor/steel.h"

/* The law of torque of a hysteresis motor. A field that turns by one pole pair takes the ring round
 * its loop once; at slip s the ring sees the frequency s f. The energy V W(s f) it loses in each
 * such cycle is, divided by the angle 2 pi / p that the field gains on the ring, the torque:
 *
 *     T(s) = (p V / 2 pi) (Wh + kc s f + kx sqrt(s f))
 *
 * C. P. Steinmetz, "Theory and Calculation of Electric Apparatus", McGraw-Hill 1917, chapter
 * "Hysteresis Motor", has the hysteresis part; that the others follow from the same energy is
 * derived in docs/motor.md. */
struct torque_law {
    double pole_pairs;
    double volume;            /* m³ of ring */
    double supply;            /* Hz */
    double loss[STEEL_TERMS]; /* J/m³, J s/m³, J/m³/sqrt Hz */
};

/* One term's torque, N m, at slip 0 ... 1. */
double torque_compute_term(const struct torque_law *law, enum steel_term term, double slip);

/* All of it. At slip 0 this is the limit from below synchronism: at synchronism itself the motor
 * gives anything from 0 to it. */
double torque_compute(const struct torque_law *law, double slip);

/* What a term, or all of them, turn into heat in the ring, W. */
double torque_compute_term_loss(const struct torque_law *law, enum steel_term term, double slip);
double torque_compute_loss(const struct torque_law *law, double slip);

double torque_compute_synchronous_speed(const struct torque_law *law); /* rad/s */

/* How a constant load of `load` N m is run up with `inertia` kg m² in all. */
struct run_up {
    bool is_starting;      /* it turns at all: the torque at standstill is above the load */
    bool is_synchronizing; /* the load is below the hysteresis torque */
    double slip;           /* where it stays: 0 with is_synchronizing, 1 without is_starting */
    double time;           /* s from standstill to synchronism; NaN: never, or no inertia */
};
void torque_compute_run_up(
    const struct torque_law *law, double load, double inertia, struct run_up *run_up);

/* Torque at synchronism when the rotor's flux lags the field by `angle`, 0 ... `lag` (degree): from
 * 0 to the hysteresis torque, in proportion to the sine. */
double torque_compute_at_angle(const struct torque_law *law, double lag, double angle);

/* The angle (degree) at which it carries `load`; NaN above the hysteresis torque. */
double torque_compute_load_angle(const struct torque_law *law, double lag, double load);

#endif
