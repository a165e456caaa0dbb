// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_MOTOR_STEEL_PART_H
#define LODECARD_MOTOR_STEEL_PART_H

#include "motor/steel.h"

/* Between the readers of steels. */

/* A point from the figures of a loop; false, with `point` untouched, where peak field, peak flux
 * density or the energy lost is missing or not above 0. `is_from_area`: the lag angle is that of
 * the area. */
bool steel_point_set(struct steel_point *point, const struct figures *figures, bool *is_from_area);

/* The figures of a JSON object, by their keys. */
void steel_read_figures(const struct tree_value *object, struct figures *figures);

/* Name, resistivity and thickness from a "specimen" object; the name falls back on `source`. */
enum status steel_read_specimen(const struct tree_value *specimen, const char *source,
    struct motor_steel *steel, struct error *err) MUST_CHECK;

/* "lodecard-series/1" and "lodecard-card/1" */
enum status steel_read_series(
    const struct tree *tree, struct motor_steel *steel, struct error *err) MUST_CHECK;
enum status steel_read_card(
    const struct tree *tree, struct motor_steel *steel, struct error *err) MUST_CHECK;

#endif
