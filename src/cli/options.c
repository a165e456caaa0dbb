// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/options.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "cli/option_walk.h"

#define NEAREST_LIMIT 64 /* options of one command that are searched for the nearest */

struct reading {
    const char *command;
    const struct option *table;
    char *target;
    struct error *err;
};

static enum status refuse(const struct reading *reading, const char *what)
{
    char hint[120];
    snprintf(hint, sizeof hint, "'lodecard help %s' lists the options", reading->command);
    return fail(reading->err, STATUS_USAGE, hint, "%s", what);
}

static bool find_name(
    const struct option *table, const char *name, size_t length, struct option *option)
{
    for (struct option_walk walk = option_walk_begin(table); option_walk_next(&walk);) {
        *option = walk.option;
        if (length > 0 && strlen(option->name) == length && !memcmp(option->name, name, length))
            return true;
    }
    return false;
}

static bool find_letter(const struct option *table, char letter, struct option *option)
{
    for (struct option_walk walk = option_walk_begin(table); option_walk_next(&walk);) {
        *option = walk.option;
        if (option->letter && option->letter == letter)
            return true;
    }
    return false;
}

static enum status refuse_unknown(const struct reading *reading, const char *name, size_t length)
{
    const char *names[NEAREST_LIMIT + 1] = {0};
    size_t count = 0;
    for (struct option_walk walk = option_walk_begin(reading->table); option_walk_next(&walk);)
        if (walk.option.name[0] && count < NEAREST_LIMIT)
            names[count++] = walk.option.name;
    char word[64];
    snprintf(word, sizeof word, "%.*s", (int)(length < 60 ? length : 60), name);
    const char *nearest = text_nearest(word, names);
    char hint[240];
    if (nearest)
        snprintf(hint, sizeof hint, "did you mean '--%s'? 'lodecard help %s' lists the options",
            nearest, reading->command);
    else
        snprintf(hint, sizeof hint, "'lodecard help %s' lists the options", reading->command);
    return fail(
        reading->err, STATUS_USAGE, hint, "'%s' has no option '--%s'", reading->command, word);
}

static enum status refuse_value(
    const struct reading *reading, const struct option *option, const char *word, const char *want)
{
    char what[400];
    snprintf(what, sizeof what, "option '--%s': '%.100s' is not %s", option->name, word, want);
    return refuse(reading, what);
}

/* A number in the SI unit of the option's dimension, or with a unit of that dimension; a QUANTITY
 * may state its uncertainty. */
static bool read_quantity(const struct option *option, const char *word, struct quantity *quantity)
{
    const char *digits = *word == '+' ? word + 1 : word;
    size_t length = strlen(digits);
    *quantity = (struct quantity){.is_present = true};
    if (length > 0 && text_read_number(digits, length, &quantity->value) == length)
        return isfinite(quantity->value);
    bool takes_uncertainty = option->type == OPTION_QUANTITY;
    if ((option->dimension == DIMENSION_NUMBER && !takes_uncertainty) ||
        quantity_read(word, option->dimension, quantity, NULL) ||
        (quantity->has_uncertainty && !takes_uncertainty))
        return false;
    return isfinite(quantity->value);
}

static enum status set_with_unit(
    const struct reading *reading, const struct option *option, const char *word)
{
    struct error inner;
    struct quantity quantity;
    const enum status status = quantity_read(word, option->dimension, &quantity, &inner);
    if (status)
        return fail(reading->err, STATUS_USAGE, inner.hint, "option '--%s': '%.100s': %s",
            option->name, word, inner.message);
    *(struct quantity *)(void *)(reading->target + option->offset) = quantity;
    return STATUS_OK;
}

