// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_SWEEP_H
#define LODECARD_MOTOR_SWEEP_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "motor/machine.h"
#include "motor/steel.h"

/* The motor over one of its choices. */
enum sweep_kind {
    SWEEP_FIELD,     /* peak field in the ring, the ring as it is */
    SWEEP_THICKNESS, /* radial width of the ring inside its outer diameter, at fixed ampere-turns */
};

struct sweep_options {
    enum sweep_kind kind;
    double least, most;  /* A/m or m; 0: the measured fields; a quarter to 2.5 times the width */
    double ampere_turns; /* A; SWEEP_THICKNESS */
};

/* Rows where the field would not be among the measured ones are left out. */
struct motor_sweep {
    enum sweep_kind kind;
    /* The other terms are in starting and loss too; never over the thickness, whose square eddy
     * currents go with. */
    bool has_eddy;
    double ampere_turns, air_gap; /* SWEEP_THICKNESS */
    size_t count;
    size_t left_out;
    double *variable; /* A/m or m, rising */
    double *field, *flux_density;
    double *hysteresis, *u_hysteresis; /* N m; u 0: not known */
    double *starting;                  /* N m: with the other terms, at standstill */
    double *loss;                      /* W in the ring at standstill */
    double
        *ampere_turns_taken; /* A: what the field takes; SWEEP_FIELD with ring dimensions, else 0 */
    size_t best;             /* the row with most hysteresis torque */
};

/* STATUS_USAGE when the ring's dimensions are needed and missing, the range is impossible, or no
 * row is left. */
enum status sweep_create(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct sweep_options *options, struct motor_sweep *sweep, struct error *err) MUST_CHECK;
void sweep_clear(struct motor_sweep *sweep); /* safe on a zeroed struct and twice */

void sweep_write_json(struct json *json, const char *key, const struct motor_sweep *sweep);

#endif
