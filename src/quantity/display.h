// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUANTITY_DISPLAY_H
#define LODECARD_QUANTITY_DISPLAY_H

#include <stdbool.h>

#include "quantity/figure.h"

/* A value as people read it: scaled by an engineering prefix and rounded.
 *
 * With a standard uncertainty: u to two significant digits, and the value to the same place (JCGM
 * 100:2008, 7.2.6). Prefix and place hold for both. A value whose u asks for more than twelve
 * digits is cut there, and u then stands with its own power of ten. Without: `digits` significant
 * digits. */
#define DISPLAY_SIZE 40
struct display {
    char value[DISPLAY_SIZE];
    char u[DISPLAY_SIZE];    /* "" : none */
    char unit[DISPLAY_SIZE]; /* with its prefix */
};

/* `unit` in SI; `has_prefix` false for units that take none (degree, plain numbers). */
void display_set(struct display *display, const struct figure_value *value, const char *unit,
    bool has_prefix, int digits);

/* The same for a figure of the table; counts stand as whole numbers. */
void display_set_figure(
    struct display *display, enum figure figure, const struct figure_value *value, int digits);

#endif
