// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_SCHEMA_H
#define LODECARD_LEDGER_SCHEMA_H

#include "ledger/sql.h"

#define SCHEMA_APPLICATION 0x4C4F4445 /* "LODE": PRAGMA application_id of a ledger */
#define SCHEMA_VERSION 4              /* PRAGMA user_version of what schema.sql makes */

/* What a file is, as far as its head tells. */
struct schema_state {
    bool is_empty; /* no tables, no marks: a new file */
    long long application;
    long long version;
};
enum status schema_find(
    struct ledger *ledger, struct schema_state *state, struct error *err) MUST_CHECK;

/* Makes the tables of a new ledger, or brings those of an older program up to this one, all or
 * nothing. Refuses what is no ledger and what is newer, without changing anything. */
enum status schema_prepare(struct ledger *ledger, bool may_create, struct error *err) MUST_CHECK;

#endif
