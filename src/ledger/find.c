// SPDX-License-Identifier: GPL-3.0-or-later
/* Loops that are looked for. The inner question finds their ids with the indexes of the loops
 * alone; names are joined to what is left of them. */
#include "ledger/find.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/where_part.h"

#define FIRST_FIGURE 16 /* column of the first figure */

static void add_condition(struct text *sql, const struct ledger_search *search)
{
    const bool is_all = where_is_empty(search->where); /* no index then: they are nearly all */
    text_add_format(sql, "%s(%s)",
        search->has_old ? ""
        : is_all        ? "loop.is_current + 0 = 1 AND "
                        : "loop.is_current = 1 AND ",
        where_get_sql(search->where));
}

/* " ORDER BY ...". A sum keeps the planner from walking the whole table in the order of its key for
 * the sake of a few rows. */
static void add_order(struct text *sql, const struct ledger_search *search, const char *plus)
{
    text_add(sql, " ORDER BY ");
    if (search->sort != FIGURE_COUNT) {
        const char *key = figure_table[search->sort].key;
        text_add_format(
            sql, "loop.%s IS NULL, loop.%s%s, ", key, key, search->is_falling ? " DESC" : "");
    }
    text_add_format(sql, "loop.id%s%s", plus,
        search->is_falling && search->sort == FIGURE_COUNT ? " DESC" : "");
}

static void add_columns(struct text *sql)
{
    text_add(sql,
        "SELECT loop.id, loop.capture_id, loop.specimen_id, loop.heat_id, loop.rig_version_id, "
        "loop.is_current, capture.file, capture.sha256, specimen.name, heat.name, alloy.name, "
        "supplier.name, rig.name, rig_version.calibration_day, loop.program, loop.note_codes");
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        text_add_format(sql, ", loop.%s, loop.u_%s", figure_table[i].key, figure_table[i].key);
    }
}

static void add_joins(struct text *sql)
{
    text_add(sql, " JOIN capture ON capture.id = loop.capture_id "
                  "JOIN specimen ON specimen.id = loop.specimen_id "
                  "JOIN heat ON heat.id = loop.heat_id JOIN alloy ON alloy.id = heat.alloy_id "
                  "JOIN supplier ON supplier.id = heat.supplier_id "
                  "JOIN rig_version ON rig_version.id = loop.rig_version_id "
                  "JOIN rig ON rig.id = rig_version.rig_id");
}

static void build(struct text *sql, const struct ledger_search *search)
{
    add_columns(sql);
    text_add(sql, " FROM (SELECT loop.id AS id FROM loop WHERE ");
    add_condition(sql, search);
    add_order(sql, search, where_is_empty(search->where) ? "" : " + 0");
    text_add(sql, search->limit > 0 ? " LIMIT ?" : "");
    text_add(sql, ") AS chosen JOIN loop ON loop.id = chosen.id");
    add_joins(sql);
    add_order(sql, search, "");
}

/* The texts of a row, to copy and free them alike. */
static void list_texts(struct ledger_row *row, const char **list[10])
{
    const char **texts[10] = {&row->file, &row->sha256, &row->specimen, &row->heat, &row->alloy,
        &row->supplier, &row->rig, &row->calibration_day, &row->program, &row->note_codes};
    memcpy(list, texts, sizeof texts);
}

static void set_row(struct ledger_row *row, const struct query *query)
{
    *row = (struct ledger_row){
        .id = query_get_integer(query, 0),
        .capture_id = query_get_integer(query, 1),
        .specimen_id = query_get_integer(query, 2),
        .heat_id = query_get_integer(query, 3),
        .rig_version_id = query_get_integer(query, 4),
        .is_current = query_get_integer(query, 5) != 0,
        .file = query_get_text(query, 6),
        .sha256 = query_get_text(query, 7),
        .specimen = query_get_text(query, 8),
        .heat = query_get_text(query, 9),
        .alloy = query_get_text(query, 10),
        .supplier = query_get_text(query, 11),
        .rig = query_get_text(query, 12),
        .calibration_day = query_get_text(query, 13),
        .program = query_get_text(query, 14),
        .note_codes = query_get_text(query, 15),
    };
    for (int i = 0; i < FIGURE_COUNT; i++) {
        const int column = FIRST_FIGURE + 2 * i;
        if (!query_is_null(query, column)) {
            figures_set(&row->figures, (enum figure)i, query_get_number(query, column));
        }
        if (!query_is_null(query, column + 1)) {
            figures_set_u(&row->figures, (enum figure)i, query_get_number(query, column + 1));
        }
    }
}

