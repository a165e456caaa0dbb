// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_CONTROL_H
#define LODECARD_QUALIFY_CONTROL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* Control charts over heats in their order: W. A. Shewhart's, limits at three standard deviations
 * (ISO 7870-2). */
enum control_kind {
    CONTROL_INDIVIDUALS, /* one value a heat; scatter from the moving range of neighbours */
    CONTROL_RANGES,      /* means of heats; scatter from their ranges: 2 to 10 values each */
    CONTROL_DEVIATIONS,  /* means of heats; scatter from their standard deviations */
};

/* The tests for special causes of L. S. Nelson, J. Quality Technology 16 (1984) 237; the first,
 * fifth, sixth and fourth of the list go back to the Western Electric handbook of 1956. */
enum control_rule {
    CONTROL_BEYOND,   /* one point beyond three standard deviations */
    CONTROL_RUN,      /* nine in a row on one side of the centre */
    CONTROL_TREND,    /* six in a row steadily rising or falling */
    CONTROL_SAWTOOTH, /* fourteen in a row alternating up and down */
    CONTROL_OUTER,    /* two of three beyond two standard deviations, on one side */
    CONTROL_MIDDLE,   /* four of five beyond one standard deviation, on one side */
    CONTROL_HUGGING,  /* fifteen in a row within one standard deviation */
    CONTROL_AVOIDING, /* eight in a row beyond one standard deviation, on both sides */
    CONTROL_RULE_COUNT
};
const char *control_rule_get_name(enum control_rule rule); /* "six in a row rising or falling" */

struct control_point {
    double value;        /* or mean of the heat */
    double spread;       /* moving range (NaN for the first), range or standard deviation */
    double lower, upper; /* limits of this point: they follow its number of values */
    double spread_lower, spread_upper;
    unsigned rules; /* bit 1 << rule: the tests whose last point this is */
    bool is_spread_beyond;
};

struct control {
    enum control_kind kind;
    size_t count;
    double centre;
    double deviation; /* of single values within heats, from their spreads */
    struct control_point *points;
};

/* One heat: its values are `values[first ... first + count - 1]`. */
struct control_heat {
    size_t first, count;
};

/* STATUS_INPUT with fewer than two heats, a heat of a number of values that the kind cannot take,
 * or no scatter. */
enum status control_compute(enum control_kind kind, const double *values,
    const struct control_heat *heats, size_t count, struct control *control,
    struct error *err) MUST_CHECK;
void control_clear(struct control *control); /* safe on a zeroed struct and twice */

#endif
