// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_LOOP_MODEL_H
#define LODECARD_BUDGET_LOOP_MODEL_H

#include <stddef.h>

#include "base/error.h"
#include "budget/loop_inputs.h"
#include "budget/problem.h"
#include "loop/expansion.h"
#include "loop/loop.h"
#include "loop/track.h"
#include "setup/setup.h"

/* The measurement model of a loop: from the inputs of loop_inputs_find to its figures, by the same
 * geometry, conversion and definitions that the loop was made with. */
struct loop_model {
    const struct loop *loop; /* borrowed, as rig and specimen */
    const struct rig *rig;
    const struct specimen *specimen;
    const struct loop_inputs *inputs;
    struct track track;               /* periodic captures */
    struct expansion expansion;       /* the same, for what differs little */
    enum figure output[FIGURE_COUNT]; /* which figure each output is */
    size_t output_count;
};

enum status loop_model_create(struct loop_model *model, const struct loop *loop,
    const struct rig *rig, const struct specimen *specimen, const struct loop_inputs *inputs,
    struct error *err) MUST_CHECK;
void loop_model_clear(struct loop_model *model);

/* The functions of struct budget_model; `model` must stay where it is. */
struct budget_model loop_model_get(const struct loop_model *model);

/* What the noise of single samples makes of the outputs: `repeats` rows of them, each from the
 * fitted coefficients with noise of the residual's size, the variance of a coefficient's real or
 * imaginary part being 2 sigma^2 / N (docs/uncertainty.md). Periodic captures. */
enum status loop_model_simulate(
    const struct loop_model *model, size_t repeats, double *values, struct error *err) MUST_CHECK;

#endif