static enum status set_number(
    const struct reading *reading, const struct option *option, const char *word)
{
    struct quantity quantity;
    bool is_whole = option->type == OPTION_COUNT;
    const char *unit = dimension_get_unit(option->dimension);
    char want[160];
    bool is_read = read_quantity(option, word, &quantity);
    double value = quantity.value;
    if (!is_read || (is_whole && value != floor(value))) {
        if (*unit)
            snprintf(want, sizeof want, "a number of %s or a %s with its unit", unit,
                dimension_get_name(option->dimension));
        else
            snprintf(want, sizeof want, is_whole ? "a whole number" : "a number");
        return refuse_value(reading, option, word, want);
    }
    bool has_most = option->most > option->least;
    if (value < option->least || (has_most && value > option->most)) {
        if (has_most)
            snprintf(want, sizeof want, "from %.15g to %.15g%s%s", option->least, option->most,
                *unit ? " " : "", unit);
        else
            snprintf(want, sizeof want, "%.15g%s%s or more", option->least, *unit ? " " : "", unit);
        return refuse_value(reading, option, word, want);
    }
    if (is_whole && value > 1e15)
        return refuse_value(reading, option, word, "a sensible number");
    if (is_whole)
        *(size_t *)(void *)(reading->target + option->offset) = (size_t)value;
    else if (option->type == OPTION_QUANTITY)
        *(struct quantity *)(void *)(reading->target + option->offset) = quantity;
    else
        *(double *)(void *)(reading->target + option->offset) = value;
    return STATUS_OK;
}

static const struct {
    char letter;
    const char *word;
} letter_words[] = {{'\t', "tab"}, {'\t', "\\t"}, {' ', "blank"}, {' ', "space"}, {',', "comma"},
    {';', "semicolon"}, {'.', "point"}};
#define LETTER_WORDS (sizeof letter_words / sizeof *letter_words)

static enum status set_letter(
    const struct reading *reading, const struct option *option, const char *word)
{
    char letter = strlen(word) == 1 ? *word : '\0';
    for (size_t i = 0; i < LETTER_WORDS; i++)
        if (!strcmp(word, letter_words[i].word))
            letter = letter_words[i].letter;
    if (!letter || !strchr(option->letters, letter)) {
        char want[160] = "one of";
        for (const char *known = option->letters; *known; known++) {
            size_t length = strlen(want);
            const char *name = *known == '\t' ? "tab" : *known == ' ' ? "blank" : NULL;
            if (name)
                snprintf(want + length, sizeof want - length, " %s", name);
            else
                snprintf(want + length, sizeof want - length, " '%c'", *known);
        }
        return refuse_value(reading, option, word, want);
    }
    *(reading->target + option->offset) = letter;
    return STATUS_OK;
}

static enum status add_text(
    const struct reading *reading, const struct option *option, const char *word)
{
    struct option_texts *texts = (void *)(reading->target + option->offset);
    char what[120];
    if (!*word)
        return refuse_value(reading, option, word, "a value");
    if (texts->count == OPTION_TEXTS_MOST) {
        snprintf(what, sizeof what, "option '--%s' is given more than %d times", option->name,
            OPTION_TEXTS_MOST);
        return refuse(reading, what);
    }
    texts->list[texts->count++] = word;
    return STATUS_OK;
}

static enum status set_value(
    const struct reading *reading, const struct option *option, const char *word)
{
    switch (option->type) {
    case OPTION_FLAG:
        *(bool *)(void *)(reading->target + option->offset) = true;
        return STATUS_OK;
    case OPTION_TEXT:
    case OPTION_PLACE:
        if (!*word)
            return refuse_value(reading, option, word, "a name");
        *(const char **)(void *)(reading->target + option->offset) = word;
        return STATUS_OK;
    case OPTION_TEXTS:
        return add_text(reading, option, word);
    case OPTION_LETTER:
        return set_letter(reading, option, word);
    case OPTION_NUMBER:
    case OPTION_QUANTITY:
    case OPTION_COUNT:
        break;
    }
    return option->needs_unit ? set_with_unit(reading, option, word)
                              : set_number(reading, option, word);
}

static bool has_ending(const char *word, const char *const *endings)
{
    size_t length = strlen(word);
    for (; *endings; endings++)
        if (length > strlen(*endings) && !strcmp(word + length - strlen(*endings), *endings))
            return true;
    return false;
}

