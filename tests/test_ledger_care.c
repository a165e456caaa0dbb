// SPDX-License-Identifier: GPL-3.0-or-later
/* Old ledgers, undo, backup, documents. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "ledger/care.h"
#include "ledger/document.h"
#include "ledger/find.h"
#include "ledger_sample.h"
#include "scratch.h"
#include "suites.h"

#define NORTHGATE "Northgate Foundry"

static char top[4096]; /* the checkout: tests begin in the scratch folder */

static void enter(void)
{
    ck_assert_ptr_nonnull(getcwd(top, sizeof top));
    scratch_enter();
}

static void copy_old(int version)
{
    char path[5000], *bytes = NULL;
    size_t length = 0;
    struct error err = {0};
    snprintf(path, sizeof path, "%s/tests/data/ledger/version-%d.ledger", top, version);
    ck_assert_msg(file_read(path, 1 << 24, &bytes, &length, &err) == STATUS_OK, "%s", err.message);
    scratch_write("test.ledger", bytes, length);
    memory_destroy(bytes);
}

static size_t count(struct ledger *ledger)
{
    struct error err = {0};
    size_t found = 0;
    ck_assert_int_eq(ledger_count_loops(ledger, &LEDGER_SEARCH_ALL, &found, &err), STATUS_OK);
    return found;
}

static void check_all(void)
{
    char words[4000];
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) == 0, "%s", words);
}

/* Old versions and what they hold. */
static const struct {
    int version;
    size_t loops;
} old_ledgers[] = {{1, 13}, {2, 12}, {3, 12}};

START_TEST(brings_old_ledgers_up_to_the_present_tables)
{
    const struct ledger_sample sample = {1, NORTHGATE, "H1", "R-1", 18000};
    struct ledger *ledger = NULL;
    struct error err = {0};
    copy_old(old_ledgers[_i].version);
    ledger = ledger_sample_open(LEDGER_READ, "list"); /* reading is enough */
    ck_assert_uint_eq(count(ledger), old_ledgers[_i].loops);
    ledger_close(ledger);
    check_all();
    char *old = ledger_sample_list_tables("test.ledger");
    ck_assert_int_eq(ledger_open("new.ledger", LEDGER_CREATE, NULL, &ledger, &err), STATUS_OK);
    ledger_close(ledger);
    char *new = ledger_sample_list_tables("new.ledger");
    ck_assert_str_eq(old, new);
    free(old);
    free(new);
    ledger = ledger_sample_open(LEDGER_WRITE, "add");
    ck_assert_int_eq(ledger_sample_add(ledger, &sample, NULL), LEDGER_ADDED);
    ledger_close(ledger);
    check_all();
}
END_TEST

/* The same rows as before, but for the journal, which tells of both. */
static enum status undo(struct ledger *ledger, struct ledger_undone *undone, struct error *err)
{
    enum status status = ledger_begin(ledger, err);
    if (status == STATUS_OK) {
        status = ledger_undo(ledger, undone, err);
    }
    if (status == STATUS_OK) {
        return ledger_commit(ledger, err);
    }
    ledger_rollback(ledger);
    return status;
}

/* --- sums of heats ------------------------------------------------------------------------- */

static size_t sums_mean(struct ledger *ledger, const char *heat, double *mean)
{
    struct ledger_where *where = ledger_where_create();
    struct ledger_lots all = {0}, some = {0};
    struct error err = {0};
    size_t found = 0;
    ck_assert_int_eq(ledger_where_add_text(where, "heat", heat, &err), STATUS_OK);
    ck_assert_int_eq(ledger_read_lots(ledger, NULL, FIGURE_COERCIVITY, &all, &err), STATUS_OK);
    ck_assert_int_eq(ledger_read_lots(ledger, where, FIGURE_COERCIVITY, &some, &err), STATUS_OK);
    for (size_t i = 0; i < all.count; i++) {
        if (strcmp(all.list[i].heat, heat) == 0) {
            found = all.list[i].count;
            *mean = all.list[i].mean;
            ck_assert_uint_eq(found, some.list[0].count); /* by the other way */
            ck_assert_double_eq(all.list[i].mean, some.list[0].mean);
            ck_assert_double_eq(all.list[i].least, some.list[0].least);
            ck_assert_double_eq(all.list[i].most, some.list[0].most);
            ck_assert(found < 2 || all.list[i].deviation == some.list[0].deviation);
        }
    }
    ck_assert(found > 0 || some.count == 0);
    ledger_where_destroy(where);
    ledger_lots_clear(&all);
    ledger_lots_clear(&some);
    return found;
}

