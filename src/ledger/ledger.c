// SPDX-License-Identifier: GPL-3.0-or-later
/* Opening and closing, begin and commit. Write-ahead logging lets readers read while one writes;
 * synchronous = FULL puts a commit on the disk before it is reported; BEGIN IMMEDIATE asks for the
 * writer's lock at once, so that nobody's work is thrown away half way. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/journal.h"
#include "ledger/schema.h"
#include "ledger/sums.h"

#define WAIT_MS 60000 /* for the lock of another program */

static enum status check_place(const char *path, enum ledger_access access, struct error *err)
{
    if (access == LEDGER_CREATE || file_exists(path)) {
        return STATUS_OK;
    }
    return fail(err, STATUS_IO, "'lodecard ledger add' begins one; --ledger FILE names another",
        "there is no ledger '%s'", path);
}

static enum status copy_change(
    struct ledger *ledger, const struct ledger_change *change, struct error *err)
{
    if (change == NULL) {
        return STATUS_OK;
    }
    ledger->command = memory_copy_text(change->command);
    ledger->day = memory_copy_text(change->day != NULL ? change->day : "");
    ledger->person = memory_copy_text(change->person != NULL ? change->person : "");
    return ledger->command == NULL || ledger->day == NULL || ledger->person == NULL
               ? fail_memory(err)
               : STATUS_OK;
}

/* Another program may be making or closing the file: WAL is switched on under a lock that SQLite
 * does not wait for. */
static enum status connect(struct ledger *ledger, bool may_create, struct error *err)
{
    const int flags =
        SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_READWRITE | (may_create ? SQLITE_OPEN_CREATE : 0);
    struct text name = {0}; /* a name such as ":memory:" is a file like any other */
    text_add_format(&name, "%s%s", ledger->path[0] == '/' ? "" : "./", ledger->path);
    const int code =
        name.failed ? SQLITE_NOMEM : sqlite3_open_v2(name.bytes, &ledger->base, flags, NULL);
    text_clear(&name);
    if (code != SQLITE_OK) {
        return sql_fail(ledger, code, "cannot open", err);
    }
    sqlite3_extended_result_codes(ledger->base, 1);
    sqlite3_busy_timeout(ledger->base, WAIT_MS);
    enum status status = sql_run(ledger,
        "PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON; PRAGMA foreign_keys = ON; "
        "PRAGMA synchronous = FULL; PRAGMA cache_size = -65536",
        err);
    for (int i = 0; i < 200 && status == STATUS_OK; i++) {
        status = schema_prepare(ledger, may_create, err);
        const int reason = sqlite3_errcode(ledger->base) & 0xFF;
        if (status != STATUS_IO || (reason != SQLITE_BUSY && reason != SQLITE_LOCKED)) {
            break;
        }
        sqlite3_sleep(20);
        status = i < 199 ? STATUS_OK : status;
    }
    return status;
}

enum status ledger_open(const char *path, enum ledger_access access,
    const struct ledger_change *change, struct ledger **ledger, struct error *err)
{
    enum status status = check_place(path, access, err);
    if (status != STATUS_OK) {
        return status;
    }
    struct ledger *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return fail_memory(err);
    }
    made->is_writer = access != LEDGER_READ;
    made->path = memory_copy_text(path);
    status = made->path == NULL ? fail_memory(err) : copy_change(made, change, err);
    if (status == STATUS_OK) {
        status = connect(made, access == LEDGER_CREATE, err);
    }
    if (status == STATUS_OK && !made->is_writer) {
        status = sql_run(made, "PRAGMA query_only = ON", err);
    }
    if (status != STATUS_OK) {
        ledger_close(made);
        return status;
    }
    *ledger = made;
    return STATUS_OK;
}

void ledger_close(struct ledger *ledger)
{
    if (ledger == NULL) {
        return;
    }
    ledger_rollback(ledger);
    if (ledger->has_written) {
        struct error err = {0}; /* who reads sums up what is missing */
        (void)!sums_settle(ledger, &err);
    }
    for (size_t i = 0; i < ledger->kept_count; i++) {
        sqlite3_finalize(ledger->kept[i].statement);
    }
    sqlite3_close(ledger->base);
    text_clear(&ledger->add_loop);
    text_clear(&ledger->get_loops);
    text_clear(&ledger->sum_heat);
    memory_destroy(ledger->path);
    memory_destroy(ledger->command);
    memory_destroy(ledger->day);
    memory_destroy(ledger->person);
    memory_destroy(ledger);
}

enum status ledger_begin(struct ledger *ledger, struct error *err)
{
    enum status status = sql_run(ledger, "BEGIN IMMEDIATE", err);
    if (status != STATUS_OK) {
        return status;
    }
    ledger->is_open = true;
    ledger->has_new_change = false;
    status = journal_begin(ledger, err);
    if (status != STATUS_OK) {
        ledger_rollback(ledger);
    }
    return status;
}

enum status ledger_commit(struct ledger *ledger, struct error *err)
{
    const enum status status =
        memory_has_failed() ? fail_memory(err) : sql_run(ledger, "COMMIT", err);
    if (status != STATUS_OK) {
        ledger_rollback(ledger);
        return status;
    }
    ledger->is_open = false;
    ledger->has_new_change = false;
    ledger->has_written = true;
    return STATUS_OK;
}

void ledger_rollback(struct ledger *ledger)
{
    if (!ledger->is_open) {
        return;
    }
    sqlite3_exec(ledger->base, "ROLLBACK", NULL, NULL, NULL);
    ledger->is_open = false;
    if (ledger->has_new_change) { /* its row is gone with the rest */
        ledger->change_id = 0;
        ledger->has_new_change = false;
    }
}

const char *ledger_get_path(const struct ledger *ledger)
{
    return ledger->path;
}

/* The folder of a path, all links followed, with a slash at its end; NULL when it is not there. */
static char *resolve_folder(const char *path, bool *has_memory)
{
    struct text folder = {0};
    text_add_bytes(&folder, path, (size_t)(text_base_name(path) - path));
    text_add(&folder, ".");
    *has_memory = *has_memory && !folder.failed;
    char *found = folder.failed ? NULL : realpath(folder.bytes, NULL);
    text_clear(&folder);
    if (found != NULL && strcmp(found, "/") != 0) {
        text_add_format(&folder, "%s/", found);
        memory_destroy(found);
        found = folder.bytes;
        *has_memory = *has_memory && !folder.failed;
    }
    return found;
}

char *ledger_get_relative(const struct ledger *ledger, const char *path)
{
    bool has_memory = true;
    char *here = resolve_folder(ledger->path, &has_memory);
    char *there = resolve_folder(path, &has_memory);
    struct text relative = {0};
    if (here == NULL || there == NULL) {
        text_add(&relative, path);
    } else {
        size_t common = 0;
        for (size_t i = 0; here[i] != '\0' && here[i] == there[i]; i++) {
            common = here[i] == '/' ? i + 1 : common;
        }
        for (const char *at = here + common; (at = strchr(at, '/')) != NULL; at++) {
            text_add(&relative, "../");
        }
        text_add_format(&relative, "%s%s", there + common, text_base_name(path));
    }
    memory_destroy(here);
    memory_destroy(there);
    if (relative.failed || !has_memory) {
        text_clear(&relative);
    }
    return relative.bytes;
}

char *ledger_get_absolute(const struct ledger *ledger, const char *relative)
{
    return relative[0] == '/' ? memory_copy_text(relative)
                              : file_path_beside(ledger->path, relative);
}
