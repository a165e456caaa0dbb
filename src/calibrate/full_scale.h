// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_FULL_SCALE_H
#define LODECARD_CALIBRATE_FULL_SCALE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "calibrate/calibration.h"
#include "quantity/quantity.h"

/* The volts at digital full scale of one input, from recorded tones whose voltage a meter has read
 * at the input's terminals. */

struct full_scale_level {
    const char *capture;
    struct quantity voltage; /* V, with the meter's uncertainty */
};

struct full_scale_options {
    size_t channel;       /* from 1 */
    bool is_peak_to_peak; /* the voltages are peak to peak; else r.m.s. of all that repeats but for
                             the mean, as a true r.m.s. meter reads it in its AC range */
    const struct full_scale_level *levels;
    size_t count;
    struct quantity corner; /* Hz: the input's AC coupling, taken out; absent: not known */
    const char *key_path;   /* of the result in rig.yaml */
};

/* full scale = voltage / what was recorded, weighted over the levels. One meter has read all of
 * them: its error does not average out; the scatter of the levels does. Adds the full scale, each
 * level's own, the linearity (largest deviation of a level from the mean) and the noise floor. */
enum status full_scale_calibrate(const struct full_scale_options *options,
    struct calibration *calibration, struct error *err) MUST_CHECK;

#endif
