// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <string.h>

#include "ledger/base_rows.h"
#include "ledger/journal.h"
#include "ledger/record.h"

/* "INSERT INTO loop (..., <key>, u_<key>, ...) VALUES (?, ...)". */
static enum status build_add(struct ledger *ledger, struct error *err)
{
    struct text *sql = &ledger->add_loop;
    if (sql->length > 0) {
        return STATUS_OK;
    }
    text_add(sql, "INSERT INTO loop (id, is_current, capture_id, specimen_id, heat_id, "
                  "specimen_version_id, rig_version_id, program, start_s, length_s, settings, "
                  "note_codes, notes");
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        text_add_format(sql, ", %s, u_%s", figure_table[i].key, figure_table[i].key);
    }
    text_add(sql, ") VALUES (?, 1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?");
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        text_add(sql, ", ?, ?");
    }
    text_add(sql, ")");
    return sql->failed ? fail_memory(err) : STATUS_OK;
}

static void add_number(struct query *query, double value, bool is_present)
{
    if (is_present && isfinite(value)) {
        query_add_number(query, value);
    } else {
        query_add_null(query);
    }
}

static enum status loop_row(struct ledger *ledger, const struct ledger_loop *loop,
    const struct base_rows *rows, long long *id, struct error *err)
{
    struct query query;
    enum status status = build_add(ledger, err);
    if (status == STATUS_OK) {
        status = journal_next_id(ledger, TABLE_LOOP, id, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger, ledger->add_loop.bytes);
    query_add_integer(&query, *id);
    query_add_integer(&query, rows->capture);
    query_add_integer(&query, rows->specimen);
    query_add_integer(&query, rows->heat);
    query_add_integer(&query, rows->specimen_version);
    query_add_integer(&query, rows->rig_version);
    query_add_text(&query, text_or_empty(loop->program));
    add_number(&query, loop->start_s, loop->has_part);
    add_number(&query, loop->length_s, loop->has_part);
    query_add_text(&query, loop->settings);
    query_add_text(&query, text_or_empty(loop->note_codes));
    query_add_text(&query, loop->notes != NULL ? loop->notes : "[]");
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *value = &loop->figures.list[i];
        add_number(&query, value->value, value->is_present);
        add_number(&query, value->u, value->is_present && value->has_u);
    }
    status = journal_run_add(&query, TABLE_LOOP, *id, err);
    if (status == STATUS_OK && loop->points != NULL) {
        query_begin(&query, ledger, "INSERT INTO loop_points (id, document) VALUES (?, ?)");
        query_add_integer(&query, *id);
        query_add_text(&query, loop->points);
        status = journal_run_add(&query, TABLE_LOOP_POINTS, *id, err);
    }
    return status;
}

/* Whether a column has that value, or is null without one. */
static bool has_value(const struct query *query, int column, double value, bool is_present)
{
    const bool is_null = query_is_null(query, column);
    return is_present && isfinite(value) ? !is_null && query_get_number(query, column) == value
                                         : is_null;
}

/* Whether the row that the query stands on (SELECT * FROM loop) has these figures, from these
 * versions of rig and specimen. */
static bool has_figures(const struct query *query, const struct ledger_loop *loop)
{
    for (int column = 0; column < sqlite3_column_count(query->statement); column++) {
        const char *name = sqlite3_column_name(query->statement, column);
        const bool is_u = strncmp(name, "u_", 2) == 0;
        const enum figure figure = figure_find(is_u ? name + 2 : name);
        if (figure == FIGURE_COUNT) {
            continue;
        }
        const struct figure_value *value = &loop->figures.list[figure];
        if (is_u ? !has_value(query, column, value->u, value->is_present && value->has_u)
                 : !has_value(query, column, value->value, value->is_present)) {
            return false;
        }
    }
    return true;
}

