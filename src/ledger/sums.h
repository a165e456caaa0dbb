// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_SUMS_H
#define LODECARD_LEDGER_SUMS_H

#include "ledger/find.h"
#include "ledger/sql.h"

/* Sums of the current loops of each heat (table heat_sum), so that statistics of all heats need not
 * read all loops. They follow from the loops: triggers take away those of a heat whose loops
 * change, so that none is ever stale; whoever wrote puts them there again; a heat without them is
 * summed up from its loops, with the same result to the last digit.
 *
 * Here and in lots.c a lot's `deviation` is the sum of squares about the mean until it is finished.
 */

/* One more value: B. P. Welford, Technometrics 4 (1962) 419. */
void sums_add_value(struct ledger_lot *lot, double value);

/* One figure of all heats that have it, without names, by the number of the heat. */
enum status sums_read(struct ledger *ledger, enum figure figure, struct ledger_lots *lots,
    struct error *err) MUST_CHECK;

/* Puts the missing ones into the ledger, all or none, in a transaction of its own. */
enum status sums_settle(struct ledger *ledger, struct error *err) MUST_CHECK;

/* Sums up all heats anew; calls `tell` for each whose sums are others. */
enum status sums_check(struct ledger *ledger, void (*tell)(const char *words, void *user),
    void *user, struct error *err) MUST_CHECK;

#endif
