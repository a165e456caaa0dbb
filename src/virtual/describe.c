// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/describe.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "quantity/quantity.h"

enum { QUANTITY_SIZE = 120, COMMENT_COLUMN = 44 };

/* Units that a person on the bench would write, by dimension; the SI unit is always thinkable. */
static const char *const unit_list[DIMENSION_COUNT][5] = {
    [DIMENSION_VOLTAGE] = {"V", "mV", "uV"},
    [DIMENSION_CURRENT] = {"A", "mA"},
    [DIMENSION_RESISTANCE] = {"ohm", "mohm", "kohm", "Mohm"},
    [DIMENSION_CAPACITANCE] = {"uF", "nF", "pF"},
    [DIMENSION_LENGTH] = {"mm"},
    [DIMENSION_AREA] = {"mm2"},
    [DIMENSION_MASS] = {"g", "kg"},
    [DIMENSION_DENSITY] = {"kg/m3"},
    [DIMENSION_TIME] = {"us", "ms", "s"},
    [DIMENSION_FREQUENCY] = {"Hz", "kHz"},
    [DIMENSION_TRANSFER] = {"A/V"},
    [DIMENSION_FLUX_PER_VOLT] = {"mWb/V", "Wb/V"},
    [DIMENSION_RESISTIVITY] = {"uohm m"},
    [DIMENSION_TEMPERATURE] = {"degC", "K"},
    [DIMENSION_NUMBER] = {""},
};

static const struct {
    const char *key;
    const char *comment;
} comment_list[] = {
    {"full_scale", "volts at digital full scale"},
    {"shunt", "in series with the excitation winding"},
    {"transfer", "current sensor"},
    {"divider", "volts at the sensor per volt at the input"},
    {"corner", "first-order AC coupling"},
    {"pickup_delay", "how much later the pickup is sampled"},
    {"trace", "one slow traverse, no time axis"},
    {"secondary_area", "mean area of the pickup turns (air flux)"},
    {"fluxmeter", "electronic integrator ahead of the input"},
    {"stacking_factor", "share of the height that is steel"},
};

static bool is_same(const struct quantity *a, const struct quantity *b)
{
    return a->value == b->value && a->half_width == b->half_width &&
           a->distribution == b->distribution;
}

/* The quantity in one unit with so many digits, if that reads back. */
static bool print_quantity(char words[QUANTITY_SIZE], const struct quantity *quantity,
    enum dimension dimension, const char *unit, int digits)
{
    double factor = 1.0, offset = 0.0;
    enum dimension found;
    struct quantity again = {0};
    if (*unit != '\0' && unit_read(unit, &found, &factor, &offset, NULL))
        return false;
    const char *blank = *unit != '\0' ? " " : "";
    int length = snprintf(
        words, QUANTITY_SIZE, "%.*g%s%s", digits, (quantity->value - offset) / factor, blank, unit);
    if (quantity->has_uncertainty)
        snprintf(words + length, (size_t)(QUANTITY_SIZE - length), " ± %.*g%s%s%s", digits,
            quantity->half_width / factor, blank, unit,
            quantity->distribution == DISTRIBUTION_RECTANGULAR ? " rect" : "");
    return quantity_read(words, dimension, &again, NULL) == STATUS_OK && is_same(&again, quantity);
}

/* The shortest text of a quantity in a unit that reads back; "" when none does. */
static void find_text(char best[QUANTITY_SIZE], const struct quantity *quantity,
    enum dimension dimension, const char *unit)
{
    *best = '\0';
    for (int digits = 6; *best == '\0' && digits <= 17; digits++) {
        char words[QUANTITY_SIZE];
        if (print_quantity(words, quantity, dimension, unit, digits))
            memcpy(best, words, sizeof words);
    }
}

/* The first unit of the list in which the value is of a handy size, else the shortest text. */
static void add_quantity(
    struct text *out, const struct quantity *quantity, enum dimension dimension)
{
    char best[QUANTITY_SIZE];
    find_text(best, quantity, dimension, dimension_get_unit(dimension));
    for (int i = 0; unit_list[dimension][i]; i++) {
        char words[QUANTITY_SIZE];
        find_text(words, quantity, dimension, unit_list[dimension][i]);
        double size = fabs(strtod(words, NULL));
        bool is_handy = size >= 0.5 && size < 1000.0 && strlen(words) < 40;
        if (*words != '\0' && (is_handy || *best == '\0' || strlen(words) < strlen(best)))
            memcpy(best, words, sizeof best);
        if (*words != '\0' && is_handy)
            break;
    }
    text_add(out, best);
}

/* A text as a YAML scalar, quoted unless it is plain words. */
static void add_scalar(struct text *out, const char *words)
{
    bool is_plain = isalnum((unsigned char)*words);
    for (const char *at = words; *at; at++)
        is_plain = is_plain && (isalnum((unsigned char)*at) || strchr(" ()-/.,_", *at) != NULL);
    if (is_plain && words[strlen(words) - 1] != ' ') {
        text_add(out, words);
        return;
    }
    text_add(out, "\"");
    for (; *words; words++)
        text_add_format(out, "%s%c", *words == '"' || *words == '\\' ? "\\" : "", *words);
    text_add(out, "\"");
}

static bool add_value(struct text *out, const struct schema_entry *entry, const void *member)
{
    struct quantity quantity;
    char *words;
    int value = 0;
    switch (entry->kind) {
    case SCHEMA_TEXT:
    case SCHEMA_CHANNEL:
        memcpy(&words, member, sizeof words);
        if (words)
            add_scalar(out, words);
        return words != NULL;
    case SCHEMA_QUANTITY:
        memcpy(&quantity, member, sizeof quantity);
        if (quantity.is_present)
            add_quantity(out, &quantity, entry->dimension);
        return quantity.is_present;
    case SCHEMA_WORD:
        memcpy(&value, member, sizeof value);
        break;
    case SCHEMA_FLAG:
        value = *(const bool *)member;
        break;
    case SCHEMA_LINES:
    case SCHEMA_MAP:
        break;
    }
    if (value != 0) /* the first word of a list is what holds without the key */
        text_add(out, schema_find_word(entry->words, value));
    return value != 0;
}

static void add_comment(struct text *out, const char *key, size_t width)
{
    for (size_t i = 0; i < sizeof comment_list / sizeof comment_list[0]; i++)
        if (!strcmp(comment_list[i].key, key))
            text_add_format(out, "%*s# %s",
                width < COMMENT_COLUMN ? (int)(COMMENT_COLUMN - width) : 1, "",
                comment_list[i].comment);
}

static void add_map(
    struct text *out, const struct schema_entry *table, const char *source, int depth)
{
    for (const struct schema_entry *entry = table; entry->key; entry++) {
        struct text part = {0};
        const char *member = source + entry->offset;
        if (entry->kind == SCHEMA_MAP) {
            add_map(&part, entry->map, member, depth + 1);
            if (part.length > 0)
                text_add_format(out, "%*s%s:\n%s", 2 * depth, "", entry->key, part.bytes);
        } else if (add_value(&part, entry, member) && part.bytes) {
            size_t width = 2 * (size_t)depth + strlen(entry->key) + 2 + text_width(part.bytes);
            text_add_format(out, "%*s%s: %s", 2 * depth, "", entry->key, part.bytes);
            add_comment(out, entry->key, width);
            text_add(out, "\n");
        }
        out->failed = out->failed || part.failed;
        text_clear(&part);
    }
}

void describe_add(struct text *out, const struct schema_entry *table, const void *source)
{
    add_map(out, table, source, 0);
}
