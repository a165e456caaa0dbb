// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_ROW_H
#define LODECARD_LEDGER_ROW_H

#include "base/json.h"
#include "base/tree.h"
#include "ledger/sql.h"

/* Rows of any table as a whole. `query` stands on a row of a "SELECT *". */

/* SHA-256 over name, kind and value of each column that is not null, in the table's order. A column
 * that a later program adds is null in old rows and leaves their digests alone. */
enum status row_compute_digest(
    const struct query *query, char digest[DIGEST_TEXT_SIZE], struct error *err) MUST_CHECK;

/* The row as an object, column for column, nulls left out. Bytes are told by their SHA-256. */
void row_write_json(struct json *json, const struct query *query);

/* Puts such an object into the table: as a new row, or over the row of the same id. `bytes` stand
 * in for a column of bytes (NULL: there is none). Keys that are no column are STATUS_INPUT. */
struct row_bytes {
    const void *bytes;
    size_t count;
};
enum status row_add(struct ledger *ledger, enum table table, const struct tree_value *object,
    const struct row_bytes *bytes, struct error *err) MUST_CHECK;
enum status row_set(struct ledger *ledger, enum table table, const struct tree_value *object,
    struct error *err) MUST_CHECK;

#endif
