// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/base_rows.h"

#include <string.h>

#include "ledger/journal.h"

/* Suppliers, alloys, rigs: rows of an id and a name. */
static enum status name_row(struct ledger *ledger, enum table table, const char *find_sql,
    const char *add_sql, const char *name, long long *id, struct error *err)
{
    struct query query;
    query_begin(&query, ledger, find_sql);
    query_add_text(&query, text_or_empty(name));
    enum status status = query_run_integer(&query, id, err);
    if (status == STATUS_OK && *id == 0) {
        status = journal_next_id(ledger, table, id, err);
        if (status == STATUS_OK) {
            query_begin(&query, ledger, add_sql);
            query_add_integer(&query, *id);
            query_add_text(&query, text_or_empty(name));
            status = journal_run_add(&query, table, *id, err);
        }
    }
    return status;
}

static enum status heat_row(
    struct ledger *ledger, const struct ledger_loop *loop, long long *id, struct error *err)
{
    struct query query;
    long long supplier = 0, alloy = 0;
    enum status status = name_row(ledger, TABLE_SUPPLIER, "SELECT id FROM supplier WHERE name = ?",
        "INSERT INTO supplier (id, name) VALUES (?, ?)", loop->supplier, &supplier, err);
    if (status == STATUS_OK) {
        status = name_row(ledger, TABLE_ALLOY, "SELECT id FROM alloy WHERE name = ?",
            "INSERT INTO alloy (id, name) VALUES (?, ?)", loop->alloy, &alloy, err);
    }
    if (status == STATUS_OK) {
        query_begin(&query, ledger,
            "SELECT id FROM heat WHERE name = ? AND supplier_id = ? AND alloy_id = ?");
        query_add_text(&query, text_or_empty(loop->heat));
        query_add_integer(&query, supplier);
        query_add_integer(&query, alloy);
        status = query_run_integer(&query, id, err);
    }
    if (status == STATUS_OK && *id == 0) {
        status = journal_next_id(ledger, TABLE_HEAT, id, err);
        if (status == STATUS_OK) {
            query_begin(&query, ledger,
                "INSERT INTO heat (id, name, supplier_id, alloy_id) VALUES (?, ?, ?, ?)");
            query_add_integer(&query, *id);
            query_add_text(&query, text_or_empty(loop->heat));
            query_add_integer(&query, supplier);
            query_add_integer(&query, alloy);
            status = journal_run_add(&query, TABLE_HEAT, *id, err);
        }
    }
    return status;
}

static enum status specimen_row(struct ledger *ledger, const struct ledger_loop *loop,
    long long heat, long long *id, struct error *err)
{
    struct query query;
    query_begin(&query, ledger, "SELECT id FROM specimen WHERE heat_id = ? AND name = ?");
    query_add_integer(&query, heat);
    query_add_text(&query, text_or_empty(loop->specimen_name));
    enum status status = query_run_integer(&query, id, err);
    if (status == STATUS_OK && *id == 0) {
        status = journal_next_id(ledger, TABLE_SPECIMEN, id, err);
        if (status == STATUS_OK) {
            query_begin(
                &query, ledger, "INSERT INTO specimen (id, name, heat_id) VALUES (?, ?, ?)");
            query_add_integer(&query, *id);
            query_add_text(&query, text_or_empty(loop->specimen_name));
            query_add_integer(&query, heat);
            status = journal_run_add(&query, TABLE_SPECIMEN, *id, err);
        }
    }
    return status;
}

/* Versions of a rig or a specimen. */
struct version {
    enum table table;
    long long owner;
    const char *document;
    const char *source;
    const char *calibration_day; /* rigs */
};

static const char *const version_find[] = {
    "SELECT id, source IS NULL FROM specimen_version WHERE specimen_id = ? AND sha256 = ?",
    "SELECT id, source IS NULL FROM rig_version WHERE rig_id = ? AND sha256 = ?"};
static const char *const version_add[] = {
    "INSERT INTO specimen_version (id, specimen_id, sha256, document, source) "
    "VALUES (?, ?, ?, ?, ?)",
    "INSERT INTO rig_version (id, rig_id, sha256, document, source, calibration_day) "
    "VALUES (?, ?, ?, ?, ?, ?)"};
static const char *const version_source[] = {"UPDATE specimen_version SET source = ? WHERE id = ?",
    "UPDATE rig_version SET source = ? WHERE id = ?"};

