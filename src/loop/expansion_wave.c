// SPDX-License-Identifier: GPL-3.0-or-later
/* Eight waveforms side by side, each a polynomial of its own step: where they pass zero or turn.
 * Lanes are phases, not trials: a processor without vector units finds the same bits. */
#include <float.h>
#include <math.h>

#include "loop/expansion_part.h"

enum { STEPS = 16 };

/* What a step to a peak must gain, of the peak. */
static const double GAIN = 1e-13;

enum { TERMS = EXPANSION_TERMS, LANES = EXPANSION_LANES };

struct wave {
    double at[TERMS][LANES];
};

static inline void expand(const struct expansion_rows *rows, const struct expansion_factors *by,
    struct wave *field, struct wave *pickup)
{
    const double h = by->field, x = by->pickup;
    for (int n = 0; n < TERMS; n++) {
        for (int i = 0; i < LANES; i++) {
            field->at[n][i] = h * (rows->field[0][n][i] + by->field_corner * rows->field[1][n][i]);
            pickup->at[n][i] =
                x * (by->closed * rows->pickup[0][n][i] + by->corner * rows->pickup[1][n][i] +
                        by->integrator * rows->pickup[2][n][i]);
        }
    }
    double power = h;
    for (size_t order = 1; order < by->leads; order++) {
        power *= by->moved;
        for (int n = 0; n < TERMS; n++) {
            for (int i = 0; i < LANES; i++) {
                field->at[n][i] += power * (rows->field[2 * order][n][i] +
                                               by->field_corner * rows->field[2 * order + 1][n][i]);
            }
        }
    }
    /* the pickup at x - shift: Taylor's theorem for a polynomial, by repeated synthetic division */
    for (int from = 0; by->shift != 0.0 && from < TERMS - 1; from++) {
        for (int n = TERMS - 2; n >= from; n--) {
            for (int i = 0; i < LANES; i++) {
                pickup->at[n][i] -= by->shift * pickup->at[n + 1][i];
            }
        }
    }
}

static inline void mix(const struct wave *field, const struct wave *pickup, const double *of_field,
    const double *of_pickup, struct wave *wave)
{
    for (int n = 0; n < TERMS; n++) {
        for (int i = 0; i < LANES; i++) {
            wave->at[n][i] = of_field[i] * field->at[n][i] + of_pickup[i] * pickup->at[n][i];
        }
    }
}

/* Values at a step, by Horner's rule. */
static inline void evaluate(const struct wave *wave, const double *step, double *value)
{
    for (int i = 0; i < LANES; i++) {
        value[i] = wave->at[TERMS - 1][i];
    }
    for (int n = TERMS - 2; n >= 0; n--) {
        for (int i = 0; i < LANES; i++) {
            value[i] = value[i] * step[i] + wave->at[n][i];
        }
    }
}

/* The same with the first derivatives. */
static inline void differentiate(
    const struct wave *wave, const double *step, double *value, double *slope)
{
    for (int i = 0; i < LANES; i++) {
        value[i] = wave->at[TERMS - 1][i];
        slope[i] = 0.0;
    }
    for (int n = TERMS - 2; n >= 0; n--) {
        for (int i = 0; i < LANES; i++) {
            slope[i] = slope[i] * step[i] + value[i];
            value[i] = value[i] * step[i] + wave->at[n][i];
        }
    }
}

/* The slope and its first two derivatives; at step 0 they are the coefficients. */
static inline void bend(const struct wave *wave, const double *step, bool is_zero, double *slope,
    double *curve, double *third)
{
    if (is_zero) {
        for (int i = 0; i < LANES; i++) {
            slope[i] = wave->at[1][i];
            curve[i] = 2.0 * wave->at[2][i];
            third[i] = 6.0 * wave->at[3][i];
        }
        return;
    }
    for (int i = 0; i < LANES; i++) {
        slope[i] = (TERMS - 1) * wave->at[TERMS - 1][i];
        curve[i] = third[i] = 0.0;
    }
    for (int n = TERMS - 2; n >= 1; n--) {
        for (int i = 0; i < LANES; i++) {
            third[i] = third[i] * step[i] + curve[i];
            curve[i] = curve[i] * step[i] + slope[i];
            slope[i] = slope[i] * step[i] + n * wave->at[n][i];
        }
    }
    for (int i = 0; i < LANES; i++) {
        third[i] *= 2.0;
    }
}

