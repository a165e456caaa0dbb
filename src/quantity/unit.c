// SPDX-License-Identifier: GPL-3.0-or-later
#include "quantity/unit.h"

#include <stdio.h>

#include "base/text.h"

/* 10^decade, correctly rounded. */
static double get_power_of_ten(int decade)
{
    char number[16];
    double power = 0;
    int length = snprintf(number, sizeof number, "1e%d", decade);
    text_read_number(number, (size_t)length, &power);
    return power;
}

/* Division by a positive power of ten rounds once where multiplication by a negative one rounds
 * twice. */
double unit_get_factor(const struct unit *unit)
{
    return unit->decade < 0 ? unit->ratio / get_power_of_ten(-unit->decade)
                            : unit->ratio * get_power_of_ten(unit->decade);
}

enum status unit_read(
    const char *words, enum dimension *dimension, double *factor, double *offset, struct error *err)
{
    struct unit unit;
    enum status status = unit_read_parts(words, &unit, err);
    if (status != STATUS_OK) {
        return status;
    }
    enum dimension found = unit_find_dimension(&unit);
    if (found == DIMENSION_COUNT) {
        return fail(err, STATUS_INPUT,
            "use a unit such as V, A, ohm, mm, s, Hz, kA/m, T, mWb, J/m3 or W/kg",
            "unit '%s' belongs to no quantity known here", words);
    }
    *dimension = found;
    *factor = unit_get_factor(&unit);
    *offset = unit.offset;
    return STATUS_OK;
}

const char *unit_get_prefix(double value, double *scale)
{
    static const struct {
        const char *prefix;
        double scale;
    } list[] = {
        {"Y", 1e24},
        {"Z", 1e21},
        {"E", 1e18},
        {"P", 1e15},
        {"T", 1e12},
        {"G", 1e9},
        {"M", 1e6},
        {"k", 1e3},
        {"", 1},
        {"m", 1e-3},
        {"\xC2\xB5", 1e-6},
        {"n", 1e-9},
        {"p", 1e-12},
        {"f", 1e-15},
        {"a", 1e-18},
        {"z", 1e-21},
        {"y", 1e-24},
    };
    double magnitude = value < 0 ? -value : value;
    for (size_t i = 0; magnitude < 1e27 && i < sizeof list / sizeof list[0]; i++) {
        if (magnitude >= list[i].scale) {
            *scale = list[i].scale;
            return list[i].prefix;
        }
    }
    *scale = 1;
    return "";
}
