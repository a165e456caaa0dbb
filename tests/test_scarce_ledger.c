// SPDX-License-Identifier: GPL-3.0-or-later
/* The ledger when the database fails or memory runs out, at each place that can: the job says what
 * failed, the ledger is as it was, and goes on working. */
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "ledger/kind.h"
#include "ledger_jobs.h"
#include "ledger_sample.h"
#include "scarce.h"
#include "scarce_base.h"
#include "scratch.h"
#include "suites.h"

/* What SQLite may say, and what it means. */
static const struct {
    int code;
    enum status status;
    const char *words;
} failures[] = {
    {SQLITE_FULL, STATUS_IO, "'test.ledger': database or disk is full"},
    {SQLITE_NOMEM, STATUS_FAULT, "out of memory"},
    {SQLITE_CORRUPT, STATUS_INPUT, "'test.ledger': it is no ledger, or damaged"},
    {SQLITE_BUSY, STATUS_IO, "another program is writing to it"},
    {SQLITE_IOERR_WRITE, STATUS_IO, "'test.ledger': disk I/O error"},
    {SQLITE_ERROR, STATUS_FAULT, "'test.ledger': SQL logic error"},
    {SQLITE_READONLY, STATUS_IO, "'test.ledger': attempt to write a readonly database"},
};
#define FAILURES (sizeof failures / sizeof failures[0])

static void check_ledger(const char *name)
{
    char words[4000];
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) == 0, "%s: %s", name, words);
}

/* With all that it needs: what it reads then. */
static uint64_t run_whole(const struct ledger_job *job)
{
    struct error err = {0};
    ledger_jobs_restore(job->is_new);
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "job");
    ledger_jobs_sum = 0;
    ck_assert_msg(ledger_job_run(job, ledger, &err) == STATUS_OK, "%s: %s", job->name, err.message);
    ledger_close(ledger);
    return ledger_jobs_sum;
}

/* A job of which one call fails; then again. False: none was left to fail. */
static bool try_job(const struct ledger_job *job, size_t which, const char *before)
{
    struct error err = {0};
    ledger_jobs_restore(job->is_new);
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "job");
    base_fail(failures[which].code);
    const enum status status = ledger_job_run(job, ledger, &err);
    const bool has_failed = base_end();
    if (has_failed) {
        ck_assert_msg(status == failures[which].status, "%s, %s: status %d, %s", job->name,
            failures[which].words, status, err.message);
        ck_assert_msg(strstr(err.message, failures[which].words) != NULL ||
                          strncmp(err.message, "cannot back up", 14) == 0,
            "%s: '%s' and not '%s'", job->name, err.message, failures[which].words);
        char *after = ledger_sample_list_rows();
        ck_assert_pstr_eq(before, after);
        memory_destroy(after);
        ck_assert_msg(ledger_job_run(job, ledger, &err) == STATUS_OK, "%s, once more: %s",
            job->name, err.message);
    } else {
        ck_assert_msg(status == STATUS_OK, "%s: %s", job->name, err.message);
    }
    ledger_close(ledger);
    if (job->changes || job->is_new) {
        check_ledger(job->name);
    }
    return has_failed;
}

START_TEST(a_failing_database_is_told_and_changes_nothing)
{
    const struct ledger_job *job = &ledger_jobs[_i];
    size_t places = 0;
    ledger_jobs_prepare();
    char *before = job->is_new ? NULL : ledger_sample_list_rows();
    base_forget_places();
    while (try_job(job, places % FAILURES, before)) {
        places++;
    }
    memory_destroy(before);
    ck_assert_uint_ge(places, job->run == ledger_jobs[LEDGER_JOBS - 1].run ? 0 : 2);
}
END_TEST

/* --- memory ------------------------------------------------------------------------------------
 */

static enum status open_and_run(const struct ledger_job *job, struct error *err)
{
    const struct ledger_change change = {"job", "2026-11-25", "A. Technician"};
    struct ledger *ledger = NULL;
    enum status status = ledger_open("test.ledger", LEDGER_CREATE, &change, &ledger, err);
    if (status != STATUS_OK) {
        return status;
    }
    status = ledger_job_run(job, ledger, err);
    const bool was_refused = memory_was_refused();
    ledger_close(ledger);
    /* sums that are not put there at the end are left to who reads them */
    return !was_refused && memory_was_refused() ? fail_memory(err) : status;
}

static enum status run_scarce(void *data, struct error *err)
{
    const struct ledger_job *job = data;
    ledger_jobs_restore(job->is_new);
    return open_and_run(job, err);
}

START_TEST(work_in_the_ledger_is_whole_or_not_at_all)
{
    struct ledger_job job = ledger_jobs[_i];
    ledger_jobs_prepare();
    ck_assert_uint_ge(check_every_place(run_scarce, &job), 3);
    check_ledger(job.name);
}
END_TEST

/* --- opening ------------------------------------------------------------------------------------
 */

static char *old;
static size_t old_length;

