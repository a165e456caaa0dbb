// SPDX-License-Identifier: GPL-3.0-or-later
/* The symbols of units, the SI prefixes, and the likely slips. Sources: The International System of
 * Units (SI brochure), 9th edition, BIPM 2019, tables 2, 4, 7 and 8; for the units of the older
 * system (Oe, G, Mx, erg) its 8th edition, 2006, table 9. */
#include "quantity/unit.h"

#define PI 3.14159265358979323846
#define COUNT(list) (sizeof(list) / sizeof(list)[0])

/* Exponents in the order m, kg, s, A, K, rad. A ratio and a power of ten stand apart so that
 * decimal numbers stay exact. */
const struct unit_symbol unit_symbols[] = {
    /* base units */
    {"m", {1, 0, 0, 0, 0, 0}, 1, 0, 0, true},
    {"g", {0, 1, 0, 0, 0, 0}, 1, -3, 0, true},
    {"s", {0, 0, 1, 0, 0, 0}, 1, 0, 0, true},
    {"A", {0, 0, 0, 1, 0, 0}, 1, 0, 0, true},
    {"K", {0, 0, 0, 0, 1, 0}, 1, 0, 0, true},
    {"rad", {0, 0, 0, 0, 0, 1}, 1, 0, 0, true},
    /* derived units with a name */
    {"Hz", {0, 0, -1, 0, 0, 0}, 1, 0, 0, true},
    {"N", {1, 1, -2, 0, 0, 0}, 1, 0, 0, true},
    {"J", {2, 1, -2, 0, 0, 0}, 1, 0, 0, true},
    {"W", {2, 1, -3, 0, 0, 0}, 1, 0, 0, true},
    {"V", {2, 1, -3, -1, 0, 0}, 1, 0, 0, true},
    {"ohm", {2, 1, -3, -2, 0, 0}, 1, 0, 0, true},
    {"Ohm", {2, 1, -3, -2, 0, 0}, 1, 0, 0, true},
    {"\xCE\xA9", {2, 1, -3, -2, 0, 0}, 1, 0, 0, true},     /* Greek capital omega */
    {"\xE2\x84\xA6", {2, 1, -3, -2, 0, 0}, 1, 0, 0, true}, /* ohm sign */
    {"S", {-2, -1, 3, 2, 0, 0}, 1, 0, 0, true},
    {"F", {-2, -1, 4, 2, 0, 0}, 1, 0, 0, true},
    {"H", {2, 1, -2, -2, 0, 0}, 1, 0, 0, true},
    {"Wb", {2, 1, -2, -1, 0, 0}, 1, 0, 0, true},
    {"T", {0, 1, -2, -1, 0, 0}, 1, 0, 0, true},
    /* two symbols that are often written as one word */
    {"Vs", {2, 1, -2, -1, 0, 0}, 1, 0, 0, true},
    {"ohmm", {3, 1, -3, -2, 0, 0}, 1, 0, 0, true},
    {"\xCE\xA9m", {3, 1, -3, -2, 0, 0}, 1, 0, 0, true},
    {"\xE2\x84\xA6m", {3, 1, -3, -2, 0, 0}, 1, 0, 0, true},
    /* units beside the SI */
    {"min", {0, 0, 1, 0, 0, 0}, 60, 0, 0, false},
    {"h", {0, 0, 1, 0, 0, 0}, 3600, 0, 0, false},
    {"d", {0, 0, 1, 0, 0, 0}, 86400, 0, 0, false},
    {"deg", {0, 0, 0, 0, 0, 1}, PI / 180, 0, 0, true},
    {"\xC2\xB0", {0, 0, 0, 0, 0, 1}, PI / 180, 0, 0, false},
    {"degC", {0, 0, 0, 0, 1, 0}, 1, 0, 273.15, false},
    {"\xC2\xB0"
     "C",
        {0, 0, 0, 0, 1, 0}, 1, 0, 273.15, false},
    {"\xE2\x84\x83", {0, 0, 0, 0, 1, 0}, 1, 0, 273.15, false}, /* degree Celsius as one sign */
    {"%", {0, 0, 0, 0, 0, 0}, 1, -2, 0, false},
    {"ppm", {0, 0, 0, 0, 0, 0}, 1, -6, 0, false},
    {"in", {1, 0, 0, 0, 0, 0}, 254, -4, 0, false},
    {"lb", {0, 1, 0, 0, 0, 0}, 45359237, -8, 0, false},
    /* the older magnetic units, converted because the user wrote them */
    {"Oe", {-1, 0, 0, 1, 0, 0}, 250 / PI, 0, 0, true}, /* 1000 / (4 pi) A/m */
    {"G", {0, 1, -2, -1, 0, 0}, 1, -4, 0, true},
    {"gauss", {0, 1, -2, -1, 0, 0}, 1, -4, 0, false},
    {"Mx", {2, 1, -2, -1, 0, 0}, 1, -8, 0, true},
    {"erg", {2, 1, -2, 0, 0, 0}, 1, -7, 0, false},
};
const size_t unit_symbol_count = COUNT(unit_symbols);