/* Kept, or gone while a heat's loops change, the statistics are those of its loops. */
START_TEST(sums_of_heats_are_never_stale)
{
    const struct ledger_sample samples[] = {{1, NORTHGATE, "H1", "R-1", 18000},
        {2, NORTHGATE, "H1", "R-2", 18300}, {3, NORTHGATE, "H2", "R-3", 19000},
        {2, NORTHGATE, "H1", "R-2", 18400}};
    struct ledger_undone undone;
    struct error err = {0};
    double mean = 0;
    for (size_t i = 0; i < 4; i++) {
        struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
        (void)ledger_sample_add(ledger, &samples[i], NULL);
        ck_assert_uint_eq(sums_mean(ledger, "H1", &mean), i == 0 ? 1 : 2); /* not settled yet */
        ledger_close(ledger);
        ledger = ledger_sample_open(LEDGER_READ, "find");
        ck_assert_uint_eq(sums_mean(ledger, "H1", &mean), i == 0 ? 1 : 2); /* settled */
        ledger_close(ledger);
        check_all();
    }
    ck_assert_double_eq(mean, 18200);
    struct ledger *ledger = ledger_sample_open(LEDGER_WRITE, "undo");
    ck_assert_int_eq(undo(ledger, &undone, &err), STATUS_OK);
    ck_assert_uint_eq(sums_mean(ledger, "H1", &mean), 2);
    ck_assert_double_eq(mean, 18150);
    ck_assert_int_eq(undo(ledger, &undone, &err), STATUS_OK);
    ck_assert_uint_eq(sums_mean(ledger, "H2", &mean), 0);
    ledger_close(ledger);
    check_all();
    /* whoever changes a loop takes the sums away with it; sums alone are found by the check */
    ledger_sample_spoil("UPDATE loop SET coercivity_A_per_m = 20000 WHERE id = 1");
    ledger = ledger_sample_open(LEDGER_READ, "find");
    ck_assert_uint_eq(sums_mean(ledger, "H1", &mean), 2);
    ck_assert_double_eq(mean, 19150);
    ledger_close(ledger);
    ledger_sample_spoil("UPDATE loop SET coercivity_A_per_m = 18000 WHERE id = 1");
    ledger = ledger_sample_open(LEDGER_WRITE, "tag");
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_int_eq(ledger_commit(ledger, &err), STATUS_OK);
    ledger_close(ledger);
    check_all();
    ledger_sample_spoil("UPDATE heat_sum SET mean = mean + 1 WHERE figure = 'coercivity_A_per_m'");
    char words[4000];
    ck_assert_uint_eq(ledger_sample_check(NULL, words, sizeof words), 1);
    ck_assert_ptr_nonnull(strstr(words, "the sums of heat 1 are not those of its loops"));
}
END_TEST

