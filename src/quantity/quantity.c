// SPDX-License-Identifier: GPL-3.0-or-later
/* Reads values with unit and uncertainty. The power of ten of a unit goes into the number's text
 * ahead of its conversion, so that "25.03 mm" is the double nearest to 0.02503, as if "0.02503 m"
 * had been written. */
#include "quantity/quantity.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "quantity/unit.h"

#define WORDS_LIMIT 200 /* bytes of a value; the longest sensible one has a quarter of it */
#define EXPONENT_LIMIT 100000

static const char uncertainty_hint[] =
    "behind the ± stands an expanded uncertainty (k = 2), or a limit that ends in 'rect'";

/* A piece of the text: begin and end. */
struct piece {
    const char *begin;
    const char *end;
};

/* A number with its unit, taken apart. */
struct amount {
    struct piece number;
    char unit_words[WORDS_LIMIT + 1];
    struct unit unit;
    bool has_unit;
};

double quantity_get_uncertainty(const struct quantity *quantity)
{
    double divisor = quantity->distribution == DISTRIBUTION_RECTANGULAR ? sqrt(3.0) : 2.0;
    return quantity->has_uncertainty ? quantity->half_width / divisor : 0;
}

/* The bytes of a blank at `at`: ' ', tab, and the two no-break blanks; 0 for what is none. */
static size_t get_blank_size(const char *at, const char *end)
{
    static const char *const blanks[] = {" ", "\t", "\xC2\xA0", "\xE2\x80\xAF"};
    for (size_t i = 0; i < sizeof blanks / sizeof blanks[0]; i++) {
        size_t size = strlen(blanks[i]);
        if ((size_t)(end - at) >= size && memcmp(at, blanks[i], size) == 0) {
            return size;
        }
    }
    return 0;
}

static struct piece trim(struct piece piece)
{
    size_t size = get_blank_size(piece.begin, piece.end);
    while (size > 0) {
        piece.begin += size;
        size = get_blank_size(piece.begin, piece.end);
    }
    const char *last = piece.begin; /* the end of what is no blank */
    for (const char *at = piece.begin; at < piece.end;) {
        size = get_blank_size(at, piece.end);
        at += size > 0 ? size : 1;
        last = size > 0 ? last : at;
    }
    piece.end = last;
    return piece;
}

/* The first ± or +/- and what it is long; NULL when there is none. */
static const char *find_plus_minus(struct piece piece, size_t *size)
{
    static const char *const signs[] = {"\xC2\xB1", "+/-"};
    for (const char *at = piece.begin; at < piece.end; at++) {
        for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++) {
            *size = strlen(signs[i]);
            if ((size_t)(piece.end - at) >= *size && memcmp(at, signs[i], *size) == 0) {
                return at;
            }
        }
    }
    return NULL;
}

/* Takes " rect" off the end; false when it is not there. */
static bool take_rectangular(struct piece *piece)
{
    static const char word[] = "rect";
    size_t size = sizeof word - 1;
    size_t length = (size_t)(piece->end - piece->begin);
    if (length < size || memcmp(piece->end - size, word, size) != 0) {
        return false;
    }
    struct piece rest = {piece->begin, piece->end - size};
    struct piece trimmed = trim(rest);
    bool is_apart = trimmed.end != rest.end ||
                    (rest.end > rest.begin && rest.end[-1] >= '0' && rest.end[-1] <= '9');
    if (is_apart || length == size) {
        *piece = trimmed;
    }
    return is_apart || length == size;
}

static enum status fail_expected(
    struct error *err, enum dimension dimension, const char *words, const char *what)
{
    char hint[80];
    snprintf(hint, sizeof hint, "write it like '%s'", dimension_get_example(dimension));
    return fail(err, STATUS_INPUT, hint, "'%s' %s, expected %s", words, what,
        dimension_get_article(dimension));
}

/* A comma within the number: the decimal comma of some languages, or a thousands separator. With
 * three digits behind it it may be either, and the hint shows no number. */
static enum status fail_comma(const char *words, struct piece piece, struct error *err)
{
    char hint[WORDS_LIMIT + 80];
    int length = (int)(piece.end - piece.begin);
    snprintf(hint, sizeof hint, "write a decimal point, and no thousands separator: '%.*s'", length,
        piece.begin);
    char *comma = strchr(hint + strcspn(hint, ":"), ',');
    bool is_clear = comma != NULL && strspn(comma + 1, "0123456789") != 3 &&
                    strpbrk(comma + 1, ",.") == NULL &&
                    memchr(piece.begin, '.', (size_t)length) == NULL;
    if (is_clear) {
        *comma = '.';
    } else {
        snprintf(hint, sizeof hint, "write a decimal point, and no thousands separator");
    }
    return fail(err, STATUS_INPUT, hint, "'%s' has a comma in its number", words);
}

