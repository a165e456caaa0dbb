// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_LOOP_BUDGET_H
#define LODECARD_BUDGET_LOOP_BUDGET_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "budget/loop_inputs.h"
#include "budget/loop_model.h"
#include "budget/propagate.h"
#include "budget/scatter.h"
#include "budget/trials.h"
#include "loop/loop.h"
#include "setup/setup.h"

/* The uncertainty budget of a loop's figures: what rig and specimen state, carried through the
 * measurement model, and what the capture itself scatters. */

enum loop_scatter {
    LOOP_SCATTER_NONE,
    LOOP_SCATTER_BLOCKS, /* of the blocks of cycles */
    LOOP_SCATTER_NOISE,  /* fewer than 3 blocks: from the noise of single samples */
};

struct loop_budget {
    struct loop_inputs inputs;
    struct loop_model model;
    struct propagation linear; /* outputs: model.output */
    enum loop_scatter source;
    size_t repeats; /* blocks, or simulated ones */
    struct scatter scatter;
    struct budget_input *scatter_list;
    bool has_trials;
    struct trials trials; /* the outputs' */
};

/* Works out the budget by linear propagation. loop, rig and specimen are borrowed until it is
 * destroyed. */
enum status loop_budget_create(const struct loop *loop, const struct rig *rig,
    const struct specimen *specimen, struct loop_budget **budget, struct error *err) MUST_CHECK;
void loop_budget_destroy(struct loop_budget *budget); /* NULL is allowed */

/* Runs the Monte Carlo on the same problem. */
enum status loop_budget_try(
    struct loop_budget *budget, const struct trials_options *options, struct error *err) MUST_CHECK;

/* Sets u of each figure to its combined standard uncertainty. */
void loop_budget_set_figures(const struct loop_budget *budget, struct figures *figures);

/* Whether anything but the scatter of the capture is in it. */
bool loop_budget_has_inputs(const struct loop_budget *budget);

/* One contribution to the uncertainty of an output. */
struct contribution {
    const char *name; /* the key in rig or specimen; "scatter" */
    double u_input;   /* NaN: scatter */
    double u;         /* what it alone makes of the figure, with the sign of the sensitivity */
    double share;     /* of u^2 */
};

/* The contributions to output `output`, largest share first, those of no account (below 1e-6)
 * left out. Room for inputs.count + 1. Gives how many. */
size_t loop_budget_list(const struct loop_budget *budget, size_t output, struct contribution *list);

/* What would halve u: the `*count` largest contributions brought down to a share `*factor` of
 * themselves; the fewest for which the factor is a quarter or more, if there are such. */
void loop_budget_find_half(
    const struct contribution *list, size_t listed, size_t *count, double *factor);

/* The coverage factor for 95 % of an output (Student's t). */
double loop_budget_get_coverage(const struct loop_budget *budget, size_t output);

/* The output that is a figure; outputs when there is none. */
size_t loop_budget_find(const struct loop_budget *budget, enum figure figure);

/* "budget": {...} of a result. */
void loop_budget_write_json(struct json *json, const char *key, const struct loop_budget *budget);

#endif
