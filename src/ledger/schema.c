// SPDX-License-Identifier: GPL-3.0-or-later
/* The tables: schema.sql makes them, migrate-N.sql brings version N - 1 to N. Both stand in the
 * program as they are. The columns of the figures come from the table of figures, in a new ledger
 * and, when a figure is new, in an old one. */
#include "ledger/schema.h"

#include <string.h>

#include "ledger/sums.h"
#include "quantity/figure.h"

/* The bytes of a file of this folder, ended by a zero byte. The path is seen from the top of the
 * checkout, where make runs. */
#define INCLUDE_TEXT(symbol, path)                                                                 \
    __asm__(".section .rodata\n"                                                                   \
            ".global " #symbol "\n"                                                                \
            ".hidden " #symbol "\n" #symbol ":\n"                                                  \
            ".incbin \"" path "\"\n"                                                               \
            ".byte 0\n"                                                                            \
            ".previous\n");                                                                        \
    extern const char symbol[]

INCLUDE_TEXT(ledger_schema_sql, "src/ledger/schema.sql");
INCLUDE_TEXT(ledger_migrate_2_sql, "src/ledger/migrate-2.sql");
INCLUDE_TEXT(ledger_migrate_3_sql, "src/ledger/migrate-3.sql");
INCLUDE_TEXT(ledger_migrate_4_sql, "src/ledger/migrate-4.sql");

/* [N] brings version N - 1 to N. */
static const char *const migrations[SCHEMA_VERSION + 1] = {
    NULL, NULL, ledger_migrate_2_sql, ledger_migrate_3_sql, ledger_migrate_4_sql};

static const char figures_mark[] = "    -- FIGURES";

static enum status read_number(
    struct ledger *ledger, const char *literal, long long *value, struct error *err)
{
    struct query query;
    query_begin(&query, ledger, literal);
    return query_run_integer(&query, value, err);
}

enum status schema_find(struct ledger *ledger, struct schema_state *state, struct error *err)
{
    struct schema_state found = {0};
    long long tables = 0;
    enum status status = read_number(ledger, "PRAGMA application_id", &found.application, err);
    if (status == STATUS_OK) {
        status = read_number(ledger, "PRAGMA user_version", &found.version, err);
    }
    if (status == STATUS_OK) {
        status = read_number(ledger, "SELECT COUNT(*) FROM sqlite_master", &tables, err);
    }
    if (status == STATUS_OK) {
        found.is_empty = tables == 0 && found.application == 0 && found.version == 0;
        *state = found;
    }
    return status;
}

/* schema.sql with the columns of the figures in their place. */
static enum status create_tables(struct ledger *ledger, struct error *err)
{
    struct text sql = {0};
    const char *mark = strstr(ledger_schema_sql, figures_mark);
    text_add_bytes(&sql, ledger_schema_sql, (size_t)(mark - ledger_schema_sql));
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        text_add_format(
            &sql, "    %s REAL, u_%s REAL,\n", figure_table[i].key, figure_table[i].key);
    }
    text_add(&sql, mark);
    text_add_format(&sql, "PRAGMA application_id = %d;\nPRAGMA user_version = %d;\n",
        SCHEMA_APPLICATION, SCHEMA_VERSION);
    enum status status = sql.failed ? fail_memory(err) : sql_run(ledger, sql.bytes, err);
    text_clear(&sql);
    return status;
}

static enum status migrate(struct ledger *ledger, long long version, struct error *err)
{
    struct text sql = {0};
    for (long long next = version + 1; next <= SCHEMA_VERSION; next++) {
        text_add(&sql, migrations[next]);
    }
    text_add_format(&sql, "PRAGMA user_version = %d;\n", SCHEMA_VERSION);
    enum status status = sql.failed ? fail_memory(err) : sql_run(ledger, sql.bytes, err);
    text_clear(&sql);
    return status;
}

/* Which columns of figures the table has; refuses those of figures that only a newer program knows.
 */
