// SPDX-License-Identifier: GPL-3.0-or-later
#include "certified.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MOST 20000 /* lines of the largest */
#define LINE_SIZE 200

void certified_read(struct certified *data, const char *name)
{
    char path[200], line[LINE_SIZE];
    snprintf(path, sizeof path, "tests/data/statistics/%s.dat", name);
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "no file '%s'", path);
    *data = (struct certified){calloc(MOST, sizeof(double)), calloc(MOST, sizeof(size_t)), 0};
    while (fgets(line, sizeof line, file) != NULL && data->count < MOST) {
        double first, second;
        const int got = sscanf(line, "%lf %lf", &first, &second);
        if (strncmp(line, "Data:", 5) == 0) { /* the last such line stands above the data */
            data->count = 0;
        } else if (got >= 1) {
            data->group[data->count] = got == 2 ? (size_t)first : 0;
            data->value[data->count++] = got == 2 ? second : first;
        }
    }
    fclose(file);
    ck_assert_uint_gt(data->count, 2);
}

void certified_clear(struct certified *data)
{
    free(data->value);
    free(data->group);
}

void certified_check(double value, double truth, double digits, const char *what)
{
    const double got = -log10(fabs(value - truth) / fabs(truth));
    ck_assert_msg(
        got >= digits, "%s: %.17g, not %.17g: %.1f digits of %g", what, value, truth, got, digits);
}
