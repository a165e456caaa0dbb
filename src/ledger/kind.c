// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger/kind.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "ledger/kind_part.h"
#include "ledger/sql.h"

#define CELLS_MOST 32
#define HASH_LEAST 8

#define HEATS                                                                                      \
    "heat JOIN supplier ON supplier.id = heat.supplier_id JOIN alloy ON alloy.id = heat.alloy_id "

struct kind_entry {
    const char *name, *plural;
    enum table table;
    const char *find; /* id of the rows of that name, at most two */
    const char *list; /* NULL: no list */
    const char *show;
    const char *count;
};

#define BY_NAME(table) "SELECT id FROM " table " WHERE name = ? LIMIT 2"
#define COUNT_OF(table) "SELECT COUNT(*) FROM " table

static const struct kind_entry kinds[LEDGER_KIND_COUNT] = {
    [LEDGER_KIND_SUPPLIER] = {"supplier", "suppliers", TABLE_SUPPLIER, BY_NAME("supplier"),
        "SELECT id, name AS supplier, (SELECT COUNT(*) FROM heat WHERE supplier_id = supplier.id) "
        "AS heats FROM supplier ORDER BY name",
        "SELECT id AS number, name FROM supplier WHERE id = ?", COUNT_OF("supplier")},
    [LEDGER_KIND_ALLOY] = {"alloy", "alloys", TABLE_ALLOY, BY_NAME("alloy"),
        "SELECT id, name AS alloy, (SELECT COUNT(*) FROM heat WHERE alloy_id = alloy.id) AS heats "
        "FROM alloy ORDER BY name",
        "SELECT id AS number, name FROM alloy WHERE id = ?", COUNT_OF("alloy")},
    [LEDGER_KIND_HEAT] = {"heat", "heats", TABLE_HEAT, BY_NAME("heat"),
        "SELECT heat.id, supplier.name AS supplier, alloy.name AS alloy, heat.name AS heat, "
        "(SELECT COUNT(*) FROM specimen WHERE heat_id = heat.id) AS specimens, "
        "(SELECT COUNT(*) FROM loop WHERE is_current = 1 AND heat_id = heat.id) AS loops "
        "FROM " HEATS "ORDER BY supplier.name, alloy.name, heat.name, heat.id",
        "SELECT heat.id AS number, heat.name, supplier.name AS supplier, alloy.name AS alloy "
        "FROM " HEATS "WHERE heat.id = ?",
        COUNT_OF("heat")},
    [LEDGER_KIND_SPECIMEN] = {"specimen", "specimens", TABLE_SPECIMEN, BY_NAME("specimen"),
        "SELECT specimen.id, specimen.name AS specimen, heat.name AS heat, alloy.name AS alloy, "
        "supplier.name AS supplier, (SELECT COUNT(*) FROM specimen_version WHERE specimen_id = "
        "specimen.id) AS versions, (SELECT COUNT(*) FROM loop WHERE specimen_id = specimen.id AND "
        "is_current = 1) AS loops FROM specimen JOIN heat ON heat.id = specimen.heat_id JOIN "
        "supplier ON supplier.id = heat.supplier_id JOIN alloy ON alloy.id = heat.alloy_id "
        "ORDER BY supplier.name, heat.name, specimen.name, specimen.id",
        "SELECT specimen.id AS number, specimen.name, heat.name AS heat, alloy.name AS alloy, "
        "supplier.name AS supplier, specimen_version.sha256 AS version, specimen_version.document "
        "AS values_now FROM specimen JOIN heat ON heat.id = specimen.heat_id JOIN supplier ON "
        "supplier.id = heat.supplier_id JOIN alloy ON alloy.id = heat.alloy_id LEFT JOIN "
        "specimen_version ON specimen_version.specimen_id = specimen.id WHERE specimen.id = ? "
        "ORDER BY specimen_version.id",
        COUNT_OF("specimen")},
    [LEDGER_KIND_RIG] = {"rig", "rigs", TABLE_RIG, BY_NAME("rig"),
        "SELECT rig.id, rig.name AS rig, rig_version.id AS version, rig_version.calibration_day AS "
        "calibrated, (SELECT COUNT(*) FROM loop WHERE rig_version_id = rig_version.id AND "
        "is_current = 1) AS loops FROM rig JOIN rig_version ON rig_version.rig_id = rig.id "
        "ORDER BY rig.name, rig_version.id",
        "SELECT rig.id AS number, rig.name, rig_version.id AS version, rig_version.calibration_day "
        "AS calibrated, rig_version.sha256, rig_version.document AS values_now FROM rig JOIN "
        "rig_version ON rig_version.rig_id = rig.id WHERE rig.id = ? ORDER BY rig_version.id",
        COUNT_OF("rig")},
    [LEDGER_KIND_CAPTURE] = {"capture", "captures", TABLE_CAPTURE,
        "SELECT id FROM capture WHERE file = ? LIMIT 2",
        "SELECT capture.id, capture.file, SUBSTR(capture.sha256, 1, 12) AS hash, capture.frames, "
        "capture.path AS lay_at, (SELECT 'kept' FROM capture_bytes WHERE capture_bytes.id = "
        "capture.id) AS bytes FROM capture ORDER BY capture.id",
        "SELECT capture.id AS number, capture.file, capture.sha256, capture.path AS lay_at, "
        "capture.channels, capture.frames, capture.sample_rate_Hz, (SELECT LENGTH(bytes) FROM "
        "capture_bytes WHERE capture_bytes.id = capture.id) AS bytes_kept FROM capture WHERE "
        "capture.id = ?",
        COUNT_OF("capture")},
    [LEDGER_KIND_LOOP] = {"loop", "loops", TABLE_LOOP,
        "SELECT id FROM loop WHERE ? IS NULL LIMIT 2", /* a loop has no name */
        NULL,
        "SELECT loop.id AS number, CASE loop.is_current WHEN 0 THEN 'computed anew since' END AS "
        "state, capture.file AS capture, capture.sha256, specimen.name AS specimen, heat.name AS "
        "heat, alloy.name AS alloy, supplier.name AS supplier, rig.name AS rig, "
        "rig_version.calibration_day AS calibrated, loop.program, loop.start_s, loop.length_s, "
        "loop.note_codes AS notes FROM loop JOIN capture ON capture.id = loop.capture_id JOIN "
        "specimen ON specimen.id = loop.specimen_id JOIN heat ON heat.id = loop.heat_id JOIN alloy "
        "ON alloy.id = heat.alloy_id JOIN supplier ON supplier.id = heat.supplier_id JOIN "
        "rig_version ON rig_version.id = loop.rig_version_id JOIN rig ON rig.id = "
        "rig_version.rig_id WHERE loop.id = ?",
        "SELECT COUNT(*) FROM loop WHERE is_current = 1"},
    [LEDGER_KIND_SERIES] = {"series", "series", TABLE_SERIES, BY_NAME("series"),
        "SELECT series.id, series.name AS series_name, heat.name AS heat, (SELECT COUNT(*) FROM "
        "made_from WHERE "
        "subject = 'series' AND subject_id = series.id) AS loops FROM series LEFT JOIN heat ON "
        "heat.id = "
        "series.heat_id ORDER BY series.id",
        "SELECT series.id AS number, series.name, heat.name AS heat, series.sha256, (SELECT "
        "GROUP_CONCAT(loop_id, ' ') FROM made_from WHERE subject = 'series' AND subject_id = "
        "series.id) AS "
        "loops, LENGTH(series.document) AS bytes FROM series LEFT JOIN heat ON heat.id = "
        "series.heat_id WHERE "
        "series.id = ?",
        COUNT_OF("series")},
    [LEDGER_KIND_CARD] = {"card", "cards", TABLE_CARD, BY_NAME("card"),
        "SELECT card.id, card.name AS card_name, heat.name AS heat, (SELECT COUNT(*) FROM "
        "made_from WHERE "
        "subject = 'card' AND subject_id = card.id) AS loops FROM card LEFT JOIN heat ON heat.id = "
        "card.heat_id ORDER BY card.id",
        "SELECT card.id AS number, card.name, heat.name AS heat, card.sha256, (SELECT "
        "GROUP_CONCAT(loop_id, ' ') FROM made_from WHERE subject = 'card' AND subject_id = "
        "card.id) AS "
        "loops, LENGTH(card.document) AS bytes FROM card LEFT JOIN heat ON heat.id = card.heat_id "
        "WHERE "
        "card.id = ?",
        COUNT_OF("card")},
    [LEDGER_KIND_VERDICT] = {"verdict", "verdicts", TABLE_VERDICT, BY_NAME("verdict"),
        "SELECT verdict.id, verdict.name AS limits, verdict.word, verdict.day, verdict.person, "
        "heat.name AS heat, (SELECT COUNT(*) FROM made_from WHERE "
        "subject = 'verdict' AND subject_id = verdict.id) AS loops FROM verdict LEFT JOIN heat ON "
        "heat.id = "
        "verdict.heat_id ORDER BY verdict.id",
        "SELECT verdict.id AS number, verdict.name, verdict.word, verdict.day, verdict.person, "
        "heat.name AS heat, verdict.sha256, (SELECT "
        "GROUP_CONCAT(loop_id, ' ') FROM made_from WHERE subject = 'verdict' AND subject_id = "
        "verdict.id) AS "
        "loops, LENGTH(verdict.document) AS bytes, verdict.limits AS limits FROM verdict LEFT JOIN "
        "heat ON heat.id = "
        "verdict.heat_id WHERE "
        "verdict.id = ?",
        COUNT_OF("verdict")},
    [LEDGER_KIND_REMARK] = {"remark", "remarks", TABLE_REMARK,
        "SELECT id FROM remark WHERE words = ? LIMIT 2",
        "SELECT id, subject || ' ' || subject_id AS of_row, day, person, words FROM remark "
        "ORDER BY id",
        "SELECT id AS number, subject || ' ' || subject_id AS of_row, day, person, words FROM "
        "remark WHERE id = ?",
        COUNT_OF("remark")},
    [LEDGER_KIND_TAG] = {"tag", "tags", TABLE_TAG, "SELECT id FROM tag WHERE word = ? LIMIT 2",
        "SELECT word AS tag, subject || ' ' || subject_id AS of_row FROM tag "
        "ORDER BY word, subject, subject_id",
        "SELECT id AS number, word, subject || ' ' || subject_id AS of_row FROM tag WHERE id = ?",
        COUNT_OF("tag")},
    [LEDGER_KIND_CHANGE] = {"change", "changes", TABLE_CHANGE_SET,
        "SELECT id FROM change_set WHERE ? IS NULL LIMIT 2",
        "SELECT change_set.id, command, day, person, program, undoes, COUNT(journal.id) AS rows "
        "FROM change_set LEFT JOIN journal ON journal.change_id = change_set.id AND "
        "journal.subject <> 'change_set' GROUP BY change_set.id ORDER BY change_set.id",
        "SELECT id AS number, command, day, person, program, undoes FROM change_set WHERE id = ?",
        COUNT_OF("change_set")},
};

