// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/table_name.h"

#include <ctype.h>
#include <string.h>
#include <strings.h>

#include "base/memory.h"

#define UNIT_LIMIT 64 /* bytes */

/* A part of a cell. */
struct part {
    const char *text;
    size_t length;
};

struct unit {
    enum dimension dimension;
    double factor;
    double offset;
};

static struct part trim(const char *text, size_t length)
{
    while (length > 0 && *text == ' ') {
        text++;
        length--;
    }
    while (length > 0 && text[length - 1] == ' ') {
        length--;
    }
    return (struct part){text, length};
}

static char *copy_part(struct part part)
{
    char *copy = memory_create(part.length + 1, 1);
    if (copy != NULL) {
        memcpy(copy, part.text, part.length);
    }
    return copy;
}

/* --- units ------------------------------------------------------------------------------------
 */

/* What loggers write in full; in files that people write such words are refused, but nobody can
 * edit a logger. */
static const char *find_symbol(const char *word)
{
    static const struct {
        const char *word;
        const char *symbol;
    } list[] = {
        {"volt", "V"},
        {"volts", "V"},
        {"vdc", "V"},
        {"vac", "V"},
        {"millivolt", "mV"},
        {"millivolts", "mV"},
        {"amp", "A"},
        {"amps", "A"},
        {"ampere", "A"},
        {"amperes", "A"},
        {"milliamp", "mA"},
        {"milliamps", "mA"},
        {"sec", "s"},
        {"secs", "s"},
        {"second", "s"},
        {"seconds", "s"},
        {"msec", "ms"},
        {"millisecond", "ms"},
        {"milliseconds", "ms"},
        {"usec", "us"},
        {"microsecond", "us"},
        {"microseconds", "us"},
        {"hertz", "Hz"},
        {"tesla", "T"},
        {"weber", "Wb"},
        {"oersted", "Oe"},
        {"gauss", "G"},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        if (strcasecmp(list[i].word, word) == 0) {
            return list[i].symbol;
        }
    }
    return word;
}

static bool read_unit(struct part part, struct unit *unit)
{
    char words[UNIT_LIMIT + 1] = "";
    if (part.length == 0 || part.length > UNIT_LIMIT) {
        return false;
    }
    memcpy(words, part.text, part.length);
    return unit_read(find_symbol(words), &unit->dimension, &unit->factor, &unit->offset, NULL) ==
           STATUS_OK;
}

static bool set(
    struct table_name *name, struct part text, struct part words, const struct unit *unit)
{
    name->name = copy_part(text);
    name->unit = copy_part(words);
    if (unit != NULL) {
        name->dimension = unit->dimension;
        name->factor = unit->factor;
        name->offset = unit->offset;
        name->has_unit = true;
    }
    return name->name != NULL && name->unit != NULL;
}

/* --- brackets ---------------------------------------------------------------------------------
 */

/* Where the bracket stands that the one at `close` closes; `close` itself when there is none. */
static size_t find_opening(const char *cell, size_t close)
{
    char closing = cell[close];
    char opening = closing == ')' ? '(' : '[';
    int depth = 0;
    for (size_t at = close + 1; at-- > 0;) {
        depth += (cell[at] == closing) - (cell[at] == opening);
        if (depth == 0) {
            return at;
        }
    }
    return close;
}

/* "u2 (mV)", "H / (kA/m)": the name without the stroke. */
static struct part get_name_ahead(const char *cell, size_t open)
{
    struct part name = trim(cell, open);
    if (name.length > 1 && name.text[name.length - 1] == '/') {
        name = trim(name.text, name.length - 1);
    }
    return name;
}

/* Splits at the last brackets. Brackets at the cell's end that hold no unit are noted; others are
 * part of the name. */
static bool split_brackets(struct table_name *name, const char *cell, bool *is_split)
{
    size_t length = strlen(cell);
    *is_split = false;
    for (size_t close = length; close-- > 0;) {
        bool is_closing = cell[close] == ')' || cell[close] == ']';
        size_t open = is_closing ? find_opening(cell, close) : close;
        if (open == close) {
            continue;
        }
        struct unit unit;
        struct part words = trim(cell + open + 1, close - open - 1);
        bool is_unit = read_unit(words, &unit);
        bool is_last = close == length - 1;
        if (is_unit || (is_last && words.length > 0)) {
            struct part rest = is_last ? get_name_ahead(cell, open) : trim(cell, length);
            name->is_unit_unknown = !is_unit;
            *is_split = true;
            return set(name, rest, words, is_unit ? &unit : NULL);
        }
        close = open;
    }
    return true;
}

/* --- strokes and underscores ------------------------------------------------------------------
 */

static bool begins_with(struct part name, const char *letters)
{
    return name.length > 0 && strchr(letters, tolower((unsigned char)name.text[0])) != NULL;
}

/* A word that counts things: what follows it is a letter of theirs, not a unit. */
static bool is_counter(struct part name)
{
    static const char *const words[] = {"channel", "chan", "ch", "input", "output", "probe",
        "sensor", "side", "phase", "port", "line", "column", "col", "row", "test", "run", "sample",
        "specimen", "series", "set", "group", "ring", "trace", "part", "type", "class", "pair",
        "leg", "pin", "position", "pos", "module", "card", "board", "slot", "device", "dev",
        "logger", "signal"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        size_t length = strlen(words[i]);
        bool is_end = name.length >= length &&
                      strncasecmp(name.text + name.length - length, words[i], length) == 0;
        bool is_word = name.length == length ||
                       (is_end && !isalpha((unsigned char)name.text[name.length - length - 1]));
        if (is_end && is_word) {
            return true;
        }
    }
    return false;
}

