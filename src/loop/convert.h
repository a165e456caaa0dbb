// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_CONVERT_H
#define LODECARD_LOOP_CONVERT_H

#include <complex.h>
#include <stddef.h>

#include "base/error.h"
#include "capture/capture.h"
#include "loop/loop.h"
#include "setup/setup.h"

/* The way from what an input recorded to H and B, harmonic by harmonic (periodic captures) or row
 * by row (traces). Built once from rig and specimen, for one capture. */
struct conversion {
    double excitation_gain; /* what one unit recorded means: A/m */
    double excitation_corner_Hz;
    double shunt_s; /* inductance over resistance of the shunt: its voltage leads the current */
    bool keeps_bias;
    double pickup_gain; /* what one unit recorded means: V, Wb turns or T, see pickup */
    double pickup_corner_Hz;
    double pickup_delay_s;
    double integrator_s; /* RC; 0: none */
    enum { PICKUP_VOLTAGE, PICKUP_LINKAGE, PICKUP_LINKAGE_J, PICKUP_B, PICKUP_J } pickup;
    double linkage_to_density; /* 1 / (N2 A): T per Wb turn */
    double air_share;          /* (A2 - A) / A, 0: no correction */
};

/* Errors say which entry of rig or specimen is missing, or that a column's unit is not the rig's
 * quantity. */
enum status conversion_init(struct conversion *conversion, const struct rig *rig,
    const struct specimen *specimen, const struct capture_info *info, size_t excitation,
    size_t pickup, struct error *err) MUST_CHECK;

/* The same for other values of the same rig and specimen, once the capture is known to suit them.
 */
enum status conversion_set(struct conversion *conversion, const struct rig *rig,
    const struct specimen *specimen, bool is_audio, struct error *err) MUST_CHECK;

/* x[0 ... K] of both channels, phases against a common time, at the fundamental `frequency_Hz`. */
void conversion_apply(const struct conversion *conversion, double frequency_Hz,
    const double complex *excitation, const double complex *pickup, struct fourier_loop *loop);

/* One row of a trace; the pickup must carry flux (conversion_can_trace). */
void conversion_apply_row(const struct conversion *conversion, double excitation, double pickup,
    double *field, double *flux_density);

#endif