const char *ledger_kind_get_name(enum ledger_kind kind)
{
    return kinds[kind].name;
}

const char *ledger_kind_get_plural(enum ledger_kind kind)
{
    return kinds[kind].plural;
}

enum table kind_get_table(enum ledger_kind kind)
{
    return kinds[kind].table;
}

enum status ledger_kind_read(const char *word, enum ledger_kind *kind, struct error *err)
{
    const char *names[LEDGER_KIND_COUNT + 1] = {0};
    char hint[200];
    for (size_t i = 0; i < LEDGER_KIND_COUNT; i++) {
        if (strcmp(word, kinds[i].name) == 0 || strcmp(word, kinds[i].plural) == 0) {
            *kind = (enum ledger_kind)i;
            return STATUS_OK;
        }
        names[i] = kinds[i].name;
    }
    const char *nearest = text_nearest(word, names);
    if (nearest != NULL) {
        snprintf(hint, sizeof hint, "did you mean '%s'?", nearest);
    } else {
        snprintf(hint, sizeof hint,
            "there are: supplier, alloy, heat, specimen, rig, capture, loop, series, card, "
            "verdict, remark, tag, change");
    }
    return fail(err, STATUS_USAGE, hint, "a ledger holds nothing called '%.60s'", word);
}

static enum status find_hash(struct query *query, struct ledger *ledger, struct text *pattern,
    const char *word, struct error *err)
{
    text_add_format(pattern, "%s%%", word);
    if (pattern->failed) {
        return fail_memory(err);
    }
    query_begin(query, ledger, "SELECT id FROM capture WHERE sha256 LIKE ? LIMIT 2");
    query_add_text(query, pattern->bytes);
    return STATUS_OK;
}

