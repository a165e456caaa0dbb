// SPDX-License-Identifier: GPL-3.0-or-later
/* Decision: the journal keeps a row's digest, not its content: the row itself is the content, and a
 * million loops would otherwise stand twice in the file. What a change or removal took away is kept
 * whole. The chain makes an old line as hard to change as all lines behind it; who could write all
 * of them anew is found by a head of the chain that was noted elsewhere, such as on a signed page:
 * "ledger check --head". */
#include "ledger/journal.h"

#include <string.h>

#include "base/memory.h"
#include "base/version.h"
#include "ledger/row.h"

const char *const journal_words[] = {"add", "change", "remove"};

#define FIRST_CHAIN "0000000000000000000000000000000000000000000000000000000000000000"

enum status journal_begin(struct ledger *ledger, struct error *err)
{
    struct query query;
    bool has_row;
    memset(ledger->next_id, 0, sizeof ledger->next_id);
    query_begin(&query, ledger, "SELECT id, chain FROM journal ORDER BY id DESC LIMIT 1");
    const enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK) {
        ledger->journal_id = has_row ? query_get_integer(&query, 0) : 0;
        memcpy(ledger->chain, FIRST_CHAIN, sizeof ledger->chain);
        if (has_row && strlen(query_get_text(&query, 1)) == DIGEST_TEXT_SIZE - 1) {
            memcpy(ledger->chain, query_get_text(&query, 1), DIGEST_TEXT_SIZE);
        }
    }
    query_end(&query);
    return status;
}

enum status journal_next_id(
    struct ledger *ledger, enum table table, long long *id, struct error *err)
{
    if (ledger->next_id[table] == 0) {
        struct query query;
        long long last;
        query_begin(&query, ledger, "SELECT MAX(subject_id) FROM journal WHERE subject = ?");
        query_add_text(&query, table_list[table].name);
        const enum status status = query_run_integer(&query, &last, err);
        if (status != STATUS_OK) {
            return status;
        }
        ledger->next_id[table] = last + 1;
    }
    *id = ledger->next_id[table]++;
    return STATUS_OK;
}

static void add_part(struct digest *digest, const char *words)
{
    digest_add(digest, words, strlen(words) + 1);
}

enum status journal_compute_chain(const char *previous, const struct journal_line *line,
    char chain[DIGEST_TEXT_SIZE], struct error *err)
{
    struct digest *digest = digest_create();
    struct text numbers = {0};
    text_add_format(&numbers, "%lld %lld %lld", line->id, line->change_id, line->subject_id);
    if (digest == NULL || numbers.failed) {
        digest_destroy(digest);
        text_clear(&numbers);
        return fail_memory(err);
    }
    add_part(digest, previous);
    add_part(digest, numbers.bytes);
    add_part(digest, line->kind);
    add_part(digest, line->subject);
    add_part(digest, line->digest);
    add_part(digest, line->before != NULL ? line->before : "");
    digest_get(digest, chain);
    digest_destroy(digest);
    text_clear(&numbers);
    return STATUS_OK;
}

static enum status write_line(struct ledger *ledger, struct journal_line *line, struct error *err)
{
    char chain[DIGEST_TEXT_SIZE];
    struct query query;
    line->id = ledger->journal_id + 1;
    line->change_id = ledger->change_id;
    enum status status = journal_compute_chain(ledger->chain, line, chain, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger,
        "INSERT INTO journal (id, change_id, kind, subject, subject_id, "
        "digest, before_row, chain) VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    query_add_integer(&query, line->id);
    query_add_integer(&query, line->change_id);
    query_add_text(&query, line->kind);
    query_add_text(&query, line->subject);
    query_add_integer(&query, line->subject_id);
    query_add_text(&query, line->digest);
    query_add_text(&query, line->before);
    query_add_text(&query, chain);
    status = query_run(&query, err);
    if (status == STATUS_OK) {
        ledger->journal_id++;
        memcpy(ledger->chain, chain, sizeof chain);
    }
    return status;
}

/* Digest and, where `before` is given, JSON of a row as it is now. */
static enum status read_row(struct ledger *ledger, enum table table, long long id,
    char digest[DIGEST_TEXT_SIZE], struct text *before, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger, table_list[table].get);
    query_add_integer(&query, id);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && !has_row) {
        status = fail(err, STATUS_FAULT, "'lodecard ledger check' looks the ledger over",
            "row %lld of '%s' is not there", id, table_list[table].name);
    }
    if (status == STATUS_OK) {
        status = row_compute_digest(&query, digest, err);
    }
    if (status == STATUS_OK && before != NULL) {
        struct json json;
        json_init(&json, before, 0);
        row_write_json(&json, &query);
    }
    query_end(&query);
    if (status == STATUS_OK && before != NULL && before->failed) {
        status = fail_memory(err);
    }
    return status;
}

