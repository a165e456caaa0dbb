// SPDX-License-Identifier: GPL-3.0-or-later
/* Reading decimal numbers, correctly rounded.
 *
 * Nearly all numbers of a logger table have a mantissa below 2^53 and a power of ten up to 22: both
 * are doubles without error, so that one multiplication or division rounds once and the result is
 * the nearest double. Source: W. D. Clinger, How to read floating point numbers accurately, PLDI
 * 1990. The 17 digits that programs write, up to 19, times a power of ten up to 27, are a product
 * or quotient of integers: 5^27 has 63 bits, so that 128 bits hold the one, and 64 bits or more of
 * the other, whose remainder tells on which side of a halfway point it is. No table of rounded
 * powers is needed, as in D. Lemire, Number parsing at a gigabyte per second, Software: Practice
 * and Experience 51 (2021) 1700. The rest goes to strtod without a decimal point, because its point
 * depends on the locale.
 */
#include "base/text.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/* No halfway point between two doubles has more than 767 significant digits: digits beyond only
 * say that the number is a little larger. */
#define DIGITS_KEPT 770
#define EXPONENT_LIMIT 100000

static const double powers_of_ten[] = {1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* The highest power of five, and so of ten, that the way with integers takes. */
#define FIVES_LIMIT 27

/* A decimal number taken apart: 0.d1 d2 d3 ... without its point is mantissa * 10^exponent. */
struct decimal {
    bool is_negative;
    bool is_mantissa_whole; /* no digit was too much for the mantissa */
    uint64_t mantissa;
    long exponent;
    size_t digits_begin; /* of the digits and the point, in the bytes */
    size_t digits_end;
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Reads digits and a point; the number of digits there are. */
static size_t read_digits(const char *bytes, size_t length, size_t at, struct decimal *decimal)
{
    size_t count = 0;
    bool has_point = false;
    decimal->digits_begin = at;
    decimal->is_mantissa_whole = true;
    for (; at < length; at++) {
        if (is_digit(bytes[at])) {
            count++;
            if (decimal->mantissa >= (UINT64_MAX - 9) / 10) {
                decimal->is_mantissa_whole = false;
                continue;
            }
            decimal->mantissa = decimal->mantissa * 10 + (uint64_t)(bytes[at] - '0');
            decimal->exponent -= has_point;
        } else if (bytes[at] == '.' && !has_point) {
            has_point = true;
        } else {
            break;
        }
    }
    decimal->digits_end = at;
    return count;
}

/* Reads "e-3" and the like, if it is there whole; where it ends. */
static size_t read_exponent(const char *bytes, size_t length, size_t at, long *exponent)
{
    size_t i = at;
    if (i >= length || (bytes[i] != 'e' && bytes[i] != 'E')) {
        return at;
    }
    i++;
    bool is_negative = i < length && bytes[i] == '-';
    i += i < length && (bytes[i] == '-' || bytes[i] == '+');
    if (i >= length || !is_digit(bytes[i])) {
        return at;
    }
    long value = 0;
    for (; i < length && is_digit(bytes[i]); i++) {
        value = value < EXPONENT_LIMIT ? value * 10 + (bytes[i] - '0') : value;
    }
    *exponent = is_negative ? -value : value;
    return i;
}

/* The exact way, for mantissas and powers that are doubles without error. */
static bool compute_exactly(const struct decimal *decimal, long exponent, double *value)
{
    if (!decimal->is_mantissa_whole || decimal->mantissa > (uint64_t)1 << 53) {
        return false;
    }
    exponent += decimal->exponent;
    if (exponent < -22 || exponent > 22) {
        return false;
    }
    double mantissa = (double)decimal->mantissa;
    *value =
        exponent < 0 ? mantissa / powers_of_ten[-exponent] : mantissa * powers_of_ten[exponent];
    return true;
}

#ifdef __SIZEOF_INT128__
__extension__ typedef unsigned __int128 wide;

static int count_bits(wide value)
{
    const uint64_t high = (uint64_t)(value >> 64);
    return high != 0 ? 128 - __builtin_clzll(high) : 64 - __builtin_clzll((uint64_t)value);
}

/* The double nearest to (value + a little, if there is a rest) * 2^exponent; value is not 0. */
static double round_wide(wide value, bool has_rest, int exponent)
{
    const int surplus = count_bits(value) - 53;
    if (surplus <= 0) {
        return ldexp((double)(uint64_t)value, exponent);
    }
    uint64_t kept = (uint64_t)(value >> surplus);
    const wide half = (wide)1 << (surplus - 1);
    const wide rest = value & (2 * half - 1);
    kept += rest > half || (rest == half && (has_rest || kept % 2 != 0));
    return ldexp((double)kept, exponent + surplus);
}

/* Any mantissa of 64 bits, in integers: times 5^n or over it, and the power of two beside. */
static bool compute_in_integers(const struct decimal *decimal, long exponent, double *value)
{
    exponent += decimal->exponent;
    if (!decimal->is_mantissa_whole || decimal->mantissa == 0 || exponent < -FIVES_LIMIT ||
        exponent > FIVES_LIMIT) {
        return false;
    }
    uint64_t five = 1;
    for (long i = 0; i < labs(exponent); i++) {
        five *= 5;
    }
    if (exponent >= 0) {
        *value = round_wide((wide)decimal->mantissa * five, false, (int)exponent);
        return true;
    }
    const int shift = __builtin_clzll(decimal->mantissa);
    const wide dividend = (wide)(decimal->mantissa << shift) << 64;
    const wide quotient = dividend / five;
    *value = round_wide(quotient, quotient * five != dividend, (int)exponent - 64 - shift);
    return true;
}
#else
static bool compute_in_integers(const struct decimal *decimal, long exponent, double *value)
{
    (void)decimal, (void)exponent, (void)value;
    return false;
}
#endif

/* The long way: the significant digits, and the power of ten that belongs to them, as text. */
static double compute_slowly(const char *bytes, const struct decimal *decimal, long exponent)
{
    char copy[DIGITS_KEPT + 32];
    size_t kept = 0;
    bool is_larger = false;
    bool has_point = false;
    for (size_t at = decimal->digits_begin; at < decimal->digits_end; at++) {
        char c = bytes[at];
        if (c == '.') {
            has_point = true;
            continue;
        }
        if (kept < DIGITS_KEPT && (kept > 0 || c != '0')) {
            copy[kept++] = c;
        } else if (kept > 0) {
            is_larger = is_larger || c != '0';
            exponent++;
        }
        exponent -= has_point;
    }
    if (kept == 0) {
        return 0;
    }
    if (is_larger) {
        copy[kept++] = '1';
        exponent--;
    }
    snprintf(copy + kept, sizeof copy - kept, "e%ld", exponent);
    return strtod(copy, NULL);
}

size_t text_read_number(const char *bytes, size_t length, double *value)
{
    struct decimal decimal = {0};
    size_t at = 0;
    if (at < length && (bytes[at] == '-' || bytes[at] == '+')) {
        decimal.is_negative = bytes[at] == '-';
        at++;
    }
    if (read_digits(bytes, length, at, &decimal) == 0) {
        return 0;
    }
    long exponent = 0;
    size_t end = read_exponent(bytes, length, decimal.digits_end, &exponent);
    double magnitude;
    if (!compute_exactly(&decimal, exponent, &magnitude) &&
        !compute_in_integers(&decimal, exponent, &magnitude)) {
        magnitude = compute_slowly(bytes, &decimal, exponent);
    }
    *value = decimal.is_negative ? -magnitude : magnitude;
    return end;
}
