// SPDX-License-Identifier: GPL-3.0-or-later
/* Ledgers that were damaged, or prepared by somebody who means harm: nothing of them runs, and what
 * is wrong is told. */
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "ledger/care.h"
#include "ledger/check.h"
#include "ledger/find.h"
#include "ledger/kind.h"
#include "ledger_jobs.h"
#include "ledger_sample.h"
#include "scratch.h"
#include "suites.h"

static void enter(void)
{
    scratch_enter();
    ledger_jobs_prepare();
}

static enum status open_ledger(struct error *err)
{
    struct ledger *ledger = NULL;
    const enum status status = ledger_open("test.ledger", LEDGER_CREATE, NULL, &ledger, err);
    ledger_close(ledger);
    return status;
}

/* The last two statements also tell that the names are compared as SQLite does. */
START_TEST(refuses_what_would_run_in_the_place_of_its_tables)
{
    static const char *const cases[][2] = {
        {"CREATE TRIGGER helper AFTER INSERT ON remark BEGIN UPDATE supplier SET name = 'x'; END",
            "'test.ledger' holds a trigger 'helper' that no ledger has"},
        {"DROP TRIGGER heat_sum_of_new; CREATE TRIGGER heat_sum_of_new BEFORE INSERT ON loop BEGIN "
         "UPDATE supplier SET name = 'x'; END",
            "'test.ledger' holds a trigger 'heat_sum_of_new' that no ledger has"},
        {"ALTER TABLE tag RENAME TO old_tag; CREATE VIEW tag AS SELECT * FROM old_tag",
            "'test.ledger' holds a view 'tag' that no ledger has"},
        {"ALTER TABLE remark RENAME TO old; CREATE VIEW REMARK AS SELECT * FROM old",
            "'test.ledger' holds a view 'REMARK' that no ledger has"},
        {"DROP TABLE heat_sum; CREATE VIRTUAL TABLE heat_sum USING fts5(words)",
            "'test.ledger' holds a virtual table 'heat_sum' that no ledger has"},
    };
    struct error err = {0};
    ledger_sample_spoil(cases[_i][0]);
    char *before = ledger_sample_hash();
    ck_assert_int_eq(open_ledger(&err), STATUS_INPUT);
    ck_assert_str_eq(err.message, cases[_i][1]);
    char *after = ledger_sample_hash();
    ck_assert_str_eq(before, after);
    memory_destroy(before);
    memory_destroy(after);
}
END_TEST

/* The schema format number (SQLite's file format, offset 44) is 1 to 4. */
START_TEST(takes_a_file_of_a_format_that_is_unknown_for_no_ledger)
{
    struct error err = {0};
    FILE *file = fopen("test.ledger", "r+b");
    ck_assert_ptr_nonnull(file);
    ck_assert(fseek(file, 47, SEEK_SET) == 0 && fputc(9, file) == 9 && fclose(file) == 0);
    ck_assert_int_eq(open_ledger(&err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "'test.ledger': it is no ledger, or damaged"));
}
END_TEST

START_TEST(lets_people_have_views_and_tables_of_their_own)
{
    struct error err = {0};
    char words[4000];
    ledger_sample_spoil("CREATE VIEW report AS SELECT name FROM heat; CREATE TABLE notes (a); "
                        "CREATE VIRTUAL TABLE words USING fts5(line)");
    ck_assert_msg(open_ledger(&err) == STATUS_OK, "%s", err.message);
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) == 0, "%s", words);
}
END_TEST

/* --- functions in the file -----------------------------------------------------------------------
 */

static int spied;

static void spy(sqlite3_context *context, int count, sqlite3_value **values)
{
    (void)count;
    (void)values;
    spied++;
    sqlite3_result_int(context, 1);
}

/* A function such as a library may have brought along: it is not marked as harmless. */
static int bring_spy(sqlite3 *base, char **message, const void *routines)
{
    (void)message;
    (void)routines;
    return sqlite3_create_function(
        base, "spy", 0, SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL, spy, NULL, NULL);
}