static enum status note(struct ledger *ledger, enum journal_kind kind, enum table table,
    long long id, const struct text *before, struct error *err)
{
    char digest[DIGEST_TEXT_SIZE] = "";
    struct journal_line line = {.kind = journal_words[kind],
        .subject = table_list[table].name,
        .subject_id = id,
        .digest = digest,
        .before = before != NULL ? before->bytes : NULL};
    if (kind != JOURNAL_REMOVE) {
        const enum status status = read_row(ledger, table, id, digest, NULL, err);
        if (status != STATUS_OK) {
            return status;
        }
    }
    return write_line(ledger, &line, err);
}

/* The change's own row, once something is changed: a call that changes nothing leaves no trace. */
static enum status open_change(struct ledger *ledger, struct error *err)
{
    struct query query;
    if (ledger->change_id > 0) {
        return STATUS_OK;
    }
    long long id = 0;
    enum status status = journal_next_id(ledger, TABLE_CHANGE_SET, &id, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger,
        "INSERT INTO change_set (id, command, day, person, program, undoes) "
        "VALUES (?, ?, ?, ?, ?, ?)");
    query_add_integer(&query, id);
    query_add_text(&query, ledger->command);
    query_add_text(&query, ledger->day);
    query_add_text(&query, ledger->person);
    query_add_text(&query, LODECARD_VERSION);
    if (ledger->undoes > 0) {
        query_add_integer(&query, ledger->undoes);
    } else {
        query_add_null(&query);
    }
    status = query_run(&query, err);
    if (status == STATUS_OK) {
        ledger->change_id = id;
        ledger->has_new_change = true;
        status = note(ledger, JOURNAL_ADD, TABLE_CHANGE_SET, id, NULL, err);
    }
    return status;
}

enum status journal_add(struct ledger *ledger, enum table table, long long id, struct error *err)
{
    const enum status status = open_change(ledger, err);
    return status != STATUS_OK ? status : note(ledger, JOURNAL_ADD, table, id, NULL, err);
}

enum status journal_run_add(struct query *query, enum table table, long long id, struct error *err)
{
    struct ledger *ledger = query->ledger; /* running ends the query */
    const enum status status = query_run(query, err);
    return status != STATUS_OK ? status : journal_add(ledger, table, id, err);
}

enum status journal_keep(
    struct ledger *ledger, enum table table, long long id, struct text *before, struct error *err)
{
    char digest[DIGEST_TEXT_SIZE];
    return read_row(ledger, table, id, digest, before, err);
}

enum status journal_change(struct ledger *ledger, enum table table, long long id,
    const struct text *before, struct error *err)
{
    const enum status status = open_change(ledger, err);
    return status != STATUS_OK ? status : note(ledger, JOURNAL_CHANGE, table, id, before, err);
}

enum status journal_remove(struct ledger *ledger, enum table table, long long id,
    const struct text *before, struct error *err)
{
    const enum status status = open_change(ledger, err);
    return status != STATUS_OK ? status : note(ledger, JOURNAL_REMOVE, table, id, before, err);
}