START_TEST(undo_takes_changes_back_one_by_one)
{
    const struct ledger_sample first = {1, NORTHGATE, "H1", "R-1", 18000};
    const struct ledger_sample other = {1, NORTHGATE, "H1", "R-1", 18001};
    struct ledger_undone undone;
    struct error err = {0};
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
    ck_assert_int_eq(ledger_sample_add(ledger, &first, NULL), LEDGER_ADDED);
    ledger_close(ledger);
    char *state = ledger_sample_list_rows();
    ledger = ledger_sample_open(LEDGER_WRITE, "recompute");
    ck_assert_int_eq(ledger_sample_add(ledger, &other, NULL), LEDGER_REPLACED);
    ledger_close(ledger);

    ledger = ledger_sample_open(LEDGER_WRITE, "undo");
    ck_assert_msg(undo(ledger, &undone, &err) == STATUS_OK, "%s", err.message);
    ledger_close(ledger);
    ck_assert_int_eq(undone.change_id, 2);
    ck_assert_uint_eq(undone.rows, 2);
    ck_assert_str_eq(undone.command, "recompute");
    char *after = ledger_sample_list_rows();
    ck_assert_str_eq(state, after);
    check_all();

    ledger = ledger_sample_open(LEDGER_WRITE, "undo");
    ck_assert_int_eq(undo(ledger, &undone, &err), STATUS_OK);
    ledger_close(ledger);
    ck_assert_int_eq(undone.change_id, 1);
    ledger = ledger_sample_open(LEDGER_WRITE, "undo");
    ck_assert_uint_eq(count(ledger), 0);
    ck_assert_int_eq(undo(ledger, &undone, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "there is no change to take back");
    ledger_close(ledger);
    check_all();
    free(state);
    free(after);
}
END_TEST

START_TEST(numbers_of_rows_that_are_gone_are_not_given_again)
{
    const struct ledger_sample first = {1, NORTHGATE, "H1", "R-1", 18000};
    struct ledger_undone undone;
    struct error err = {0};
    long long id = 0;
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
    ck_assert_int_eq(ledger_sample_add(ledger, &first, &id), LEDGER_ADDED);
    ck_assert_int_eq(id, 1);
    ledger_close(ledger);
    ledger = ledger_sample_open(LEDGER_WRITE, "undo");
    ck_assert_int_eq(undo(ledger, &undone, &err), STATUS_OK);
    ledger_close(ledger);
    ledger = ledger_sample_open(LEDGER_WRITE, "add");
    ck_assert_int_eq(ledger_sample_add(ledger, &first, &id), LEDGER_ADDED);
    ck_assert_int_eq(id, 2);
    ledger_close(ledger);
    check_all();
}
END_TEST

/* Two programs whose changes cross: what the later one uses cannot go before it. */
START_TEST(undo_refuses_what_a_later_change_builds_on)
{
    const struct ledger_sample samples[] = {{1, NORTHGATE, "H1", "R-1", 18000},
        {2, NORTHGATE, "H1", "R-2", 18000}, {3, NORTHGATE, "H1", "R-2", 18100}};
    struct ledger_undone undone;
    struct error err = {0};
    struct ledger *one = ledger_sample_open(LEDGER_CREATE, "add");
    struct ledger *two = ledger_sample_open(LEDGER_CREATE, "add");
    ck_assert_int_eq(ledger_sample_add(one, &samples[0], NULL), LEDGER_ADDED);
    ck_assert_int_eq(ledger_sample_add(two, &samples[1], NULL), LEDGER_ADDED);
    ck_assert_int_eq(ledger_sample_add(one, &samples[2], NULL), LEDGER_ADDED);
    ledger_close(one);
    ledger_close(two);
    char *state = ledger_sample_list_rows();
    struct ledger *ledger = ledger_sample_open(LEDGER_WRITE, "undo");
    ck_assert_int_eq(undo(ledger, &undone, &err), STATUS_INPUT);
    ck_assert_msg(strstr(err.message, "change 2 cannot be taken back: specimen_version 2") != NULL,
        "%s", err.message);
    ledger_close(ledger);
    char *after = ledger_sample_list_rows();
    ck_assert_str_eq(state, after);
    free(state);
    free(after);
    check_all();
}
END_TEST

START_TEST(a_backup_is_the_same_ledger_in_one_file)
{
    const struct ledger_sample first = {1, NORTHGATE, "H1", "R-1", 18000};
    struct error err = {0};
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
    ck_assert_int_eq(ledger_sample_add(ledger, &first, NULL), LEDGER_ADDED);
    ck_assert_msg(ledger_backup(ledger, "copy.ledger", &err) == STATUS_OK, "%s", err.message);
    ck_assert_int_eq(ledger_backup(ledger, "./test.ledger", &err), STATUS_USAGE);
    ck_assert_int_eq(ledger_backup(ledger, "none/copy.ledger", &err), STATUS_IO);
    ledger_close(ledger);
    ck_assert_uint_eq(scratch_count(), 2); /* no log beside either */
    char *state = ledger_sample_list_rows();
    ck_assert_int_eq(rename("copy.ledger", "test.ledger"), 0);
    char *copied = ledger_sample_list_rows();
    ck_assert_str_eq(state, copied);
    free(state);
    free(copied);
    check_all();
}
END_TEST

static long long add_document(const char *json, enum ledger_outcome wanted)
{
    struct ledger_document document;
    struct error err = {0};
    enum ledger_outcome outcome = LEDGER_OUTCOMES;
    long long id = 0;
    struct ledger *ledger = ledger_sample_open(LEDGER_WRITE, "qualify");
    ck_assert_msg(ledger_document_read("d.json", json, strlen(json), &document, &err) == STATUS_OK,
        "%s", err.message);
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_msg(ledger_add_document(ledger, &document, &outcome, &id, &err) == STATUS_OK, "%s",
        err.message);
    ck_assert_int_eq(ledger_commit(ledger, &err), STATUS_OK);
    ck_assert_int_eq(outcome, wanted);
    ledger_document_clear(&document);
    ledger_close(ledger);
    return id;
}

static enum status keep_fields(const char *const *names, const char *const *cells, size_t fields,
    void *user, struct error *err)
{
    struct text *out = user;
    (void)err;
    for (size_t i = 0; i < fields; i++) {
        if (strcmp(names[i], "sha256") != 0 && strcmp(names[i], "bytes") != 0) {
            text_add_format(out, "%s %s;", names[i], cells[i]);
        }
    }
    return STATUS_OK;
}

START_TEST(keeps_verdicts_with_the_loops_they_are_from)
{
    static const char verdict[] =
        "{\"schema\": \"lodecard-verdict/1\", \"verdict\": \"rejected\", \"limits\": {\"name\": "
        "\"RS-36, incoming\"}, \"loops\": [{\"sha256\": \"%064d\"}, {\"sha256\": \"%064d\"}], "
        "\"p\": 0.1}";
    const struct ledger_sample samples[] = {
        {1, NORTHGATE, "H1", "R-1", 18000}, {2, NORTHGATE, "H1", "R-2", 18000}};
    char json[400];
    struct text out = {0};
    struct error err = {0};
    char *document = NULL;
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
    for (size_t i = 0; i < 2; i++) {
        ck_assert_int_eq(ledger_sample_add(ledger, &samples[i], NULL), LEDGER_ADDED);
    }
    ledger_close(ledger);
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
    snprintf(json, sizeof json, verdict, 1, 2);
#pragma GCC diagnostic pop
    ck_assert_int_eq(add_document(json, LEDGER_ADDED), 1);
    ck_assert_int_eq(add_document(json, LEDGER_KNOWN), 1);
    ledger = ledger_sample_open(LEDGER_READ, "show");
    ck_assert_int_eq(
        ledger_visit_row(ledger, LEDGER_KIND_VERDICT, 1, keep_fields, &out, &err), STATUS_OK);
    ck_assert_str_eq(out.bytes, "number 1;name RS-36, incoming;word rejected;day 2026-11-25;person "
                                "A. Technician;heat H1;loops 1 2;");
    ck_assert_int_eq(
        ledger_get_document(ledger, LEDGER_KIND_VERDICT, 1, &document, &err), STATUS_OK);
    ck_assert_str_eq(document, json);
    ck_assert_int_eq(
        ledger_get_document(ledger, LEDGER_KIND_CARD, 1, &document, &err), STATUS_INPUT);
    free(document);
    text_clear(&out);
    ledger_close(ledger);
    check_all();
}
END_TEST

START_TEST(a_verdict_refers_to_exactly_the_loops_it_is_told)
{
    static const char json[] = "{\"schema\": \"lodecard-verdict/1\", \"verdict\": \"accepted\"}";
    const struct ledger_sample samples[] = {{1, NORTHGATE, "H1", "R-1", 18000},
        {2, NORTHGATE, "H1", "R-2", 18000}, {2, NORTHGATE, "H1", "R-2", 18500}};
    struct ledger_document document = {0};
    struct error err = {0};
    struct text out = {0};
    enum ledger_outcome outcome;
    long long id = 0, loops[] = {1, 2, 9};
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "qualify");
    for (size_t i = 0; i < 3; i++) { /* loop 3 replaces loop 2 */
        (void)ledger_sample_add(ledger, &samples[i], NULL);
    }
    ck_assert_int_eq(
        ledger_document_read("v.json", json, strlen(json), &document, &err), STATUS_OK);
    document.loops = loops;
    document.loop_count = 3;
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_int_eq(ledger_add_document(ledger, &document, &outcome, &id, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "there is no loop 9 in the ledger");
    ledger_rollback(ledger);
    document.loop_count = 2;
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_int_eq(ledger_add_document(ledger, &document, &outcome, &id, &err), STATUS_OK);
    ck_assert_int_eq(ledger_commit(ledger, &err), STATUS_OK);
    ck_assert_int_eq(
        ledger_visit_row(ledger, LEDGER_KIND_VERDICT, id, keep_fields, &out, &err), STATUS_OK);
    ck_assert_ptr_nonnull(strstr(out.bytes, "loops 1 2;"));
    document.loops = NULL;
    ledger_document_clear(&document);
    text_clear(&out);
    ledger_close(ledger);
    check_all();
}
END_TEST

/* In any order, each once; not of some of them, and not of more. */
START_TEST(finds_the_verdict_of_exactly_these_loops)
{
    static const struct {
        long long loops[4];
        size_t count;
        long long id; /* 0: none */
    } cases[] = {{{1, 2}, 2, 1}, {{2, 1, 2}, 3, 1}, {{1}, 1, 0}, {{2}, 1, 0}, {{1, 2, 3}, 3, 0},
        {{1, 3}, 2, 2}, {{3}, 1, 0}, {{9}, 1, 0}, {{0}, 0, 0}};
    static const struct ledger_sample samples[] = {{1, NORTHGATE, "H1", "R-1", 18000},
        {2, NORTHGATE, "H1", "R-2", 18300}, {3, NORTHGATE, "H2", "R-3", 19000}};
    struct error err = {0};
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
    for (size_t i = 0; i < 3; i++) {
        ck_assert_int_eq(ledger_sample_add(ledger, &samples[i], NULL), LEDGER_ADDED);
    }
    ledger_close(ledger);
    for (int i = 0; i < 2; i++) { /* of captures 1 and 2, 1 and 3 */
        char json[400];
        snprintf(json, sizeof json,
            "{\"schema\": \"lodecard-verdict/1\", \"verdict\": \"accepted\", \"loops\": "
            "[{\"sha256\": "
            "\"%064d\"}, {\"sha256\": \"%064d\"}, {\"sha256\": \"ABC\"}, {\"sha256\": 7}]}",
            1, i == 0 ? 2 : 3);
        ck_assert_int_eq(add_document(json, LEDGER_ADDED), i + 1);
    }
    ledger = ledger_sample_open(LEDGER_READ, "find");
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        long long id = -1;
        ck_assert_int_eq(
            ledger_find_verdict(ledger, cases[i].loops, cases[i].count, &id, &err), STATUS_OK);
        ck_assert_msg(id == cases[i].id, "case %zu: verdict %lld", i, id);
    }
    ledger_close(ledger);
}
END_TEST

