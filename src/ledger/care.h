// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_CARE_H
#define LODECARD_LEDGER_CARE_H

#include <stddef.h>

#include "base/error.h"
#include "ledger/ledger.h"

/* Takes back the last change that was not taken back yet; what it did stays in the journal. Between
 * begin and commit. STATUS_INPUT: there is none, or a later change builds on it. */
struct ledger_undone {
    long long change_id;
    size_t rows;
    char command[40];
    char day[16];
    char person[80];
};
enum status ledger_undo(
    struct ledger *ledger, struct ledger_undone *undone, struct error *err) MUST_CHECK;

/* A copy of the ledger as it is at one moment, while others go on writing: one file, whole or not
 * at all. */
enum status ledger_backup(struct ledger *ledger, const char *path, struct error *err) MUST_CHECK;

#endif
