// SPDX-License-Identifier: GPL-3.0-or-later
#include "ledger_sample.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "ledger/check.h"
#include "suites.h"

#define LEDGER "test.ledger"

struct ledger *ledger_sample_open(enum ledger_access access, const char *command)
{
    const struct ledger_change change = {command, "2026-11-25", "A. Technician"};
    struct ledger *ledger = NULL;
    struct error err = {0};
    ck_assert_msg(
        ledger_open(LEDGER, access, &change, &ledger, &err) == STATUS_OK, "%s", err.message);
    return ledger;
}

char *ledger_sample_write(const struct ledger_sample *sample)
{
    struct text out = {0};
    text_add_format(&out,
        "{\"schema\": \"lodecard-loop/1\", \"version\": \"0.1.0\", \"capture\": {\"file\": "
        "\"c%d.wav\", \"sha256\": \"%064d\", \"channels\": 2, \"frames\": 1000, "
        "\"sample_rate_Hz\": 48000, \"start_s\": 0, \"length_s\": 2}, \"rig\": {\"name\": "
        "\"bench 2\", \"calibration\": {\"date\": \"2026-11-01\"}}, \"specimen\": {\"name\": "
        "\"%s\", \"alloy\": \"RS-36\", \"supplier\": \"%s\", \"heat\": \"%s\"}, \"figures\": "
        "{\"frequency_Hz\": 20, \"remanence_T\": 0.95, \"coercivity_A_per_m\": %.17g, "
        "\"u_coercivity_A_per_m\": 48}, \"notes\": [{\"code\": \"distorted\", \"level\": \"info\", "
        "\"message\": \"m\", \"hint\": \"h\"}]}",
        sample->capture, sample->capture, sample->specimen, sample->supplier, sample->heat,
        sample->coercivity);
    ck_assert(!out.failed);
    return out.bytes;
}

enum ledger_outcome ledger_sample_add(
    struct ledger *ledger, const struct ledger_sample *sample, long long *id)
{
    struct ledger_loop loop;
    struct error err = {0};
    enum ledger_outcome outcome = LEDGER_OUTCOMES;
    long long made = 0;
    char *json = ledger_sample_write(sample);
    ck_assert_msg(ledger_loop_read("sample", json, strlen(json), &loop, &err) == STATUS_OK, "%s",
        err.message);
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_msg(
        ledger_add_loop(ledger, &loop, &outcome, &made, &err) == STATUS_OK, "%s", err.message);
    ck_assert_int_eq(ledger_commit(ledger, &err), STATUS_OK);
    ledger_loop_clear(&loop);
    free(json);
    if (id != NULL) {
        *id = made;
    }
    return outcome;
}

struct words {
    char *bytes;
    size_t size;
};

static void keep(const char *words, void *user)
{
    struct words *kept = user;
    const size_t length = strlen(kept->bytes);
    snprintf(kept->bytes + length, kept->size - length, "%s\n", words);
}

size_t ledger_sample_check(const char *head, char *words, size_t size)
{
    struct ledger *ledger = ledger_sample_open(LEDGER_READ, "check");
    struct words kept = {words, size};
    const struct ledger_check_options options = {.head = head, .tell = keep, .user = &kept};
    struct ledger_check check;
    struct error err = {0};
    words[0] = '\0';
    ck_assert_msg(ledger_check(ledger, &options, &check, &err) == STATUS_OK, "%s", err.message);
    ledger_close(ledger);
    return check.faults;
}

void ledger_sample_spoil(const char *sql)
{
    sqlite3 *base = NULL;
    char *message = NULL;
    ck_assert_int_eq(sqlite3_open(LEDGER, &base), SQLITE_OK);
    ck_assert_msg(
        sqlite3_exec(base, sql, NULL, NULL, &message) == SQLITE_OK, "%s: %s", sql, message);
    ck_assert_int_eq(sqlite3_close(base), SQLITE_OK);
}

void ledger_sample_refuse(const char *sql, const char *wanted)
{
    sqlite3 *base = NULL;
    char *message = NULL;
    ck_assert_int_eq(sqlite3_open(LEDGER, &base), SQLITE_OK);
    ck_assert_int_ne(sqlite3_exec(base, sql, NULL, NULL, &message), SQLITE_OK);
    ck_assert_str_eq(message, wanted);
    sqlite3_free(message);
    ck_assert_int_eq(sqlite3_close(base), SQLITE_OK);
}

char *ledger_sample_hash(void)
{
    char text[DIGEST_TEXT_SIZE];
    struct error err = {0};
    ck_assert_int_eq(digest_job_finish(digest_job_create(LEDGER), text, &err), STATUS_OK);
    return memory_copy_text(text);
}

static int add_row(void *user, int columns, char **cells, char **names)
{
    struct text *out = user;
    for (int i = 0; i < columns; i++) {
        if (cells[i] != NULL) {
            text_add_format(out, "%s=%s ", names[i], cells[i]);
        }
    }
    text_add(out, "\n");
    return 0;
}

static char *list(const char *path, const char *const *questions, size_t count)
{
    struct text out = {0};
    sqlite3 *base = NULL;
    ck_assert_int_eq(sqlite3_open(path, &base), SQLITE_OK);
    for (size_t i = 0; i < count; i++) {
        char *message = NULL;
        ck_assert_msg(sqlite3_exec(base, questions[i], add_row, &out, &message) == SQLITE_OK,
            "%s: %s", questions[i], message);
    }
    ck_assert_int_eq(sqlite3_close(base), SQLITE_OK);
    ck_assert(!out.failed);
    return out.bytes;
}

char *ledger_sample_list_tables(const char *path)
{
    static const char *const questions[] = {
        "SELECT m.name AS 'table', c.name, c.type, c.\"notnull\", c.pk FROM sqlite_master AS m, "
        "pragma_table_info(m.name) AS c WHERE m.type = 'table' ORDER BY m.name, c.name",
        "SELECT m.name AS 'table', f.\"table\", f.\"from\", f.\"to\" FROM sqlite_master AS m, "
        "pragma_foreign_key_list(m.name) AS f WHERE m.type = 'table' ORDER BY m.name, f.\"from\"",
        "SELECT m.name AS 'index', c.seqno, c.name FROM sqlite_master AS m, "
        "pragma_index_info(m.name) AS c WHERE m.type = 'index' ORDER BY m.name, c.seqno",
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name",
        "PRAGMA user_version", "PRAGMA application_id"};
    return list(path, questions, sizeof questions / sizeof questions[0]);
}

char *ledger_sample_list_rows(void)
{
    static const char *const questions[] = {"SELECT * FROM supplier", "SELECT * FROM alloy",
        "SELECT * FROM heat", "SELECT * FROM specimen", "SELECT * FROM specimen_version",
        "SELECT * FROM rig", "SELECT * FROM rig_version", "SELECT * FROM capture",
        "SELECT * FROM loop", "SELECT * FROM remark", "SELECT * FROM tag"};
    return list(LEDGER, questions, sizeof questions / sizeof questions[0]);
}
