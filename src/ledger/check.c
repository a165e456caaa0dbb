// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/check.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/journal.h"
#include "ledger/row.h"
#include "ledger/sums.h"

#define FIRST_CHAIN "0000000000000000000000000000000000000000000000000000000000000000"

struct checking {
    struct ledger *ledger;
    const struct ledger_check_options *options;
    struct ledger_check *check;
};

static void __attribute__((format(printf, 2, 3)))
tell(struct checking *checking, const char *format, ...)
{
    char words[600];
    va_list list;
    va_start(list, format);
    vsnprintf(words, sizeof words, format, list);
    va_end(list);
    checking->check->faults++;
    if (checking->options->tell != NULL) {
        checking->options->tell(words, checking->options->user);
    }
}

/* Questions whose every row is a fault. Columns: words, number, words. */
static const struct {
    const char *sql;
    const char *format;
} questions[] = {
    {"SELECT \"table\", rowid, parent FROM pragma_foreign_key_check",
        "%s %lld refers to a row of '%s' that is not there"},
    {"SELECT 'loop', loop.id, specimen.name FROM loop JOIN specimen ON specimen.id = "
     "loop.specimen_id WHERE loop.heat_id <> specimen.heat_id",
        "%s %lld names another heat than its specimen '%s'"},
    {"SELECT 'loop', loop.id, specimen.name FROM loop JOIN specimen ON specimen.id = "
     "loop.specimen_id JOIN specimen_version ON specimen_version.id = loop.specimen_version_id "
     "WHERE specimen_version.specimen_id <> specimen.id",
        "%s %lld names a version of another specimen than '%s'"},
    {"SELECT 'capture', id, file FROM capture WHERE NOT EXISTS "
     "(SELECT 1 FROM loop WHERE loop.capture_id = capture.id)",
        "%s %lld ('%s') has no loop"},
    {"SELECT subject, MIN(subject_id), 'remark' FROM remark WHERE NOT EXISTS (SELECT 1 FROM "
     "journal "
     "WHERE journal.subject = remark.subject AND journal.subject_id = remark.subject_id) "
     "GROUP BY subject, subject_id",
        "%s %lld was never there, but has a %s"},
    {"SELECT subject, MIN(subject_id), 'tag' FROM tag WHERE NOT EXISTS (SELECT 1 FROM journal "
     "WHERE journal.subject = tag.subject AND journal.subject_id = tag.subject_id) "
     "GROUP BY subject, subject_id",
        "%s %lld was never there, but has a %s"},
};

static enum status check_questions(struct checking *checking, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; i < sizeof questions / sizeof questions[0] && status == STATUS_OK; i++) {
        struct query query;
        bool has_row = false;
        query_begin(&query, checking->ledger, questions[i].sql);
        status = query_step(&query, &has_row, err);
        while (status == STATUS_OK && has_row) {
            char words[400];
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
            snprintf(words, sizeof words, questions[i].format, query_get_text(&query, 0),
                query_get_integer(&query, 1), query_get_text(&query, 2));
#pragma GCC diagnostic pop
            tell(checking, "%s", words);
            status = query_step(&query, &has_row, err);
        }
        query_end(&query);
    }
    return status;
}

/* Those of schema.sql; what others put in is refused when the ledger is opened. */
static enum status check_triggers(struct checking *checking, struct error *err)
{
    static const char *const names[] = {"journal_keeps_lines", "journal_keeps_all",
        "heat_sum_of_new", "heat_sum_of_changed", "heat_sum_of_removed"};
    enum status status = STATUS_OK;
    for (size_t i = 0; i < sizeof names / sizeof names[0] && status == STATUS_OK; i++) {
        struct query query;
        long long count = 0;
        query_begin(&query, checking->ledger,
            "SELECT COUNT(*) FROM sqlite_master WHERE type = 'trigger' AND name = ?");
        query_add_text(&query, names[i]);
        status = query_run_integer(&query, &count, err);
        if (status == STATUS_OK && count == 0) {
            tell(checking, "the trigger '%s' was taken away", names[i]);
        }
    }
    return status;
}

/* What SQLite itself finds in the file. */
static enum status check_structure(struct checking *checking, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, checking->ledger, "PRAGMA integrity_check(20)");
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        if (strcmp(query_get_text(&query, 0), "ok") != 0) {
            tell(checking, "the file is damaged: %s", query_get_text(&query, 0));
        }
        status = query_step(&query, &has_row, err);
    }
    query_end(&query);
    return status;
}

