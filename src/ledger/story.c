// SPDX-License-Identifier: GPL-3.0-or-later
/* The history of a row, from the journal; remarks and tags, which begin new lines of it. */
#include <string.h>

#include "base/memory.h"
#include "ledger/journal.h"
#include "ledger/kind_part.h"
#include "ledger/row.h"

/* The row as it is now, as JSON; nothing when it is gone. */
static enum status read_now(
    struct ledger *ledger, enum table table, long long id, struct text *now, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger, table_list[table].get);
    query_add_integer(&query, id);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && has_row) {
        struct json json;
        json_init(&json, now, 0);
        row_write_json(&json, &query);
    }
    query_end(&query);
    return status == STATUS_OK && now->failed ? fail_memory(err) : status;
}

/* What a row was after line `line`: what the next change took away, or what it is now. */
static enum status read_after(struct ledger *ledger, enum table table, long long id, long long line,
    struct text *after, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger,
        "SELECT before_row FROM journal WHERE subject = ? AND subject_id = ? AND id > ? "
        "ORDER BY id LIMIT 1");
    query_add_text(&query, table_list[table].name);
    query_add_integer(&query, id);
    query_add_integer(&query, line);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && has_row) {
        text_add(after, query_get_text(&query, 0));
    }
    query_end(&query);
    if (status == STATUS_OK && after->failed) {
        return fail_memory(err);
    }
    return status == STATUS_OK && !has_row ? read_now(ledger, table, id, after, err) : status;
}

enum status ledger_visit_history(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_event visit, void *user, struct error *err)
{
    const enum table table = kind_get_table(kind);
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger,
        "SELECT journal.id, journal.kind, change_set.id, command, day, person, program, before_row "
        "FROM journal JOIN change_set ON change_set.id = journal.change_id "
        "WHERE subject = ? AND subject_id = ? ORDER BY journal.id");
    query_add_text(&query, table_list[table].name);
    query_add_integer(&query, id);
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        struct text after = {0};
        struct ledger_event event = {
            .line = query_get_integer(&query, 0),
            .kind = query_get_text(&query, 1),
            .change_id = query_get_integer(&query, 2),
            .command = query_get_text(&query, 3),
            .day = query_get_text(&query, 4),
            .person = query_get_text(&query, 5),
            .program = query_get_text(&query, 6),
            .before = query_is_null(&query, 7) ? NULL : query_get_text(&query, 7),
        };
        if (strcmp(event.kind, journal_words[JOURNAL_REMOVE]) != 0) {
            status = read_after(ledger, table, id, event.line, &after, err);
        }
        event.after = after.length > 0 ? after.bytes : NULL;
        if (status == STATUS_OK) {
            status = visit(&event, user, err);
        }
        text_clear(&after);
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    return status;
}

enum status ledger_add_remark(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *words, struct error *err)
{
    struct query query;
    long long remark = 0;
    enum status status = journal_next_id(ledger, TABLE_REMARK, &remark, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger,
        "INSERT INTO remark (id, subject, subject_id, words, day, person) "
        "VALUES (?, ?, ?, ?, ?, ?)");
    query_add_integer(&query, remark);
    query_add_text(&query, table_list[kind_get_table(kind)].name);
    query_add_integer(&query, id);
    query_add_text(&query, words);
    query_add_text(&query, ledger->day);
    query_add_text(&query, ledger->person);
    return journal_run_add(&query, TABLE_REMARK, remark, err);
}

static enum status find_tag(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *word, long long *tag, struct error *err)
{
    struct query query;
    query_begin(
        &query, ledger, "SELECT id FROM tag WHERE subject = ? AND subject_id = ? AND word = ?");
    query_add_text(&query, table_list[kind_get_table(kind)].name);
    query_add_integer(&query, id);
    query_add_text(&query, word);
    return query_run_integer(&query, tag, err);
}

enum status ledger_add_tag(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *word, bool *was_there, struct error *err)
{
    struct query query;
    long long tag = 0;
    enum status status = find_tag(ledger, kind, id, word, &tag, err);
    if (status != STATUS_OK) {
        return status;
    }
    *was_there = tag != 0;
    if (tag != 0) {
        return STATUS_OK;
    }
    status = journal_next_id(ledger, TABLE_TAG, &tag, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(
        &query, ledger, "INSERT INTO tag (id, subject, subject_id, word) VALUES (?, ?, ?, ?)");
    query_add_integer(&query, tag);
    query_add_text(&query, table_list[kind_get_table(kind)].name);
    query_add_integer(&query, id);
    query_add_text(&query, word);
    return journal_run_add(&query, TABLE_TAG, tag, err);
}

enum status ledger_remove_tag(struct ledger *ledger, enum ledger_kind kind, long long id,
    const char *word, bool *was_there, struct error *err)
{
    struct query query;
    struct text before = {0};
    long long tag = 0;
    enum status status = find_tag(ledger, kind, id, word, &tag, err);
    if (status != STATUS_OK) {
        return status;
    }
    *was_there = tag != 0;
    if (tag == 0) {
        return STATUS_OK;
    }
    status = journal_keep(ledger, TABLE_TAG, tag, &before, err);
    if (status == STATUS_OK) {
        query_begin(&query, ledger, table_list[TABLE_TAG].remove);
        query_add_integer(&query, tag);
        status = query_run(&query, err);
    }
    if (status == STATUS_OK) {
        status = journal_remove(ledger, TABLE_TAG, tag, &before, err);
    }
    text_clear(&before);
    return status;
}
