// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_WHERE_PART_H
#define LODECARD_LEDGER_WHERE_PART_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"
#include "ledger/sql.h"
#include "ledger/where.h"

/* Conditions as SQL: literals and names of the table of figures make the text, what people wrote
 * stands in the parameters. */
struct where_value {
    char *words; /* NULL: a number */
    double number;
};
struct ledger_where {
    struct text sql; /* "" : no condition */
    struct where_value *values;
    size_t count;
    size_t capacity;
};

const char *where_get_sql(const struct ledger_where *where); /* "1 = 1" without conditions */
bool where_is_empty(const struct ledger_where *where);
void where_add_values(const struct ledger_where *where, struct query *query);

/* "field = words", or != with `is_not`. */
enum status where_add_field(struct ledger_where *where, const char *field, const char *words,
    bool is_not, struct error *err) MUST_CHECK;
bool where_is_field(const char *field);
enum status where_add_number(
    struct ledger_where *where, double number, struct error *err) MUST_CHECK;

#endif
