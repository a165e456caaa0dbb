// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_COIL_H
#define LODECARD_CALIBRATE_COIL_H

#include "base/error.h"
#include "calibrate/calibration.h"
#include "setup/setup.h"

/* The area of the pickup turns, from the windings on a former without steel: there B = mu0 H, so
 * that the flux linkage is N2 A2 mu0 H and tells N2 A2. */

struct coil_options {
    const char *capture;
    const struct rig *rig;
    const struct specimen *specimen; /* of the ring that the windings are for: its path length */
    double frequency_Hz;             /* of the fundamental; 0: found */
};

/* Adds the product of area and turns, the area (`winding.secondary_area`), and the angle by which
 * the flux departs from the field, which free space does not know. The uncertainty holds full
 * scales, shunt, dividers, couplings, delay, turns and diameters as the files state them, the noise
 * and the scatter of the blocks. */
enum status coil_calibrate(const struct coil_options *options, struct calibration *calibration,
    struct error *err) MUST_CHECK;

#endif
