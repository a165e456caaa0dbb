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
    double *root;        /* count * count: correlation = root root^T, lower triangle; NULL: none */
    bool *is_correlated; /* with any other */
};

/* STATUS_INPUT when the correlation is no correlation matrix. */
enum status draw_create(
    struct draw *draw, const struct budget_inputs *inputs, struct error *err) MUST_CHECK;
void draw_clear(struct draw *draw);

/* One draw of all inputs; `normal` is room for as many numbers. */
void draw_take(const struct draw *draw, struct random *random, double *normal, double *values);

#endif