START_TEST(calls_no_function_that_the_file_names)
{
    static const char *const cases[] = {"ALTER TABLE tag ADD COLUMN more AS (spy())",
        "CREATE INDEX more ON tag (word, spy())", "CREATE INDEX more ON tag (word) WHERE spy()"};
    struct ledger *ledger = NULL;
    struct error err = {0};
    bool was_there = false;
    ck_assert_int_eq(sqlite3_auto_extension((void (*)(void))bring_spy), SQLITE_OK);
    ledger_sample_spoil(cases[_i]);
    ledger_sample_spoil("INSERT INTO tag (id, subject, subject_id, word) VALUES (99, 'heat', 1, "
                        "'x'); SELECT * FROM tag; DELETE FROM tag WHERE id = 99");
    ck_assert_int_gt(spied, 0); /* by who trusts the file */
    spied = 0;
    enum status status = ledger_open("test.ledger", LEDGER_WRITE, NULL, &ledger, &err);
    if (status == STATUS_OK) {
        status = ledger_add_tag(ledger, LEDGER_KIND_HEAT, 1, "x", &was_there, &err);
    }
    ck_assert_int_ne(status, STATUS_OK);
    ck_assert_msg(strstr(err.message, "unsafe use of spy()") != NULL, "%s", err.message);
    ledger_close(ledger);
    ck_assert_int_eq(spied, 0);
}
END_TEST

/* --- damage --------------------------------------------------------------------------------------
 */

START_TEST(tells_which_table_is_not_there)
{
    static const char *const names[] = {"journal", "heat_sum", "tag", "loop_points"};
    char sql[80], wanted[80];
    struct error err = {0};
    snprintf(sql, sizeof sql, "PRAGMA foreign_keys = OFF; DROP TABLE %s", names[_i]);
    snprintf(wanted, sizeof wanted, "'test.ledger' is damaged: it has no table '%s'", names[_i]);
    ledger_sample_spoil(sql);
    ck_assert_int_eq(open_ledger(&err), STATUS_INPUT);
    ck_assert_str_eq(err.message, wanted);
}
END_TEST

START_TEST(check_tells_triggers_that_were_taken_away)
{
    char words[4000];
    ledger_sample_spoil("DROP TRIGGER journal_keeps_all; DROP TRIGGER heat_sum_of_changed");
    ck_assert_uint_eq(ledger_sample_check(NULL, words, sizeof words), 2);
    ck_assert_str_eq(words, "the trigger 'journal_keeps_all' was taken away\n"
                            "the trigger 'heat_sum_of_changed' was taken away\n");
}
END_TEST

static void count_fault(const char *words, void *user)
{
    ck_assert_ptr_nonnull(words);
    ++*(size_t *)user;
}

/* Whether the ledger is found to be damaged, when it is opened or checked, and said so. */
static bool is_found(void)
{
    struct ledger *ledger = NULL;
    struct ledger_check check;
    struct error err = {0};
    size_t faults = 0;
    const struct ledger_check_options options = {.tell = count_fault, .user = &faults};
    enum status status = ledger_open("test.ledger", LEDGER_READ, NULL, &ledger, &err);
    if (status == STATUS_OK) {
        status = ledger_check(ledger, &options, &check, &err);
    }
    ledger_close(ledger);
    ck_assert_msg(status == STATUS_OK || status == STATUS_INPUT, "%d: %s", status, err.message);
    ck_assert(status == STATUS_OK || strstr(err.message, "test.ledger") != NULL);
    return status != STATUS_OK || faults > 0;
}

static void copy_back(const char *bytes, size_t length)
{
    remove("test.ledger-wal");
    remove("test.ledger-shm");
    scratch_write("test.ledger", bytes, length);
}

/* Pages of 4096 bytes. */
START_TEST(finds_every_page_that_was_written_over)
{
    char *bytes = NULL;
    size_t length = 0;
    struct error err = {0};
    ck_assert_int_eq(file_read("test.ledger", 1 << 24, &bytes, &length, &err), STATUS_OK);
    ck_assert(!is_found());
    for (size_t page = 0; page < length / 4096; page++) {
        char kept[64];
        memcpy(kept, bytes + page * 4096, sizeof kept);
        memset(bytes + page * 4096, 0xA5, sizeof kept);
        copy_back(bytes, length);
        ck_assert_msg(is_found(), "page %zu", page);
        memcpy(bytes + page * 4096, kept, sizeof kept);
    }
    for (size_t part = 1; part < 8; part++) {
        copy_back(bytes, length * part / 8);
        ck_assert_msg(is_found(), "%zu eighths of it", part);
    }
    copy_back(bytes, length);
    ck_assert(!is_found());
    memory_destroy(bytes);
}
END_TEST

