// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUANTITY_QUANTITY_H
#define LODECARD_QUANTITY_QUANTITY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* What a value measures. Two quantities with the same SI unit but another meaning stand apart only
 * where the unit parser must tell them apart. */
enum dimension {
    DIMENSION_NUMBER, /* also ppm and % */
    DIMENSION_VOLTAGE,
    DIMENSION_CURRENT,
    DIMENSION_RESISTANCE,
    DIMENSION_CAPACITANCE,
    DIMENSION_INDUCTANCE,
    DIMENSION_LENGTH,
    DIMENSION_AREA,
    DIMENSION_VOLUME,
    DIMENSION_MASS,
    DIMENSION_DENSITY,
    DIMENSION_TIME,
    DIMENSION_FREQUENCY,
    DIMENSION_ANGLE,
    DIMENSION_TEMPERATURE,     /* kelvin inside; "degC" and "°C" carry their offset */
    DIMENSION_PER_TEMPERATURE, /* a temperature coefficient */
    DIMENSION_FIELD_STRENGTH,
    DIMENSION_FLUX_DENSITY, /* and polarization */
    DIMENSION_FLUX,         /* and flux linkage */
    DIMENSION_RESISTIVITY,
    DIMENSION_TRANSFER,      /* ampere per volt */
    DIMENSION_FLUX_PER_VOLT, /* weber per volt: an electronic integrator */
    DIMENSION_ENERGY_DENSITY,
    DIMENSION_POWER_DENSITY,
    DIMENSION_SPECIFIC_POWER,
    DIMENSION_TORQUE,
    DIMENSION_INERTIA,
    DIMENSION_COUNT
};

enum distribution {
    DISTRIBUTION_NORMAL,      /* half-width = expanded uncertainty, k = 2 */
    DISTRIBUTION_RECTANGULAR, /* half-width = limit of a uniform distribution */
};

/* A value in SI units with its stated half-width (0: none stated). */
struct quantity {
    double value;
    double half_width;
    enum distribution distribution;
    bool is_present;      /* false: the file does not give it */
    bool has_uncertainty; /* false: no half-width was written */
};

/* u (k = 1) of a quantity: half-width / 2 (normal) or / sqrt 3 (rectangular). JCGM 100 4.3. */
double quantity_get_uncertainty(const struct quantity *quantity);

/* Reads "25.00 mm ± 0.02 mm", "0.1 ohm +/- 1 %", "10 A/V ± 0.5 % rect", "23 degC ± 2 degC", "2.1 us
 * ± 0.3 us", "11.00 ± 0.02" (a number). The half-width may carry its own unit, none (the value's),
 * or % and ppm (relative to the value). A bare number where a unit is due, a unit of another
 * dimension, an unknown unit (with the nearest known one) and more than the text asks for are
 * refused with STATUS_INPUT; the message does not name file or key: the caller does. `*out` is
 * untouched on failure. */
enum status quantity_read(const char *words, enum dimension dimension, struct quantity *out,
    struct error *err) MUST_CHECK;

/* Any unit text, such as "kA/m", "mWb", "µs", "g/cm3", "Oe", "°C": its dimension, and SI value =
 * factor * number + offset. Units that no dimension above has are refused. */
enum status unit_read(const char *words, enum dimension *dimension, double *factor, double *offset,
    struct error *err) MUST_CHECK;

/* The SI unit of a dimension as written for people ("A/m", "T", "J/m³"; "" for a number), an
 * example of a value with that unit ("0.1 ohm"), and the name of the dimension ("resistance"). */
const char *dimension_get_unit(enum dimension dimension);
const char *dimension_get_example(enum dimension dimension);
const char *dimension_get_name(enum dimension dimension);
const char *dimension_get_article(enum dimension dimension); /* "a resistance", "an area" */

/* Splits a value for display: the engineering prefix ("k", "m", "µ", "") for which 1 <=
 * |value|/scale < 1000, and its scale. For units that take no prefix (degree, number) the prefix is
 * "" . */
const char *unit_get_prefix(double value, double *scale);

#endif