/* Newton steps to where the waves are zero; false: too far away. */
static inline bool solve(const struct wave *wave, const double *is_used,
    const struct expansion_factors *by, double *step)
{
    double value[LANES], slope[LANES], moved = INFINITY;
    for (int i = 0; i < LANES; i++) {
        step[i] = 0.0;
    }
    for (int turn = 0; turn < STEPS && moved > by->last; turn++) {
        moved = 0.0;
        differentiate(wave, step, value, slope);
        for (int i = 0; i < LANES; i++) {
            const double move = is_used[i] > 0.0 ? value[i] / slope[i] : 0.0;
            step[i] -= move;
            moved += fabs(move);
        }
    }
    return moved <= by->last && expansion_is_inside(step, by->reach);
}

/* From `step` uphill to the tops, downhill to the bottoms (`side` 1, -1), by Halley's steps held
 * back where the waves are flat or bent the wrong way. Where a step gains nothing the value is
 * found: where exactly the top of something flat lies does not matter. A lane that leaves the reach
 * stops there. False: some do not settle. */
static inline bool climb(const struct wave *wave, const double *is_wanted, const double *side,
    const struct expansion_factors *by, double *step)
{
    const double longest = 1.0 * by->reach;
    double slope[LANES], curve[LANES], third[LANES], moved = INFINITY;
    bool is_zero = true;
    for (int i = 0; i < LANES; i++) {
        is_zero = is_zero && step[i] == 0.0;
    }
    for (int turn = 0; turn < STEPS && moved > by->last; turn++) {
        moved = 0.0;
        bend(wave, step, turn == 0 && is_zero, slope, curve, third);
        for (int i = 0; i < LANES; i++) {
            const double bent = fabs(curve[i]) + DBL_MIN;
            const double plain = side[i] * slope[i] / bent;
            const double hold = 1.0 - 0.5 * plain * side[i] * third[i] / bent;
            double move = plain / (hold > 0.5 ? hold : 0.5);
            move = move > longest ? longest : move;
            move = move < -longest ? -longest : move;
            const bool is_idle = is_wanted[i] == 0.0 || fabs(step[i]) > by->reach ||
                                 fabs(slope[i] * move) <= GAIN * fabs(wave->at[0][i]);
            move = is_idle ? 0.0 : move;
            step[i] += move;
            moved += fabs(move);
        }
    }
    return moved <= by->last;
}

#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) &&                             \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define CLONED __attribute__((target_clones("avx2", "default"), optimize("O3")))
#else
#define CLONED
#endif

/* Cloned functions are static: the clones' resolvers would be public names of the library. */
CLONED static bool find_extremes(const struct expansion_rows *rows,
    const struct expansion_factors *by, const struct expansion_pair *pair, const double *is_wanted,
    double *step, double *values)
{
    struct wave field, pickup, own;
    expand(rows, by, &field, &pickup);
    mix(&field, &pickup, pair->own_field, pair->own_pickup, &own);
    if (!climb(&own, is_wanted, rows->side, by, step)) {
        return false;
    }
    evaluate(&own, step, values);
    return true;
}

CLONED static bool find_crossings(const struct expansion_rows *rows,
    const struct expansion_factors *by, const struct expansion_pair *pair, double *values)
{
    struct wave field, pickup, own, other;
    double step[LANES];
    expand(rows, by, &field, &pickup);
    mix(&field, &pickup, pair->own_field, pair->own_pickup, &own);
    mix(&field, &pickup, pair->other_field, pair->other_pickup, &other);
    for (int i = 0; i < LANES; i++) {
        own.at[0][i] -= pair->level[i];
    }
    if (!solve(&own, rows->is_used, by, step)) {
        return false;
    }
    evaluate(&other, step, values);
    return true;
}

bool expansion_find_extremes(const struct expansion_rows *rows, const struct expansion_factors *by,
    const struct expansion_pair *pair, const double *is_wanted, double *step, double *values)
{
    return find_extremes(rows, by, pair, is_wanted, step, values);
}

bool expansion_find_crossings(const struct expansion_rows *rows, const struct expansion_factors *by,
    const struct expansion_pair *pair, double *values)
{
    return find_crossings(rows, by, pair, values);
}
