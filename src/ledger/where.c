// SPDX-License-Identifier: GPL-3.0-or-later
/* Texts of a condition, and its parts as SQL. where_read.c reads the words. */
#include <string.h>

#include "base/memory.h"
#include "ledger/where_part.h"

/* What a text is compared with: "%s" becomes "= ?" or "LIKE ? ESCAPE '\'". */
struct field {
    const char *name;
    const char *sql; /* is true for the loops meant */
    int parameters;
};
static const struct field fields[] = {
    {"supplier",
        "loop.heat_id IN (SELECT heat.id FROM heat JOIN supplier ON supplier.id = heat.supplier_id "
        "WHERE supplier.name @)",
        1},
    {"alloy",
        "loop.heat_id IN (SELECT heat.id FROM heat JOIN alloy ON alloy.id = heat.alloy_id "
        "WHERE alloy.name @)",
        1},
    {"heat", "loop.heat_id IN (SELECT id FROM heat WHERE name @)", 1},
    {"specimen", "loop.specimen_id IN (SELECT id FROM specimen WHERE name @)", 1},
    {"rig",
        "loop.rig_version_id IN (SELECT rig_version.id FROM rig_version JOIN rig ON rig.id = "
        "rig_version.rig_id WHERE rig.name @)",
        1},
    {"file", "loop.capture_id IN (SELECT id FROM capture WHERE file @)", 1},
    {"program", "loop.program @", 1},
    {"tag",
        "(loop.id IN (SELECT subject_id FROM tag WHERE subject = 'loop' AND word @) OR "
        "loop.capture_id IN (SELECT subject_id FROM tag WHERE subject = 'capture' AND word @) OR "
        "loop.specimen_id IN (SELECT subject_id FROM tag WHERE subject = 'specimen' AND word @) OR "
        "loop.heat_id IN (SELECT subject_id FROM tag WHERE subject = 'heat' AND word @))",
        4},
    {"note", "(' ' || loop.note_codes || ' ') LIKE ? ESCAPE '\\'", 1},
};
#define FIELD_COUNT (sizeof fields / sizeof fields[0])

struct ledger_where *ledger_where_create(void)
{
    return memory_create(1, sizeof(struct ledger_where));
}

void ledger_where_destroy(struct ledger_where *where)
{
    if (where == NULL) {
        return;
    }
    for (size_t i = 0; i < where->count; i++) {
        memory_destroy(where->values[i].words);
    }
    memory_destroy(where->values);
    text_clear(&where->sql);
    memory_destroy(where);
}

const char *where_get_sql(const struct ledger_where *where)
{
    return where_is_empty(where) ? "1 = 1" : where->sql.bytes;
}

bool where_is_empty(const struct ledger_where *where)
{
    return where == NULL || where->sql.length == 0;
}

void where_add_values(const struct ledger_where *where, struct query *query)
{
    for (size_t i = 0; where != NULL && i < where->count; i++) {
        if (where->values[i].words != NULL) {
            query_add_text(query, where->values[i].words);
        } else {
            query_add_number(query, where->values[i].number);
        }
    }
}

static enum status add_value(
    struct ledger_where *where, struct where_value value, struct error *err)
{
    struct where_value *values =
        memory_reserve(where->values, &where->capacity, where->count + 1, sizeof *values);
    if (values == NULL) {
        memory_destroy(value.words);
        return fail_memory(err);
    }
    where->values = values;
    where->values[where->count++] = value;
    return STATUS_OK;
}

enum status where_add_number(struct ledger_where *where, double number, struct error *err)
{
    return add_value(where, (struct where_value){.number = number}, err);
}

/* '*' as LIKE has it, what LIKE would read as a sign made plain. */
static void add_pattern(struct text *out, const char *words)
{
    for (const char *at = words; *at != '\0'; at++) {
        if (*at == '%' || *at == '_' || *at == '\\') {
            text_add(out, "\\");
        }
        text_add_bytes(out, *at == '*' ? "%" : at, 1);
    }
}

