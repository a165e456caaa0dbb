// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/sql.h"

#include <string.h>

#include "base/memory.h"

enum status sql_fail(struct ledger *ledger, int code, const char *what, struct error *err)
{
    /* another statement may have come between, and succeeded */
    const char *reason = ledger->base != NULL && sqlite3_errcode(ledger->base) == code
                             ? sqlite3_errmsg(ledger->base)
                             : sqlite3_errstr(code);
    /* a damaged byte of the header that SQLite tells as an error of the statement */
    const bool is_foreign = strcmp(reason, "unsupported file format") == 0;
    switch (is_foreign ? SQLITE_NOTADB : code & 0xFF) {
    case SQLITE_NOMEM:
        return fail_memory(err);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return fail(err, STATUS_IO, "try again when the other program is done",
            "%s the ledger '%s': another program is writing to it", what, ledger->path);
    case SQLITE_FULL:
    case SQLITE_IOERR:
        return fail(err, STATUS_IO,
            "make room, or look after the disk; what was reported as done before is safe",
            "%s the ledger '%s': %s", what, ledger->path, reason);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return fail(err, STATUS_INPUT, "is it the file you meant? otherwise go back to a backup",
            "%s '%s': it is no ledger, or damaged (%s)", what, ledger->path, reason);
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
        return fail(err, STATUS_IO, "check the path and the permissions of file and folder",
            "%s the ledger '%s': %s", what, ledger->path, reason);
    default:
        return fail(err, STATUS_FAULT, "'lodecard ledger check' looks the ledger over",
            "%s the ledger '%s': %s", what, ledger->path, reason);
    }
}

enum status sql_run(struct ledger *ledger, const char *sql, struct error *err)
{
    const int code = sqlite3_exec(ledger->base, sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? STATUS_OK : sql_fail(ledger, code, "cannot use", err);
}

/* A statement that was prepared before, or NULL. */
static sqlite3_stmt *find_kept(const struct ledger *ledger, const char *literal)
{
    for (size_t i = 0; i < ledger->kept_count; i++) {
        if (ledger->kept[i].sql == literal) {
            return ledger->kept[i].statement;
        }
    }
    return NULL;
}

static void prepare(struct query *query, const char *sql, bool keeps)
{
    struct ledger *ledger = query->ledger;
    query->code = sqlite3_prepare_v3(
        ledger->base, sql, -1, keeps ? SQLITE_PREPARE_PERSISTENT : 0, &query->statement, NULL);
    if (query->code == SQLITE_OK && keeps) {
        ledger->kept[ledger->kept_count].sql = sql;
        ledger->kept[ledger->kept_count++].statement = query->statement;
    }
    query->is_kept = keeps;
}

void query_begin(struct query *query, struct ledger *ledger, const char *literal)
{
    *query = (struct query){.ledger = ledger, .next = 1, .is_kept = true};
    query->statement = find_kept(ledger, literal);
    if (query->statement == NULL) {
        prepare(query, literal, ledger->kept_count < SQL_KEPT);
    } else if (sqlite3_stmt_busy(query->statement)) { /* in use further up */
        query_begin_made(query, ledger, literal);
    }
}

void query_begin_made(struct query *query, struct ledger *ledger, const char *sql)
{
    *query = (struct query){.ledger = ledger, .next = 1};
    prepare(query, sql, false);
}

/* Keeps the first failure. */
static void note(struct query *query, int code)
{
    if (query->code == SQLITE_OK) {
        query->code = code;
    }
}

void query_add_text(struct query *query, const char *words)
{
    if (query->code == SQLITE_OK) {
        note(query, sqlite3_bind_text(query->statement, query->next++, words, -1, SQLITE_STATIC));
    }
}

void query_add_bytes(struct query *query, const void *bytes, size_t count)
{
    if (query->code == SQLITE_OK) {
        note(query,
            sqlite3_bind_blob64(query->statement, query->next++, bytes, count, SQLITE_STATIC));
    }
}

void query_add_integer(struct query *query, long long value)
{
    if (query->code == SQLITE_OK) {
        note(query, sqlite3_bind_int64(query->statement, query->next++, value));
    }
}

void query_add_number(struct query *query, double value)
{
    if (query->code == SQLITE_OK) {
        note(query, sqlite3_bind_double(query->statement, query->next++, value));
    }
}

void query_add_null(struct query *query)
{
    if (query->code == SQLITE_OK) {
        note(query, sqlite3_bind_null(query->statement, query->next++));
    }
}

enum status query_step(struct query *query, bool *has_row, struct error *err)
{
    if (query->code == SQLITE_OK) {
        const int code = sqlite3_step(query->statement);
        if (code == SQLITE_ROW || code == SQLITE_DONE) {
            *has_row = code == SQLITE_ROW;
            return STATUS_OK;
        }
        query->code = code;
    }
    return sql_fail(query->ledger, query->code, "cannot use", err);
}

enum status query_run(struct query *query, struct error *err)
{
    bool has_row;
    const enum status status = query_step(query, &has_row, err);
    query_end(query);
    return status;
}

enum status query_run_integer(struct query *query, long long *value, struct error *err)
{
    bool has_row = false;
    const enum status status = query_step(query, &has_row, err);
    if (status == STATUS_OK) {
        *value = has_row ? query_get_integer(query, 0) : 0;
    }
    query_end(query);
    return status;
}

void query_end(struct query *query)
{
    if (query->is_kept && query->statement != NULL) {
        sqlite3_reset(query->statement);
        sqlite3_clear_bindings(query->statement);
    } else {
        sqlite3_finalize(query->statement);
    }
    query->statement = NULL;
}

bool query_is_null(const struct query *query, int column)
{
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL;
}

const char *query_get_text(const struct query *query, int column)
{
    const unsigned char *words = sqlite3_column_text(query->statement, column);
    return words != NULL ? (const char *)words : "";
}

long long query_get_integer(const struct query *query, int column)
{
    return sqlite3_column_int64(query->statement, column);
}

double query_get_number(const struct query *query, int column)
{
    return sqlite3_column_double(query->statement, column);
}