static enum status check_chain(struct checking *checking, struct error *err)
{
    struct query query;
    bool has_row = false, has_head = checking->options->head == NULL;
    char chain[DIGEST_TEXT_SIZE] = FIRST_CHAIN;
    long long expected = 1;
    query_begin(&query, checking->ledger,
        "SELECT id, change_id, kind, subject, subject_id, digest, before_row, chain FROM journal "
        "ORDER BY id");
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        const struct journal_line line = {
            .id = query_get_integer(&query, 0),
            .change_id = query_get_integer(&query, 1),
            .kind = query_get_text(&query, 2),
            .subject = query_get_text(&query, 3),
            .subject_id = query_get_integer(&query, 4),
            .digest = query_get_text(&query, 5),
            .before = query_is_null(&query, 6) ? NULL : query_get_text(&query, 6),
        };
        const char *written = query_get_text(&query, 7);
        status = journal_compute_chain(chain, &line, chain, err);
        if (status == STATUS_OK && line.id != expected) {
            tell(checking, "line %lld of the journal is missing", expected);
        } else if (status == STATUS_OK && strcmp(chain, written) != 0) {
            tell(checking, "line %lld of the journal was changed", line.id);
        }
        snprintf(chain, sizeof chain, "%s", written); /* each fault is told once */
        has_head = has_head || strcmp(chain, checking->options->head) == 0;
        expected = line.id + 1;
        checking->check->lines++;
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    memcpy(checking->check->head, chain, sizeof chain);
    if (status == STATUS_OK && !has_head) {
        tell(checking, "the journal does not hold the head '%.64s'", checking->options->head);
    }
    return status;
}

/* The last line of the journal for each row of a table, by id, and the row itself, side by side. */
struct pair {
    struct query lines, rows;
    bool has_line, has_row;
    enum table table;
};

static void judge_row(struct checking *checking, const struct pair *pair, const char *digest)
{
    const char *name = table_list[pair->table].name;
    const long long id = query_get_integer(&pair->rows, 0);
    if (!pair->has_line || query_get_integer(&pair->lines, 0) != id ||
        query_get_text(&pair->lines, 1)[0] == '\0') {
        tell(checking, "%s %lld was put in without the journal", name, id);
    } else if (strcmp(query_get_text(&pair->lines, 1), digest) != 0) {
        tell(checking, "%s %lld is not what was written: a value was changed", name, id);
    }
}

/* Lines of rows that should be there but are not, up to that of the row in hand. */
static enum status pass_lines(struct checking *checking, struct pair *pair, struct error *err)
{
    enum status status = STATUS_OK;
    while (status == STATUS_OK && pair->has_line &&
           (!pair->has_row ||
               query_get_integer(&pair->lines, 0) < query_get_integer(&pair->rows, 0))) {
        if (query_get_text(&pair->lines, 1)[0] != '\0') {
            tell(checking, "%s %lld is gone", table_list[pair->table].name,
                query_get_integer(&pair->lines, 0));
        }
        status = query_step(&pair->lines, &pair->has_line, err);
    }
    return status;
}

static enum status check_table(struct checking *checking, enum table table, struct error *err)
{
    struct pair pair = {.table = table};
    char digest[DIGEST_TEXT_SIZE];
    query_begin(&pair.lines, checking->ledger,
        "SELECT journal.subject_id, journal.digest FROM journal JOIN (SELECT MAX(id) AS id FROM "
        "journal WHERE subject = ? GROUP BY subject_id) AS last ON last.id = journal.id "
        "ORDER BY journal.subject_id");
    query_add_text(&pair.lines, table_list[table].name);
    query_begin(&pair.rows, checking->ledger, table_list[table].scan);
    enum status status = query_step(&pair.lines, &pair.has_line, err);
    if (status == STATUS_OK) {
        status = query_step(&pair.rows, &pair.has_row, err);
    }
    while (status == STATUS_OK && (pair.has_row || pair.has_line)) {
        status = pass_lines(checking, &pair, err);
        if (status != STATUS_OK || !pair.has_row) {
            break;
        }
        status = row_compute_digest(&pair.rows, digest, err);
        if (status != STATUS_OK) {
            break;
        }
        judge_row(checking, &pair, digest);
        checking->check->rows++;
        if (pair.has_line &&
            query_get_integer(&pair.lines, 0) == query_get_integer(&pair.rows, 0)) {
            status = query_step(&pair.lines, &pair.has_line, err);
        }
        if (status == STATUS_OK) {
            status = query_step(&pair.rows, &pair.has_row, err);
        }
    }
    query_end(&pair.rows);
    query_end(&pair.lines);
    return status;
}

