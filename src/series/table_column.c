// SPDX-License-Identifier: GPL-3.0-or-later
/* The names of columns: those that `lodecard loop --csv` writes, and those that people write, one
 * table of both. */
#include "series/table_column.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "quantity/quantity.h"

#define NAME_SIZE 120

static const struct {
    const char *name; /* case does not count */
    enum table_role role;
    enum figure figure;
    enum dimension dimension;
} names[] = {
    {"frequency", TABLE_ROLE_FIGURE, FIGURE_FREQUENCY, DIMENSION_FREQUENCY},
    {"field strength peak", TABLE_ROLE_FIGURE, FIGURE_FIELD_PEAK, DIMENSION_FIELD_STRENGTH},
    {"peak field strength", TABLE_ROLE_FIGURE, FIGURE_FIELD_PEAK, DIMENSION_FIELD_STRENGTH},
    {"field peak", TABLE_ROLE_FIGURE, FIGURE_FIELD_PEAK, DIMENSION_FIELD_STRENGTH},
    {"flux density peak", TABLE_ROLE_FIGURE, FIGURE_FLUX_DENSITY_PEAK, DIMENSION_FLUX_DENSITY},
    {"peak flux density", TABLE_ROLE_FIGURE, FIGURE_FLUX_DENSITY_PEAK, DIMENSION_FLUX_DENSITY},
    {"polarization peak", TABLE_ROLE_FIGURE, FIGURE_POLARIZATION_PEAK, DIMENSION_FLUX_DENSITY},
    {"peak polarization", TABLE_ROLE_FIGURE, FIGURE_POLARIZATION_PEAK, DIMENSION_FLUX_DENSITY},
    {"remanence", TABLE_ROLE_FIGURE, FIGURE_REMANENCE, DIMENSION_FLUX_DENSITY},
    {"remanent flux density", TABLE_ROLE_FIGURE, FIGURE_REMANENCE, DIMENSION_FLUX_DENSITY},
    {"remanent polarization", TABLE_ROLE_FIGURE, FIGURE_REMANENCE, DIMENSION_FLUX_DENSITY},
    {"coercivity", TABLE_ROLE_FIGURE, FIGURE_COERCIVITY, DIMENSION_FIELD_STRENGTH},
    {"coercive field strength", TABLE_ROLE_FIGURE, FIGURE_COERCIVITY, DIMENSION_FIELD_STRENGTH},
    {"loop area", TABLE_ROLE_FIGURE, FIGURE_LOOP_AREA, DIMENSION_ENERGY_DENSITY},
    {"loss per cycle", TABLE_ROLE_FIGURE, FIGURE_LOOP_AREA, DIMENSION_ENERGY_DENSITY},
    {"loss", TABLE_ROLE_FIGURE, FIGURE_LOSS, DIMENSION_POWER_DENSITY},
    {"specific total loss", TABLE_ROLE_FIGURE, FIGURE_SPECIFIC_LOSS, DIMENSION_SPECIFIC_POWER},
    {"specific loss", TABLE_ROLE_FIGURE, FIGURE_SPECIFIC_LOSS, DIMENSION_SPECIFIC_POWER},
    {"lag angle", TABLE_ROLE_FIGURE, FIGURE_LAG_ANGLE, DIMENSION_ANGLE},
    {"amplitude permeability", TABLE_ROLE_FIGURE, FIGURE_AMPLITUDE_PERMEABILITY, DIMENSION_NUMBER},
    {"temperature", TABLE_ROLE_TEMPERATURE, FIGURE_COUNT, DIMENSION_TEMPERATURE},
    {"field strength", TABLE_ROLE_FIELD, FIGURE_COUNT, DIMENSION_FIELD_STRENGTH},
    {"flux density", TABLE_ROLE_FLUX_DENSITY, FIGURE_COUNT, DIMENSION_FLUX_DENSITY},
    {"polarization", TABLE_ROLE_POLARIZATION, FIGURE_COUNT, DIMENSION_FLUX_DENSITY},
    {"file", TABLE_ROLE_FILE, FIGURE_COUNT, DIMENSION_NUMBER},
    {"capture", TABLE_ROLE_FILE, FIGURE_COUNT, DIMENSION_NUMBER},
    {"sha256", TABLE_ROLE_DIGEST, FIGURE_COUNT, DIMENSION_NUMBER},
    {"specimen", TABLE_ROLE_SPECIMEN, FIGURE_COUNT, DIMENSION_NUMBER},
    {"error", TABLE_ROLE_ERROR, FIGURE_COUNT, DIMENSION_NUMBER},
};
#define NAMES (sizeof names / sizeof *names)

