// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_SHUNT_H
#define LODECARD_CALIBRATE_SHUNT_H

#include "base/error.h"
#include "calibrate/calibration.h"
#include "quantity/quantity.h"
#include "setup/setup.h"

/* A shunt against a known resistor that carries the same current: the excitation input records the
 * voltage of the shunt, R + i w L, the pickup input that of the resistor, R0 + i w L0. */

struct shunt_options {
    const char *capture;
    const struct rig *rig;     /* both full scales, dividers, corners, delay */
    struct quantity reference; /* ohm, with its uncertainty */
    struct quantity constant;  /* s: L0 / R0; absent: 0 */
    double frequency_Hz;       /* of the fundamental; 0: found */
};

/* Adds the resistance (`inputs.excitation.shunt`), the inductance (`inputs.excitation.inductance`,
 * if it shows), its time constant and the angle it makes at the highest tone. The uncertainty holds
 * the reference, full scales (one instrument's error cancels), dividers, corners and delay as the
 * rig states them, the noise and the scatter of the blocks. */
enum status shunt_calibrate(const struct shunt_options *options, struct calibration *calibration,
    struct error *err) MUST_CHECK;

#endif
