// SPDX-License-Identifier: GPL-3.0-or-later
#include "scarce_base.h"

#include <sqlite3.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "places.h"
#include "suites.h"

#define DEPTH 10 /* two of them here */

static struct {
    bool is_on;
    bool has_failed;
    int code;
    int shown; /* what sqlite3_errcode() says, until the next call; 0: the truth */
    struct places called;
} watch;

static bool spares_disk;

void base_spare_disk(void)
{
    spares_disk = true;
}

void base_forget_places(void)
{
    watch.called.count = 0;
}

void base_fail(int code)
{
    watch.code = code;
    watch.shown = SQLITE_OK;
    watch.has_failed = false;
    watch.is_on = true;
}

bool base_end(void)
{
    watch.is_on = false;
    watch.shown = SQLITE_OK;
    return watch.has_failed;
}

/* Whether the call made now is the one that fails. */
static bool is_refused(void)
{
    watch.shown = SQLITE_OK;
    if (!watch.is_on || watch.has_failed || !places_add(&watch.called, DEPTH)) {
        return false;
    }
    watch.has_failed = true;
    watch.shown = watch.code;
    return true;
}

/* --- what the linker puts in the place of the functions without __wrap_ -------------------------
 */

// clang-format off
#define WRAP(name, parameters, arguments)                                                          \
    int __real_##name parameters;                                                                  \
    int __wrap_##name parameters;                                                                  \
    int __wrap_##name parameters                                                                   \
    {                                                                                              \
        return is_refused() ? watch.code : __real_##name arguments;                                \
    }
// clang-format on

WRAP(sqlite3_prepare_v3,
    (sqlite3 * base, const char *sql, int count, unsigned flags, sqlite3_stmt **made,
        const char **tail),
    (base, sql, count, flags, made, tail))
WRAP(sqlite3_step, (sqlite3_stmt * statement), (statement))
WRAP(sqlite3_bind_text,
    (sqlite3_stmt * statement, int at, const char *words, int count, void (*destroy)(void *)),
    (statement, at, words, count, destroy))
WRAP(sqlite3_bind_blob64,
    (sqlite3_stmt * statement, int at, const void *bytes, sqlite3_uint64 count,
        void (*destroy)(void *)),
    (statement, at, bytes, count, destroy))
WRAP(sqlite3_bind_int64, (sqlite3_stmt * statement, int at, sqlite3_int64 value),
    (statement, at, value))
WRAP(sqlite3_bind_double, (sqlite3_stmt * statement, int at, double value), (statement, at, value))
WRAP(sqlite3_bind_null, (sqlite3_stmt * statement, int at), (statement, at))
WRAP(sqlite3_backup_step, (sqlite3_backup * backup, int pages), (backup, pages))

int __real_sqlite3_exec(sqlite3 *base, const char *sql, int (*visit)(void *, int, char **, char **),
    void *user, char **message);
int __wrap_sqlite3_exec(sqlite3 *base, const char *sql, int (*visit)(void *, int, char **, char **),
    void *user, char **message);
int __wrap_sqlite3_exec(sqlite3 *base, const char *sql, int (*visit)(void *, int, char **, char **),
    void *user, char **message)
{
    const bool never_fails =
        strcmp(sql, "ROLLBACK") == 0 ||
        (strcmp(sql, "COMMIT") == 0 && sqlite3_txn_state(base, NULL) != SQLITE_TXN_WRITE);
    if (!never_fails && is_refused()) {
        return watch.code;
    }
    const int code = __real_sqlite3_exec(base, sql, visit, user, message);
    if (spares_disk && strstr(sql, "synchronous = FULL") != NULL) {
        (void)__real_sqlite3_exec(base, "PRAGMA synchronous = OFF", NULL, NULL, NULL);
    }
    return code;
}

/* A handle there is, also when opening fails. */
int __real_sqlite3_open_v2(const char *path, sqlite3 **base, int flags, const char *system);
int __wrap_sqlite3_open_v2(const char *path, sqlite3 **base, int flags, const char *system);
int __wrap_sqlite3_open_v2(const char *path, sqlite3 **base, int flags, const char *system)
{
    const bool fails = is_refused();
    const int code = __real_sqlite3_open_v2(path, base, flags, system);
    return fails ? watch.code : code;
}

int __real_sqlite3_open(const char *path, sqlite3 **base);
int __wrap_sqlite3_open(const char *path, sqlite3 **base);
int __wrap_sqlite3_open(const char *path, sqlite3 **base)
{
    const bool fails = is_refused();
    const int code = __real_sqlite3_open(path, base);
    return fails ? watch.code : code;
}

sqlite3_backup *__real_sqlite3_backup_init(
    sqlite3 *to, const char *to_name, sqlite3 *from, const char *from_name);
sqlite3_backup *__wrap_sqlite3_backup_init(
    sqlite3 *to, const char *to_name, sqlite3 *from, const char *from_name);
sqlite3_backup *__wrap_sqlite3_backup_init(
    sqlite3 *to, const char *to_name, sqlite3 *from, const char *from_name)
{
    return is_refused() ? NULL : __real_sqlite3_backup_init(to, to_name, from, from_name);
}

/* It ends the backup, whatever it says. */
int __real_sqlite3_backup_finish(sqlite3_backup *backup);
int __wrap_sqlite3_backup_finish(sqlite3_backup *backup);
int __wrap_sqlite3_backup_finish(sqlite3_backup *backup)
{
    const bool fails = is_refused();
    const int code = __real_sqlite3_backup_finish(backup);
    return fails ? watch.code : code;
}

int __real_sqlite3_errcode(sqlite3 *base);
int __wrap_sqlite3_errcode(sqlite3 *base);
int __wrap_sqlite3_errcode(sqlite3 *base)
{
    return watch.shown != SQLITE_OK ? watch.shown : __real_sqlite3_errcode(base);
}

const char *__real_sqlite3_errmsg(sqlite3 *base);
const char *__wrap_sqlite3_errmsg(sqlite3 *base);
const char *__wrap_sqlite3_errmsg(sqlite3 *base)
{
    return watch.shown != SQLITE_OK ? sqlite3_errstr(watch.shown) : __real_sqlite3_errmsg(base);
}

/* --- SQLite's memory ----------------------------------------------------------------------------
 */

static struct {
    sqlite3_mem_methods real;
    bool is_on;
    size_t count, after;
} memory;

static bool is_without_memory(void)
{
    return memory.is_on && memory.count++ == memory.after;
}

static void *take(int size)
{
    return is_without_memory() ? NULL : memory.real.xMalloc(size);
}

static void *take_more(void *block, int size)
{
    return is_without_memory() ? NULL : memory.real.xRealloc(block, size);
}

void base_watch_memory(void)
{
    ck_assert_int_eq(sqlite3_shutdown(), SQLITE_OK);
    ck_assert_int_eq(sqlite3_config(SQLITE_CONFIG_GETMALLOC, &memory.real), SQLITE_OK);
    sqlite3_mem_methods watched = memory.real;
    watched.xMalloc = take;
    watched.xRealloc = take_more;
    ck_assert_int_eq(sqlite3_config(SQLITE_CONFIG_MALLOC, &watched), SQLITE_OK);
    /* every allocation is one: none from a stock */
    ck_assert_int_eq(sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0), SQLITE_OK);
}

void base_fail_memory(size_t after)
{
    memory.count = 0;
    memory.after = after;
    memory.is_on = true;
}

bool base_end_memory(size_t *count)
{
    memory.is_on = false;
    if (count != NULL) {
        *count = memory.count;
    }
    return memory.count > memory.after;
}
