// SPDX-License-Identifier: GPL-3.0-or-later
/* Takes a unit text apart:
 *
 *     unit   = term { [ operator ] term }      operator: / * · . or -, or only blanks: a product
 *     term   = ( symbol | "1" | "(" unit ")" ) [ power ]
 *     power  = [ "^" | "**" ] [ "-" ] digit | superscript digits
 *
 * After a stroke no product may follow without parentheses: "W/m2 K" is read in two ways by
 * people, so it is refused ("ohm mm2/m" has its product ahead of the stroke and is clear). */
#include "quantity/unit.h"

#include <string.h>

#include "base/text.h"

#define WORDS_LIMIT 64    /* bytes; the longest sensible unit has a third of it */
#define EXPONENT_LIMIT 99 /* fits a signed char, with room for one more term */
#define DEPTH_LIMIT 4     /* parentheses in parentheses */

/* A place in the text. */
struct cursor {
    const char *words;
    size_t length;
    size_t at;
    int depth;
};

static const char number_hint[] = "the number stands before the unit, once: '2.5 mm'";
static const char form_hint[] = "write it like 'kA/m', 'kg/m3', 'V s' or 'W/(m2 Hz)'";

static enum status fail_form(const struct cursor *cursor, struct error *err)
{
    return fail(err, STATUS_INPUT, form_hint, "unit '%s' cannot be read from '%s' on",
        cursor->words, cursor->words + cursor->at);
}

