// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/folder.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/lines.h"
#include "base/memory.h"
#include "base/tree.h"
#include "base/version.h"
#include "ledger/check.h"
#include "ledger/journal.h"
#include "ledger/row.h"
#include "ledger/schema.h"

#define MANIFEST_MOST 100000         /* bytes of ledger.json */
#define BYTES_MOST ((size_t)1 << 30) /* of a capture */
#define LINE_MOST ((size_t)1 << 28)  /* of a row: it may hold a card */
#define FOLDER_SCHEMA "lodecard-ledger/1"
#define JOURNAL "journal"

static const char journal_scan[] = "SELECT * FROM journal ORDER BY id";

static char *join(const char *folder, const char *name, const char *ending)
{
    struct text path = {0};
    text_add_format(&path, "%s/%s%s", folder, name, ending);
    if (path.failed) {
        text_clear(&path);
    }
    return path.bytes;
}

/* --- out ----------------------------------------------------------------------------------- */

static enum status write_rows(
    struct ledger *ledger, const char *scan, struct file_draft *draft, struct error *err)
{
    struct query query;
    struct text line = {0};
    bool has_row = false;
    query_begin(&query, ledger, scan);
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        struct json json;
        line.length = 0;
        json_init(&json, &line, 0);
        row_write_json(&json, &query);
        text_add(&line, "\n");
        status =
            line.failed ? fail_memory(err) : file_draft_add(draft, line.bytes, line.length, err);
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    text_clear(&line);
    return status;
}

static enum status write_table(struct ledger *ledger, const char *folder, const char *name,
    const char *scan, struct error *err)
{
    struct file_draft draft = {0};
    char *path = join(folder, name, ".jsonl");
    enum status status = path == NULL ? fail_memory(err) : file_draft_create(&draft, path, err);
    if (status == STATUS_OK) {
        status = write_rows(ledger, scan, &draft, err);
    }
    if (status == STATUS_OK) {
        status = file_draft_commit(&draft, err);
    }
    file_draft_abandon(&draft);
    memory_destroy(path);
    return status;
}

