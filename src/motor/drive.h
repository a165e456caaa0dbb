// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_DRIVE_H
#define LODECARD_MOTOR_DRIVE_H

#include "motor/machine.h"
#include "motor/steel.h"

/* The fundamental of the magnetomotive force that a peak field in the ring takes, A:
 *
 *     F = (r / p) |Hm + (g t / mu0) (p / r)² Bm e^{-j delta}|
 *
 * with r the ring's mean radius, t its radial width, g the air gap. A thin ring whose flux runs
 * along it on a hub that carries none, and a stator without reluctance: then the field along the
 * ring is the current sheet of the stator less what the gap takes, and the gap's flux density is
 * the change of the ring's flux along the circumference (docs/motor.md derives it). */
double drive_compute_ampere_turns(
    const struct motor_machine *machine, const struct steel_point *point);

/* The peak field in the ring for that magnetomotive force. STATUS_USAGE when it is not among the
 * measured amplitudes: the message names those that are possible. */
enum status drive_find_field(const struct motor_steel *steel, const struct motor_machine *machine,
    double ampere_turns, double *field, struct error *err) MUST_CHECK;

#endif
