// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CAPTURE_TABLE_NAME_H
#define LODECARD_CAPTURE_TABLE_NAME_H

#include <stdbool.h>

#include "quantity/quantity.h"

/* A header cell taken apart into a name and a unit.
 *
 *     u2 (mV)   u2 [mV]         the last brackets of the cell hold its unit
 *     u2 / mV   H/(kA/m)        behind a stroke, when that is a unit and the whole cell is none
 *     u2_mV     H_A_per_m       behind an underscore, when that is a unit
 *
 * Behind a stroke or an underscore only units of what captures hold count (voltage, current, time,
 * frequency, field strength, flux density, flux, resistance, temperature). A time must belong to a
 * name that begins with t ("samples/s" and "u_min" are no times); gauss to one that begins with b
 * or j; and a single letter (V, A, T, s) is no unit behind a word that counts things ("channel_A",
 * "probe_T"; but "probe 2_T"). Unit words in full (volts, amps, sec) are understood. */
struct table_name {
    char *name;
    char *unit; /* as written; "" when there is none */
    enum dimension dimension;
    double factor; /* SI value = factor * number + offset */
    double offset;
    bool has_unit;
    bool is_unit_unknown; /* the brackets hold something that is no unit: it stands in `unit` */
};

/* Takes a header cell apart; false when out of memory. */
bool table_name_init(struct table_name *name, const char *cell);
void table_name_clear(struct table_name *name); /* safe on a zeroed struct and twice */

/* Whether a cell of a row of units is one: a unit with or without brackets, or nothing ("", "-",
 * "1"), which sets *is_blank. */
bool table_name_is_unit(const char *cell, bool *is_blank);

/* Gives a name the unit of a cell for which table_name_is_unit holds; a blank one changes nothing.
 * False when out of memory. */
bool table_name_set_unit(struct table_name *name, const char *cell);

/* "time" or "t", in any case, without a unit or with one of time or with brackets that hold no
 * unit. */
bool table_name_is_time(const struct table_name *name);

#endif