static enum status add_words(
    struct ledger_where *where, const char *words, bool is_pattern, bool is_note, struct error *err)
{
    struct text value = {0};
    text_add(&value, is_note ? "% " : "");
    if (is_pattern) {
        add_pattern(&value, words);
    } else {
        text_add(&value, words);
    }
    text_add(&value, is_note ? " %" : "");
    if (value.failed) {
        text_clear(&value);
        return fail_memory(err);
    }
    return add_value(where, (struct where_value){.words = value.bytes}, err);
}

static const struct field *find_field(const char *name)
{
    for (size_t i = 0; i < FIELD_COUNT; i++) {
        if (strcmp(name, fields[i].name) == 0) {
            return &fields[i];
        }
    }
    return NULL;
}

bool where_is_field(const char *name)
{
    return find_field(name) != NULL;
}

enum status where_add_field(
    struct ledger_where *where, const char *name, const char *words, bool is_not, struct error *err)
{
    const struct field *field = find_field(name);
    if (field == NULL) {
        return fail(err, STATUS_FAULT, "", "the ledger has no field '%s'", name);
    }
    const bool is_note = strcmp(field->name, "note") == 0;
    const bool is_pattern = is_note || strchr(words, '*') != NULL;
    enum status status = STATUS_OK;
    text_add(&where->sql, is_not ? "NOT " : "");
    for (const char *at = field->sql; *at != '\0'; at++) {
        if (*at == '@') {
            text_add(&where->sql, is_pattern ? "LIKE ? ESCAPE '\\'" : "= ?");
        } else {
            text_add_bytes(&where->sql, at, 1);
        }
    }
    for (int i = 0; i < field->parameters && status == STATUS_OK; i++) {
        status = add_words(where, words, is_pattern, is_note, err);
    }
    return status == STATUS_OK && where->sql.failed ? fail_memory(err) : status;
}

enum status ledger_where_add_text(
    struct ledger_where *where, const char *field, const char *words, struct error *err)
{
    if (words == NULL) {
        return STATUS_OK;
    }
    text_add(&where->sql, where->sql.length > 0 ? " AND " : "");
    return where_add_field(where, field, words, false, err);
}

static const char *const row_conditions[LEDGER_KIND_COUNT] = {
    [LEDGER_KIND_SUPPLIER] = "loop.heat_id IN (SELECT id FROM heat WHERE supplier_id = ?)",
    [LEDGER_KIND_ALLOY] = "loop.heat_id IN (SELECT id FROM heat WHERE alloy_id = ?)",
    [LEDGER_KIND_HEAT] = "loop.heat_id = ?",
    [LEDGER_KIND_SPECIMEN] = "loop.specimen_id = ?",
    [LEDGER_KIND_RIG] = "loop.rig_version_id IN (SELECT id FROM rig_version WHERE rig_id = ?)",
    [LEDGER_KIND_CAPTURE] = "loop.capture_id = ?",
    [LEDGER_KIND_LOOP] = "loop.id = ?",
    [LEDGER_KIND_SERIES] =
        "loop.id IN (SELECT loop_id FROM made_from WHERE subject = 'series' AND subject_id = ?)",
    [LEDGER_KIND_CARD] =
        "loop.id IN (SELECT loop_id FROM made_from WHERE subject = 'card' AND subject_id = ?)",
    [LEDGER_KIND_VERDICT] =
        "loop.id IN (SELECT loop_id FROM made_from WHERE subject = 'verdict' AND subject_id = ?)",
};

enum status ledger_where_add_row(
    struct ledger_where *where, enum ledger_kind kind, long long id, struct error *err)
{
    if (row_conditions[kind] == NULL) {
        return fail(err, STATUS_USAGE, "ask for loops of a heat or a specimen", "a %s has no loops",
            ledger_kind_get_name(kind));
    }
    text_add_format(
        &where->sql, "%s%s", where->sql.length > 0 ? " AND " : "", row_conditions[kind]);
    const enum status status = where_add_number(where, (double)id, err);
    return status == STATUS_OK && where->sql.failed ? fail_memory(err) : status;
}
