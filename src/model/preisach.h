// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_PREISACH_H
#define LODECARD_MODEL_PREISACH_H

#include "model/branch.h"
#include "model/material.h"

/* The curves of model 'preisach' (preisach.c). */
enum { PREISACH_FIELD, PREISACH_EVERETT };

/* E(a, b) of the flux density, a >= b, T. */
double preisach_get_everett(const struct material *material, double a, double b);

/* The table from falling curves that set out from reversals at different fields above 0 and reach
 * the mirror of where they began: branches of symmetric loops, or first-order reversal curves
 * (only differences along each curve count). By rising peak, at least PREISACH_LEAST of them with
 * peaks apart by more than 0.5 % (of those nearer to each other one is taken). `repair` is the
 * largest change of E that made the density admissible, relative to the largest E. */
#define PREISACH_LEAST 3
#define PREISACH_NODES 48
enum status preisach_identify(const struct branch *curves, size_t count, struct material *material,
    double *repair, struct error *err) MUST_CHECK;

#endif