const struct unit_prefix unit_prefixes[] = {
    {"da", 1},
    {"y", -24},
    {"z", -21},
    {"a", -18},
    {"f", -15},
    {"p", -12},
    {"n", -9},
    {"u", -6},
    {"\xC2\xB5", -6}, /* micro sign */
    {"\xCE\xBC", -6}, /* Greek small mu */
    {"m", -3},
    {"c", -2},
    {"d", -1},
    {"h", 2},
    {"k", 3},
    {"M", 6},
    {"G", 9},
    {"T", 12},
    {"P", 15},
    {"E", 18},
    {"Z", 21},
    {"Y", 24},
};
const size_t unit_prefix_count = COUNT(unit_prefixes);

const struct unit_slip unit_slips[] = {
    {"emu", "1 emu/cm3 is a magnetization of 1 kA/m, or a polarization of 1.25664 mT: write that"},
    {"MGOe", "write the product in 'kJ/m3': 1 MGOe is 7.95775 kJ/m3"},
    {"C", "write a temperature in 'degC' or 'K'"},
    {"degF", "write a temperature in 'degC' or 'K'"},
    {"celsius", "write 'degC'"},
    {"sec", "write 's'"},
    {"secs", "write 's'"},
    {"second", "write 's'"},
    {"seconds", "write 's'"},
    {"minutes", "write 'min'"},
    {"hours", "write 'h'"},
    {"hr", "write 'h'"},
    {"hertz", "write 'Hz'"},
    {"cps", "write 'Hz'"},
    {"rpm", "write the frequency in 'Hz'"},
    {"volt", "write 'V'"},
    {"volts", "write 'V'"},
    {"Vrms", "write 'V'"},
    {"Vpp", "write 'V'"},
    {"amp", "write 'A'"},
    {"amps", "write 'A'"},
    {"ampere", "write 'A'"},
    {"ohms", "write 'ohm'"},
    {"farad", "write 'F'"},
    {"henry", "write 'H'"},
    {"weber", "write 'Wb'"},
    {"tesla", "write 'T'"},
    {"oersted", "write 'Oe'"},
    {"oersteds", "write 'Oe'"},
    {"gs", "write 'G' for gauss, or 's' for second with a prefix"},
    {"maxwell", "write 'Mx'"},
    {"metre", "write 'm'"},
    {"meter", "write 'm'"},
    {"micron", "write 'um'"},
    {"inch", "write 'in'"},
    {"cc", "write 'cm3'"},
    {"ccm", "write 'cm3'"},
    {"gram", "write 'g'"},
    {"grams", "write 'g'"},
    {"gr", "write 'g'"},
    {"kilo", "write 'kg'"},
    {"degree", "write 'deg'"},
    {"degrees", "write 'deg'"},
    {"percent", "write '%'"},
    {"turns", "a number of turns is written without a unit"},
    {"turn", "a number of turns is written without a unit"},
    {"cycle", "leave the cycle out of the unit"},
    {"dB", "write the ratio as a number"},
};
const size_t unit_slip_count = COUNT(unit_slips);

const char *const unit_offers[] = {"V", "mV", "uV", "kV", "A", "mA", "uA", "kA", "ohm", "mohm",
    "uohm", "nohm", "kohm", "Mohm", "F", "uF", "nF", "pF", "H", "mH", "uH", "mm", "cm", "um", "m",
    "kg", "g", "mg", "s", "ms", "us", "ns", "min", "h", "Hz", "kHz", "MHz", "T", "mT", "Wb", "mWb",
    "uWb", "Vs", "mVs", "J", "kJ", "mJ", "W", "mW", "kW", "K", "degC", "deg", "rad", "ppm", "Oe",
    "kOe", "G", "kG", "mm2", "cm2", "m2", "mm3", "cm3", "m3", "kg/m3", "g/cm3", "A/m", "kA/m",
    "A/cm", "ohm m", "uohm m", "uohm cm", "nohm m", "A/V", "mA/mV", "Wb/V", "mWb/V", "J/m3",
    "kJ/m3", "W/m3", "kW/m3", "W/kg", "mW/g", "N m", "mN m", "uN m", "kg m2", "g cm2", NULL};
