// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_LEDGER_H
#define LODECARD_LEDGER_LEDGER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

/* The ledger: one file that holds what a lab knows of its alloys, heats, rings, recordings and
 * loops. schema.sql in this folder is what it holds; this module alone knows SQL.
 *
 * Whoever changes something says so first and ends it:
 *
 *     ledger_open(path, LEDGER_CREATE, &change, &ledger, err)
 *     ledger_begin(ledger, err)
 *     ledger_add_loop(ledger, ...)          record.h; what is found is added as a whole
 *     ledger_commit(ledger, err)            or ledger_rollback
 *     ledger_close(ledger)
 *
 * Between begin and commit the ledger is this program's alone; others wait. What was committed is
 * on the disk, whatever happens next. Any number of begin and commit of one opened ledger make one
 * change, which `undo` takes back as one. Not for two threads at once. */
struct ledger;

enum ledger_access {
    LEDGER_READ,   /* changes nothing, but brings a ledger of an older program up to date */
    LEDGER_WRITE,  /* it must be there */
    LEDGER_CREATE, /* it is made when it is not there */
};

/* What the journal says of a change. There is no clock: the day is told by people. */
struct ledger_change {
    const char *command; /* "add" */
    const char *day;     /* "2026-11-25"; NULL: not told */
    const char *person;  /* NULL: not told */
};

/* Opens a ledger. STATUS_INPUT: no ledger, damaged, or of a newer program, and then nothing is
 * changed. STATUS_IO: not there, cannot be opened. `change` is copied; NULL when only reading. */
enum status ledger_open(const char *path, enum ledger_access access,
    const struct ledger_change *change, struct ledger **ledger, struct error *err) MUST_CHECK;
void ledger_close(struct ledger *ledger); /* NULL is allowed; what was not committed is dropped */

enum status ledger_begin(struct ledger *ledger, struct error *err) MUST_CHECK;
enum status ledger_commit(struct ledger *ledger, struct error *err) MUST_CHECK;
void ledger_rollback(struct ledger *ledger); /* no harm outside of begin and commit */

const char *ledger_get_path(const struct ledger *ledger);

/* `path` as it is seen from the folder of the ledger, so that both can move together; the path
 * itself where that cannot be told. free with memory_destroy; NULL when out of memory. */
char *ledger_get_relative(const struct ledger *ledger, const char *path);

/* The way back: a path to open. */
char *ledger_get_absolute(const struct ledger *ledger, const char *relative);

#endif
