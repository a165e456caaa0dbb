// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_JOURNAL_H
#define LODECARD_LEDGER_JOURNAL_H

#include "ledger/sql.h"

/* The journal: each row that is added, changed or removed gets a line, chained to the one before by
 * its hash. Only between begin and commit. */

enum journal_kind { JOURNAL_ADD, JOURNAL_CHANGE, JOURNAL_REMOVE };
extern const char *const journal_words[];

/* Reads where the journal ends, at the begin of a transaction: others may have written. */
enum status journal_begin(struct ledger *ledger, struct error *err) MUST_CHECK;

/* The id of the next row of a table: ids are never given again, not even those of rows that are
 * gone. */
enum status journal_next_id(
    struct ledger *ledger, enum table table, long long *id, struct error *err) MUST_CHECK;

/* A row was added: it is there. */
enum status journal_add(
    struct ledger *ledger, enum table table, long long id, struct error *err) MUST_CHECK;

/* Runs the statement that adds it, and tells of it. */
enum status journal_run_add(
    struct query *query, enum table table, long long id, struct error *err) MUST_CHECK;

/* A row is going to be changed or removed: what it is now, into `before`. */
enum status journal_keep(struct ledger *ledger, enum table table, long long id, struct text *before,
    struct error *err) MUST_CHECK;

/* It was changed or removed. */
enum status journal_change(struct ledger *ledger, enum table table, long long id,
    const struct text *before, struct error *err) MUST_CHECK;
enum status journal_remove(struct ledger *ledger, enum table table, long long id,
    const struct text *before, struct error *err) MUST_CHECK;

/* One line as it stands in the journal. Texts are borrowed. */
struct journal_line {
    long long id;
    long long change_id;
    const char *kind;
    const char *subject;
    long long subject_id;
    const char *digest;
    const char *before; /* NULL: none */
};

/* The chain of a line: SHA-256 over the chain before it and its own members. */
enum status journal_compute_chain(const char *previous, const struct journal_line *line,
    char chain[DIGEST_TEXT_SIZE], struct error *err) MUST_CHECK;

#endif