START_TEST(refuses_documents_it_does_not_know)
{
    static const char *const cases[] = {"{}", "[]", "{\"schema\": \"lodecard-look/1\"}",
        "{\"schema\": \"lodecard-verdict/1\"}", "nonsense"};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct ledger_document document;
        struct error err = {0};
        ck_assert_int_eq(
            ledger_document_read("d.json", cases[i], strlen(cases[i]), &document, &err),
            STATUS_INPUT);
        ck_assert_ptr_nonnull(strstr(err.message, "d.json"));
    }
}
END_TEST

Suite *ledger_care_suite(void)
{
    Suite *suite = suite_create("ledger_care");
    TCase *tests = tcase_create("ledger_care");
    tcase_add_checked_fixture(tests, enter, scratch_leave);
    tcase_set_timeout(tests, 30);
    tcase_add_loop_test(tests, brings_old_ledgers_up_to_the_present_tables, 0,
        (int)(sizeof old_ledgers / sizeof old_ledgers[0]));
    tcase_add_test(tests, sums_of_heats_are_never_stale);
    tcase_add_test(tests, undo_takes_changes_back_one_by_one);
    tcase_add_test(tests, numbers_of_rows_that_are_gone_are_not_given_again);
    tcase_add_test(tests, undo_refuses_what_a_later_change_builds_on);
    tcase_add_test(tests, a_backup_is_the_same_ledger_in_one_file);
    tcase_add_test(tests, keeps_verdicts_with_the_loops_they_are_from);
    tcase_add_test(tests, a_verdict_refers_to_exactly_the_loops_it_is_told);
    tcase_add_test(tests, finds_the_verdict_of_exactly_these_loops);
    tcase_add_test(tests, refuses_documents_it_does_not_know);
    suite_add_tcase(suite, tests);
    return suite;
}
