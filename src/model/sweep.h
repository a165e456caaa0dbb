// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_SWEEP_H
#define LODECARD_MODEL_SWEEP_H

#include <stddef.h>

#include "base/error.h"
#include "model/law.h"

/* The falling half cycle of a Jiles-Atherton loop, from the positive tip (phase 0) to the negative
 * one (half a turn): H = peak cos(2 pi phase), phases in turns. */
struct sweep {
    struct law law;
    double peak;      /* of H, A/m */
    double tolerance; /* of the integration, of the magnetization's scale; 0: as fine as it gets */

    double scale;   /* of M, A/m: what the tolerances refer to; sweep_find_loop */
    double release; /* phase at which Mi leaves its rest: sweep_begin */
};

/* dB/dphase (T per turn) at a phase in (0, 1/2). */
double sweep_get_flux_slope(struct sweep *sweep, double phase, double irreversible);

/* Finds the release for a sweep that begins with this Mi. */
void sweep_begin(struct sweep *sweep, double irreversible);

/* Mi at phase `end` from Mi at phase `begin`, in `steps` steps of order 8; `error` (may be NULL)
 * grows by their error estimates, A/m. */
double sweep_advance(struct sweep *sweep, double begin, double end, double irreversible,
    size_t steps, double *error);

/* The Mi with which the closed loop of this peak starts at its positive tip, and the number of even
 * steps in a half cycle that keep the error of the integration below the tolerance (1e-12 of the
 * magnetization's scale if it is 0, and 1e-9 where more than 131072 steps would be needed).
 * `*steps` 0 on entry: from the demagnetized state; otherwise both are taken as a guess, from the
 * loop of a peak nearby. */
enum status sweep_find_loop(
    struct sweep *sweep, double *irreversible, size_t *steps, struct error *err) MUST_CHECK;

#endif
