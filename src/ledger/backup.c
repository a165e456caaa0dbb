// SPDX-License-Identifier: GPL-3.0-or-later
/* A backup is one file without a write-ahead log beside it, so that it can be read from where
 * nothing can be written. */
#include <sys/stat.h>

#include "base/file.h"
#include "ledger/care.h"
#include "ledger/sql.h"

static enum status check_place(const struct ledger *ledger, const char *path, struct error *err)
{
    struct stat here, there;
    if (stat(ledger->path, &here) == 0 && stat(path, &there) == 0 && here.st_dev == there.st_dev &&
        here.st_ino == there.st_ino) {
        return fail(
            err, STATUS_USAGE, "give the backup another name", "'%s' is the ledger itself", path);
    }
    return STATUS_OK;
}

static enum status copy(
    struct ledger *ledger, const char *path, const char *shown, struct error *err)
{
    struct text name = {0};
    sqlite3 *target = NULL;
    text_add_format(&name, "%s%s", path[0] == '/' ? "" : "./", path);
    if (name.failed) {
        return fail_memory(err);
    }
    int code = sqlite3_open(name.bytes, &target);
    text_clear(&name);
    sqlite3_backup *backup =
        code == SQLITE_OK ? sqlite3_backup_init(target, "main", ledger->base, "main") : NULL;
    if (backup != NULL) {
        code = sqlite3_backup_step(backup, -1);
        const int end = sqlite3_backup_finish(backup);
        code = code == SQLITE_DONE ? end : code;
    } else if (code == SQLITE_OK) {
        code = sqlite3_errcode(target);
    }
    if (code == SQLITE_OK) {
        code = sqlite3_exec(target, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    }
    sqlite3_close(target);
    switch (code & 0xFF) {
    case SQLITE_OK:
        return STATUS_OK;
    case SQLITE_NOMEM:
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB: /* what is copied, not what is made */
        return sql_fail(ledger, code, "cannot back up", err);
    default:
        return fail(err, STATUS_IO, "make room, or write somewhere else",
            "cannot back up '%s' to '%s': %s", ledger->path, shown, sqlite3_errstr(code));
    }
}

enum status ledger_backup(struct ledger *ledger, const char *path, struct error *err)
{
    static const char *const endings[] = {"-journal", "-wal", "-shm", NULL};
    struct file_draft draft = {0};
    enum status status = check_place(ledger, path, err);
    if (status == STATUS_OK) {
        status = file_draft_create_named(&draft, path, endings, err);
    }
    if (status == STATUS_OK) {
        status = copy(ledger, draft.is_direct ? draft.path : draft.temporary, path, err);
    }
    if (status == STATUS_OK) {
        status = file_draft_commit(&draft, err);
    }
    file_draft_abandon(&draft);
    return status;
}