/* A version that came as JSON gets its source when that turns up. */
static enum status add_source(
    struct ledger *ledger, const struct version *version, long long id, struct error *err)
{
    struct query query;
    struct text before = {0};
    enum status status = journal_keep(ledger, version->table, id, &before, err);
    if (status == STATUS_OK) {
        query_begin(&query, ledger, version_source[version->table == TABLE_RIG_VERSION]);
        query_add_text(&query, version->source);
        query_add_integer(&query, id);
        status = query_run(&query, err);
    }
    if (status == STATUS_OK) {
        status = journal_change(ledger, version->table, id, &before, err);
    }
    text_clear(&before);
    return status;
}

static enum status version_row(
    struct ledger *ledger, const struct version *version, long long *id, struct error *err)
{
    const bool is_rig = version->table == TABLE_RIG_VERSION;
    char digest[DIGEST_TEXT_SIZE];
    struct query query;
    bool has_row = false, lacks_source = false;
    digest_bytes(version->document, strlen(version->document), digest);
    query_begin(&query, ledger, version_find[is_rig]);
    query_add_integer(&query, version->owner);
    query_add_text(&query, digest);
    enum status status = query_step(&query, &has_row, err);
    if (status == STATUS_OK && has_row) {
        *id = query_get_integer(&query, 0);
        lacks_source = query_get_integer(&query, 1) != 0;
    }
    query_end(&query);
    if (status != STATUS_OK || has_row) {
        return status == STATUS_OK && lacks_source && version->source != NULL
                   ? add_source(ledger, version, *id, err)
                   : status;
    }
    status = journal_next_id(ledger, version->table, id, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger, version_add[is_rig]);
    query_add_integer(&query, *id);
    query_add_integer(&query, version->owner);
    query_add_text(&query, digest);
    query_add_text(&query, version->document);
    query_add_text(&query, version->source);
    if (is_rig) {
        query_add_text(&query, text_or_empty(version->calibration_day));
    }
    return journal_run_add(&query, version->table, *id, err);
}

static void add_whole(struct query *query, long long value)
{
    if (value > 0) {
        query_add_integer(query, value);
    } else {
        query_add_null(query);
    }
}

static enum status capture_row(
    struct ledger *ledger, const struct ledger_loop *loop, long long *id, struct error *err)
{
    struct query query;
    query_begin(&query, ledger, "SELECT id FROM capture WHERE sha256 = ?");
    query_add_text(&query, loop->sha256);
    enum status status = query_run_integer(&query, id, err);
    if (status != STATUS_OK || *id != 0) {
        return status;
    }
    status = journal_next_id(ledger, TABLE_CAPTURE, id, err);
    if (status != STATUS_OK) {
        return status;
    }
    query_begin(&query, ledger,
        "INSERT INTO capture (id, sha256, file, path, channels, frames, sample_rate_Hz) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)");
    query_add_integer(&query, *id);
    query_add_text(&query, loop->sha256);
    query_add_text(&query, text_or_empty(loop->file));
    query_add_text(&query, loop->path);
    add_whole(&query, loop->channels);
    add_whole(&query, loop->frames);
    if (loop->sample_rate_Hz > 0) {
        query_add_number(&query, loop->sample_rate_Hz);
    } else {
        query_add_null(&query);
    }
    return journal_run_add(&query, TABLE_CAPTURE, *id, err);
}

enum status base_rows_find(struct ledger *ledger, const struct ledger_loop *loop,
    struct base_rows *rows, struct error *err)
{
    long long rig = 0;
    enum status status = heat_row(ledger, loop, &rows->heat, err);
    if (status == STATUS_OK) {
        status = specimen_row(ledger, loop, rows->heat, &rows->specimen, err);
    }
    if (status == STATUS_OK) {
        const struct version version = {
            .table = TABLE_SPECIMEN_VERSION,
            .owner = rows->specimen,
            .document = loop->specimen != NULL ? loop->specimen : "{}",
            .source = loop->specimen_source,
        };
        status = version_row(ledger, &version, &rows->specimen_version, err);
    }
    if (status == STATUS_OK) {
        status = name_row(ledger, TABLE_RIG, "SELECT id FROM rig WHERE name = ?",
            "INSERT INTO rig (id, name) VALUES (?, ?)", loop->rig_name, &rig, err);
    }
    if (status == STATUS_OK) {
        const struct version version = {
            .table = TABLE_RIG_VERSION,
            .owner = rig,
            .document = loop->rig != NULL ? loop->rig : "{}",
            .source = loop->rig_source,
            .calibration_day = loop->calibration_day,
        };
        status = version_row(ledger, &version, &rows->rig_version, err);
    }
    return status == STATUS_OK ? capture_row(ledger, loop, &rows->capture, err) : status;
}
