// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_SETUP_VALUE_H
#define LODECARD_SETUP_VALUE_H

#include "base/error.h"
#include "setup/fault.h"
#include "setup/schema.h"

/* Reads one value of an entry that is no map into its member. STATUS_INPUT with a message, hint
 * included; STATUS_FAULT when out of memory. The member is untouched on failure. */
enum status value_read(const struct schema_entry *entry, const char *words, void *member,
    char message[FAULT_SIZE]) MUST_CHECK;

/* What a value of this entry is: "a resistance such as '0.1 ohm'". */
#define EXPECTATION_SIZE 300
const char *value_get_expectation(const struct schema_entry *entry, char buffer[EXPECTATION_SIZE]);

/* "time, sample_rate, trace". */
void value_list_keys(const struct schema_entry *table, char list[EXPECTATION_SIZE]);

#endif