START_TEST(goes_on_behind_a_broken_chain_and_tells_it)
{
    const struct ledger_sample sample = {8, "Calder & Sons", "C9", "R-51", 18000};
    char words[4000];
    ledger_sample_spoil("DROP TRIGGER journal_keeps_lines; UPDATE journal SET chain = 'x' WHERE "
                        "id = (SELECT MAX(id) FROM journal)");
    struct ledger *ledger = ledger_sample_open(LEDGER_WRITE, "add");
    ck_assert_int_eq(ledger_sample_add(ledger, &sample, NULL), LEDGER_ADDED);
    ledger_close(ledger);
    ck_assert_uint_eq(ledger_sample_check(NULL, words, sizeof words), 3);
    ck_assert_ptr_nonnull(strstr(words, "of the journal was changed"));
}
END_TEST

START_TEST(takes_nothing_back_by_a_journal_that_was_changed)
{
    static const char *const cases[][2] = {
        {"subject = 'sheen'", "the journal tells of a table 'sheen'"},
        {"before_row = 'nonsense'", "'journal'"},
        {"before_row = '{\"sheen\": 1}'", "a row of 'tag' has 'sheen'"},
        {"before_row = '[]'", "a row of 'tag' is no object"},
        {"before_row = '{\"id\": 1, \"subject\": \"heat\", \"subject_id\": 1, \"word\": "
         "\"golden\"}'",
            "cannot be taken back: tag 2"},
    };
    char sql[400];
    struct ledger_undone undone;
    struct error err = {0};
    snprintf(sql, sizeof sql,
        "DROP TRIGGER journal_keeps_lines; UPDATE journal SET %s WHERE id = (SELECT MAX(id) FROM "
        "journal)",
        cases[_i][0]);
    ledger_sample_spoil(sql);
    char *before = ledger_sample_list_rows();
    struct ledger *ledger = ledger_sample_open(LEDGER_WRITE, "undo");
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_int_eq(ledger_undo(ledger, &undone, &err), STATUS_INPUT);
    ck_assert_msg(strstr(err.message, cases[_i][1]) != NULL, "%s", err.message);
    ledger_close(ledger);
    char *after = ledger_sample_list_rows();
    ck_assert_str_eq(before, after);
    memory_destroy(before);
    memory_destroy(after);
}
END_TEST

/* Rows that were changed behind its back are read as they are, or not at all. */
START_TEST(reads_a_lot_whose_heat_is_gone_without_a_name)
{
    struct ledger_where *where = ledger_where_create();
    struct ledger_lots lots = {0};
    struct error err = {0};
    ledger_sample_spoil("PRAGMA foreign_keys = OFF; DELETE FROM heat WHERE id = 2");
    struct ledger *ledger = ledger_sample_open(LEDGER_READ, "find");
    ck_assert_int_eq(ledger_where_add(where, "coercivity > 1 A/m", &err), STATUS_OK);
    ck_assert_int_eq(ledger_read_lots(ledger, where, FIGURE_COERCIVITY, &lots, &err), STATUS_OK);
    ck_assert_uint_eq(lots.count, 2);
    ck_assert_str_eq(lots.list[0].heat, "");
    ck_assert_int_eq(lots.list[0].heat_id, 2);
    ledger_lots_clear(&lots);
    ledger_where_destroy(where);
    ledger_close(ledger);
}
END_TEST

Suite *ledger_damage_suite(void)
{
    Suite *suite = suite_create("ledger_damage");
    TCase *tests = tcase_create("ledger_damage");
    tcase_add_checked_fixture(tests, enter, scratch_leave);
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, refuses_what_would_run_in_the_place_of_its_tables, 0, 5);
    tcase_add_test(tests, takes_a_file_of_a_format_that_is_unknown_for_no_ledger);
    tcase_add_test(tests, lets_people_have_views_and_tables_of_their_own);
    tcase_add_loop_test(tests, calls_no_function_that_the_file_names, 0, 3);
    tcase_add_loop_test(tests, tells_which_table_is_not_there, 0, 4);
    tcase_add_test(tests, check_tells_triggers_that_were_taken_away);
    tcase_add_test(tests, finds_every_page_that_was_written_over);
    tcase_add_test(tests, goes_on_behind_a_broken_chain_and_tells_it);
    tcase_add_loop_test(tests, takes_nothing_back_by_a_journal_that_was_changed, 0, 5);
    tcase_add_test(tests, reads_a_lot_whose_heat_is_gone_without_a_name);
    suite_add_tcase(suite, tests);
    return suite;
}
