// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_PAPER_PLOT_TEXT_H
#define LODECARD_PAPER_PLOT_TEXT_H

#include <stddef.h>

#include "base/text.h"

/* The words of a picture, kept until it is drawn. */
#define PLOT_TEXTS 40
struct plot_texts {
    struct text list[PLOT_TEXTS];
    size_t count;
};

/* A new text; the last one again when all are taken. */
struct text *plot_texts_add(struct plot_texts *texts);
const char *plot_text_get(const struct text *text); /* "" for an empty one */
void plot_texts_clear(struct plot_texts *texts);

/* An SI unit's engineering prefix for values up to `most`. */
struct plot_scale {
    double factor; /* SI per shown unit */
    const char *prefix;
};
struct plot_scale plot_scale_find(double most);

/* "<i>T</i> (mN m)" of symbol "T": an axis label in markup. */
const char *plot_texts_add_label(
    struct plot_texts *texts, const char *symbol, const struct plot_scale *scale, const char *unit);

/* A value with prefix and unit, as markup: "94.15 kJ/m³". */
void plot_text_add_value(struct text *text, double value, const char *unit);

#endif