/* Splits "25.00 mm" into number and unit text. */
static enum status split_amount(const char *words, struct piece piece, enum dimension dimension,
    struct amount *amount, struct error *err)
{
    double value;
    size_t length = (size_t)(piece.end - piece.begin);
    size_t taken = text_read_number(piece.begin, length, &value);
    if (taken == 0) {
        return fail_expected(err, dimension, words,
            length == 0 ? "lacks a number" : "has something else where a number is due");
    }
    const char *after = piece.begin + taken;
    if (after < piece.end && *after == ',') {
        return fail_comma(words, piece, err);
    }
    amount->number = (struct piece){piece.begin, after};
    struct piece unit = trim((struct piece){after, piece.end});
    size_t unit_length = (size_t)(unit.end - unit.begin);
    memcpy(amount->unit_words, unit.begin, unit_length);
    amount->unit_words[unit_length] = '\0';
    amount->has_unit = unit_length > 0;
    return STATUS_OK;
}

/* The number in the unit, without offset: correctly rounded where the unit is a power of ten. */
static double convert(const struct amount *amount, const struct unit *unit)
{
    char scaled[WORDS_LIMIT + 32];
    const char *begin = amount->number.begin;
    size_t length = (size_t)(amount->number.end - begin);
    size_t mantissa = 0;
    while (mantissa < length && begin[mantissa] != 'e' && begin[mantissa] != 'E') {
        mantissa++;
    }
    long exponent = 0;
    bool is_negative = mantissa + 1 < length && begin[mantissa + 1] == '-';
    for (size_t i = mantissa; i < length; i++) {
        if (begin[i] >= '0' && begin[i] <= '9' && exponent < EXPONENT_LIMIT) {
            exponent = exponent * 10 + (begin[i] - '0');
        }
    }
    bool is_power_of_ten = unit->ratio == 1;
    exponent = (is_negative ? -exponent : exponent) + (is_power_of_ten ? unit->decade : 0);
    int size = snprintf(scaled, sizeof scaled, "%.*se%ld", (int)mantissa, begin, exponent);
    double value = 0;
    text_read_number(scaled, (size_t)size, &value);
    return is_power_of_ten ? value : value * unit_get_factor(unit);
}

/* A unit of another dimension: with the wanted unit if only the letters' case differs. */
static enum status fail_dimension(const char *words, const struct amount *amount,
    enum dimension wanted, const char *where, struct error *err)
{
    char hint[UNIT_HINT_SIZE];
    enum dimension found = unit_find_dimension(&amount->unit);
    unit_find_wanted_hint(amount->unit_words, wanted, true, hint);
    if (hint[0] == '\0') {
        snprintf(hint, sizeof hint, "write it like '%s'", dimension_get_example(wanted));
    }
    const char *article =
        found == DIMENSION_COUNT ? "no quantity known here" : dimension_get_article(found);
    return fail(err, STATUS_INPUT, hint, "'%s' is %s%s, expected %s", words, article, where,
        dimension_get_article(wanted));
}

/* A unit that cannot be read: what is wrong with it, and in which value. */
static enum status fail_unit(
    const char *words, const struct amount *amount, enum dimension dimension, struct error *err)
{
    char hint[UNIT_HINT_SIZE];
    if (err == NULL) {
        return STATUS_INPUT;
    }
    unit_find_wanted_hint(amount->unit_words, dimension, false, hint);
    const char *said = hint[0] != '\0' ? hint : err->hint;
    if (strchr(amount->unit_words, '(') != NULL) {
        said = uncertainty_hint; /* "(k=2)" */
    } else if (said[0] == '\0') {
        snprintf(hint, sizeof hint, "write it like '%s'", dimension_get_example(dimension));
        said = hint;
    }
    return fail(err, STATUS_INPUT, said, "'%s': %s, expected %s", words, err->message,
        dimension_get_article(dimension));
}

