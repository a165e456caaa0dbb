// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUANTITY_DISPLAY_H
#define LODECARD_QUANTITY_DISPLAY_H

#include <stdbool.h>
#include <stddef.h>

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

/* Value, uncertainty and unit in one: "18.535(48) kA/m", where the digits in parentheses are u in
 * the last places of the value (JCGM 100:2008, 7.2.2). A u that has a power of ten of
 * its own stands in full: "50.0001234568(3.1e-14) Hz". */
#define DISPLAY_JOINED_SIZE (2 * DISPLAY_SIZE)
void display_join(const struct display *display, char *words, size_t size);

#endif