/* The ids that a question finds: how many (2: several), and the first. */
static enum status take_ids(struct query *query, int *count, long long *id, struct error *err)
{
    bool has_row = false;
    enum status status = query_step(query, &has_row, err);
    *count = 0;
    while (status == STATUS_OK && has_row && *count < 2) {
        if ((*count)++ == 0) {
            *id = query_get_integer(query, 0);
        }
        status = query_step(query, &has_row, err);
    }
    query_end(query);
    return status;
}

static bool is_number(const char *word)
{
    return *word != '\0' && strspn(word, "0123456789") == strlen(word) && strlen(word) < 18;
}

static bool is_hash(const char *word)
{
    return strlen(word) >= HASH_LEAST && strspn(word, "0123456789abcdef") == strlen(word);
}

enum status ledger_find_row(struct ledger *ledger, enum ledger_kind kind, const char *word,
    long long *id, struct error *err)
{
    struct query query;
    struct text pattern = {0};
    int count = 0;
    query_begin(&query, ledger, kinds[kind].find);
    query_add_text(&query, word);
    enum status status = take_ids(&query, &count, id, err);
    if (status == STATUS_OK && count == 0 && kind == LEDGER_KIND_CAPTURE && is_hash(word)) {
        status = find_hash(&query, ledger, &pattern, word, err);
        if (status == STATUS_OK) {
            status = take_ids(&query, &count, id, err);
        }
        text_clear(&pattern);
    }
    if (status == STATUS_OK && count == 0 && is_number(word)) {
        double number = 0;
        (void)text_read_number(word, strlen(word), &number);
        query_begin(&query, ledger, table_list[kinds[kind].table].get);
        query_add_integer(&query, (long long)number);
        status = take_ids(&query, &count, id, err);
    }
    if (status != STATUS_OK || count == 1) {
        return status;
    }
    char hint[160];
    snprintf(hint, sizeof hint,
        count == 0 ? "'lodecard ledger list %s' shows what there is"
                   : "say its number; 'lodecard ledger list %s' shows them",
        kind == LEDGER_KIND_LOOP ? "heats" : kinds[kind].plural);
    return count == 0
               ? fail(err, STATUS_USAGE,
                     kind == LEDGER_KIND_LOOP ? "'lodecard ledger find' shows the loops" : hint,
                     "there is no %s '%.80s' in the ledger", kinds[kind].name, word)
               : fail(err, STATUS_USAGE, hint, "several are called %s '%.80s'", kinds[kind].name,
                     word);
}

