// SPDX-License-Identifier: GPL-3.0-or-later
/* The dimensions: name, SI unit, an example of a value, exponents. */
#include <string.h>

#include "quantity/unit.h"

struct dimension_entry {
    const char *name;
    const char *article; /* the name with its article */
    const char *unit;    /* for people */
    const char *example;
    signed char exponents[BASE_UNIT_COUNT]; /* m, kg, s, A, K, rad */
};

static const struct dimension_entry dimension_table[DIMENSION_COUNT] = {
    [DIMENSION_NUMBER] = {"plain number", "a plain number", "", "1.5", {0}},
    [DIMENSION_VOLTAGE] = {"voltage", "a voltage", "V", "1.55 V", {2, 1, -3, -1}},
    [DIMENSION_CURRENT] = {"current", "a current", "A", "250 mA", {0, 0, 0, 1}},
    [DIMENSION_RESISTANCE] = {"resistance", "a resistance", "ohm", "0.1 ohm", {2, 1, -3, -2}},
    [DIMENSION_CAPACITANCE] = {"capacitance", "a capacitance", "F", "1 uF", {-2, -1, 4, 2}},
    [DIMENSION_INDUCTANCE] = {"inductance", "an inductance", "H", "10 mH", {2, 1, -2, -2}},
    [DIMENSION_LENGTH] = {"length", "a length", "m", "40 mm", {1}},
    [DIMENSION_AREA] = {"area", "an area", "m²", "60 mm2", {2}},
    [DIMENSION_VOLUME] = {"volume", "a volume", "m³", "2.5 cm3", {3}},
    [DIMENSION_MASS] = {"mass", "a mass", "kg", "21.9 g", {0, 1}},
    [DIMENSION_DENSITY] = {"density", "a density", "kg/m³", "8100 kg/m3", {-3, 1}},
    [DIMENSION_TIME] = {"time", "a time", "s", "2.1 us", {0, 0, 1}},
    [DIMENSION_FREQUENCY] = {"frequency", "a frequency", "Hz", "10 kHz", {0, 0, -1}},
    [DIMENSION_ANGLE] = {"angle", "an angle", "rad", "30 deg", {0, 0, 0, 0, 0, 1}},
    [DIMENSION_TEMPERATURE] = {"temperature", "a temperature", "K", "23 degC", {0, 0, 0, 0, 1}},
    [DIMENSION_PER_TEMPERATURE] = {"temperature coefficient", "a temperature coefficient", "1/K",
        "11 ppm/K", {0, 0, 0, 0, -1}},
    [DIMENSION_FIELD_STRENGTH] = {"field strength", "a field strength", "A/m", "20 kA/m",
        {-1, 0, 0, 1}},
    [DIMENSION_FLUX_DENSITY] = {"flux density", "a flux density", "T", "1.2 T", {0, 1, -2, -1}},
    [DIMENSION_FLUX] = {"flux", "a flux", "Wb", "2 mWb", {2, 1, -2, -1}},
    [DIMENSION_RESISTIVITY] = {"resistivity", "a resistivity", "ohm m", "0.27 uohm m",
        {3, 1, -3, -2}},
    [DIMENSION_TRANSFER] = {"current per voltage", "a current per voltage", "A/V", "10 A/V",
        {-2, -1, 3, 2}},
    [DIMENSION_FLUX_PER_VOLT] = {"flux per voltage", "a flux per voltage", "Wb/V", "10 mWb/V",
        {0, 0, 1}},
    [DIMENSION_ENERGY_DENSITY] = {"energy density", "an energy density", "J/m³", "30 kJ/m3",
        {-1, 1, -2}},
    [DIMENSION_POWER_DENSITY] = {"power density", "a power density", "W/m³", "1.5 MW/m3",
        {-1, 1, -3}},
    [DIMENSION_SPECIFIC_POWER] = {"specific power", "a specific power", "W/kg", "2.3 W/kg",
        {2, 0, -3}},
    [DIMENSION_TORQUE] = {"torque", "a torque", "N m", "20 mN m", {2, 1, -2}},
    [DIMENSION_INERTIA] = {"moment of inertia", "a moment of inertia", "kg m²", "150 g cm2",
        {2, 1}},
};

enum dimension unit_find_dimension(const struct unit *unit)
{
    for (enum dimension i = 0; i < DIMENSION_COUNT; i++) {
        const signed char *own = dimension_table[i].exponents;
        bool is_same = own[0] == unit->exponents[0] &&
                       memcmp(own, unit->exponents, sizeof unit->exponents) == 0;
        bool is_flux_per_volt = is_same && i == DIMENSION_TIME && unit->divides_by_volt;
        if (is_same) {
            return is_flux_per_volt ? DIMENSION_FLUX_PER_VOLT : i;
        }
    }
    return DIMENSION_COUNT;
}

const char *dimension_get_unit(enum dimension dimension)
{
    return dimension_table[dimension].unit;
}

const char *dimension_get_example(enum dimension dimension)
{
    return dimension_table[dimension].example;
}

const char *dimension_get_name(enum dimension dimension)
{
    return dimension_table[dimension].name;
}

const char *dimension_get_article(enum dimension dimension)
{
    return dimension_table[dimension].article;
}
