// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUANTITY_FIGURE_H
#define LODECARD_QUANTITY_FIGURE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/json.h"

/* The one table of figures: every number that a loop has. The order is the order of the output. */
enum figure {
    FIGURE_FREQUENCY,
    FIGURE_CYCLES,
    FIGURE_HARMONICS,
    FIGURE_FIELD_PEAK,
    FIGURE_FLUX_DENSITY_PEAK,
    FIGURE_POLARIZATION_PEAK,
    FIGURE_REMANENCE,
    FIGURE_COERCIVITY,
    FIGURE_COERCIVITY_J,
    FIGURE_LOOP_AREA,
    FIGURE_LOSS,
    FIGURE_SPECIFIC_LOSS,
    FIGURE_LAG_ANGLE,
    FIGURE_LAG_ANGLE_AREA,
    FIGURE_AMPLITUDE_PERMEABILITY,
    FIGURE_SQUARENESS,
    FIGURE_LOOP_FULLNESS,
    FIGURE_FORM_FACTOR,
    FIGURE_FLUX_DISTORTION,
    /* the two sides apart, and what else the bench person wants to see */
    FIGURE_REMANENCE_FALLING,
    FIGURE_REMANENCE_RISING,
    FIGURE_REMANENCE_ASYMMETRY,
    FIGURE_COERCIVITY_FALLING,
    FIGURE_COERCIVITY_RISING,
    FIGURE_COERCIVITY_ASYMMETRY,
    FIGURE_COERCIVITY_J_FALLING,
    FIGURE_COERCIVITY_J_RISING,
    FIGURE_COERCIVITY_J_ASYMMETRY,
    FIGURE_FIELD_BIAS,
    FIGURE_LOOP_AREA_CHORD,
    FIGURE_LOOP_AREA_DRIFT_SHARED,
    FIGURE_CLOSURE_GAP,
    FIGURE_COUNT
};

struct figure_entry {
    const char *word;    /* "coercivity": the name in limits.yaml and SQL */
    const char *key;     /* "coercivity_A_per_m": the JSON key and CSV column */
    const char *symbol;  /* "HcB" */
    const char *name;    /* "coercivity HcB" : for tables that people read */
    const char *unit;    /* SI unit as written for people: "A/m", "" for a plain number */
    const char *meaning; /* one sentence */
    bool has_prefix;     /* engineering prefixes make sense */
};
extern const struct figure_entry figure_table[FIGURE_COUNT];

/* Figures that the two branches of a loop have each for itself: pages show these apart. */
struct figure_side {
    enum figure both, falling, rising, asymmetry;
};
enum { FIGURE_SIDES = 3 };
extern const struct figure_side figure_sides[FIGURE_SIDES];
bool figure_is_of_side(enum figure figure); /* falling, rising or asymmetry of one of them */

/* A figure's value in SI (angles in degree) with its standard uncertainty (k = 1). */
struct figure_value {
    double value;
    double u;
    bool is_present;
    bool has_u;
};
struct figures {
    struct figure_value list[FIGURE_COUNT];
};

void figures_set(struct figures *figures, enum figure figure, double value);
void figures_set_u(struct figures *figures, enum figure figure, double u);

/* The "figures" object of a result: key and u_key of each that is present, in table order. */
void figures_write_json(struct json *json, const char *key, const struct figures *figures);

/* The figure whose word or key this is; FIGURE_COUNT when there is none. */
enum figure figure_find(const char *word_or_key);

#endif
