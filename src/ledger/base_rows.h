// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_BASE_ROWS_H
#define LODECARD_LEDGER_BASE_ROWS_H

#include "ledger/record.h"
#include "ledger/sql.h"

/* The rows that a loop stands on. */
struct base_rows {
    long long heat, specimen, specimen_version, rig_version, capture;
};

/* Looks them up, or adds them with those that they stand on, from the outside in. */
enum status base_rows_find(struct ledger *ledger, const struct ledger_loop *loop,
    struct base_rows *rows, struct error *err) MUST_CHECK;

#endif
