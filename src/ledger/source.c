// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/source.h"

#include "base/memory.h"
#include "ledger/sql.h"

static const char *get_text(const struct query *query, int column)
{
    return query_is_null(query, column) ? NULL : query_get_text(query, column);
}

static const char sources[] =
    "SELECT loop.id, capture.id, capture.file, capture.sha256, capture.path, capture.channels, "
    "capture.frames, capture.sample_rate_Hz, loop.start_s, loop.length_s, rig_version.document, "
    "rig_version.source, specimen_version.document, specimen_version.source, loop.settings, "
    "loop.program, loop.notes, loop_points.document, capture_bytes.bytes FROM loop "
    "JOIN capture ON capture.id = loop.capture_id "
    "JOIN rig_version ON rig_version.id = loop.rig_version_id "
    "JOIN specimen_version ON specimen_version.id = loop.specimen_version_id "
    "LEFT JOIN loop_points ON loop_points.id = loop.id "
    "LEFT JOIN capture_bytes ON capture_bytes.id = capture.id WHERE loop.id = ?";

static void set_source(struct ledger_source *source, const struct query *query)
{
    *source = (struct ledger_source){
        .id = query_get_integer(query, 0),
        .capture_id = query_get_integer(query, 1),
        .file = get_text(query, 2),
        .sha256 = get_text(query, 3),
        .path = get_text(query, 4),
        .channels = query_get_integer(query, 5),
        .frames = query_get_integer(query, 6),
        .sample_rate_Hz = query_get_number(query, 7),
        .has_part = !query_is_null(query, 8),
        .start_s = query_get_number(query, 8),
        .length_s = query_get_number(query, 9),
        .rig = get_text(query, 10),
        .rig_source = get_text(query, 11),
        .specimen = get_text(query, 12),
        .specimen_source = get_text(query, 13),
        .settings = get_text(query, 14),
        .program = get_text(query, 15),
        .notes = get_text(query, 16),
        .points = get_text(query, 17),
        .bytes = sqlite3_column_blob(query->statement, 18),
        .byte_count = (size_t)sqlite3_column_bytes(query->statement, 18),
    };
}

enum status ledger_visit_source_of(
    struct ledger *ledger, long long id, ledger_visit_source visit, void *user, struct error *err)
{
    struct query query;
    struct ledger_source source;
    struct ledger_row row = {0};
    bool has_row = false;
    enum status status = ledger_get_loop(ledger, id, &row, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger, sources);
    query_add_integer(&query, id);
    status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && has_row) {
        set_source(&source, &query);
        source.figures = row.figures;
        status = visit(&source, user, err);
    }
    query_end(&query);
    return status;
}

struct ids {
    long long *list;
    size_t count, capacity;
};

static enum status keep_id(const struct ledger_row *row, void *user, struct error *err)
{
    struct ids *ids = user;
    long long *list = memory_reserve(ids->list, &ids->capacity, ids->count + 1, sizeof *list);
    if (list == NULL) {
        return fail_memory(err);
    }
    ids->list = list;
    ids->list[ids->count++] = row->id;
    return STATUS_OK;
}

/* The numbers first: what a visit adds is not visited. */
enum status ledger_visit_sources(struct ledger *ledger, const struct ledger_search *search,
    ledger_visit_source visit, void *user, struct error *err)
{
    struct ids ids = {0};
    enum status status = ledger_visit_loops(ledger, search, keep_id, &ids, err);
    for (size_t i = 0; i < ids.count && status == STATUS_OK; i++) {
        status = ledger_visit_source_of(ledger, ids.list[i], visit, user, err);
    }
    memory_destroy(ids.list);
    return status;
}
