// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SERIES_TABLE_COLUMN_H
#define LODECARD_SERIES_TABLE_COLUMN_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "quantity/figure.h"

/* What a column of a table of measured loops holds, by its header cell. */
enum table_role {
    TABLE_ROLE_NONE, /* something else: not read */
    TABLE_ROLE_FIGURE,
    TABLE_ROLE_U,           /* standard uncertainty of a figure */
    TABLE_ROLE_TEMPERATURE, /* K */
    TABLE_ROLE_FIELD,       /* A/m: a point of a curve */
    TABLE_ROLE_FLUX_DENSITY,
    TABLE_ROLE_POLARIZATION,
    TABLE_ROLE_FILE,
    TABLE_ROLE_DIGEST,
    TABLE_ROLE_SPECIMEN,
    TABLE_ROLE_ERROR, /* of a capture without a result */
};

struct table_role_column {
    enum table_role role;
    enum figure figure;    /* FIGURE, U */
    double factor, offset; /* SI value = factor * number + offset */
};

/* `cell`: "flux_density_peak_T", "u_flux_density_peak_T", "flux density peak (T)",
 * "u flux density peak (mT)". STATUS_INPUT when the name is known and its unit is wrong or
 * missing; the message does not name file or line. Other cells are TABLE_ROLE_NONE. */
enum status table_role_read(
    const char *cell, struct table_role_column *column, struct error *err) MUST_CHECK;

#endif