static enum status write_captures(struct ledger *ledger, const char *folder, struct error *err)
{
    struct query query;
    bool has_row = false;
    char *captures = join(folder, "captures", "");
    enum status status = captures == NULL ? fail_memory(err) : STATUS_OK;
    query_begin(&query, ledger,
        "SELECT capture.sha256, capture_bytes.bytes FROM capture_bytes JOIN capture ON capture.id "
        "= capture_bytes.id ORDER BY capture.id");
    if (status == STATUS_OK) {
        status = query_step(&query, &has_row, err);
    }
    if (status == STATUS_OK && has_row) {
        status = file_create_folder(captures, err);
    }
    while (status == STATUS_OK && has_row) {
        char *path = join(captures, query_get_text(&query, 0), "");
        status = path == NULL ? fail_memory(err)
                              : file_write(path, sqlite3_column_blob(query.statement, 1),
                                    (size_t)sqlite3_column_bytes(query.statement, 1), err);
        memory_destroy(path);
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    memory_destroy(captures);
    return status;
}

static enum status write_manifest(struct ledger *ledger, const char *folder, struct error *err)
{
    struct query query;
    struct text out = {0};
    struct json json;
    bool has_row = false;
    char *path = join(folder, "ledger", ".json");
    query_begin(&query, ledger, "SELECT chain FROM journal ORDER BY id DESC LIMIT 1");
    enum status status = path == NULL ? fail_memory(err) : query_step(&query, &has_row, err);
    if (status == STATUS_OK) {
        json_init(&json, &out, 2);
        json_begin_object(&json, NULL);
        json_add_text(&json, "schema", FOLDER_SCHEMA);
        json_add_text(&json, "version", LODECARD_VERSION);
        json_add_integer(&json, "tables", SCHEMA_VERSION);
        json_add_text(&json, "head", has_row ? query_get_text(&query, 0) : "");
        json_end_object(&json);
        json_finish(&json);
        status = out.failed ? fail_memory(err) : file_write(path, out.bytes, out.length, err);
    }
    query_end(&query);
    text_clear(&out);
    memory_destroy(path);
    return status;
}

enum status ledger_export_folder(struct ledger *ledger, const char *folder, struct error *err)
{
    enum status status = file_create_folder(folder, err);
    if (status == STATUS_OK) {
        status = sql_run(ledger, "BEGIN", err); /* one state of it throughout */
    }
    if (status != STATUS_OK) {
        return status;
    }
    for (enum table i = 0; i < TABLE_COUNT && status == STATUS_OK; i++) {
        status = write_table(ledger, folder, table_list[i].name, table_list[i].scan, err);
    }
    if (status == STATUS_OK) {
        status = write_table(ledger, folder, JOURNAL, journal_scan, err);
    }
    if (status == STATUS_OK) {
        status = write_captures(ledger, folder, err);
    }
    if (status == STATUS_OK) {
        status = write_manifest(ledger, folder, err);
    }
    sqlite3_exec(ledger->base, "COMMIT", NULL, NULL, NULL);
    return status;
}

/* --- in ------------------------------------------------------------------------------------- */

struct import {
    struct ledger *ledger;
    const char *folder;
    size_t rows;
    size_t faults;
    char fault[400]; /* the first */
};

static enum status read_manifest(const char *folder, char head[DIGEST_TEXT_SIZE], struct error *err)
{
    struct tree *tree = NULL;
    const char *words = NULL;
    double version = 0;
    char *path = join(folder, "ledger", ".json");
    enum status status =
        path == NULL ? fail_memory(err) : tree_read(path, MANIFEST_MOST, &tree, err);
    if (status == STATUS_OK) {
        status = tree_need_schema(tree, FOLDER_SCHEMA, err);
    }
    if (status == STATUS_OK) {
        status = tree_need_number(tree, tree_get_root(tree), "tables", &version, err);
    }
    if (status == STATUS_OK) {
        status = tree_need_text(tree, tree_get_root(tree), "head", &words, err);
    }
    if (status == STATUS_OK && version > SCHEMA_VERSION) {
        status = fail(err, STATUS_INPUT, "use that program",
            "'%s' is of a newer program: its version is %g, this program knows up to %d", folder,
            version, SCHEMA_VERSION);
    }
    if (status == STATUS_OK) {
        snprintf(head, DIGEST_TEXT_SIZE, "%s", words);
    }
    tree_destroy(tree);
    memory_destroy(path);
    return status;
}

static enum status read_capture(struct import *import, const struct tree_value *row, char **bytes,
    size_t *count, struct error *err)
{
    struct text path = {0};
    const char *digest = tree_get_text(tree_get(row, "bytes"));
    if (digest == NULL || strspn(digest, "0123456789abcdef") != DIGEST_TEXT_SIZE - 1) {
        return fail(err, STATUS_INPUT, "export the ledger anew",
            "'%s/capture_bytes.jsonl' does not tell the hash of its bytes", import->folder);
    }
    text_add_format(&path, "%s/captures/%s", import->folder, digest);
    enum status status =
        path.failed ? fail_memory(err) : file_read(path.bytes, BYTES_MOST, bytes, count, err);
    text_clear(&path);
    return status;
}

static enum status add_line(struct query *query, const struct tree_value *row, struct error *err)
{
    static const char *const keys[] = {
        "id", "change_id", "kind", "subject", "subject_id", "digest", "before_row", "chain"};
    query_begin(query, query->ledger,
        "INSERT INTO journal (id, change_id, kind, subject, subject_id, digest, before_row, chain) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        const struct tree_value *value = tree_get(row, keys[i]);
        double number = 0;
        if (tree_get_number(value, &number)) {
            query_add_integer(query, (long long)number);
        } else {
            query_add_text(query, tree_get_text(value));
        }
    }
    return query_run(query, err);
}

/* One line of a table's file; TABLE_COUNT is the journal. */
static enum status read_row(struct import *import, enum table table, const char *name,
    const char *line, size_t length, struct error *err)
{
    struct tree *tree = NULL;
    struct row_bytes bytes = {0};
    char *kept = NULL;
    enum status status = tree_read_bytes(name, line, length, &tree, err);
    const struct tree_value *row = tree != NULL ? tree_get_root(tree) : NULL;
    if (status == STATUS_OK && table == TABLE_COUNT) {
        struct query query = {.ledger = import->ledger};
        status = add_line(&query, row, err);
    } else if (status == STATUS_OK) {
        if (table == TABLE_CAPTURE_BYTES) {
            status = read_capture(import, row, &kept, &bytes.count, err);
            bytes.bytes = kept;
        }
        if (status == STATUS_OK) {
            status = row_add(import->ledger, table, row, kept != NULL ? &bytes : NULL, err);
        }
        import->rows++;
    }
    memory_destroy(kept);
    tree_destroy(tree);
    return status;
}

/* Whether what failed last is the row itself, not the database or its memory. */
static bool has_refused_row(const struct ledger *ledger)
{
    const int code = sqlite3_errcode(ledger->base) & 0xFF;
    return code == SQLITE_CONSTRAINT || code == SQLITE_MISMATCH || code == SQLITE_TOOBIG;
}

/* The line that a failure is about stands ahead of it. */
static enum status tell_line(
    const struct import *import, const char *name, enum status status, struct error *err)
{
    if (status == STATUS_FAULT && has_refused_row(import->ledger)) {
        return fail(err, STATUS_INPUT, "export the ledger anew; nothing was kept",
            "%s: the row does not fit into its table: %s", name,
            sqlite3_errmsg(import->ledger->base));
    }
    if (status == STATUS_INPUT && strstr(err->message, name) == NULL) {
        return fail(err, status, err->hint, "%s: %s", name, err->message);
    }
    return status;
}

/* A file that is not there has no rows: an older ledger has fewer tables. */
static enum status read_table(struct import *import, enum table table, struct error *err)
{
    char *path =
        join(import->folder, table == TABLE_COUNT ? JOURNAL : table_list[table].name, ".jsonl");
    struct lines *lines = NULL;
    struct line line;
    bool is_found = path != NULL && file_exists(path);
    enum status status = path == NULL ? fail_memory(err) : STATUS_OK;
    if (is_found) {
        status = lines_open(path, LINE_MOST, false, &lines, err);
    }
    while (status == STATUS_OK && is_found) {
        status = lines_read(lines, &line, &is_found, err);
        if (status == STATUS_OK && is_found) {
            struct text name = {0};
            text_add_format(&name, "%s:%zu", path, line.number);
            status = name.failed
                         ? fail_memory(err)
                         : read_row(import, table, name.bytes, line.bytes, line.length, err);
            if (!name.failed) {
                status = tell_line(import, name.bytes, status, err);
            }
            text_clear(&name);
        }
    }
    lines_close(lines);
    memory_destroy(path);
    return status;
}

static void keep_fault(const char *words, void *user)
{
    struct import *import = user;
    if (import->faults++ == 0) {
        snprintf(import->fault, sizeof import->fault, "%s", words);
    }
}

static enum status check_import(struct import *import, const char *head, struct error *err)
{
    const struct ledger_check_options options = {
        .head = head[0] != '\0' ? head : NULL, .tell = keep_fault, .user = import};
    struct ledger_check check;
    const enum status status = ledger_check(import->ledger, &options, &check, err);
    if (status == STATUS_OK && import->faults > 0) {
        return fail(err, STATUS_INPUT, "export the ledger anew; nothing was kept",
            "'%s' is not what was exported: %s", import->folder, import->fault);
    }
    return status;
}

static enum status import_all(struct import *import, const char *head, struct error *err)
{
    struct ledger *ledger = import->ledger;
    struct error why = {0};
    if (ledger->journal_id > 0) {
        return fail(err, STATUS_INPUT,
            "import into a new one; 'ledger export --json-lines' and 'ledger add' bring two "
            "together",
            "the ledger '%s' is not empty", ledger->path);
    }
    enum status status = STATUS_OK;
    for (enum table i = 0; i <= TABLE_COUNT && status == STATUS_OK; i++) {
        status = read_table(import, i, &why);
    }
    if (status == STATUS_FAULT && has_refused_row(ledger)) {
        return fail(err, STATUS_INPUT, "export the ledger anew; nothing was kept",
            "'%s' is not what was exported: %s", import->folder, why.message);
    }
    if (status != STATUS_OK) {
        *err = why;
        return status;
    }
    return check_import(import, head, err);
}

enum status ledger_import_folder(
    struct ledger *ledger, const char *folder, size_t *rows, struct error *err)
{
    struct import import = {.ledger = ledger, .folder = folder};
    char head[DIGEST_TEXT_SIZE] = "";
    enum status status = read_manifest(folder, head, err);
    if (status == STATUS_OK) {
        status = ledger_begin(ledger, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    status = import_all(&import, head, err);
    if (status == STATUS_OK) {
        status = ledger_commit(ledger, err);
    }
    ledger_rollback(ledger);
    if (status == STATUS_OK) {
        *rows = import.rows;
    }
    return status;
}
