// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/plot_text.h"

#include <math.h>

#include "paper/markup.h"
#include "quantity/display.h"
#include "quantity/quantity.h"

#define DIGITS 4 /* of a value in a picture */

struct text *plot_texts_add(struct plot_texts *texts)
{
    if (texts->count < PLOT_TEXTS)
        texts->count++;
    return &texts->list[texts->count - 1];
}

const char *plot_text_get(const struct text *text)
{
    return text->bytes ? text->bytes : "";
}

void plot_texts_clear(struct plot_texts *texts)
{
    for (size_t i = 0; i < texts->count; i++)
        text_clear(&texts->list[i]);
    texts->count = 0;
}

struct plot_scale plot_scale_find(double most)
{
    struct plot_scale scale = {.factor = 1, .prefix = ""};
    if (most > 0 && isfinite(most))
        scale.prefix = unit_get_prefix(most, &scale.factor);
    return scale;
}

const char *plot_texts_add_label(
    struct plot_texts *texts, const char *symbol, const struct plot_scale *scale, const char *unit)
{
    struct text *text = plot_texts_add(texts);
    markup_add_symbol(text, symbol);
    text_add_format(text, " (%s%s)", scale->prefix, unit);
    return plot_text_get(text);
}

void plot_text_add_value(struct text *text, double value, const char *unit)
{
    struct figure_value figure = {.value = value, .is_present = true};
    struct display display;
    display_set(&display, &figure, unit, *unit != '\0', DIGITS);
    text_add(text, display.value);
    if (*display.unit)
        text_add_format(text, "\u00A0%s", display.unit);
}
