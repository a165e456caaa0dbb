// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_CERTIFIED_H
#define LODECARD_TESTS_CERTIFIED_H

#include <stddef.h>

/* Data of a certified set in tests/data/statistics: one value a line, or a group and a value. */
struct certified {
    double *value;
    size_t *group; /* 0 where there is none */
    size_t count;
};
void certified_read(struct certified *data, const char *name);
void certified_clear(struct certified *data);

/* Fails the test unless `value` agrees with `truth` to `digits` significant decimal digits: the
 * negative logarithm of the relative error. */
void certified_check(double value, double truth, double digits, const char *what);

#endif
