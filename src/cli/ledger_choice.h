// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_CLI_LEDGER_CHOICE_H
#define LODECARD_CLI_LEDGER_CHOICE_H

#include <stdbool.h>

#include "base/error.h"
#include "cli/options.h"
#include "ledger/where.h"
#include "series/series.h"

/* Which ledger, and which of its loops: the options that several commands have. */
struct ledger_choice {
    const char *ledger; /* NULL: not given */
    struct option_texts where;
    const char *supplier, *alloy, *heat, *tag;
};
extern const struct option ledger_file_options[];   /* --ledger */
extern const struct option ledger_choice_options[]; /* the others */

/* The ledger that is meant: the one given, $LODECARD_LEDGER, or lodecard.ledger. */
const char *ledger_choice_get_path(const struct ledger_choice *choice);

/* Whether a condition is given. */
bool ledger_choice_has_condition(const struct ledger_choice *choice);

/* The conditions as one; NULL with err filled. */
struct ledger_where *ledger_choice_read_where(
    const struct ledger_choice *choice, struct error *err);

/* Appends the current loops that are meant, in the order of arrival, to `series`, and their numbers
 * to `*ids` (memory_reserve; `*capacity`), which has one for each loop of the series: those that
 * are there already keep theirs. STATUS_INPUT when no loop is meant. */
enum status ledger_choice_add_loops(const struct ledger_choice *choice, struct series *series,
    long long **ids, size_t *capacity, struct error *err) MUST_CHECK;

#endif