static bool is_value(const struct reading *reading, const struct option *option, const char *word)
{
    if (!word)
        return false;
    struct option other;
    if (!strncmp(word, "--", 2) &&
        (!word[2] || find_name(reading->table, word + 2, strcspn(word + 2, "="), &other)))
        return false;
    if (option->type == OPTION_PLACE && word[0] == '-' && word[1])
        return false;
    return !option->endings || !strcmp(word, "-") || has_ending(word, option->endings);
}

/* The value that stands in a word of its own: `next`, which may be missing or be no value. */
static enum status set_from_next(
    const struct reading *reading, const struct option *option, const char *next, bool *took_next)
{
    *took_next = is_value(reading, option, next);
    if (*took_next)
        return set_value(reading, option, next);
    if (option->type == OPTION_PLACE)
        return set_value(reading, option, "-");
    char what[200];
    snprintf(what, sizeof what, "option '--%s' needs a value: '--%s %s'", option->name,
        option->name, option->value);
    return refuse(reading, what);
}

/* "--name", "--name=value". */
static enum status read_long(
    const struct reading *reading, const char *word, const char *next, bool *took_next)
{
    size_t length = strcspn(word + 2, "=");
    const char *value = word[2 + length] ? word + 2 + length + 1 : NULL;
    struct option option;
    if (!find_name(reading->table, word + 2, length, &option))
        return refuse_unknown(reading, word + 2, length);
    if (option.type == OPTION_FLAG) {
        if (!value)
            return set_value(reading, &option, "");
        char what[200];
        snprintf(what, sizeof what, "option '--%s' takes no value", option.name);
        return refuse(reading, what);
    }
    if (value)
        return set_value(reading, &option, value);
    return set_from_next(reading, &option, next, took_next);
}

/* "-n", "-nvalue", "-ab". */
static enum status read_short(
    const struct reading *reading, const char *word, const char *next, bool *took_next)
{
    for (const char *letter = word + 1; *letter; letter++) {
        struct option option;
        if (!find_letter(reading->table, *letter, &option)) {
            char what[160];
            snprintf(what, sizeof what, "'%s' has no option '-%c' (in '%.80s')", reading->command,
                *letter, word);
            return refuse(reading, what);
        }
        if (option.type != OPTION_FLAG) {
            if (letter[1])
                return set_value(reading, &option, letter + 1);
            return set_from_next(reading, &option, next, took_next);
        }
        enum status status = set_value(reading, &option, "");
        if (status)
            return status;
    }
    return STATUS_OK;
}

enum status options_read(const char *command, const struct option *table, void *target, int *count,
    char **words, struct error *err)
{
    struct reading reading = {command, table, target, err};
    int files = 0;
    bool is_open = true; /* no "--" so far */
    for (int i = 0; i < *count; i++) {
        char *word = words[i];
        if (!is_open || word[0] != '-' || !word[1]) {
            words[files++] = word;
            continue;
        }
        if (!strcmp(word, "--")) {
            is_open = false;
            continue;
        }
        const char *next = i + 1 < *count ? words[i + 1] : NULL;
        bool took_next = false;
        enum status status = word[1] == '-' ? read_long(&reading, word, next, &took_next)
                                            : read_short(&reading, word, next, &took_next);
        if (status)
            return status;
        i += took_next;
    }
    *count = files;
    return STATUS_OK;
}

bool option_is_given(const struct option *option, const void *target, const void *untouched)
{
    static const size_t sizes[] = {
        [OPTION_FLAG] = sizeof(bool),
        [OPTION_TEXT] = sizeof(const char *),
        [OPTION_TEXTS] = sizeof(struct option_texts),
        [OPTION_PLACE] = sizeof(const char *),
        [OPTION_NUMBER] = sizeof(double),
        [OPTION_COUNT] = sizeof(size_t),
        [OPTION_LETTER] = sizeof(char),
        [OPTION_QUANTITY] = offsetof(struct quantity, has_uncertainty), /* behind it is a gap */
    };
    return memcmp((const char *)target + option->offset, (const char *)untouched + option->offset,
               sizes[option->type]) != 0;
}

bool option_is_listed(const char *const *names, const char *name)
{
    for (; names && *names; names++)
        if (!strcmp(*names, name))
            return true;
    return false;
}
