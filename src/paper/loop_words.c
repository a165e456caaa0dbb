// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <string.h>

#include "paper/loop_picture.h"
#include "paper/markup.h"
#include "quantity/display.h"
#include "quantity/quantity.h"

#define DIGITS 4 /* of a figure in a picture */

/* Figures of the heading and of the table below several loops. */
static const enum figure shown[PICTURE_FIGURES] = {FIGURE_FREQUENCY, FIGURE_FIELD_PEAK,
    FIGURE_FLUX_DENSITY_PEAK, FIGURE_REMANENCE, FIGURE_COERCIVITY, FIGURE_LOOP_AREA};

struct picture_scale picture_find_scale(double most)
{
    struct picture_scale scale = {.factor = 1, .prefix = ""};
    if (most > 0 && isfinite(most))
        scale.prefix = unit_get_prefix(most, &scale.factor);
    return scale;
}

/* The scale of a figure in the whole picture: that of its axis, or one for all loops. */
static struct picture_scale get_figure_scale(const struct loop_picture *picture, enum figure figure)
{
    const char *unit = figure_table[figure].unit;
    if (!strcmp(unit, "A/m"))
        return picture->field;
    if (!strcmp(unit, "T"))
        return picture->flux;
    double most = 0;
    for (size_t i = 0; i < picture->count; i++)
        most = fmax(most, fabs(picture->items[i].loop->figures.list[figure].value));
    return picture_find_scale(most);
}

/* A figure's value in the picture's unit; false when the loop does not have it. */
static bool add_value(struct text *text, const struct loop_picture *picture, size_t item,
    enum figure figure, int sign)
{
    struct figure_value value = picture->items[item].loop->figures.list[figure];
    if (!value.is_present)
        return false;
    value.has_u = false; /* the picture is no table: a few digits */
    value.value *= sign / get_figure_scale(picture, figure).factor;
    struct display display;
    display_set(&display, &value, "", false, DIGITS);
    bool is_negative = display.value[0] == '-';
    text_add_format(text, "%s%s", is_negative ? "\u2212" : "", display.value + is_negative);
    return true;
}

/* The unit of a figure in the picture. A line never ends behind its '/'. */
static void add_unit(struct text *text, const struct loop_picture *picture, enum figure figure)
{
    text_add(text, get_figure_scale(picture, figure).prefix);
    for (const char *at = figure_table[figure].unit; *at; at++) {
        text_add_bytes(text, at, 1);
        if (*at == '/')
            text_add(text, "\u2060"); /* word joiner */
    }
}

/* "Br = 0.951 T" of one loop. The name is that of the figure of which this is one side; without a
 * name only the value. */
static bool add_figure(struct text *text, const struct loop_picture *picture, enum figure figure,
    const char *symbol, int sign)
{
    const struct figure_value *value = &picture->items[0].loop->figures.list[figure];
    if (!value->is_present)
        return false;
    if (symbol) {
        markup_add_symbol(text, symbol);
        text_add(text, "\u00A0=\u00A0");
    }
    add_value(text, picture, 0, figure, sign);
    text_add(text, "\u00A0");
    add_unit(text, picture, figure);
    return true;
}

static void add_mark(struct loop_picture *picture, const struct loop *loop, enum figure figure,
    enum figure name, int sign, enum chart_side side)
{
    const struct figure_value *value = &loop->figures.list[figure];
    if (!value->is_present)
        return;
    bool is_field = name == FIGURE_COERCIVITY;
    double place = sign * value->value / (is_field ? picture->field.factor : picture->flux.factor);
    struct chart_mark *mark = &picture->marks[picture->mark_count];
    *mark = (struct chart_mark){.x = is_field ? place : 0,
        .y = is_field ? 0 : place,
        .side = side,
        .may_switch = is_field,
        .style = picture->styles[picture->mark_count / PICTURE_MARKS]};
    if (picture->count == 1) {
        struct text *text = picture_new_text(picture);
        add_figure(text, picture, figure, sign > 0 ? figure_table[name].symbol : NULL, sign);
        mark->label = picture_get_words(text);
    }
    picture->mark_count++;
}

void picture_set_marks(struct loop_picture *picture)
{
    for (size_t i = 0; i < picture->count; i++) {
        const struct loop *loop = picture->items[i].loop;
        add_mark(picture, loop, FIGURE_REMANENCE_FALLING, FIGURE_REMANENCE, 1, CHART_ABOVE_LEFT);
        add_mark(picture, loop, FIGURE_REMANENCE_RISING, FIGURE_REMANENCE, -1, CHART_BELOW_RIGHT);
        add_mark(picture, loop, FIGURE_COERCIVITY_FALLING, FIGURE_COERCIVITY, -1, CHART_ABOVE_LEFT);
        add_mark(picture, loop, FIGURE_COERCIVITY_RISING, FIGURE_COERCIVITY, 1, CHART_BELOW_RIGHT);
    }
}

/* One loop: its figures under the title. */
void picture_set_heading(struct loop_picture *picture)
{
    struct text *title = picture_new_text(picture);
    struct text *figures = picture_new_text(picture);
    if (picture->count > 1)
        return;
    text_add(title, "<b>");
    markup_add(title, picture->items[0].name);
    text_add(title, "</b>");
    for (size_t i = 0; i < PICTURE_FIGURES; i++)
        if (add_figure(figures, picture, shown[i], figure_table[shown[i]].symbol, 1))
            text_add(figures, "\u2002 ");
    picture->chart.title = picture_get_words(title);
    picture->chart.subtitle = picture_get_words(figures);
}

/* Several loops: a row for each below the picture, under symbols and units. */
void picture_set_legend(struct loop_picture *picture)
{
    if (picture->count == 1)
        return;
    for (size_t i = 0; i < PICTURE_FIGURES; i++) {
        struct text *text = &picture->cell_texts[i + 1];
        struct picture_scale scale = get_figure_scale(picture, shown[i]);
        markup_add_symbol(text, figure_table[shown[i]].symbol);
        text_add_format(text, " (%s%s)", scale.prefix, figure_table[shown[i]].unit);
    }
    for (size_t item = 0; item < picture->count; item++) {
        struct text *texts = picture->cell_texts + (item + 1) * PICTURE_COLUMNS;
        markup_add(&texts[0], picture->items[item].name);
        for (size_t i = 0; i < PICTURE_FIGURES; i++)
            if (!add_value(&texts[i + 1], picture, item, shown[i], 1))
                text_add(&texts[i + 1], "\u2013");
    }
    for (size_t i = 0; i < picture_get_cell_count(picture); i++)
        picture->cells[i] = picture_get_words(&picture->cell_texts[i]);
    picture->chart.legend = (struct chart_legend){.columns = PICTURE_COLUMNS,
        .rows = picture->count,
        .headings = picture->cells,
        .cells = picture->cells + PICTURE_COLUMNS,
        .styles = picture->styles};
}
