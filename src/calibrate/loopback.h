// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CALIBRATE_LOOPBACK_H
#define LODECARD_CALIBRATE_LOOPBACK_H

#include <stdbool.h>

#include "base/error.h"
#include "calibrate/calibration.h"
#include "setup/setup.h"

/* How the two inputs differ, from one signal that both have recorded: ratio of their gains, delay,
 * coupling (calibrate/response.h), and what leaks from one into the other. */

struct loopback_options {
    const char *capture;
    const char *crosstalk; /* a recording with one input terminated; NULL: none */
    const struct rig *rig; /* its channels and timing; values that are there are used */
    double frequency_Hz;   /* of the lowest tone all others are multiples of; 0: found */
    bool is_flat;          /* all tones played are equally large at the inputs */
};

/* Adds the gain ratio, the pickup's full scale (where the excitation's is known), the delay, the
 * corners as far as they show, the crosstalk. Uncertainties are the larger of what the noise of the
 * fit gives, widened where its chi-square is above its degrees of freedom, and of the scatter of
 * the recording's blocks. */
enum status loopback_calibrate(const struct loopback_options *options,
    struct calibration *calibration, struct error *err) MUST_CHECK;

#endif