/* The current loop of the same part of the same capture; 0: none. */
static enum status find_current(struct ledger *ledger, const struct ledger_loop *loop,
    const struct base_rows *rows, long long *id, bool *is_same, struct error *err)
{
    struct query query, row;
    enum status status = STATUS_OK;
    bool has_row = false;
    query_begin(&query, ledger,
        "SELECT id, rig_version_id, specimen_version_id FROM loop WHERE capture_id = ? "
        "AND is_current = 1 AND COALESCE(start_s, -1.0) = ? AND COALESCE(length_s, -1.0) = ?");
    query_add_integer(&query, rows->capture);
    query_add_number(&query, loop->has_part ? loop->start_s : -1.0);
    query_add_number(&query, loop->has_part ? loop->length_s : -1.0);
    status = query_step(&query, &has_row, err);
    *id = 0;
    *is_same = false;
    if (status == STATUS_OK && has_row) {
        *id = query_get_integer(&query, 0);
        *is_same = query_get_integer(&query, 1) == rows->rig_version &&
                   query_get_integer(&query, 2) == rows->specimen_version;
        query_begin(&row, ledger, table_list[TABLE_LOOP].get);
        query_add_integer(&row, *id);
        status = query_step(&row, &has_row, err);
        *is_same = *is_same && status == STATUS_OK && has_row && has_figures(&row, loop);
        query_end(&row);
    }
    query_end(&query);
    return status;
}

static enum status retire(struct ledger *ledger, long long id, struct error *err)
{
    struct query query;
    struct text before = {0};
    enum status status = journal_keep(ledger, TABLE_LOOP, id, &before, err);
    if (status == STATUS_OK) {
        query_begin(&query, ledger, "UPDATE loop SET is_current = 0 WHERE id = ?");
        query_add_integer(&query, id);
        status = query_run(&query, err);
    }
    if (status == STATUS_OK) {
        status = journal_change(ledger, TABLE_LOOP, id, &before, err);
    }
    text_clear(&before);
    return status;
}

enum status ledger_add_loop(struct ledger *ledger, const struct ledger_loop *loop,
    enum ledger_outcome *outcome, long long *id, struct error *err)
{
    struct base_rows rows = {0};
    long long old = 0, made = 0;
    bool is_same = false;
    enum status status = base_rows_find(ledger, loop, &rows, err);
    if (status == STATUS_OK) {
        status = find_current(ledger, loop, &rows, &old, &is_same, err);
    }
    if (status == STATUS_OK && old != 0 && !is_same) {
        status = retire(ledger, old, err);
    }
    if (status == STATUS_OK && !is_same) {
        status = loop_row(ledger, loop, &rows, &made, err);
    }
    if (status == STATUS_OK) {
        *outcome = is_same ? LEDGER_KNOWN : old != 0 ? LEDGER_REPLACED : LEDGER_ADDED;
        *id = is_same ? old : made;
    }
    return status;
}

enum status ledger_add_bytes(
    struct ledger *ledger, const char *sha256, const void *bytes, size_t count, struct error *err)
{
    char digest[DIGEST_TEXT_SIZE];
    struct query query;
    long long id = 0, kept = 0;
    digest_bytes(bytes, count, digest);
    if (strcmp(digest, sha256) != 0) {
        return fail(err, STATUS_INPUT, "add it again when nobody writes to it",
            "the capture was changed while it was read");
    }
    query_begin(&query, ledger, "SELECT capture.id FROM capture WHERE sha256 = ?");
    query_add_text(&query, sha256);
    enum status status = query_run_integer(&query, &id, err);
    if (status == STATUS_OK) {
        query_begin(&query, ledger, "SELECT id FROM capture_bytes WHERE id = ?");
        query_add_integer(&query, id);
        status = query_run_integer(&query, &kept, err);
    }
    if (status != STATUS_OK || kept != 0) {
        return status;
    }
    query_begin(&query, ledger, "INSERT INTO capture_bytes (id, bytes) VALUES (?, ?)");
    query_add_integer(&query, id);
    query_add_bytes(&query, bytes, count);
    return journal_run_add(&query, TABLE_CAPTURE_BYTES, id, err);
}
