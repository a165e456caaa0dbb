// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_QUALIFY_STUDY_H
#define LODECARD_QUALIFY_STUDY_H

#include <stddef.h>

#include "base/error.h"
#include "base/json.h"
#include "qualify/gauge.h"
#include "qualify/qualification.h"

/* A gauge study of one figure over loops: which ring and which condition each value has. */
enum study_by { STUDY_BY_RIG, STUDY_BY_HEAT, STUDY_BY_SUPPLIER };
#define STUDY_BY_COUNT 3
const char *study_by_get_name(enum study_by by); /* "rig" */

struct study {
    enum figure figure;
    enum study_by by;
    struct gauge_value *values; /* specimen, condition: numbers from 0 */
    size_t count;
    const char **specimens, **conditions; /* their names; borrowed from items and rigs */
    size_t specimen_count, condition_count;
    struct gauge gauge;
};

/* `rigs`: the name of each item's rig. Items without the figure are left out. STATUS_INPUT as
 * gauge_compute. */
enum status study_create(const struct lot_item *items, const char *const *rigs, size_t count,
    enum study_by by, enum figure figure, const struct limit *limit, struct study *study,
    struct error *err) MUST_CHECK;
void study_clear(struct study *study); /* safe on a zeroed struct and twice */

/* The members of the "lodecard-gauge/1" object behind schema and version. */
void study_write_json(struct json *json, const struct study *study);

#endif
