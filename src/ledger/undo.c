// SPDX-License-Identifier: GPL-3.0-or-later
/* Undo: the lines of a change, last one first, each turned round. A row that is no longer what the
 * line left behind was changed since: then nothing is undone. */
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/care.h"
#include "ledger/journal.h"
#include "ledger/row.h"

static enum status find_last(struct ledger *ledger, struct ledger_undone *undone, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger,
        "SELECT id, command, day, person FROM change_set WHERE undoes IS NULL AND id NOT IN "
        "(SELECT undoes FROM change_set WHERE undoes IS NOT NULL) ORDER BY id DESC LIMIT 1");
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && !has_row) {
        status = fail(err, STATUS_INPUT, "'lodecard ledger list changes' shows what was done",
            "there is no change to take back");
    }
    if (status == STATUS_OK) {
        undone->change_id = query_get_integer(&query, 0);
        snprintf(undone->command, sizeof undone->command, "%s", query_get_text(&query, 1));
        snprintf(undone->day, sizeof undone->day, "%s", query_get_text(&query, 2));
        snprintf(undone->person, sizeof undone->person, "%s", query_get_text(&query, 3));
    }
    query_end(&query);
    return status;
}

static enum status refuse(
    const struct ledger_undone *undone, enum table table, long long id, struct error *err)
{
    return fail(err, STATUS_INPUT, "'lodecard ledger history' tells by which change",
        "change %lld cannot be taken back: %s %lld was changed or used since", undone->change_id,
        table_list[table].name, id);
}

/* Whether the row is what the line left behind; its JSON into `now`. */
static enum status is_unchanged(struct ledger *ledger, enum table table,
    const struct journal_line *line, struct text *now, bool *answer, struct error *err)
{
    struct query query;
    char digest[DIGEST_TEXT_SIZE] = "";
    bool has_row = false;
    query_begin(&query, ledger, table_list[table].get);
    query_add_integer(&query, line->subject_id);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && has_row) {
        struct json json;
        json_init(&json, now, 0);
        status = row_compute_digest(&query, digest, err);
        if (status == STATUS_OK) {
            row_write_json(&json, &query);
        }
    }
    query_end(&query);
    *answer = strcmp(digest, line->digest) == 0;
    return status == STATUS_OK && now->failed ? fail_memory(err) : status;
}

static enum status remove_row(struct ledger *ledger, enum table table, long long id,
    const struct text *now, struct error *err)
{
    struct query query;
    query_begin(&query, ledger, table_list[table].remove);
    query_add_integer(&query, id);
    const enum status status = query_run(&query, err);
    return status != STATUS_OK ? status : journal_remove(ledger, table, id, now, err);
}

/* The row as it was before the line, over the present one or anew. */
static enum status bring_back(struct ledger *ledger, enum table table,
    const struct journal_line *line, const struct text *now, struct error *err)
{
    struct tree *tree = NULL;
    const bool is_gone = now->length == 0;
    enum status status = tree_read_bytes("journal", line->before, strlen(line->before), &tree, err);
    if (status == STATUS_OK) {
        status = is_gone ? row_add(ledger, table, tree_get_root(tree), NULL, err)
                         : row_set(ledger, table, tree_get_root(tree), err);
    }
    tree_destroy(tree);
    if (status != STATUS_OK) {
        return status;
    }
    return is_gone ? journal_add(ledger, table, line->subject_id, err)
                   : journal_change(ledger, table, line->subject_id, now, err);
}

static enum status undo_line(struct ledger *ledger, const struct ledger_undone *undone,
    const struct journal_line *line, struct error *err)
{
    const enum table table = table_find(line->subject);
    struct text now = {0};
    bool is_same = false;
    enum status status = table == TABLE_COUNT
                             ? fail(err, STATUS_INPUT, "use the program that made it",
                                   "the journal tells of a table '%s'", line->subject)
                             : is_unchanged(ledger, table, line, &now, &is_same, err);
    if (status == STATUS_OK && !is_same) {
        status = refuse(undone, table, line->subject_id, err);
    }
    if (status == STATUS_OK) {
        status = line->before == NULL ? remove_row(ledger, table, line->subject_id, &now, err)
                                      : bring_back(ledger, table, line, &now, err);
        if (status == STATUS_FAULT && (sqlite3_errcode(ledger->base) & 0xFF) == SQLITE_CONSTRAINT) {
            status = refuse(undone, table, line->subject_id, err);
        }
    }
    text_clear(&now);
    return status;
}

enum status ledger_undo(struct ledger *ledger, struct ledger_undone *undone, struct error *err)
{
    struct query query;
    struct ledger_undone made = {0};
    bool has_row = false;
    enum status status = find_last(ledger, &made, err);
    if (status != STATUS_OK) {
        return status;
    }
    ledger->undoes = made.change_id;
    query_begin(&query, ledger,
        "SELECT id, kind, subject, subject_id, digest, before_row FROM journal WHERE change_id = ? "
        "AND subject <> 'change_set' ORDER BY id DESC");
    query_add_integer(&query, made.change_id);
    status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        const struct journal_line line = {
            .id = query_get_integer(&query, 0),
            .kind = query_get_text(&query, 1),
            .subject = query_get_text(&query, 2),
            .subject_id = query_get_integer(&query, 3),
            .digest = query_get_text(&query, 4),
            .before = query_is_null(&query, 5) ? NULL : query_get_text(&query, 5),
        };
        status = undo_line(ledger, &made, &line, err);
        made.rows++;
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    if (status == STATUS_OK) {
        *undone = made;
    }
    return status;
}