static enum status find_columns(
    struct ledger *ledger, bool has[FIGURE_COUNT], bool *has_all, struct error *err)
{
    static const char first[] = "notes"; /* the columns behind it are figures */
    struct query query;
    bool is_behind = false;
    enum status status = STATUS_OK;
    query_begin(&query, ledger, table_list[TABLE_LOOP].get);
    *has_all = true;
    for (int i = 0; i < sqlite3_column_count(query.statement) && status == STATUS_OK; i++) {
        const char *name = sqlite3_column_name(query.statement, i);
        const enum figure figure = figure_find(strncmp(name, "u_", 2) == 0 ? name + 2 : name);
        if (is_behind && figure == FIGURE_COUNT) {
            status = fail(err, STATUS_INPUT, "use that program",
                "'%s' holds a figure '%s', which this program does not know: a newer one made it",
                ledger->path, name);
        } else if (is_behind) {
            has[figure] = true;
        }
        is_behind = is_behind || strcmp(name, first) == 0;
    }
    if (status == STATUS_OK && query.code != SQLITE_OK) {
        status = sql_fail(ledger, query.code, "cannot use", err);
    }
    query_end(&query);
    for (size_t i = 0; i < FIGURE_COUNT; i++) {
        *has_all = *has_all && has[i];
    }
    return status;
}

static enum status add_columns(struct ledger *ledger, struct error *err)
{
    bool has[FIGURE_COUNT] = {false}, has_all;
    struct text sql = {0};
    enum status status = find_columns(ledger, has, &has_all, err);
    for (size_t i = 0; i < FIGURE_COUNT && status == STATUS_OK && !has_all; i++) {
        if (!has[i]) {
            text_add_format(&sql,
                "ALTER TABLE loop ADD COLUMN %s REAL; ALTER TABLE loop ADD COLUMN u_%s REAL;\n",
                figure_table[i].key, figure_table[i].key);
        }
    }
    if (status == STATUS_OK && sql.length > 0) {
        status = sql.failed ? fail_memory(err) : sql_run(ledger, sql.bytes, err);
    }
    text_clear(&sql);
    return status;
}

/* What a file must be to be opened at all. */
static enum status judge(const struct ledger *ledger, const struct schema_state *state,
    bool may_create, struct error *err)
{
    if (state->is_empty && !may_create) {
        return fail(err, STATUS_INPUT, "'lodecard ledger add' begins a ledger",
            "'%s' is empty: it is no ledger", ledger->path);
    }
    if (!state->is_empty && state->application != SCHEMA_APPLICATION) {
        return fail(err, STATUS_INPUT, "is it the file you meant? --ledger FILE names one",
            "'%s' is a database of another program, no ledger", ledger->path);
    }
    if (state->version > SCHEMA_VERSION) {
        return fail(err, STATUS_INPUT, "use that program; nothing was changed",
            "'%s' is of a newer program: its version is %lld, this program knows up to %d",
            ledger->path, state->version, SCHEMA_VERSION);
    }
    return STATUS_OK;
}

/* All tables of a ledger. */
static bool is_table(const char *name)
{
    for (enum table i = 0; i < TABLE_COUNT; i++) {
        if (sqlite3_stricmp(name, table_list[i].name) == 0) {
            return true;
        }
    }
    return sqlite3_stricmp(name, "journal") == 0 || sqlite3_stricmp(name, "heat_sum") == 0;
}

/* What would run or answer in the place of our tables when the file is read or changed: triggers
 * other than those of schema.sql, views and virtual tables. Whoever made them for their own use may
 * keep them under names of their own. */
