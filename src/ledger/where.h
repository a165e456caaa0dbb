// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_WHERE_H
#define LODECARD_LEDGER_WHERE_H

#include "base/error.h"
#include "ledger/kind.h"

/* Which loops are meant: conditions that must all hold. Without any, all loops.
 *
 *     coercivity > 18 kA/m and remanence >= 0.9 T
 *     17.5 kA/m <= coercivity <= 20.5 kA/m and not (note = distorted or heat = 'H 22*')
 *     u_coercivity < 0.1 kA/m
 *
 * condition   parts joined by "or", within them parts joined by "and", "not" ahead of a part,
 *             parentheses
 * figure      its word or its key (quantity/figure.h), or "u_" and that: its standard uncertainty;
 *             < <= > >= = != with a number and its unit, on either side or on both. A loop that has
 *             no such figure is not meant
 * text        supplier alloy heat specimen rig file program tag note; = != with words, in quotes
 *             where they hold blanks or parentheses; '*' stands for anything. "tag" is one of the
 *             loop, its capture, specimen or heat; "note" the code of one of its notes */
struct ledger_where;

struct ledger_where *ledger_where_create(void); /* NULL when out of memory */
void ledger_where_destroy(struct ledger_where *where);

/* One more condition in words. STATUS_USAGE tells what is wrong with it. */
enum status ledger_where_add(
    struct ledger_where *where, const char *words, struct error *err) MUST_CHECK;

/* One more condition: the text `field`, such as "supplier", is `words`. NULL words: no condition.
 */
enum status ledger_where_add_text(
    struct ledger_where *where, const char *field, const char *words, struct error *err) MUST_CHECK;

/* One more condition: loops of that heat, on that rig, behind that verdict, and so on.
 * STATUS_USAGE: remarks, tags and changes have none. */
enum status ledger_where_add_row(
    struct ledger_where *where, enum ledger_kind kind, long long id, struct error *err) MUST_CHECK;

#endif
