// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_BRANCHES_H
#define LODECARD_MODEL_BRANCHES_H

#include <stddef.h>

#include "base/error.h"
#include "model/model.h"

/* Models whose symmetric loop of peak field Hm is known in closed form by its falling branch B(H,
 * Hm), rising with H; the rising branch is -B(-H, Hm), and the tip B(Hm, Hm) rises with Hm. */
struct branches {
    double (*falling)(double field, double peak, const double *parameters);
    const double *parameters;
};

/* model.h's compute_cycle for such a model. */
enum status branches_compute_cycle(const struct branches *branches, enum model_drive drive,
    double peak, size_t count, double *field, double *flux_density, struct error *err) MUST_CHECK;

#endif
