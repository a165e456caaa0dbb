// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LOOP_EXPANSION_PART_H
#define LODECARD_LOOP_EXPANSION_PART_H

#include <math.h>

#include "loop/expansion.h"
#include "loop/track_part.h"

/* Which rows are where: the falling and rising crossings of H, B, J; their tops and bottoms, with
 * tables to both sides because the peak of a flat wave (J in saturation) moves far; eight turns of
 * B each. */
enum {
    EXPANSION_SPAN = 16,
    EXPANSION_CROSSINGS = 0,
    EXPANSION_PEAKS = 1, /* the first of 2 SPAN + 1 */
    EXPANSION_TURNS = EXPANSION_PEAKS + 2 * EXPANSION_SPAN + 1
};

/* From table to table, in units of the reach: they overlap by a quarter. */
static const double EXPANSION_SPACING = 1.5;

/* The factors of a trial: see the header. */
struct expansion_factors {
    double field, field_corner, bias;
    double lead;  /* l */
    double moved; /* by how much l is above the known one */
    size_t leads;
    double pickup, corner, integrator, shift;
    double mixed;       /* B over H */
    double closed;      /* 1 + q2 r, what D / D leaves */
    double reach, last; /* of a step: see the header; and LAST, radian */
};

/* Eight waveforms as polynomials of the step: own, and what is read where it passes zero. */
struct expansion_pair {
    double own_field[EXPANSION_LANES], own_pickup[EXPANSION_LANES];
    double other_field[EXPANSION_LANES], other_pickup[EXPANSION_LANES];
    double level[EXPANSION_LANES]; /* own passes it */
};

/* Eight phases' tables, filled now if nobody has asked for them before. */
const struct expansion_rows *expansion_get_rows(const struct expansion *expansion, size_t row);

/* The values at extremes of those of eight waves that are wanted, and where they are: from `step`
 * on. Beyond the reach, values mean nothing. False: some do not settle. */
bool expansion_find_extremes(const struct expansion_rows *rows, const struct expansion_factors *by,
    const struct expansion_pair *pair, const double *is_wanted, double *step, double *values);

/* The values of eight waves where eight others pass a level; false: too far away. */
bool expansion_find_crossings(const struct expansion_rows *rows, const struct expansion_factors *by,
    const struct expansion_pair *pair, double *values);

/* The wave of a lane of the first two rows; lanes that are left over stand for H once more. */
static inline int expansion_get_wave(int lane)
{
    return lane / 2 < TRACK_WAVES ? lane / 2 : TRACK_FIELD;
}

static inline bool expansion_is_inside(const double *step, double reach)
{
    int inside = 0;
    for (int i = 0; i < EXPANSION_LANES; i++) {
        inside += fabs(step[i]) <= reach; /* NaN is not */
    }
    return inside == EXPANSION_LANES;
}

#endif