/* Whether a unit behind a stroke or an underscore is meant as one. */
static bool is_plausible(struct part name, struct part words, const struct unit *unit)
{
    switch (unit->dimension) {
    case DIMENSION_TIME:
        return begins_with(name, "tz"); /* time, t, timestamp; Zeit */
    case DIMENSION_VOLTAGE:
    case DIMENSION_CURRENT:
    case DIMENSION_FREQUENCY:
    case DIMENSION_FIELD_STRENGTH:
    case DIMENSION_FLUX_DENSITY:
    case DIMENSION_FLUX:
    case DIMENSION_RESISTANCE:
    case DIMENSION_TEMPERATURE:
        break;
    default:
        return false;
    }
    if (words.length > 1) {
        return true;
    }
    if (words.text[0] == 'G') {
        return begins_with(name, "bj");
    }
    return strchr("VAT", words.text[0]) != NULL && !is_counter(name);
}

static bool split_stroke(struct table_name *name, const char *cell, bool *is_split)
{
    struct unit unit;
    struct part whole = trim(cell, strlen(cell));
    const char *stroke = strchr(cell, '/');
    *is_split = false;
    if (stroke == NULL || read_unit(whole, &unit)) {
        return true;
    }
    struct part ahead = trim(cell, (size_t)(stroke - cell));
    struct part words = trim(stroke + 1, strlen(stroke + 1));
    if (ahead.length == 0 || !read_unit(words, &unit) || !is_plausible(ahead, words, &unit)) {
        return true;
    }
    *is_split = true;
    return set(name, ahead, words, &unit);
}

/* "A_per_m" is "A/m". */
static bool read_underscored_unit(const char *text, struct unit *unit)
{
    char words[UNIT_LIMIT + 1];
    size_t count = 0;
    while (*text != '\0' && count < UNIT_LIMIT) {
        bool is_per = strncmp(text, "_per_", 5) == 0;
        words[count++] = is_per ? '/' : *text;
        text += is_per ? 5 : 1;
    }
    return *text == '\0' && read_unit((struct part){words, count}, unit);
}

static bool split_underscore(struct table_name *name, const char *cell, bool *is_split)
{
    struct part whole = trim(cell, strlen(cell));
    *is_split = false;
    for (const char *at = strchr(cell, '_'); at != NULL; at = strchr(at + 1, '_')) {
        struct unit unit;
        struct part ahead = trim(cell, (size_t)(at - cell));
        struct part words = {at + 1, (size_t)(whole.text + whole.length - at - 1)};
        if (ahead.length > 0 && words.length > 0 && read_underscored_unit(words.text, &unit) &&
            is_plausible(ahead, words, &unit)) {
            *is_split = true;
            return set(name, ahead, words, &unit);
        }
    }
    return true;
}

/* --- names ------------------------------------------------------------------------------------
 */

bool table_name_init(struct table_name *name, const char *cell)
{
    bool (*const splits[])(struct table_name *, const char *, bool *) = {
        split_brackets, split_stroke, split_underscore};
    *name = (struct table_name){.dimension = DIMENSION_NUMBER, .factor = 1};
    for (size_t i = 0; i < sizeof splits / sizeof splits[0]; i++) {
        bool is_split;
        if (!splits[i](name, cell, &is_split)) {
            return false;
        }
        if (is_split) {
            return true;
        }
    }
    return set(name, trim(cell, strlen(cell)), (struct part){"", 0}, NULL);
}

void table_name_clear(struct table_name *name)
{
    memory_destroy(name->name);
    memory_destroy(name->unit);
    *name = (struct table_name){0};
}

/* The text inside brackets around the whole cell, or the cell. */
static struct part strip_brackets(const char *cell)
{
    struct part part = trim(cell, strlen(cell));
    bool is_closed =
        part.length > 1 && (part.text[part.length - 1] == ')' || part.text[part.length - 1] == ']');
    if (!is_closed || find_opening(part.text, part.length - 1) != 0) {
        return part;
    }
    return trim(part.text + 1, part.length - 2);
}

static bool is_blank_unit(struct part part)
{
    return part.length == 0 || (part.length == 1 && (part.text[0] == '-' || part.text[0] == '1'));
}

bool table_name_is_unit(const char *cell, bool *is_blank)
{
    struct unit unit;
    struct part part = strip_brackets(cell);
    *is_blank = is_blank_unit(part);
    return *is_blank || read_unit(part, &unit);
}

bool table_name_set_unit(struct table_name *name, const char *cell)
{
    struct unit unit;
    struct part part = strip_brackets(cell);
    if (is_blank_unit(part) || !read_unit(part, &unit)) {
        return true;
    }
    char *words = copy_part(part);
    if (words == NULL) {
        return false;
    }
    memory_destroy(name->unit);
    name->unit = words;
    name->dimension = unit.dimension;
    name->factor = unit.factor;
    name->offset = unit.offset;
    name->has_unit = true;
    name->is_unit_unknown = false;
    return true;
}

bool table_name_is_time(const struct table_name *name)
{
    bool is_time = strcasecmp(name->name, "time") == 0 || strcasecmp(name->name, "t") == 0;
    return is_time && (!name->has_unit || name->dimension == DIMENSION_TIME);
}
