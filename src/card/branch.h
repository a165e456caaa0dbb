// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CARD_BRANCH_H
#define LODECARD_CARD_BRANCH_H

#include "card/card.h"

/* The two branches of a loop from one cycle of points (A/m and T, in the order of the cycle, last
 * != first): monotone, thinned, with the crossings of both axes among the points. docs/card.md
 * tells how. `bound_relative` is of the largest B. Leaves loop->rising.count 0 where the points
 * make no loop: fewer than 8, or a field or flux density that does not pass zero both ways. */
enum status card_branch_draw(struct card *card, const double *field, const double *flux_density,
    size_t count, double bound_relative, struct card_loop *loop, struct error *err) MUST_CHECK;

/* Area between the two branches as polygons, J/m³. */
double card_branch_get_area(const struct card_graph *rising, const struct card_graph *falling);

/* B at a field, or the field at a B, on the straight lines between the points; beyond the ends the
 * end. */
double card_graph_get(const struct card_graph *graph, double field);
double card_graph_find(const struct card_graph *graph, double flux_density);

#endif