static enum status fail_power(const struct cursor *cursor, struct error *err)
{
    return fail(err, STATUS_INPUT, "use powers from -9 to 9",
        "unit '%s' has a power that cannot be", cursor->words);
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* The character at the cursor; its size is 0 at the end. Bytes that are no UTF-8 count as one
 * strange character each. */
static size_t peek(const struct cursor *cursor, uint32_t *code)
{
    size_t left = cursor->length - cursor->at;
    *code = 0;
    if (left == 0) {
        return 0;
    }
    size_t size = text_read_character(cursor->words + cursor->at, left, code);
    return size > 0 ? size : 1;
}

static bool is_blank(uint32_t code)
{
    return code == ' ' || code == '\t' || code == 0xA0 || code == 0x202F; /* no-break blanks */
}

static void skip_blanks(struct cursor *cursor)
{
    uint32_t code;
    size_t size = peek(cursor, &code);
    while (size > 0 && is_blank(code)) {
        cursor->at += size;
        size = peek(cursor, &code);
    }
}

static bool is_symbol_part(uint32_t code)
{
    bool is_letter = (code >= 'a' && code <= 'z') || (code >= 'A' && code <= 'Z');
    bool is_sign = code == 0xB5 || code == 0x3BC || code == 0x3A9 || code == 0x2126; /* µ μ Ω Ω */
    bool is_degree = code == 0xB0 || code == 0x2103;                                 /* ° ℃ */
    return is_letter || is_sign || is_degree || code == '%';
}

static bool is_product_sign(uint32_t code)
{
    return code == '*' || code == '.' || code == '-' || code == 0xB7 || code == 0x22C5 ||
           code == 0x2219;
}

/* The digit that a superscript stands for, -1 for what is none. */
static int get_superscript(uint32_t code)
{
    switch (code) {
    case 0xB9:
        return 1;
    case 0xB2:
        return 2;
    case 0xB3:
        return 3;
    default:
        return code == 0x2070 || (code >= 0x2074 && code <= 0x2079) ? (int)(code - 0x2070) : -1;
    }
}

/* unit *= factor^power. */
static bool multiply(struct unit *unit, const struct unit *factor, int power)
{
    for (int i = 0; i < BASE_UNIT_COUNT; i++) {
        int exponent = unit->exponents[i] + power * factor->exponents[i];
        if (exponent < -EXPONENT_LIMIT || exponent > EXPONENT_LIMIT) {
            return false;
        }
        unit->exponents[i] = (signed char)exponent;
    }
    for (int i = 0; i < (power < 0 ? -power : power); i++) {
        unit->ratio = power < 0 ? unit->ratio / factor->ratio : unit->ratio * factor->ratio;
    }
    unit->decade += power * factor->decade;
    unit->multiplies_by_volt |= power < 0 ? factor->divides_by_volt : factor->multiplies_by_volt;
    unit->divides_by_volt |= power < 0 ? factor->multiplies_by_volt : factor->divides_by_volt;
    return true;
}

static enum status read_symbol(struct cursor *cursor, struct unit *unit, struct error *err)
{
    char word[WORDS_LIMIT + 1];
    char hint[UNIT_HINT_SIZE];
    size_t begin = cursor->at;
    uint32_t code;
    size_t size = peek(cursor, &code);
    while (size > 0 && is_symbol_part(code)) {
        cursor->at += size;
        size = peek(cursor, &code);
    }
    size_t length = cursor->at - begin;
    memcpy(word, cursor->words + begin, length);
    word[length] = '\0';
    int decade;
    const struct unit_symbol *symbol = unit_find_symbol(word, &decade);
    if (symbol == NULL) {
        return fail(err, STATUS_INPUT, unit_find_hint(word, hint), "unit '%s' is unknown", word);
    }
    static const signed char volt[BASE_UNIT_COUNT] = {2, 1, -3, -1};
    memcpy(unit->exponents, symbol->exponents, sizeof unit->exponents);
    unit->ratio = symbol->ratio;
    unit->decade = symbol->decade + decade;
    unit->offset = symbol->offset;
    unit->multiplies_by_volt = memcmp(volt, symbol->exponents, sizeof volt) == 0;
    return STATUS_OK;
}

static bool read_superscript(struct cursor *cursor, int *power)
{
    uint32_t code;
    size_t size = peek(cursor, &code);
    int sign = 1;
    struct cursor at = *cursor;
    if (code == 0x207B) {
        sign = -1;
        at.at += size;
        size = peek(&at, &code);
    }
    int digit = size > 0 ? get_superscript(code) : -1;
    if (digit < 0) {
        return false;
    }
    at.at += size;
    *cursor = at;
    *power = sign * digit;
    return true;
}

/* "^2", "**-1", "2", "-3", "³": 1 when nothing of the kind stands here. A minus is one only before
 * a digit: in "ohm-m" it is a product. */
static enum status read_power(struct cursor *cursor, int *power, struct error *err)
{
    const char *rest = cursor->words + cursor->at;
    bool has_sign = true;
    size_t at = 0;
    *power = 1;
    if (read_superscript(cursor, power)) {
        rest = cursor->words + cursor->at;
    } else {
        if (rest[0] == '^') {
            at = 1;
        } else if (rest[0] == '*' && rest[1] == '*') {
            at = 2;
        } else {
            has_sign = false;
        }
        bool is_negative = rest[at] == '-' && is_digit(rest[at + 1]);
        at += is_negative;
        if (is_digit(rest[at])) {
            *power = is_negative ? '0' - rest[at] : rest[at] - '0';
            at++;
        } else if (has_sign) {
            return fail_form(cursor, err);
        }
    }
    uint32_t code;
    struct cursor end = *cursor;
    end.at += at;
    peek(&end, &code);
    if (*power == 0 || is_digit(rest[at]) || get_superscript(code) >= 0) {
        return fail_power(cursor, err);
    }
    *cursor = end;
    return STATUS_OK;
}

static enum status read_product(struct cursor *cursor, struct unit *unit, struct error *err);

static enum status read_group(struct cursor *cursor, struct unit *unit, struct error *err)
{
    if (cursor->depth >= DEPTH_LIMIT) {
        return fail_form(cursor, err);
    }
    cursor->at++;
    cursor->depth++;
    enum status status = read_product(cursor, unit, err);
    cursor->depth--;
    if (status == STATUS_OK && cursor->words[cursor->at] != ')') {
        status = fail(
            err, STATUS_INPUT, form_hint, "unit '%s' has no closing parenthesis", cursor->words);
    }
    cursor->at += status == STATUS_OK;
    return status;
}

/* One term with its power, multiplied onto `unit` as it is (sign 1) or below the stroke (-1). */
static enum status read_term(struct cursor *cursor, struct unit *unit, int sign, struct error *err)
{
    struct unit term = {.ratio = 1};
    enum status status = STATUS_OK;
    uint32_t code;
    int power = 1;
    skip_blanks(cursor);
    peek(cursor, &code);
    if (code == '(') {
        status = read_group(cursor, &term, err);
    } else if (is_symbol_part(code)) {
        status = read_symbol(cursor, &term, err);
    } else if (code == '1' && !is_digit(cursor->words[cursor->at + 1])) {
        cursor->at++;
    } else if (is_digit((char)code) && code < 0x80) {
        status =
            fail(err, STATUS_INPUT, number_hint, "unit '%s' has a number in it", cursor->words);
    } else {
        status = fail_form(cursor, err);
    }
    if (status == STATUS_OK) {
        status = read_power(cursor, &power, err);
    }
    if (status == STATUS_OK && !multiply(unit, &term, sign * power)) {
        status = fail_power(cursor, err);
    }
    if (status == STATUS_OK) {
        unit->offset = term.offset; /* for a term that stays alone */
    }
    return status;
}

static enum status read_product(struct cursor *cursor, struct unit *unit, struct error *err)
{
    bool has_stroke = false;
    int sign = 1;
    size_t count = 0;
    for (;;) {
        enum status status = read_term(cursor, unit, sign, err);
        if (status != STATUS_OK) {
            return status;
        }
        count++;
        skip_blanks(cursor);
        uint32_t code;
        size_t size = peek(cursor, &code);
        if (size == 0 || code == ')') {
            break;
        }
        if (code == '/') {
            has_stroke = true;
            sign = -1;
            cursor->at += size;
        } else if (has_stroke) {
            return fail(err, STATUS_INPUT,
                "put all that stands below the stroke in parentheses: 'W/(m2 Hz)'",
                "unit '%s' goes on after its stroke", cursor->words);
        } else if (is_product_sign(code)) {
            cursor->at += size;
        }
    }
    /* A difference of temperatures has no offset, nor has anything made with one. */
    if (count > 1 || unit->exponents[BASE_KELVIN] != 1) {
        unit->offset = 0;
    }
    return STATUS_OK;
}

enum status unit_read_parts(const char *words, struct unit *unit, struct error *err)
{
    struct cursor cursor = {.words = words, .length = strlen(words)};
    struct unit made = {.ratio = 1};
    if (cursor.length > WORDS_LIMIT) {
        return fail(err, STATUS_INPUT, form_hint, "the unit is longer than %d bytes", WORDS_LIMIT);
    }
    skip_blanks(&cursor);
    if (cursor.at < cursor.length) {
        enum status status = read_product(&cursor, &made, err);
        if (status != STATUS_OK) {
            return status;
        }
        if (cursor.at < cursor.length) {
            return fail_form(&cursor, err);
        }
    }
    double factor = unit_get_factor(&made);
    if (!(factor > 1e-300) || factor > 1e300) {
        return fail(err, STATUS_INPUT, form_hint, "unit '%s' is out of range", words);
    }
    *unit = made;
    return STATUS_OK;
}
