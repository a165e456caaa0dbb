// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_MOTOR_H
#define LODECARD_MOTOR_MOTOR_H

#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "loop/note.h"
#include "motor/machine.h"
#include "motor/steel.h"
#include "motor/torque.h"
#include "quantity/figure.h"

/* What a ring of this steel does in a hysteresis motor. docs/motor.md defines the figures and has
 * the equations, their sources and what they leave out. */
enum motor_figure {
    MOTOR_SYNCHRONOUS_SPEED,
    MOTOR_HYSTERESIS_TORQUE,
    MOTOR_EDDY_TORQUE,
    MOTOR_EXCESS_TORQUE,
    MOTOR_STARTING_TORQUE,
    MOTOR_LAG_ANGLE,
    MOTOR_LOSS,
    MOTOR_HYSTERESIS_LOSS,
    MOTOR_EDDY_LOSS,
    MOTOR_EXCESS_LOSS,
    MOTOR_PULL_OUT_POWER,
    MOTOR_TORQUE_PER_VOLUME,
    MOTOR_AMPERE_TURNS,
    MOTOR_TORQUE_PER_AMPERE_TURN,
    MOTOR_LOAD_MARGIN,
    MOTOR_SYNCHRONIZING,
    MOTOR_LOAD_ANGLE,
    MOTOR_FINAL_SLIP,
    MOTOR_RUN_UP_TIME,
    MOTOR_FIGURE_COUNT
};

struct motor_figure_entry {
    const char *key;  /* JSON */
    const char *name; /* for tables that people read */
    const char *symbol;
    const char *unit; /* SI, as written for people; "" for a plain number */
    bool has_prefix;
    bool is_promised; /* null in the JSON when it is not known */
};
extern const struct motor_figure_entry motor_figure_table[MOTOR_FIGURE_COUNT];

/* Over slip 0 ... 1. */
struct motor_curve {
    size_t count;
    double *slip, *torque, *u_torque, *loss; /* N m, W in the ring */
    double *term[STEEL_TERMS];               /* N m: the parts of the torque */
};

/* Torque at synchronism over the load angle 0 ... lag angle; count 0: no lag angle. */
struct motor_angles {
    size_t count;
    double *angle, *torque; /* degree, N m */
};

struct motor {
    struct torque_law law;
    struct steel_state state;
    struct figure_value figures[MOTOR_FIGURE_COUNT];
    struct motor_curve curve;
    struct motor_angles angles;
    struct run_up run_up; /* with a load torque only */
    struct notes notes;
};

/* The amplitude a drive asks for: WANTED_LARGEST when it says nothing. STATUS_USAGE when it
 * contradicts itself or lacks something. `steel` and `machine` (whose volume is set) count with
 * ampere-turns only. */
enum status motor_drive_find(const struct motor_drive *drive, const struct motor_steel *steel,
    const struct motor_machine *machine, struct motor_wanted *wanted, struct error *err) MUST_CHECK;

/* Works out the motor; the machine's volume is set (machine_compute_volume). u comes from the
 * covariance of the loss terms and what the machine states, by linear propagation (JCGM 100, 5). */
enum status motor_create(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct motor_wanted *wanted, struct motor *motor, struct error *err) MUST_CHECK;
void motor_clear(struct motor *motor); /* safe on a zeroed struct and twice */

/* Adds what there is to know to motor->notes. */
void motor_add_notes(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct motor_wanted *wanted, struct motor *motor);

/* The members of the "lodecard-motor/1" object up to and without "notes". */
void motor_write_members(struct json *json, const struct motor_steel *steel,
    const struct motor_machine *machine, const struct motor *motor);

#endif
