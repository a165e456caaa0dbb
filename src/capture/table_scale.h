// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_SCALE_H
#define LODECARD_CAPTURE_TABLE_SCALE_H

#include <math.h>

/* From the number of a cell to its SI value. A unit such as mV divides by 1000 instead of
 * multiplying by 0.001, which is no double: 12.5 mV is then the double nearest to 0.0125. */
struct table_scale {
    double factor;
    double divisor;
    double offset;
};

static inline struct table_scale table_scale_create(double factor, double offset)
{
    double inverse = rint(1 / factor);
    if (factor < 1 && fabs(inverse * factor - 1) < 1e-14) {
        return (struct table_scale){1, inverse, offset};
    }
    return (struct table_scale){factor, 1, offset};
}

static inline double table_scale_apply(const struct table_scale *scale, double number)
{
    return number * scale->factor / scale->divisor + scale->offset;
}

#endif
