// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_MATERIAL_H
#define LODECARD_MODEL_MATERIAL_H

#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "base/tree.h"
#include "model/model.h"

/* A model with its numbers: all that is needed to compute with it. */
struct material {
    const struct model *model;
    double parameters[MODEL_PARAMETERS]; /* SI, in the order of the model's table */
    double *curves[MODEL_CURVES];        /* owned; SI, in the order of its curves */
    size_t counts[MODEL_CURVES];
};

void material_clear(struct material *material); /* safe on a zeroed struct and twice */

/* Limits, model->check and model->check_curves. */
enum status material_check(const struct material *material, struct error *err) MUST_CHECK;

/* Writes the members "name", "form" and "parameters" of an element of "models" into the object that
 * is open. `u` (one a parameter; may be NULL) adds the standard uncertainties. */
void material_write_json(struct json *json, const struct material *material, const double *u);

/* Reads such an element, wherever in `tree` it stands, and checks it. "form" must be that of this
 * program's model of the name, so that nobody else's parameters are taken for ours. */
enum status material_read(const struct tree *tree, const struct tree_value *element,
    struct material *material, struct error *err) MUST_CHECK;

#endif
