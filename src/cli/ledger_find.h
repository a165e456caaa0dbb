// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LEDGER_FIND_H
#define LODECARD_CLI_LEDGER_FIND_H

#include "cli/ledger.h"

/* What `find` and `export` share. */
enum status ledger_read_search(const struct ledger_command *options,
    const struct ledger_where *where, struct ledger_search *search, struct error *err) MUST_CHECK;

/* The loops as a table, with the figures that people compare, on standard output. */
enum status ledger_tell_loops(
    struct ledger *ledger, const struct ledger_search *search, struct error *err) MUST_CHECK;

/* All figures of the loops, a line each; `path` "-" is standard output. */
enum status ledger_write_csv(struct ledger *ledger, const struct ledger_search *search,
    const char *path, struct error *err) MUST_CHECK;

#endif