/* Calls `visit` with every row of a question. */
static enum status visit_rows(
    struct query *query, bool skips_empty, ledger_visit_cells visit, void *user, struct error *err)
{
    const char *names[CELLS_MOST], *cells[CELLS_MOST];
    bool has_row = false;
    enum status status = query_step(query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        size_t count = 0;
        for (int i = 0; i < sqlite3_column_count(query->statement) && count < CELLS_MOST; i++) {
            cells[count] = query_get_text(query, i);
            names[count] = sqlite3_column_name(query->statement, i);
            count += !skips_empty || cells[count][0] != '\0';
        }
        status = visit(names, cells, count, user, err);
        if (status == STATUS_OK) {
            status = query_step(query, &has_row, err);
        }
    }
    query_end(query);
    return status;
}

enum status ledger_visit_kind(struct ledger *ledger, enum ledger_kind kind,
    ledger_visit_cells visit, void *user, struct error *err)
{
    struct query query;
    if (kinds[kind].list == NULL) {
        return fail(err, STATUS_USAGE, "'lodecard ledger find' shows them",
            "%s are looked for, not listed", kinds[kind].plural);
    }
    query_begin(&query, ledger, kinds[kind].list);
    return visit_rows(&query, false, visit, user, err);
}

enum status ledger_visit_row(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_cells visit, void *user, struct error *err)
{
    struct query query;
    query_begin(&query, ledger, kinds[kind].show);
    query_add_integer(&query, id);
    return visit_rows(&query, true, visit, user, err);
}

static enum status visit_of(struct ledger *ledger, const char *sql, enum ledger_kind kind,
    long long id, ledger_visit_cells visit, void *user, struct error *err)
{
    struct query query;
    query_begin(&query, ledger, sql);
    query_add_text(&query, table_list[kinds[kind].table].name);
    query_add_integer(&query, id);
    return visit_rows(&query, false, visit, user, err);
}

enum status ledger_visit_remarks(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_cells visit, void *user, struct error *err)
{
    return visit_of(ledger,
        "SELECT id, words, day, person FROM remark WHERE subject = ? AND subject_id = ? ORDER BY "
        "id",
        kind, id, visit, user, err);
}

enum status ledger_visit_tags(struct ledger *ledger, enum ledger_kind kind, long long id,
    ledger_visit_cells visit, void *user, struct error *err)
{
    return visit_of(ledger,
        "SELECT id, word, '' AS day, '' AS person FROM tag WHERE subject = ? AND subject_id = ? "
        "ORDER BY word",
        kind, id, visit, user, err);
}

enum status ledger_visit_counts(
    struct ledger *ledger, ledger_visit_cells visit, void *user, struct error *err)
{
    enum status status = STATUS_OK;
    for (size_t i = 0; i < LEDGER_KIND_COUNT && status == STATUS_OK; i++) {
        struct query query;
        long long count = 0;
        char number[32];
        const char *const names[] = {"kind", "count"};
        const char *const cells[] = {kinds[i].plural, number};
        query_begin(&query, ledger, kinds[i].count);
        status = query_run_integer(&query, &count, err);
        snprintf(number, sizeof number, "%lld", count);
        if (status == STATUS_OK) {
            status = visit(names, cells, 2, user, err);
        }
    }
    return status;
}