static enum status refuse_foreign(struct ledger *ledger, struct error *err)
{
    struct query query;
    bool has_row = false;
    query_begin(&query, ledger,
        "SELECT type, name, sql FROM sqlite_master WHERE rootpage = 0 OR rootpage IS NULL");
    enum status status = query_step(&query, &has_row, err);
    while (status == STATUS_OK && has_row) {
        const char *type = query_get_text(&query, 0), *name = query_get_text(&query, 1);
        const char *sql = query_get_text(&query, 2);
        const bool is_ours = strcmp(type, "trigger") == 0
                                 ? sql[0] != '\0' && strstr(ledger_schema_sql, sql) != NULL
                                 : !is_table(name);
        status = is_ours ? query_step(&query, &has_row, err)
                         : fail(err, STATUS_INPUT,
                               "it would run with every change; go back to a backup, or drop it "
                               "with SQLite's own program",
                               "'%s' holds a %s '%.60s' that no ledger has", ledger->path,
                               strcmp(type, "table") == 0 ? "virtual table" : type, name);
    }
    query_end(&query);
    return status;
}

static enum status need_table(struct ledger *ledger, const char *name, struct error *err)
{
    struct query query;
    long long count = 0;
    query_begin(
        &query, ledger, "SELECT COUNT(*) FROM sqlite_master WHERE type = 'table' AND name = ?");
    query_add_text(&query, name);
    const enum status status = query_run_integer(&query, &count, err);
    return status == STATUS_OK && count == 0
               ? fail(err, STATUS_INPUT, "go back to a backup",
                     "'%s' is damaged: it has no table '%s'", ledger->path, name)
               : status;
}

static enum status need_tables(struct ledger *ledger, struct error *err)
{
    enum status status = need_table(ledger, "journal", err);
    if (status == STATUS_OK) {
        status = need_table(ledger, "heat_sum", err);
    }
    for (enum table i = 0; i < TABLE_COUNT && status == STATUS_OK; i++) {
        status = need_table(ledger, table_list[i].name, err);
    }
    return status;
}

static enum status is_current(
    struct ledger *ledger, const struct schema_state *state, bool *answer, struct error *err)
{
    bool has[FIGURE_COUNT] = {false};
    *answer = false;
    if (state->is_empty || state->version < SCHEMA_VERSION) {
        return STATUS_OK;
    }
    const enum status status = need_tables(ledger, err);
    return status == STATUS_OK ? find_columns(ledger, has, answer, err) : status;
}

/* Under the lock of a writer, and looked at again: another program may have been quicker. */
static enum status bring_up(struct ledger *ledger, bool may_create, struct error *err)
{
    struct schema_state state;
    enum status status = sql_run(ledger, "BEGIN IMMEDIATE", err);
    if (status != STATUS_OK) {
        return status;
    }
    status = schema_find(ledger, &state, err);
    if (status == STATUS_OK) {
        status = judge(ledger, &state, may_create, err);
    }
    if (status == STATUS_OK && state.is_empty) {
        status = create_tables(ledger, err);
    } else if (status == STATUS_OK) {
        status = state.version < SCHEMA_VERSION ? migrate(ledger, state.version, err) : STATUS_OK;
        if (status == STATUS_OK) {
            status = add_columns(ledger, err);
        }
    }
    if (status == STATUS_OK) {
        status = sql_run(ledger, "COMMIT", err);
    }
    if (status != STATUS_OK) {
        sqlite3_exec(ledger->base, "ROLLBACK", NULL, NULL, NULL);
    }
    return status;
}

enum status schema_prepare(struct ledger *ledger, bool may_create, struct error *err)
{
    struct schema_state state;
    bool is_ready = false;
    enum status status = schema_find(ledger, &state, err);
    if (status == STATUS_OK) {
        status = judge(ledger, &state, may_create, err);
    }
    if (status == STATUS_OK) {
        status = refuse_foreign(ledger, err);
    }
    if (status == STATUS_OK) {
        status = is_current(ledger, &state, &is_ready, err);
    }
    if (status != STATUS_OK || is_ready) {
        return status;
    }
    if (state.is_empty) { /* readers and writers then do not wait for each other */
        status = sql_run(ledger, "PRAGMA journal_mode = WAL", err);
    }
    if (status == STATUS_OK) {
        status = bring_up(ledger, may_create, err);
    }
    if (status == STATUS_OK && !state.is_empty) {
        struct error ignored = {0}; /* who reads sums up what is missing */
        (void)!sums_settle(ledger, &ignored);
    }
    return status;
}