static enum status read_value(const char *words, struct piece piece, enum dimension dimension,
    struct amount *amount, struct quantity *quantity, struct error *err)
{
    enum status status = split_amount(words, piece, dimension, amount, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (!amount->has_unit && dimension != DIMENSION_NUMBER) {
        return fail_expected(err, dimension, words, "has no unit");
    }
    status = unit_read_parts(amount->unit_words, &amount->unit, err);
    if (status != STATUS_OK) {
        return fail_unit(words, amount, dimension, err);
    }
    if (unit_find_dimension(&amount->unit) != dimension) {
        return fail_dimension(words, amount, dimension, "", err);
    }
    quantity->value = convert(amount, &amount->unit) + amount->unit.offset;
    quantity->is_present = true;
    return STATUS_OK;
}

/* The unit of a half-width: its own, the value's, or relative to the value. */
static enum status convert_half_width(const char *words, enum dimension dimension,
    const struct amount *value, struct amount *width, struct quantity *quantity, struct error *err)
{
    if (!width->has_unit) {
        quantity->half_width = convert(width, &value->unit);
        return STATUS_OK;
    }
    enum status status = unit_read_parts(width->unit_words, &width->unit, err);
    if (status != STATUS_OK) {
        return fail_unit(words, width, dimension, err);
    }
    enum dimension found = unit_find_dimension(&width->unit);
    bool is_relative = strcmp(width->unit_words, "%") == 0 || strcmp(width->unit_words, "ppm") == 0;
    if (found != dimension && !is_relative) {
        return fail_dimension(words, width, dimension, " behind the ±", err);
    }
    if (is_relative && dimension == DIMENSION_TEMPERATURE) {
        return fail(err, STATUS_INPUT, "write it like '23 degC ± 2 degC'",
            "'%s' has a share of a temperature behind the ±", words);
    }
    if (is_relative && dimension == DIMENSION_NUMBER && value->has_unit) {
        return fail(err, STATUS_INPUT, "write both as plain numbers: '0.96 ± 0.01'",
            "'%s' can be read in two ways, points or a share of the value", words);
    }
    double amount = convert(width, &width->unit);
    quantity->half_width = is_relative ? amount * fabs(quantity->value) : amount;
    return STATUS_OK;
}

static enum status read_half_width(const char *words, struct piece piece, enum dimension dimension,
    const struct amount *value, struct quantity *quantity, struct error *err)
{
    struct amount width = {0};
    size_t size;
    if (find_plus_minus(piece, &size) != NULL) {
        return fail(err, STATUS_INPUT, uncertainty_hint, "'%s' has more than one ±", words);
    }
    bool is_rectangular = take_rectangular(&piece);
    enum status status = split_amount(words, piece, dimension, &width, err);
    if (status == STATUS_OK) {
        status = convert_half_width(words, dimension, value, &width, quantity, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    if (quantity->half_width < 0) {
        return fail(err, STATUS_INPUT, "a half-width is positive or 0",
            "'%s' has a negative half-width", words);
    }
    quantity->has_uncertainty = true;
    quantity->distribution = is_rectangular ? DISTRIBUTION_RECTANGULAR : DISTRIBUTION_NORMAL;
    return STATUS_OK;
}

/* What would spoil the messages, or is no value at all. */
static enum status check_words(const char *words, enum dimension dimension, struct error *err)
{
    if (strlen(words) > WORDS_LIMIT) {
        return fail(err, STATUS_INPUT, "write number, unit, ± and half-width only",
            "the value is longer than %d bytes, expected %s", WORDS_LIMIT,
            dimension_get_article(dimension));
    }
    for (const char *at = words; *at != '\0'; at++) {
        if ((unsigned char)*at < ' ' && *at != '\t') {
            return fail(err, STATUS_INPUT, "write it on one line",
                "the value has a control character in it, expected %s",
                dimension_get_article(dimension));
        }
    }
    return STATUS_OK;
}

enum status quantity_read(
    const char *words, enum dimension dimension, struct quantity *out, struct error *err)
{
    struct quantity made = {0};
    struct amount value = {0};
    enum status status = check_words(words, dimension, err);
    if (status != STATUS_OK) {
        return status;
    }
    size_t size = 0;
    struct piece whole = trim((struct piece){words, words + strlen(words)});
    const char *sign = find_plus_minus(whole, &size);
    struct piece left = trim((struct piece){whole.begin, sign != NULL ? sign : whole.end});
    status = read_value(words, left, dimension, &value, &made, err);
    if (status == STATUS_OK && sign != NULL) {
        struct piece right = trim((struct piece){sign + size, whole.end});
        status = read_half_width(words, right, dimension, &value, &made, err);
    }
    if (status == STATUS_OK && (!isfinite(made.value) || !isfinite(made.half_width))) {
        status = fail(err, STATUS_INPUT, "check the number and its unit",
            "'%s' is beyond the largest number", words);
    }
    if (status == STATUS_OK) {
        *out = made;
    }
    return status;
}
