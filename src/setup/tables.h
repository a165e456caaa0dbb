// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_TABLES_H
#define LODECARD_SETUP_TABLES_H

#include "setup/schema.h"
#include "setup/setup.h"

/* The tables of the files and their checks. A file that holds a rig or a specimen as one of its
 * groups names the table as the map of that key and runs the check on it by schema_check_within. */
extern const struct schema_entry rig_schema[];      /* into struct rig */
extern const struct schema_entry specimen_schema[]; /* into struct specimen */
extern const struct schema_entry winding_schema[];  /* into struct winding */

extern const struct schema_word excitation_quantity_words[];
extern const struct schema_word pickup_quantity_words[];
extern const struct schema_word drift_words[];
extern const struct schema_word path_words[];

/* The faults no table can tell, and the values that follow: defaults, geometry. */
schema_check rig_check;      /* target: struct rig */
schema_check specimen_check; /* target: struct specimen */
schema_check winding_check;  /* target: struct winding */

#endif
