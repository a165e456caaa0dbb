// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_STEEL_H
#define LODECARD_MOTOR_STEEL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/tree.h"
#include "quantity/figure.h"
#include "quantity/quantity.h"

/* A ring steel as a motor sees it: what its loops lose in each cycle, over their amplitude. Filled
 * from a loop, a series or a card; docs/motor.md tells what is taken from where. */

/* Energy per cycle, J/m³: W(f) = Wh + kc f + kx sqrt f; its terms in this order. */
enum steel_term { STEEL_HYSTERESIS, STEEL_LINEAR, STEEL_EXCESS, STEEL_TERMS };

/* What the steel does at one amplitude. */
struct steel_point {
    double frequency_most;           /* Hz, of the loops behind it; 0: traversed slowly */
    double field_peak, u_field_peak; /* A/m; u 0: not known */
    double flux_density_peak, u_flux_density_peak; /* T */
    double loss[STEEL_TERMS];                      /* J/m³, J s/m³, J/m³/sqrt Hz */
    double covariance[STEEL_TERMS][STEEL_TERMS];
    double lag_angle, u_lag_angle; /* degree, B behind H; NaN: not known */
    double squareness, fullness;   /* Br/Bm, W/(4 Hm Bm); NaN: not known */
};

enum steel_origin { STEEL_FROM_LOOP, STEEL_FROM_SERIES, STEEL_FROM_CARD };

struct motor_steel {
    char *name;   /* as people write it: "R-17 · RS-36, heat H2291" */
    char *source; /* base name of the file */
    enum steel_origin origin;
    struct steel_point *points; /* by rising field */
    size_t count;
    bool is_separated;      /* false: loss[STEEL_HYSTERESIS] is all that a loop lost at
                               frequency_most, and the other terms are 0 */
    bool has_lag_from_area; /* lag angles are asin(W / pi Hm Bm), not of the fundamentals */
    double frequency_least, frequency_most; /* Hz, of the loops behind it; 0: traversed slowly */
    double resistivity;                     /* ohm m; 0: not told */
    double thickness; /* m: least dimension of the specimen across its flux; 0: not told */
};

void motor_steel_clear(struct motor_steel *steel); /* safe on a zeroed struct and twice */

/* One loop: `figures` with field_peak, flux_density_peak (or polarization) and loop_area, else
 * STATUS_INPUT names `source`. name and source are copied. */
enum status motor_steel_read_figures(const char *name, const char *source,
    const struct figures *figures, struct motor_steel *steel, struct error *err) MUST_CHECK;

/* A result of this program: "lodecard-loop/1", "lodecard-series/1" or "lodecard-card/1";
 * another schema is STATUS_INPUT. */
enum status motor_steel_read_tree(
    const struct tree *tree, struct motor_steel *steel, struct error *err) MUST_CHECK;

/* The amplitude that is asked for. */
enum wanted_kind { WANTED_LARGEST, WANTED_FIELD, WANTED_FLUX_DENSITY };
struct motor_wanted {
    enum wanted_kind kind;
    double value; /* A/m or T */
    double u;
};

/* The steel at that amplitude. */
struct steel_state {
    struct steel_point point; /* its covariance has the u of the wanted and of the measured
                                 amplitude in it, and what the interpolation may be off by */
    bool is_beyond;           /* the measured range was left, by at most 5 % */
};

/* Between the measured amplitudes each quantity follows its power law of the amplitude: monotone
 * cubic curves over logarithms, straight over the amplitude where a term is 0 somewhere. Up to 5 %
 * beyond either end the law at the end goes on; further, and for a single loop at more than 1 % of
 * its own amplitude, STATUS_USAGE names the measured range. */
enum status motor_steel_find(const struct motor_steel *steel, const struct motor_wanted *wanted,
    struct steel_state *state, struct error *err) MUST_CHECK;

/* The amplitude at which a steel gives most torque per ampere-turn, the largest Wh / Hm: within the
 * measured range, in steps of a hundredth of it. `is_at_end`: the first or last amplitude measured,
 * so that the true best one may be beyond. */
enum status motor_steel_find_best(const struct motor_steel *steel, struct steel_state *state,
    bool *is_at_end, struct error *err) MUST_CHECK;

#endif
