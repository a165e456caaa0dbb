// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_MOTOR_JOB_H
#define LODECARD_CLI_MOTOR_JOB_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "cli/options.h"
#include "motor/compare.h"
#include "motor/motor.h"
#include "motor/sweep.h"
#include "setup/setup.h"

/* What the command line of `motor` asks for. */
struct motor_command {
    struct setup_paths setup;
    size_t pole_pairs;
    struct motor_machine machine;
    struct motor_drive drive;
    const char *sweep;
    struct option_texts compare;
    const char *json, *plot;
};

/* One call: steels, the motor of the first, and what was asked beside it. */
struct motor_job {
    const struct motor_command *options;
    struct motor_machine machine;
    struct motor_wanted wanted;
    struct motor_steel *steels;
    size_t count;
    struct motor motor;
    struct motor_sweep sweep;    /* count 0: none */
    struct comparison_row *rows; /* count of them; NULL: no comparison */
};

enum status motor_job_run(
    struct motor_job *job, const char *const *paths, size_t count, struct error *err) MUST_CHECK;
void motor_job_clear(struct motor_job *job); /* safe on a zeroed struct and twice */

/* The page for people. */
void motor_text_add(struct text *out, const struct motor_job *job);

/* A steel from JSON of this program or from a capture (with its rig and specimen). */
enum status motor_steel_read(const char *path, const struct motor_command *options,
    struct motor_steel *steel, struct error *err) MUST_CHECK;

#endif
