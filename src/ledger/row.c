// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/row.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#define WHOLE_MOST 9007199254740992.0 /* 2^53: doubles hold every whole number up to it */

/* Eight bytes, the highest first, whatever the machine. */
static void add_word(struct digest *digest, uint64_t word)
{
    unsigned char bytes[8];
    for (int i = 0; i < 8; i++) {
        bytes[i] = (unsigned char)(word >> (56 - 8 * i));
    }
    digest_add(digest, bytes, sizeof bytes);
}

static void add_column(struct digest *digest, sqlite3_stmt *statement, int column)
{
    const char *name = sqlite3_column_name(statement, column);
    const int kind = sqlite3_column_type(statement, column);
    const char letter = kind == SQLITE_INTEGER ? 'i'
                        : kind == SQLITE_FLOAT ? 'r'
                        : kind == SQLITE_TEXT  ? 't'
                                               : 'b';
    digest_add(digest, name, strlen(name) + 1);
    digest_add(digest, &letter, 1);
    if (kind == SQLITE_INTEGER) {
        add_word(digest, (uint64_t)sqlite3_column_int64(statement, column));
    } else if (kind == SQLITE_FLOAT) {
        const double value = sqlite3_column_double(statement, column);
        uint64_t word;
        memcpy(&word, &value, sizeof word);
        add_word(digest, word);
    } else {
        const void *bytes = kind == SQLITE_TEXT
                                ? (const void *)sqlite3_column_text(statement, column)
                                : sqlite3_column_blob(statement, column);
        const size_t count = (size_t)sqlite3_column_bytes(statement, column);
        add_word(digest, count);
        digest_add(digest, bytes, count);
    }
}

enum status row_compute_digest(
    const struct query *query, char text[DIGEST_TEXT_SIZE], struct error *err)
{
    struct digest *digest = digest_create();
    if (digest == NULL) {
        return fail_memory(err);
    }
    for (int i = 0; i < sqlite3_column_count(query->statement); i++) {
        if (!query_is_null(query, i)) {
            add_column(digest, query->statement, i);
        }
    }
    digest_get(digest, text);
    digest_destroy(digest);
    return STATUS_OK;
}

static void write_bytes(struct json *json, const char *key, sqlite3_stmt *statement, int column)
{
    char text[DIGEST_TEXT_SIZE];
    digest_bytes(sqlite3_column_blob(statement, column),
        (size_t)sqlite3_column_bytes(statement, column), text);
    json_add_text(json, key, text);
}

void row_write_json(struct json *json, const struct query *query)
{
    sqlite3_stmt *statement = query->statement;
    json_begin_object(json, NULL);
    for (int i = 0; i < sqlite3_column_count(statement); i++) {
        const char *key = sqlite3_column_name(statement, i);
        switch (sqlite3_column_type(statement, i)) {
        case SQLITE_INTEGER:
            json_add_integer(json, key, query_get_integer(query, i));
            break;
        case SQLITE_FLOAT:
            json_add_number(json, key, query_get_number(query, i));
            break;
        case SQLITE_TEXT:
            json_add_text(json, key, query_get_text(query, i));
            break;
        case SQLITE_BLOB:
            write_bytes(json, key, statement, i);
            break;
        default:
            break;
        }
    }
    json_end_object(json);
}

/* Names and kinds of a table's columns, from a statement that is not run. */
static enum status add_values(struct query *query, sqlite3_stmt *columns,
    const struct tree_value *object, const struct row_bytes *bytes)
{
    for (int i = 0; i < sqlite3_column_count(columns); i++) {
        const struct tree_value *value = tree_get(object, sqlite3_column_name(columns, i));
        const char *type = sqlite3_column_decltype(columns, i);
        double number = 0;
        if (type != NULL && strcmp(type, "BLOB") == 0 && bytes != NULL) {
            query_add_bytes(query, bytes->bytes, bytes->count);
        } else if (tree_get_text(value) != NULL) {
            query_add_text(query, tree_get_text(value));
        } else if (!tree_get_number(value, &number)) {
            query_add_null(query);
        } else if (number == floor(number) && fabs(number) <= WHOLE_MOST &&
                   strcmp(type != NULL ? type : "", "REAL") != 0) {
            query_add_integer(query, (long long)number);
        } else {
            query_add_number(query, number);
        }
    }
    return STATUS_OK;
}

/* "INSERT INTO heat (id, name) VALUES (?, ?)", "UPDATE heat SET id = ?, name = ? WHERE id = ?". */
static void build(struct text *sql, const char *table, sqlite3_stmt *columns, bool is_new)
{
    const int count = sqlite3_column_count(columns);
    text_add_format(sql, is_new ? "INSERT INTO %s (" : "UPDATE %s SET ", table);
    for (int i = 0; i < count; i++) {
        text_add_format(
            sql, is_new ? "%s%s" : "%s%s = ?", i > 0 ? ", " : "", sqlite3_column_name(columns, i));
    }
    text_add(sql, is_new ? ") VALUES (" : " WHERE id = ?");
    for (int i = 0; is_new && i < count; i++) {
        text_add(sql, i > 0 ? ", ?" : "?");
    }
    text_add(sql, is_new ? ")" : "");
}

static enum status check_keys(
    sqlite3_stmt *columns, const char *table, const struct tree_value *object, struct error *err)
{
    if (tree_get_kind(object) != TREE_OBJECT) {
        return fail(
            err, STATUS_INPUT, "export the ledger anew", "a row of '%s' is no object", table);
    }
    for (size_t i = 0; i < tree_get_count(object); i++) {
        const char *key = tree_get_key_at(object, i);
        bool is_known = false;
        for (int j = 0; j < sqlite3_column_count(columns) && !is_known; j++) {
            is_known = strcmp(key, sqlite3_column_name(columns, j)) == 0;
        }
        if (!is_known) {
            return fail(err, STATUS_INPUT, "it may come from a newer program: use that one",
                "a row of '%s' has '%.80s', which this program does not know", table, key);
        }
    }
    return STATUS_OK;
}

static enum status put(struct ledger *ledger, enum table table, const struct tree_value *object,
    const struct row_bytes *bytes, bool is_new, struct error *err)
{
    struct query columns, query = {0};
    struct text sql = {0};
    double id = 0;
    query_begin(&columns, ledger, table_list[table].get);
    if (columns.code != SQLITE_OK) {
        return sql_fail(ledger, columns.code, "cannot use", err);
    }
    enum status status = check_keys(columns.statement, table_list[table].name, object, err);
    build(&sql, table_list[table].name, columns.statement, is_new);
    if (status == STATUS_OK && sql.failed) {
        status = fail_memory(err);
    }
    if (status == STATUS_OK) {
        query_begin_made(&query, ledger, sql.bytes);
        status = add_values(&query, columns.statement, object, bytes);
    }
    if (status == STATUS_OK && !is_new) {
        (void)tree_get_number(tree_get(object, "id"), &id);
        query_add_integer(&query, (long long)id);
    }
    if (status == STATUS_OK) {
        status = query_run(&query, err);
    }
    query_end(&columns);
    text_clear(&sql);
    return status;
}

enum status row_add(struct ledger *ledger, enum table table, const struct tree_value *object,
    const struct row_bytes *bytes, struct error *err)
{
    return put(ledger, table, object, bytes, true, err);
}

enum status row_set(
    struct ledger *ledger, enum table table, const struct tree_value *object, struct error *err)
{
    return put(ledger, table, object, NULL, false, err);
}
