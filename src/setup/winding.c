// SPDX-License-Identifier: GPL-3.0-or-later
/* The winding, which stands in a rig.yaml or, for one ring, in its specimen.yaml. */
#include <stddef.h>

#include "setup/tables.h"

static const struct schema_range turns_range = {.lowest = 1,
    .highest = 1e6,
    .is_lowest_allowed = true,
    .said = "1 to 1e6 turns",
    .slip = "count the wire each time it passes through the ring"};
static const struct schema_range area_range = {.lowest = 0,
    .highest = 1,
    .said = "more than 0, at most 1 m²",
    .slip = "did you mean mm2 or cm2?"};

const struct schema_entry winding_schema[] = {
    {"primary_turns", SCHEMA_QUANTITY, .offset = offsetof(struct winding, primary_turns),
        .dimension = DIMENSION_NUMBER, .range = &turns_range},
    {"secondary_turns", SCHEMA_QUANTITY, .offset = offsetof(struct winding, secondary_turns),
        .dimension = DIMENSION_NUMBER, .range = &turns_range},
    {"secondary_area", SCHEMA_QUANTITY, .offset = offsetof(struct winding, secondary_area),
        .dimension = DIMENSION_AREA, .range = &area_range},
    {.key = NULL},
};

void winding_check(struct schema_reading *reading, void *target)
{
    (void)target;
    bool has_turns =
        schema_has_key(reading, "primary_turns") || schema_has_key(reading, "secondary_turns");
    if (schema_has_key(reading, "") && !has_turns) {
        schema_add_fault(
            reading, "", "no turns in it, expected 'primary_turns', 'secondary_turns' or both");
    }
}
