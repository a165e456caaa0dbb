// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MODEL_EVERETT_H
#define LODECARD_MODEL_EVERETT_H

#include "base/error.h"
#include "model/branches.h"
#include "model/material.h"

/* Preisach's model by its Everett function (F. Preisach, Z. Phys. 94 (1935) 277; D. H. Everett,
 * Trans. Faraday Soc. 51 (1955) 1551; I. D. Mayergoyz, Phys. Rev. Lett. 56 (1986) 1518):
 *
 *     E(a, b), a >= b: by how much B falls when H, having risen to a from below, falls to b
 *
 * E(a, a) = 0, E(a, b) = E(-b, -a), and the density -d2E/da db of switching units must not be
 * negative. From its turning points h1, h2 ... the material remembers those that later ones have
 * not passed (wiping-out); B changes by -E or +E from the last one. From the demagnetized state
 * B(H) = E(H, -H)/2. A family of symmetric loops is the whole function: E(a, b) = B(a, a) -
 * B_falling(b, a) for a >= |b|, and the mirror for the rest. */
struct everett {
    double (*get)(const void *context, double a, double b); /* T; asked for a >= |b| only */
    const void *context;
};

/* A machine for history_rule. */
enum status everett_create_machine(
    const struct everett *everett, void **machine, struct error *err) MUST_CHECK;
void everett_destroy(void *machine);
void everett_reset(void *machine);
enum status everett_look(void *machine, double field, double *flux_density, struct error *err);
enum status everett_move(void *machine, double field, double *flux_density, struct error *err);

/* E(a, b) for all a >= b. */
double everett_get(const struct everett *everett, double a, double b);

/* The same for models that have their symmetric loops in closed form; `branches` is copied. */
enum status everett_create_branches_machine(
    const struct branches *branches, void **machine, struct error *err) MUST_CHECK;

#endif
