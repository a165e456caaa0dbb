// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUANTITY_UNIT_H
#define LODECARD_QUANTITY_UNIT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "quantity/quantity.h"

/* Units from inside: quantity.c needs the power of ten apart, so that "25.03 mm" becomes the double
 * nearest to 0.02503. */

/* Exponents of what a unit is made of. The angle counts as one of its own, so that a degree is not
 * a number. */
enum base_unit { BASE_METRE, BASE_KILOGRAM, BASE_SECOND, BASE_AMPERE, BASE_KELVIN, BASE_RADIAN };
#define BASE_UNIT_COUNT 6

struct unit {
    signed char exponents[BASE_UNIT_COUNT];
    double ratio; /* SI value = ratio * 10^decade * number + offset */
    int decade;
    double offset; /* temperatures that stand alone; else 0 */
    bool multiplies_by_volt;
    bool divides_by_volt; /* Wb/V has the exponents of a second: this tells them apart */
};

/* One symbol that takes no further taking apart, such as "ohm" or "Oe". */
struct unit_symbol {
    const char *word;
    signed char exponents[BASE_UNIT_COUNT];
    double ratio;
    int decade;
    double offset;
    bool has_prefix; /* SI prefixes go with it */
};
extern const struct unit_symbol unit_symbols[];
extern const size_t unit_symbol_count;

struct unit_prefix {
    const char *word;
    int decade;
};
extern const struct unit_prefix unit_prefixes[];
extern const size_t unit_prefix_count;

/* Words that people write and that are no unit here, each with what to write. */
struct unit_slip {
    const char *word;
    const char *hint;
};
extern const struct unit_slip unit_slips[];
extern const size_t unit_slip_count;

/* Units to offer for a misspelt one; ends in NULL. */
extern const char *const unit_offers[];

/* The symbol that a word is, with or without a prefix, and the prefix's power of ten; NULL when it
 * is none. The symbol alone goes first: "min" is a minute, "T" a tesla. */
const struct unit_symbol *unit_find_symbol(const char *word, int *decade);

/* Takes a unit text apart. Errors as unit_read, but for dimensions without a name. */
enum status unit_read_parts(const char *words, struct unit *unit, struct error *err) MUST_CHECK;

/* ratio * 10^decade; 0 or infinite beyond the range of doubles. */
double unit_get_factor(const struct unit *unit);

/* The slip or the nearest unit for a word, as a hint: "did you mean 'kHz'?"; "" when there is none.
 */
#define UNIT_HINT_SIZE 120
const char *unit_find_hint(const char *word, char buffer[UNIT_HINT_SIZE]);

/* The same with units of the wanted dimension only. With `is_case_only` none but one that differs
 * in nothing but the letters' case ("S" for a time: "did you mean 's'?"). */
const char *unit_find_wanted_hint(
    const char *words, enum dimension wanted, bool is_case_only, char buffer[UNIT_HINT_SIZE]);

/* The dimension of a unit, DIMENSION_COUNT when no dimension has its exponents. */
enum dimension unit_find_dimension(const struct unit *unit);

#endif
