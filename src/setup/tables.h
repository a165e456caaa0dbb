// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_TABLES_H
#define LODECARD_SETUP_TABLES_H

#include "setup/schema.h"
#include "setup/setup.h"

/* The tables of the files. A file that holds a rig or a specimen as one of its groups names the
 * table as its map and runs the check on that group: `prefix` is the group's key path with its dot,
 * "" for a whole file. */
extern const struct schema_entry rig_schema[];      /* into struct rig */
extern const struct schema_entry specimen_schema[]; /* into struct specimen */
extern const struct schema_entry winding_schema[];  /* into struct winding */

/* The faults no table can tell, and the values that follow (defaults, geometry). */
void rig_check(struct schema_reading *reading, const char *prefix, struct rig *rig);
void specimen_check(struct schema_reading *reading, const char *prefix, struct specimen *specimen);

#endif