/* Bytes that stand beside their own hash. Columns: kind, id, hash, bytes. */
static enum status check_hashes(struct checking *checking, struct error *err)
{
    static const char *const sql[] = {
        "SELECT 'specimen_version', id, sha256, document FROM specimen_version ORDER BY id",
        "SELECT 'rig_version', id, sha256, document FROM rig_version ORDER BY id",
        "SELECT 'series', id, sha256, document FROM series ORDER BY id",
        "SELECT 'card', id, sha256, document FROM card ORDER BY id",
        "SELECT 'verdict', id, sha256, document FROM verdict ORDER BY id",
        ("SELECT 'capture', capture.id, sha256, bytes FROM capture JOIN capture_bytes ON "
         "capture_bytes.id = capture.id ORDER BY capture.id")};
    enum status status = STATUS_OK;
    for (size_t i = 0; i < sizeof sql / sizeof sql[0] && status == STATUS_OK; i++) {
        struct query query;
        bool has_row = false;
        query_begin(&query, checking->ledger, sql[i]);
        status = query_step(&query, &has_row, err);
        while (status == STATUS_OK && has_row) {
            char text[DIGEST_TEXT_SIZE];
            digest_bytes(sqlite3_column_blob(query.statement, 3),
                (size_t)sqlite3_column_bytes(query.statement, 3), text);
            if (strcmp(text, query_get_text(&query, 2)) != 0) {
                tell(checking, "%s %lld does not have its hash", query_get_text(&query, 0),
                    query_get_integer(&query, 1));
            }
            status = query_step(&query, &has_row, err);
        }
        query_end(&query);
    }
    return status;
}

/* The captures outside: one that is not there any more is told by number only. */
static enum status check_captures(struct checking *checking, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, checking->ledger,
        "SELECT id, file, sha256, path FROM capture WHERE path IS NOT NULL ORDER BY id");
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        char text[DIGEST_TEXT_SIZE];
        char *path = ledger_get_absolute(checking->ledger, query_get_text(&query, 3));
        struct error why = {.status = STATUS_OK};
        if (path == NULL) {
            status = fail_memory(err);
        } else if (!file_exists(path)) {
            checking->check->missing++;
        } else if (digest_job_finish(digest_job_create(path), text, &why) == STATUS_FAULT) {
            *err = why;
            status = STATUS_FAULT;
        } else if (why.status != STATUS_OK) {
            tell(checking, "%s", why.message);
        } else {
            checking->check->captures++;
            if (strcmp(text, query_get_text(&query, 2)) != 0) {
                tell(checking, "capture %lld: '%s' has other bytes now",
                    query_get_integer(&query, 0), query_get_text(&query, 3));
            }
        }
        memory_destroy(path);
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    return status;
}

static void tell_words(const char *words, void *user)
{
    tell(user, "%s", words);
}

enum status ledger_check(struct ledger *ledger, const struct ledger_check_options *options,
    struct ledger_check *check, struct error *err)
{
    *check = (struct ledger_check){0};
    struct checking checking = {ledger, options, check};
    enum status status = STATUS_OK;
    if (!ledger->is_open) { /* one state of it throughout */
        status = sql_run(ledger, "BEGIN", err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    status = check_structure(&checking, err);
    if (status == STATUS_OK) {
        status = check_triggers(&checking, err);
    }
    if (status == STATUS_OK) {
        status = check_chain(&checking, err);
    }
    for (enum table i = 0; i < TABLE_COUNT && status == STATUS_OK; i++) {
        status = check_table(&checking, i, err);
    }
    if (status == STATUS_OK) {
        status = check_questions(&checking, err);
    }
    if (status == STATUS_OK) {
        status = check_hashes(&checking, err);
    }
    if (status == STATUS_OK) {
        status = sums_check(ledger, tell_words, &checking, err);
    }
    if (status == STATUS_OK && options->reads_captures) {
        status = check_captures(&checking, err);
    }
    if (!ledger->is_open) {
        sqlite3_exec(ledger->base, "COMMIT", NULL, NULL, NULL);
    }
    return status;
}
