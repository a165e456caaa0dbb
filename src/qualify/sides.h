// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_SIDES_H
#define LODECARD_QUALIFY_SIDES_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "qualify/comparison.h"
#include "qualify/qualification.h"

/* One figure of two suppliers, or of two heats: the means of their rings. */
enum sides_by { SIDES_BY_ANY, SIDES_BY_SUPPLIER, SIDES_BY_HEAT }; /* any: whichever has two */

struct sides {
    bool is_by_heat;
    enum figure figure;
    const char *names[2]; /* in the order in which they come; borrowed from the items */
    double *values[2]; /* means of rings over their loops; those without the figure are left out */
    const char **specimens[2];
    const char **heats[2]; /* of the rings */
    size_t counts[2];
};

/* STATUS_INPUT when there are not two sides. */
enum status sides_create(const struct lot_item *items, size_t count, enum sides_by by,
    enum figure figure, struct sides *sides, struct error *err) MUST_CHECK;
void sides_clear(struct sides *sides); /* safe on a zeroed struct and twice */

/* The members of the "lodecard-comparison/1" object behind schema and version. */
void sides_write_json(struct json *json, const struct sides *sides,
    const struct comparison *comparison, double confidence);

#endif