static void enter(void)
{
    struct error err = {0};
    ck_assert_msg(file_read("tests/data/ledger/version-1.ledger", 1 << 24, &old, &old_length,
                      &err) == STATUS_OK,
        "%s", err.message);
    scratch_enter();
    ledger_jobs_prepare();
}

/* Files to open: none, one of an old program, one that lacks the columns of a figure. */
static void lay_file(int which)
{
    ledger_jobs_restore(which == 0);
    if (which == 1) {
        scratch_write("test.ledger", old, old_length);
    } else if (which == 2) {
        ledger_sample_spoil("ALTER TABLE loop DROP COLUMN loop_fullness; ALTER TABLE loop DROP "
                            "COLUMN u_loop_fullness");
    }
}

static enum status open_it(struct error *err)
{
    struct ledger *ledger = NULL;
    const enum status status = ledger_open("test.ledger", LEDGER_CREATE, NULL, &ledger, err);
    ledger_close(ledger);
    return status;
}

/* Beside the failure itself: a lock that goes away is waited for, and sums that are not put there
 * are left to who reads them. */
static bool try_open(int which, size_t failure)
{
    struct error err = {0};
    lay_file(which);
    base_fail(failures[failure].code);
    const enum status status = open_it(&err);
    const bool has_failed = base_end();
    if (status != STATUS_OK) {
        ck_assert(has_failed && status == failures[failure].status);
        ck_assert_msg(strstr(err.message, failures[failure].words) != NULL, "%s", err.message);
        char *tables = which == 0 ? NULL : ledger_sample_list_tables("test.ledger");
        lay_file(which);
        char *before = which == 0 ? NULL : ledger_sample_list_tables("test.ledger");
        ck_assert_pstr_eq(tables, before);
        memory_destroy(tables);
        memory_destroy(before);
    }
    return has_failed;
}

START_TEST(a_ledger_that_cannot_be_opened_stays_as_it_was)
{
    size_t places = 0;
    base_forget_places();
    while (try_open(_i, places % FAILURES)) {
        places++;
    }
    ck_assert_uint_ge(places, 10);
    check_ledger("open");
}
END_TEST

static enum status open_scarce(void *which, struct error *err)
{
    lay_file(*(const int *)which);
    const enum status status = open_it(err);
    /* sums again */
    return status == STATUS_OK && memory_was_refused() ? fail_memory(err) : status;
}

START_TEST(without_memory_a_ledger_is_not_opened)
{
    ck_assert_uint_ge(check_every_place(open_scarce, &_i), 4);
    check_ledger("open");
}
END_TEST

/* --- memory of SQLite ---------------------------------------------------------------------------
 */

#define SAMPLES 16 /* of the allocations of SQLite in a job */

START_TEST(what_sqlite_has_no_memory_for_is_told_or_done)
{
    const struct ledger_job *job = &ledger_jobs[_i];
    size_t count = 0;
    base_watch_memory();
    ledger_jobs_prepare();
    base_fail_memory(SIZE_MAX);
    const uint64_t whole = run_whole(job);
    ck_assert(!base_end_memory(&count));
    for (size_t i = 0; i < SAMPLES; i++) {
        struct error err = {0};
        ledger_jobs_restore(job->is_new);
        ledger_jobs_sum = 0;
        base_fail_memory(i * count / SAMPLES);
        const enum status status = open_and_run(job, &err);
        (void)base_end_memory(NULL);
        if (status == STATUS_OK) {
            ck_assert_msg(ledger_jobs_sum == whole, "%s, %zu: something was left out", job->name,
                i * count / SAMPLES);
        } else {
            ck_assert_msg(strcmp(err.message, "out of memory") == 0, "%s, %zu: %s", job->name,
                i * count / SAMPLES, err.message);
        }
    }
    if (!job->is_new) { /* then nothing but an empty file may be there */
        check_ledger(job->name);
    }
}
END_TEST

Suite *scarce_ledger_suite(void)
{
    Suite *suite = suite_create("scarce_ledger");
    TCase *tests = tcase_create("scarce_ledger");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_set_timeout(tests, 180);
    tcase_add_loop_test(tests, a_failing_database_is_told_and_changes_nothing, 0, LEDGER_JOBS);
    tcase_add_loop_test(tests, work_in_the_ledger_is_whole_or_not_at_all, 0, LEDGER_JOBS);
    tcase_add_loop_test(tests, what_sqlite_has_no_memory_for_is_told_or_done, 0, LEDGER_JOBS);
    suite_add_tcase(suite, tests);
    TCase *opening = tcase_create("opening");
    tcase_add_checked_fixture(opening, enter, scratch_leave);
    tcase_set_timeout(opening, 180);
    tcase_add_loop_test(opening, a_ledger_that_cannot_be_opened_stays_as_it_was, 0, 3);
    tcase_add_loop_test(opening, without_memory_a_ledger_is_not_opened, 0, 3);
    suite_add_tcase(suite, opening);
    return suite;
}
