// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_LEDGER_SQL_H
#define LODECARD_LEDGER_SQL_H

#include <sqlite3.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "ledger/ledger.h"
#include "ledger/table.h"

/* SQLite from inside the module: one connection, its statements, and what a failure means.
 *
 * Statements are literals, or built from literals and the program's own tables (figures, tables of
 * the ledger); what people write goes into parameters only. */

#define SQL_KEPT 96 /* statements kept prepared */

struct ledger {
    sqlite3 *base;
    char *path;
    bool is_writer;
    struct {
        const char *sql; /* the literal itself: compared by address */
        sqlite3_stmt *statement;
    } kept[SQL_KEPT];
    size_t kept_count;
    struct text add_loop; /* statements that hold the columns of all figures */
    struct text get_loops;
    struct text sum_heat;
    bool has_written; /* something was committed: sums may be missing */
    /* the change in hand */
    char *command, *day, *person;
    long long undoes;    /* the change that is taken back; 0: none */
    long long change_id; /* 0: none in the journal yet */
    long long next_id[TABLE_COUNT];
    long long journal_id; /* of the last line */
    char chain[DIGEST_TEXT_SIZE];
    bool is_open;        /* between begin and commit */
    bool has_new_change; /* its row is of the transaction in hand */
};

/* A failure of SQLite as ours; `what` was tried, such as "cannot read". */
enum status sql_fail(struct ledger *ledger, int code, const char *what, struct error *err);

/* Runs a literal of one or more statements. */
enum status sql_run(struct ledger *ledger, const char *sql, struct error *err) MUST_CHECK;

/* One question: begin, add the parameters in their order, step, get, end. A failure while adding
 * shows at the next step. */
struct query {
    struct ledger *ledger;
    sqlite3_stmt *statement;
    int next; /* parameter */
    int code;
    bool is_kept;
};
void query_begin(struct query *query, struct ledger *ledger, const char *literal);
void query_begin_made(struct query *query, struct ledger *ledger, const char *sql); /* built */
void query_add_text(struct query *query, const char *words); /* NULL: null; borrowed */
void query_add_bytes(struct query *query, const void *bytes, size_t count);
void query_add_integer(struct query *query, long long value);
void query_add_number(struct query *query, double value);
void query_add_null(struct query *query);
/* To the next row; `*has_row` false behind the last. */
enum status query_step(struct query *query, bool *has_row, struct error *err) MUST_CHECK;
/* Steps once and ends: for statements without rows. */
enum status query_run(struct query *query, struct error *err) MUST_CHECK;
/* The first column of the first row, 0 without one; ends. */
enum status query_run_integer(struct query *query, long long *value, struct error *err) MUST_CHECK;
void query_end(struct query *query); /* safe twice and on a zeroed struct */

bool query_is_null(const struct query *query, int column);
const char *query_get_text(const struct query *query, int column); /* "" for null; until step */
long long query_get_integer(const struct query *query, int column);
double query_get_number(const struct query *query, int column);

#endif