/* "coercivity_A_per_m" with or without "u_": SI, as results have it. */
static bool read_key(const char *cell, struct table_role_column *column)
{
    bool is_u = !strncmp(cell, "u_", 2);
    const char *key = is_u ? cell + 2 : cell;
    for (size_t i = 0; i < FIGURE_COUNT; i++)
        if (!strcmp(key, figure_table[i].key)) {
            *column = (struct table_role_column){
                is_u ? TABLE_ROLE_U : TABLE_ROLE_FIGURE, (enum figure)i, 1, 0};
            return true;
        }
    if (strcmp(cell, "temperature_K"))
        return false;
    *column = (struct table_role_column){TABLE_ROLE_TEMPERATURE, FIGURE_COUNT, 1, 0};
    return true;
}

/* Takes "name (unit)" or "name [unit]" apart. */
static void split(const char *cell, char name[NAME_SIZE], char unit[NAME_SIZE])
{
    size_t length = strlen(cell);
    const char *open = strrchr(cell, '(');
    if (!open)
        open = strrchr(cell, '[');
    unit[0] = '\0';
    if (open && length && (cell[length - 1] == ')' || cell[length - 1] == ']')) {
        snprintf(unit, NAME_SIZE, "%.*s", (int)(cell + length - 1 - open - 1), open + 1);
        length = (size_t)(open - cell);
    }
    while (length && cell[length - 1] == ' ')
        length--;
    snprintf(name, NAME_SIZE, "%.*s", (int)length, cell);
}

static enum status set_unit(struct table_role_column *column, const char *name, const char *unit,
    enum dimension wanted, struct error *err)
{
    enum dimension dimension;
    double factor, offset;
    struct error inner;
    char hint[160];
    snprintf(hint, sizeof hint, "write '%.60s (%s)'", name, dimension_get_unit(wanted));
    if (!unit[0])
        return fail(err, STATUS_INPUT, hint, "column '%s' has no unit", name);
    if (unit_read(unit, &dimension, &factor, &offset, &inner))
        return fail(
            err, STATUS_INPUT, inner.hint, "column '%s (%s)': %s", name, unit, inner.message);
    if (dimension != wanted)
        return fail(err, STATUS_INPUT, hint, "column '%s (%s)' is in a unit of %s, expected %s",
            name, unit, dimension_get_name(dimension), dimension_get_article(wanted));
    column->factor = factor;
    column->offset = offset;
    return STATUS_OK;
}

/* Angles are in degree inside, as figures are. */
static void set_angle(struct table_role_column *column, enum dimension dimension)
{
    if (dimension == DIMENSION_ANGLE)
        column->factor *= 180 / 3.14159265358979323846;
}

enum status table_role_read(const char *cell, struct table_role_column *column, struct error *err)
{
    char name[NAME_SIZE], unit[NAME_SIZE];
    *column = (struct table_role_column){TABLE_ROLE_NONE, FIGURE_COUNT, 1, 0};
    if (strlen(cell) >= NAME_SIZE || read_key(cell, column))
        return STATUS_OK;
    split(cell, name, unit);
    bool is_u = !strncasecmp(name, "u ", 2) || !strncasecmp(name, "u_", 2);
    for (size_t i = 0; i < NAMES; i++) {
        if (strcasecmp(is_u ? name + 2 : name, names[i].name) ||
            (is_u && names[i].role != TABLE_ROLE_FIGURE))
            continue;
        struct table_role_column found = {
            is_u ? TABLE_ROLE_U : names[i].role, names[i].figure, 1, 0};
        enum status status = STATUS_OK;
        if (names[i].dimension != DIMENSION_NUMBER)
            status = set_unit(&found, name, unit, names[i].dimension, err);
        if (status)
            return status;
        set_angle(&found, names[i].dimension);
        if (is_u)
            found.offset = 0;
        *column = found;
        return STATUS_OK;
    }
    return STATUS_OK;
}
