// SPDX-License-Identifier: GPL-3.0-or-later
#include "paper/report_cell.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "paper/markup.h"
#include "quantity/display.h"

#define DASH "\u2013"
#define DIGITS 5 /* of a quantity without a half-width */
#define ZERO_CELSIUS 273.15

/* The markup is cleared. */
static void add_markup(struct report_table *table, struct text *markup)
{
    table->failed = table->failed || markup->failed;
    report_table_add_markup(table, markup->failed || markup->bytes == NULL ? "" : markup->bytes);
    text_clear(markup);
}

void report_cell_add(struct report_table *table, const char *words)
{
    struct text markup = {0};
    markup_add(&markup, words == NULL ? DASH : words);
    add_markup(table, &markup);
}

static void add_number(struct text *out, const char *words)
{
    for (; *words != '\0'; words++) {
        if (*words == '-') {
            text_add(out, "\u2212");
        } else {
            text_add_bytes(out, words, 1);
        }
    }
}

void report_cell_add_number(struct report_table *table, const char *words)
{
    struct text markup = {0};
    add_number(&markup, words);
    add_markup(table, &markup);
}

void report_cell_add_symbol(struct report_table *table, enum figure figure)
{
    struct text symbol = {0};
    markup_add_symbol(&symbol, figure_table[figure].symbol);
    add_markup(table, &symbol);
}

static void add_display(struct report_table *table, const struct display *display)
{
    struct display bare = *display;
    char words[DISPLAY_JOINED_SIZE];
    struct text markup = {0};
    bare.unit[0] = '\0';
    display_join(&bare, words, sizeof words);
    add_number(&markup, words);
    text_add(&markup, display->unit[0] != '\0' ? "\u00A0" : "");
    markup_add(&markup, display->unit);
    add_markup(table, &markup);
}

void report_cell_add_value(struct report_table *table, double number, double u, const char *unit,
    bool has_prefix, int digits)
{
    const struct figure_value value = {number, u, true, u > 0};
    struct display display;
    if (!isfinite(number)) {
        report_cell_add(table, NULL);
        return;
    }
    display_set(&display, &value, unit, has_prefix, digits);
    add_display(table, &display);
}

void report_cell_add_name(struct report_table *table, const char *name, const char *words)
{
    if (words != NULL && words[0] != '\0') {
        report_cell_add(table, name);
        report_cell_add(table, words);
    }
}

/* How a dimension is written on a sheet: shown value = (SI value - offset) * factor. */
static const struct shown {
    const char *unit;
    double factor, offset;
    bool has_prefix;
} shown_dimensions[DIMENSION_COUNT] = {
    [DIMENSION_AREA] = {"mm²", 1e6, 0, false},
    [DIMENSION_MASS] = {"g", 1e3, 0, true},
    [DIMENSION_TEMPERATURE] = {"°C", 1, ZERO_CELSIUS, false},
    [DIMENSION_RESISTIVITY] = {"\u03A9\u00B7m", 1, 0, true},
    [DIMENSION_DENSITY] = {"kg/m³", 1, 0, false},
    [DIMENSION_NUMBER] = {"", 1, 0, false},
};

/* "40.000" of what nothing was stated about is 40. */
static void drop_zeros(char *words)
{
    char *end = words + strlen(words);
    while (strchr(words, '.') != NULL && (end[-1] == '0' || end[-1] == '.')) {
        const bool is_point = *--end == '.';
        *end = '\0';
        if (is_point) {
            return;
        }
    }
}

void report_cell_add_quantity(struct report_table *table, const char *name,
    const struct quantity *quantity, enum dimension dimension)
{
    struct shown shown = shown_dimensions[dimension];
    struct text words = {0};
    struct display display;
    if (!quantity->is_present) {
        return;
    }
    if (shown.unit == NULL) {
        shown = (struct shown){dimension_get_unit(dimension), 1, 0, true};
    }
    const struct figure_value value = {(quantity->value - shown.offset) * shown.factor,
        quantity->half_width * shown.factor, true, quantity->half_width > 0};
    display_set(&display, &value, shown.unit, shown.has_prefix, DIGITS);
    if (!value.has_u) {
        drop_zeros(display.value);
    }
    const char *unit = display.unit, *blank = unit[0] == '\0' ? "" : "\u00A0";
    add_number(&words, display.value);
    text_add_format(&words, "%s%s", blank, unit);
    if (value.has_u) {
        text_add_format(&words, " \u00B1 %s%s%s", display.u, blank, unit);
        text_add(&words, quantity->distribution == DISTRIBUTION_RECTANGULAR ? " (limits)" : "");
    }
    report_cell_add(table, name);
    add_markup(table, &words);
}
