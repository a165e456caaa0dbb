// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_MODEL_H
#define LODECARD_MODEL_MODEL_H

#include <stddef.h>

#include "base/error.h"
#include "quantity/quantity.h"

/* Hysteresis models, one file each. How to add one: a const struct like these at the end of a file
 * of its own, its declaration below, a line in model_list (model.c), and a section in
 * docs/models.md. Models are static: the loop depends on the drive's course, not on its speed. */

#define MODEL_PARAMETERS 8
#define MODEL_CURVES 2

struct model_parameter {
    const char *key; /* "pinning": the word in ring.yaml */
    const char *symbol;
    enum dimension dimension;
    double lowest;  /* SI; values below are refused */
    double highest; /* SI; values above are refused */
    const char *meaning;
};

/* A list of numbers that belongs to a model beside its parameters: a measured branch, a table. */
struct model_curve {
    const char *key;
    enum dimension dimension;
    const char *meaning;
};

enum model_drive {
    MODEL_DRIVE_FIELD,        /* H = peak cos(x), A/m */
    MODEL_DRIVE_FLUX_DENSITY, /* B = peak cos(x), T */
};

struct material;
struct history_rule;
struct fit_rule;

struct model {
    const char *name;    /* "jiles-atherton-1992" */
    const char *purpose; /* some words for lists */
    const char *form;    /* its equation in one line: what the parameters' names stand for */
    const struct model_parameter *parameters;
    size_t parameter_count;
    const struct model_curve *curves; /* at most MODEL_CURVES */
    size_t curve_count;

    /* What single limits cannot say about the parameters; may be NULL. */
    enum status (*check)(const double *parameters, struct error *err);

    /* What the curves must be like; NULL with curve_count 0. */
    enum status (*check_curves)(const struct material *material, struct error *err);

    /* The closed loop (periodic steady state) at the phases x = 2 pi i / count: field[i] in A/m and
     * flux_density[i] in T. `parameters` in the order of the table, SI. All loops are symmetric:
     * the second half cycle is the first with its sign turned. `count` is even. NULL: the model has
     * a history only (and no place in ring.yaml). */
    enum status (*compute_cycle)(const double *parameters, enum model_drive drive, double peak,
        size_t count, double *field, double *flux_density, struct error *err);

    /* The falling branch of the closed loop at fields that fall from `peak` to -peak, to 1e-9 of
     * its size; NULL: by its history. */
    enum status (*compute_branch)(const double *parameters, double peak, const double *field,
        size_t count, double tolerance, double *flux_density, struct error *err);

    const struct history_rule *history; /* history.h */
    const struct fit_rule *fit;         /* fit.h */
};

/* All models; ends in NULL. */
extern const struct model *const model_list[];

/* The model of that name, or NULL with err filled (names listed in the hint). */
const struct model *model_find(const char *name, struct error *err);

/* Checks the limits of the single parameters, then check(). STATUS_INPUT names the parameter. */
enum status model_check(
    const struct model *model, const double *parameters, struct error *err) MUST_CHECK;

/* Checks limits, check() and count (even, at least 16), then computes the cycle. STATUS_INPUT when
 * the parameters cannot make a loop; the message names the parameter. */
enum status model_compute_cycle(const struct model *model, const double *parameters,
    enum model_drive drive, double peak, size_t count, double *field, double *flux_density,
    struct error *err) MUST_CHECK;

extern const struct model model_tanh;
extern const struct model model_jiles_atherton_1986;
extern const struct model model_jiles_atherton_1992;
extern const struct model model_jiles_atherton_field;
extern const struct model model_ellipse;
extern const struct model model_rayleigh;
extern const struct model model_preisach_factorised;
extern const struct model model_tellinen;
extern const struct model model_preisach;

#endif
