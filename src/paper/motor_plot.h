// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_MOTOR_PLOT_H
#define LODECARD_PAPER_MOTOR_PLOT_H

#include "base/error.h"
#include "motor/compare.h"
#include "motor/motor.h"
#include "motor/sweep.h"

/* Pictures of motors (.svg, .png, .pdf). */

/* Torque over slip with its parts as areas on each other; beside it, where the lag angle is known,
 * torque over load angle at synchronism. */
enum status motor_plot_write(const struct motor_steel *steel, const struct motor_machine *machine,
    const struct motor *motor, const char *path, struct error *err) MUST_CHECK;

/* Torque over what was swept, and below it the field and flux density in the ring or the
 * ampere-turns. */
enum status motor_plot_write_sweep(const struct motor_steel *steel,
    const struct motor_machine *machine, const struct motor_sweep *sweep, const char *path,
    struct error *err) MUST_CHECK;

/* Hysteresis torque of several steels over the peak field, and Wh/Hm below it; a steel of one loop
 * is a mark. */
enum status motor_plot_write_comparison(const struct comparison_row *rows, size_t count,
    const struct motor_machine *machine, const char *path, struct error *err) MUST_CHECK;

#endif
