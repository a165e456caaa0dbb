// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/source.h"

#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/tree.h"
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

/* The numbers first: what a visit adds is not visited. */
enum status ledger_visit_sources(struct ledger *ledger, const struct ledger_search *search,
    ledger_visit_source visit, void *user, struct error *err)
{
    struct ledger_ids ids = {0};
    enum status status = ledger_find_ids(ledger, search, &ids, err);
    for (size_t i = 0; i < ids.count && status == STATUS_OK; i++) {
        status = ledger_visit_source_of(ledger, ids.list[i], visit, user, err);
    }
    memory_destroy(ids.list);
    return status;
}

/* --- as JSON --------------------------------------------------------------------------------- */

/* Text that is JSON already, as a member. */
static enum status add_json(
    struct json *json, const char *key, const char *words, struct error *err)
{
    struct tree *tree = NULL;
    if (words == NULL || words[0] == '\0' || strcmp(words, "{}") == 0) {
        return STATUS_OK;
    }
    const enum status status = tree_read_bytes("ledger", words, strlen(words), &tree, err);
    if (status == STATUS_OK) {
        tree_write_json(json, key, tree_get_root(tree));
    }
    tree_destroy(tree);
    return status;
}

static void add_capture(struct json *json, const struct ledger_source *source)
{
    json_begin_object(json, "capture");
    json_add_text(json, "file", source->file);
    json_add_text(json, "sha256", source->sha256);
    if (source->channels > 0) {
        json_add_integer(json, "channels", source->channels);
    }
    if (source->frames > 0) {
        json_add_integer(json, "frames", source->frames);
    }
    if (source->sample_rate_Hz > 0) {
        json_add_number(json, "sample_rate_Hz", source->sample_rate_Hz);
    }
    if (source->has_part) {
        json_add_number(json, "start_s", source->start_s);
        json_add_number(json, "length_s", source->length_s);
    }
    json_end_object(json);
}

enum status ledger_source_write(
    const struct ledger_source *source, struct text *out, struct error *err)
{
    struct json json;
    json_init(&json, out, 0);
    json_begin_object(&json, NULL);
    json_add_text(&json, "schema", "lodecard-loop/1");
    json_add_text(&json, "version", source->program);
    add_capture(&json, source);
    enum status status = add_json(&json, "rig", source->rig, err);
    if (status == STATUS_OK) {
        status = add_json(&json, "specimen", source->specimen, err);
    }
    figures_write_json(&json, "figures", &source->figures);
    if (status == STATUS_OK) {
        status = add_json(&json, "notes", source->notes, err);
    }
    if (status == STATUS_OK) {
        status = add_json(&json, "points", source->points, err);
    }
    json_end_object(&json);
    json_finish(&json);
    return status == STATUS_OK && out->failed ? fail_memory(err) : status;
}
