// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BUDGET_DRAW_H
#define LODECARD_BUDGET_DRAW_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "budget/problem.h"
#include "num/random.h"

/* Draws inputs from their joint distribution (JCGM 101:2008, 6.4). */
struct draw {
    const struct budget_inputs *inputs;
    double *root;        /* count * count: correlation = root^T root, upper triangle; NULL: none */
    bool *is_correlated; /* with any other */
    size_t *correlated;  /* which are */
    size_t *spread;      /* which are spread by a t distribution of finite freedom */
    double *shape;       /* of the gamma deviates for that, 1 or more, in the order of `spread` */
    double *share;       /* 1 / sqrt(9 shape - 3) */
    size_t correlated_count, spread_count;
};

/* STATUS_INPUT when the correlation is no correlation matrix. */
enum status draw_create(
    struct draw *draw, const struct budget_inputs *inputs, struct error *err) MUST_CHECK;
void draw_clear(struct draw *draw);

/* One draw of all inputs; `room` is for DRAW_ROOM times as many numbers. */
enum { DRAW_ROOM = 4 };
void draw_take(const struct draw *draw, struct random *random, double *room, double *values);

#endif
