// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_FIT_H
#define LODECARD_MODEL_FIT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "model/branch.h"
#include "model/material.h"

/* Models made from measured loops. */

/* One measured loop: one cycle, the last point followed by the first. Borrowed. */
struct fit_loop {
    const double *field;        /* A/m */
    const double *flux_density; /* T */
    size_t count;
};

/* The loops as fits take them, by rising peak field. */
struct fit_data {
    struct branch *branches;
    size_t count;
    double field_peak;        /* of the largest, A/m */
    double polarization_peak; /* T */
    double coercivity;        /* HcJ of the largest, A/m */
};

/* The model against one loop, at its points. */
struct fit_residual {
    double field_peak;        /* A/m */
    double flux_density_peak; /* T, measured */
    double rms;               /* of B, T */
    double rms_relative;      /* of the measured peak */
    double area_relative;     /* (model - measured) / measured; so the others */
    double coercivity_relative;
    double remanence_relative;
    double flux_density_peak_relative;
};

struct model_fit {
    struct material material;
    /* Of parameters that were fitted: what the points say if the model were right, from the
     * residuals' own scatter. They grow with the model's misfit. 0: not fitted. */
    double u[MODEL_PARAMETERS];
    double correlation[MODEL_PARAMETERS][MODEL_PARAMETERS];
    bool is_at_limit[MODEL_PARAMETERS]; /* the search ended at the edge of what it may try */
    double repair_relative;             /* largest change of J that made measured curves admissible,
                                           of the peak: Tellinen, Preisach */
    struct fit_residual *residuals;     /* by rising peak field; owned */
    size_t count;
    double residual_relative; /* root mean square of rms_relative */
};

/* Correlations above this are told: the points hold a combination of the two, not each. */
#define FIT_CORRELATION 0.98

/* The model's material from the loops. STATUS_INPUT: too few loops for this model, or loops that it
 * cannot describe at all. The same loops give the same bits. */
enum status model_fit_create(const struct model *model, const struct fit_loop *loops, size_t count,
    struct model_fit *fit, struct error *err) MUST_CHECK;
void model_fit_clear(struct model_fit *fit); /* safe on a zeroed struct and twice */

/* An element of "models": name, form, parameters (material_read takes it), residual_relative,
 * correlations above FIT_CORRELATION, parameters at their limits, repair_relative, residuals. */
void model_fit_write_json(struct json *json, const struct model_fit *fit);

/* B (T) of the closed loop of the branch's peak, at the branch's fields. */
enum status model_fit_compute_branch(const struct material *material, const struct branch *branch,
    double *flux_density, struct error *err) MUST_CHECK;

/* One variable of a search. */
struct fit_range {
    double least, most;     /* of guesses */
    double lowest, highest; /* of the search */
    bool is_logarithmic;
};

/* How a model is made from data: either build, or a search for the variables of which it is made.
 */
struct fit_rule {
    /* Closed or direct. May set u, repair_relative. */
    enum status (*build)(const struct fit_data *data, struct model_fit *fit, struct error *err);

    size_t variable_count;
    /* Range of the first guesses (even in the logarithm where `is_logarithmic`) and bounds of the
     * search, both of variable_count. */
    void (*set_ranges)(const struct fit_data *data, struct fit_range *ranges);
    void (*set_parameters)(
        const struct fit_data *data, const double *variables, double *parameters);
};

/* fit_search.c: the search, for model_fit_create. */
enum status fit_search(const struct fit_data *data, struct model_fit *fit, struct error *err);

#endif