enum status ledger_visit_loops(struct ledger *ledger, const struct ledger_search *search,
    ledger_visit visit, void *user, struct error *err)
{
    struct text sql = {0};
    struct query query;
    struct ledger_row row;
    bool has_row = true;
    build(&sql, search);
    if (sql.failed) {
        text_clear(&sql);
        return fail_memory(err);
    }
    query_begin_made(&query, ledger, sql.bytes);
    where_add_values(search->where, &query);
    if (search->limit > 0) {
        query_add_integer(&query, (long long)search->limit);
    }
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        set_row(&row, &query);
        status = visit(&row, user, err);
        if (status == STATUS_OK) {
            status = query_step(&query, &has_row, err);
        }
    }
    query_end(&query);
    text_clear(&sql);
    return status;
}

enum status ledger_get_loop(
    struct ledger *ledger, long long id, struct ledger_row *row, struct error *err)
{
    struct text *sql = &ledger->get_loops;
    struct query query;
    bool has_row = false;
    if (sql->length == 0) {
        add_columns(sql);
        text_add(sql, " FROM loop");
        add_joins(sql);
        text_add(sql, " WHERE loop.id = ?");
    }
    if (sql->failed) {
        return fail_memory(err);
    }
    query_begin(&query, ledger, sql->bytes);
    query_add_integer(&query, id);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && !has_row) {
        status = fail(err, STATUS_INPUT, "'lodecard ledger find' shows the loops",
            "there is no loop %lld in the ledger", id);
    }
    if (status == STATUS_OK) {
        const char **texts[10];
        set_row(row, &query);
        list_texts(row, texts);
        for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
            *texts[i] = NULL;
        }
    }
    query_end(&query);
    return status;
}

enum status ledger_count_loops(
    struct ledger *ledger, const struct ledger_search *search, size_t *count, struct error *err)
{
    struct text sql = {0};
    struct query query;
    long long found = 0;
    text_add_format(&sql, "SELECT COUNT(*) FROM loop WHERE %s(%s)",
        search->has_old ? "" : "loop.is_current = 1 AND ", where_get_sql(search->where));
    if (sql.failed) {
        text_clear(&sql);
        return fail_memory(err);
    }
    query_begin_made(&query, ledger, sql.bytes);
    where_add_values(search->where, &query);
    const enum status status = query_run_integer(&query, &found, err);
    text_clear(&sql);
    if (status == STATUS_OK) {
        *count = (size_t)found;
    }
    return status;
}

static enum status keep_row(const struct ledger_row *row, void *user, struct error *err)
{
    struct ledger_rows *rows = user;
    const char **texts[10];
    bool has_memory = true;
    struct ledger_row *list =
        memory_reserve(rows->list, &rows->capacity, rows->count + 1, sizeof *list);
    if (list == NULL) {
        return fail_memory(err);
    }
    rows->list = list;
    struct ledger_row *kept = &rows->list[rows->count++];
    *kept = *row;
    list_texts(kept, texts);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        *texts[i] = memory_copy_text(*texts[i]);
        has_memory = has_memory && *texts[i] != NULL;
    }
    return has_memory ? STATUS_OK : fail_memory(err);
}

enum status ledger_read_loops(struct ledger *ledger, const struct ledger_search *search,
    struct ledger_rows *rows, struct error *err)
{
    struct ledger_rows made = {0};
    const enum status status = ledger_visit_loops(ledger, search, keep_row, &made, err);
    if (status != STATUS_OK) {
        ledger_rows_clear(&made);
        return status;
    }
    *rows = made;
    return STATUS_OK;
}

void ledger_rows_clear(struct ledger_rows *rows)
{
    for (size_t i = 0; i < rows->count; i++) {
        const char **texts[10];
        list_texts(&rows->list[i], texts);
        for (size_t j = 0; j < sizeof texts / sizeof texts[0]; j++) {
            memory_destroy((char *)(size_t)*texts[j]);
        }
    }
    memory_destroy(rows->list);
    *rows = (struct ledger_rows){0};
}

static enum status keep_id(const struct ledger_row *row, void *user, struct error *err)
{
    struct ledger_ids *ids = user;
    long long *list = memory_reserve(ids->list, &ids->capacity, ids->count + 1, sizeof *list);
    if (list == NULL) {
        return fail_memory(err);
    }
    ids->list = list;
    ids->list[ids->count++] = row->id;
    return STATUS_OK;
}

enum status ledger_find_ids(struct ledger *ledger, const struct ledger_search *search,
    struct ledger_ids *ids, struct error *err)
{
    return ledger_visit_loops(ledger, search, keep_id, ids, err);
}
