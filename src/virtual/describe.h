// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_VIRTUAL_DESCRIBE_H
#define LODECARD_VIRTUAL_DESCRIBE_H

#include "base/text.h"
#include "setup/schema.h"

/* Writes a struct as the YAML that its table reads: every key that is present, in the table's
 * order, with a comment where there is one for the key. Quantities are written in a unit of the
 * bench in which they are of a handy size, with as many digits as it takes to read back to the very
 * same numbers. */
void describe_add(struct text *out, const struct schema_entry *table, const void *source);

#endif
