// SPDX-License-Identifier: GPL-3.0-or-later
/* What stands in a specimen.yaml. docs/files.md explains every key. */
#include <stddef.h>

#include "setup/tables.h"

/* What a ring can possibly be. Beyond these limits stands a slip, mostly of a unit. */
static const struct schema_range length_range = {
    .lowest = 0, .highest = 5, .said = "more than 0, at most 5 m", .slip = "did you mean mm?"};
static const struct schema_range mass_range = {.lowest = 0,
    .highest = 1e4,
    .said = "more than 0, at most 10000 kg",
    .slip = "did you mean g or kg?"};
static const struct schema_range density_range = {.lowest = 100,
    .highest = 25000,
    .is_lowest_allowed = true,
    .said = "100 kg/m³ to 25000 kg/m³",
    .slip = "did you mean g/cm3? 7.9 g/cm3 is 7900 kg/m3"};
static const struct schema_range stacking_range = {.lowest = 0,
    .highest = 1,
    .said = "more than 0, at most 1",
    .slip = "the factor is the share of the height that is steel: 0.96, or 96 %"};
static const struct schema_range resistivity_range = {.lowest = 1e-9,
    .highest = 1e12,
    .is_lowest_allowed = true,
    .said = "1 nohm m to 1e12 ohm m",
    .slip = "did you mean uohm m?"};
static const struct schema_range temperature_range = {.lowest = 0,
    .highest = 2000,
    .said = "above absolute zero (-273.15 degC), at most 2000 K",
    .slip = "check its sign and unit"};

static const struct schema_range expansion_range = {.lowest = -1e-3,
    .highest = 1e-3,
    .is_lowest_allowed = true,
    .said = "-1000 ppm/K to 1000 ppm/K",
    .slip = "steel has 10 ppm/K to 18 ppm/K"};

const struct schema_word path_words[] = {
    {"mean", PATH_MEAN},
    {"logarithmic", PATH_LOGARITHMIC},
    {"effective", PATH_EFFECTIVE},
    {NULL, 0},
};

#define SPECIMEN(member) .offset = offsetof(struct specimen, member)

static const struct schema_entry expansion_schema[] = {
    {"coefficient", SCHEMA_QUANTITY, .is_required = true, SPECIMEN(expansion),
        .dimension = DIMENSION_PER_TEMPERATURE, .range = &expansion_range},
    {"reference", SCHEMA_QUANTITY, .is_required = true, SPECIMEN(expansion_reference),
        .dimension = DIMENSION_TEMPERATURE, .range = &temperature_range},
    {.key = NULL},
};

static const struct schema_entry ring_schema[] = {
    {"outer_diameter", SCHEMA_QUANTITY, .is_required = true, SPECIMEN(outer_diameter),
        .dimension = DIMENSION_LENGTH, .range = &length_range},
    {"inner_diameter", SCHEMA_QUANTITY, .is_required = true, SPECIMEN(inner_diameter),
        .dimension = DIMENSION_LENGTH, .range = &length_range},
    {"height", SCHEMA_QUANTITY, SPECIMEN(height), .dimension = DIMENSION_LENGTH,
        .range = &length_range},
    {"mass", SCHEMA_QUANTITY, SPECIMEN(mass), .dimension = DIMENSION_MASS, .range = &mass_range},
    {"density", SCHEMA_QUANTITY, SPECIMEN(density), .dimension = DIMENSION_DENSITY,
        .range = &density_range},
    {"stacking_factor", SCHEMA_QUANTITY, SPECIMEN(stacking_factor), .dimension = DIMENSION_NUMBER,
        .range = &stacking_range},
    {"sheet_thickness", SCHEMA_QUANTITY, SPECIMEN(sheet_thickness), .dimension = DIMENSION_LENGTH,
        .range = &length_range},
    {"expansion", SCHEMA_MAP, .map = expansion_schema},
    {"same_ruler", SCHEMA_FLAG, SPECIMEN(has_same_ruler), .words = schema_yes_no},
    {"path", SCHEMA_WORD, SPECIMEN(path), .words = path_words},
    {.key = NULL},
};

const struct schema_entry specimen_schema[] = {
    {"name", SCHEMA_TEXT, SPECIMEN(name)},
    {"alloy", SCHEMA_TEXT, SPECIMEN(alloy)},
    {"supplier", SCHEMA_TEXT, SPECIMEN(supplier)},
    {"heat", SCHEMA_TEXT, SPECIMEN(heat)},
    {"condition", SCHEMA_TEXT, SPECIMEN(condition)},
    {"ring", SCHEMA_MAP, .is_required = true, .map = ring_schema},
    {"resistivity", SCHEMA_QUANTITY, SPECIMEN(resistivity), .dimension = DIMENSION_RESISTIVITY,
        .range = &resistivity_range},
    {"temperature", SCHEMA_QUANTITY, SPECIMEN(temperature), .dimension = DIMENSION_TEMPERATURE,
        .range = &temperature_range},
    {"winding", SCHEMA_MAP, SPECIMEN(winding), .map = winding_schema, .has_presence = true,
        .presence = offsetof(struct specimen, winding) + offsetof(struct winding, is_present)},
    {.key = NULL},
};
