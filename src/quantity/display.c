// SPDX-License-Identifier: GPL-3.0-or-later
#include "quantity/display.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "quantity/quantity.h"

#define DIGITS_MOST 12   /* of a value beside its uncertainty */
#define PLAIN_LEAST 1e-4 /* plain numbers outside these limits take a power of ten */
#define PLAIN_MOST 1e7

/* The power of ten of the first digit, once the value is rounded to that many digits: 9.96 to two
 * digits is 10, and its power 1. 0 for 0. */
static int rounded_power(double value, int digits)
{
    char words[DISPLAY_SIZE];
    snprintf(words, sizeof words, "%.*e", digits - 1, fabs(value));
    const char *power = strchr(words, 'e');
    return power ? (int)strtol(power + 1, NULL, 10) : 0;
}

static double rounded_size(double value, int digits)
{
    char words[DISPLAY_SIZE];
    snprintf(words, sizeof words, "%.*e", digits - 1, fabs(value));
    return strtod(words, NULL);
}

/* No sign on what was rounded to zero. */
static void drop_sign(char *words)
{
    if (words[0] == '-' && !strpbrk(words, "123456789"))
        memmove(words, words + 1, strlen(words));
}

/* "1.2e-05" is written 1.2e-5. */
static void write_scientific(char words[DISPLAY_SIZE], double value, int digits)
{
    char mantissa[DISPLAY_SIZE];
    snprintf(mantissa, sizeof mantissa, "%.*e", digits - 1, value);
    char *power = strchr(mantissa, 'e');
    if (!power) {
        snprintf(words, DISPLAY_SIZE, "%s", mantissa);
        return;
    }
    int exponent = (int)strtol(power + 1, NULL, 10);
    *power = '\0';
    snprintf(words, DISPLAY_SIZE, "%.25se%d", mantissa, exponent);
}

/* With `decimals` places behind the point; negative: rounded to tens, hundreds ... */
static void write_fixed(char words[DISPLAY_SIZE], double value, int decimals)
{
    if (decimals < 0) {
        double place = pow(10, -decimals);
        value = round(value / place) * place;
        decimals = 0;
    }
    snprintf(words, DISPLAY_SIZE, "%.*f", decimals, value);
    drop_sign(words);
}

static void set_alone(struct display *display, double value, bool has_prefix, int digits)
{
    double size = fabs(value);
    if (value == 0)
        snprintf(display->value, sizeof display->value, "0");
    else if (!has_prefix && (size < PLAIN_LEAST || size >= PLAIN_MOST))
        write_scientific(display->value, value, digits);
    else
        write_fixed(display->value, value, digits - 1 - rounded_power(value, digits));
}

static void set_with_u(struct display *display, double value, double u)
{
    int decimals = 1 - rounded_power(u, 2);
    int places = (value == 0 ? 0 : rounded_power(value, DIGITS_MOST)) + 1 + decimals;
    if (places > DIGITS_MOST) {
        decimals -= places - DIGITS_MOST;
        write_scientific(display->u, u, 2);
    } else {
        write_fixed(display->u, u, decimals);
    }
    write_fixed(display->value, value, decimals);
}

void display_set(struct display *display, const struct figure_value *value, const char *unit,
    bool has_prefix, int digits)
{
    *display = (struct display){0};
    if (!isfinite(value->value)) {
        snprintf(display->value, sizeof display->value, "none");
        return;
    }
    bool has_u = value->has_u && isfinite(value->u) && value->u > 0;
    double scale = 1;
    const char *prefix = "";
    double size = fmax(fabs(value->value), has_u ? value->u : 0);
    if (has_prefix && size > 0)
        prefix = unit_get_prefix(has_u ? size : rounded_size(size, digits), &scale);
    snprintf(display->unit, sizeof display->unit, "%.8s%.30s", prefix, unit);
    if (has_u)
        set_with_u(display, value->value / scale, value->u / scale);
    else
        set_alone(display, value->value / scale, has_prefix, digits);
}

void display_set_figure(
    struct display *display, enum figure figure, const struct figure_value *value, int digits)
{
    const struct figure_entry *entry = &figure_table[figure];
    display_set(display, value, entry->unit, entry->has_prefix, digits);
    if (figure == FIGURE_HARMONICS)
        snprintf(display->value, sizeof display->value, "%.0f", value->value);
}

/* u as a whole number of the value's last places: "0.0048" is 48, "2.8" is 28, "0.10" is 10. */
static void write_places(char words[DISPLAY_SIZE], const char *u)
{
    size_t length = 0;
    if (strchr(u, 'e')) {
        snprintf(words, DISPLAY_SIZE, "%s", u);
        return;
    }
    for (; *u; u++)
        if (*u != '.' && (length > 0 || *u != '0'))
            words[length++] = *u;
    words[length] = '\0';
}

void display_join(const struct display *display, char *words, size_t size)
{
    char places[DISPLAY_SIZE] = "";
    if (*display->u)
        write_places(places, display->u);
    snprintf(words, size, "%s%s%s%s%s%s", display->value, *places ? "(" : "", places,
        *places ? ")" : "", *display->unit ? " " : "", display->unit);
}
