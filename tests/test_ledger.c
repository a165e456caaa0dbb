// SPDX-License-Identifier: GPL-3.0-or-later
/* The ledger: what is added, found again, and noticed when it was changed behind its back. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "ledger/find.h"
#include "ledger/kind.h"
#include "ledger_sample.h"
#include "scratch.h"
#include "suites.h"

#define NORTHGATE "Northgate Foundry"
#define CALDER "Calder & Sons"

/* Two suppliers, three heats, five rings. */
static const struct ledger_sample samples[] = {
    {1, NORTHGATE, "H2291", "R-17", 18000},
    {2, NORTHGATE, "H2291", "R-18", 18500},
    {3, NORTHGATE, "H2292", "R-21", 19100},
    {4, CALDER, "C7", "R-31", 17000},
    {5, CALDER, "C7", "R-32", 17900},
};
#define SAMPLES (sizeof samples / sizeof samples[0])

static struct ledger *open_filled(void)
{
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
    for (size_t i = 0; i < SAMPLES; i++) {
        ck_assert_int_eq(ledger_sample_add(ledger, &samples[i], NULL), LEDGER_ADDED);
    }
    return ledger;
}

static size_t count(struct ledger *ledger, const char *condition)
{
    struct ledger_where *where = ledger_where_create();
    struct ledger_search search = LEDGER_SEARCH_ALL;
    struct error err = {0};
    size_t found = 0;
    ck_assert_msg(ledger_where_add(where, condition, &err) == STATUS_OK, "%s", err.message);
    search.where = where;
    ck_assert_msg(ledger_count_loops(ledger, &search, &found, &err) == STATUS_OK, "%s: %s",
        condition, err.message);
    ledger_where_destroy(where);
    return found;
}

START_TEST(keeps_every_figure_as_it_was)
{
    struct ledger *ledger = open_filled();
    struct ledger_rows rows = {0};
    struct error err = {0};
    ck_assert_int_eq(ledger_read_loops(ledger, &LEDGER_SEARCH_ALL, &rows, &err), STATUS_OK);
    ck_assert_uint_eq(rows.count, SAMPLES);
    for (size_t i = 0; i < SAMPLES; i++) {
        const struct ledger_row *row = &rows.list[i];
        const struct figure_value *coercivity = &row->figures.list[FIGURE_COERCIVITY];
        ck_assert_str_eq(row->supplier, samples[i].supplier);
        ck_assert_str_eq(row->heat, samples[i].heat);
        ck_assert_str_eq(row->specimen, samples[i].specimen);
        ck_assert_str_eq(row->alloy, "RS-36");
        ck_assert_str_eq(row->rig, "bench 2");
        ck_assert_str_eq(row->calibration_day, "2026-11-01");
        ck_assert_str_eq(row->note_codes, "distorted");
        ck_assert(coercivity->is_present && coercivity->has_u);
        ck_assert_double_eq(coercivity->value, samples[i].coercivity);
        ck_assert_double_eq(coercivity->u, 48);
        ck_assert(!row->figures.list[FIGURE_LOOP_AREA].is_present);
        ck_assert(!row->figures.list[FIGURE_REMANENCE].has_u);
    }
    ledger_rows_clear(&rows);
    ledger_close(ledger);
}
END_TEST

START_TEST(recognises_the_same_capture)
{
    struct ledger *ledger = open_filled();
    long long id = 0;
    ck_assert_int_eq(ledger_sample_add(ledger, &samples[1], &id), LEDGER_KNOWN);
    ck_assert_int_eq(id, 2);
    ck_assert_uint_eq(count(ledger, "coercivity > 0 A/m"), SAMPLES);
    ledger_close(ledger);
}
END_TEST

START_TEST(keeps_the_old_loop_of_a_capture_with_other_figures)
{
    struct ledger *ledger = open_filled();
    struct ledger_search search = LEDGER_SEARCH_ALL;
    struct ledger_sample other = samples[1];
    struct error err = {0};
    long long id = 0;
    size_t all = 0;
    other.coercivity += 1e-9;
    ck_assert(other.coercivity != samples[1].coercivity);
    ck_assert_int_eq(ledger_sample_add(ledger, &other, &id), LEDGER_REPLACED);
    ck_assert_int_eq(id, SAMPLES + 1);
    ck_assert_uint_eq(count(ledger, "specimen = R-18"), 1);
    search.has_old = true;
    ck_assert_int_eq(ledger_count_loops(ledger, &search, &all, &err), STATUS_OK);
    ck_assert_uint_eq(all, SAMPLES + 1);
    ledger_close(ledger);
}
END_TEST

START_TEST(finds_what_the_conditions_say)
{
    static const struct {
        const char *condition;
        size_t count;
    } cases[] = {
        {"coercivity > 18 kA/m", 2},
        {"coercivity >= 18 kA/m", 3},
        {"coercivity_A_per_m >= 18000 A/m", 3},
        {"17.5 kA/m < coercivity < 18.5 kA/m", 2},
        {"17.5 kA/m <= coercivity <= 18.5 kA/m and supplier = 'Northgate Foundry'", 2},
        {"18.5 kA/m >= coercivity", 4},
        {"coercivity = 226.19467105846510 Oe", 1},
        {"supplier = \"Calder & Sons\"", 2},
        {"supplier != \"Calder & Sons\"", 3},
        {"heat = H22*", 3},
        {"heat = H_2*", 0},
        {"specimen = R-17 or specimen = R-31", 2},
        {"specimen = R-17 or specimen = R-31 and heat = C7", 2},
        {"(specimen = R-17 or specimen = R-31) and heat = C7", 1},
        {"not (specimen = R-17 or specimen = R-31)", 3},
        {"not specimen = R-17 and not specimen = R-31", 3},
        {"NOT specimen = R-17 AND coercivity < 17.5 kA/m", 1},
        {"u_coercivity < 0.1 kA/m", 5},
        {"u_remanence < 0.1 T", 0},
        {"loop_area > 0 J/m3", 0},
        {"note = distorted", 5},
        {"note = distort", 0},
        {"rig = 'bench 2' and file = c3.wav", 1},
        {"tag = golden", 0},
        {"remanence \u2265 950 mT", 5},
        {"remanence\u2260950 mT", 0},
        {"20 Hz = frequency", 5},
        {"'H2291' != heat", 3},
        {"19 kA/m > coercivity > 18 kA/m", 1},
        {"frequency = 20 Hz", 5},
    };
    struct ledger *ledger = open_filled();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const size_t found = count(ledger, cases[i].condition);
        ck_assert_msg(found == cases[i].count, "'%s': %zu loops, not %zu", cases[i].condition,
            found, cases[i].count);
    }
    ledger_close(ledger);
}
END_TEST

START_TEST(refuses_bad_conditions_and_says_why)
{
    static const struct {
        const char *condition, *message, *hint;
    } cases[] = {
        {"coercivity > 18", "coercivity: '18' has no unit, expected a field strength",
            "write it like '20 kA/m'"},
        {"coercivity > 18 T", "coercivity: '18 T' is a flux density, expected a field strength",
            NULL},
        {"coercivty > 18 kA/m", "'coercivty' is neither a figure nor a text of a loop",
            "did you mean 'coercivity'?"},
        {"coercivity", "a comparison is missing", NULL},
        {"coercivity >", "it ends where a name or value is due", NULL},
        {"", "it ends where a name or value is due", NULL},
        {"coercivity > 18 kA/m and", "it ends where a name or value is due", NULL},
        {"(coercivity > 18 kA/m", "a parenthesis is not closed", "close it with ')'"},
        {"coercivity > 18 kA/m) or", "') or' is left over", NULL},
        {"heat = 'H2291", "a quote is not closed", NULL},
        {"heat > H2291", "'heat' is a text and has no order", NULL},
        {"coercivity > 18 \u00B1 1 kA/m", NULL, NULL},
        {"18 kA/m < 19 kA/m", "neither a figure nor a text", NULL},
        {"coercivity > 18 kA/m; DROP TABLE loop", NULL, NULL},
        {"coercivity > 18 kA/m > ", "'> ' is left over", NULL},
        {"< 18 kA/m", "a name or value is missing", NULL},
        {"'x' < heat", "'heat' is a text and has no order", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct ledger_where *where = ledger_where_create();
        struct error err = {0};
        ck_assert_msg(ledger_where_add(where, cases[i].condition, &err) == STATUS_USAGE,
            "'%s' is taken", cases[i].condition);
        ck_assert_msg(cases[i].message == NULL || strstr(err.message, cases[i].message) != NULL,
            "'%s': %s", cases[i].condition, err.message);
        ck_assert_msg(cases[i].hint == NULL || strcmp(err.hint, cases[i].hint) == 0, "'%s': %s",
            cases[i].condition, err.hint);
        ledger_where_destroy(where);
    }
}
END_TEST

START_TEST(refuses_conditions_without_end)
{
    static const struct {
        const char *part, *end, *message;
        size_t count;
    } cases[] = {{"not ", "heat = x", "it is nested too deeply", 33},
        {"(", "heat = x", "it is nested too deeply", 33}, {"not ", "heat = x", NULL, 32},
        {"x", " = heat", "a name or value is too long", 201},
        {"x", "", "neither a figure nor a text of a loop", 200},
        {"",
            "heat = '0123456789012345678901234567890123456789012345678901234567890123456789"
            "0123456789012345678901234567890123456789012345678901234567890123456789"
            "0123456789012345678901234567890123456789012345678901234567890123456789'",
            "a text is too long", 0}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct ledger_where *where = ledger_where_create();
        struct text words = {0};
        struct error err = {0};
        for (size_t j = 0; j < cases[i].count; j++) {
            text_add(&words, cases[i].part);
        }
        text_add(&words, cases[i].end);
        const enum status status = ledger_where_add(where, words.bytes, &err);
        ck_assert_int_eq(status, cases[i].message == NULL ? STATUS_OK : STATUS_USAGE);
        ck_assert_msg(cases[i].message == NULL || strstr(err.message, cases[i].message) != NULL,
            "%s", err.message);
        text_clear(&words);
        ledger_where_destroy(where);
    }
}
END_TEST

/* Whatever is taken is a condition that can be asked: words in any order, over many seeds. */
START_TEST(takes_nothing_that_cannot_be_asked)
{
    static const char *const tokens[] = {"coercivity", "u_remanence", "heat", "note", "tag", "<",
        "<=", "=", "!=", ">", "and", "or", "not", "(", ")", "18 kA/m", "0.9 T", "'x y'", "H22*",
        "20", "\"", "'", "%", "--", ";", "\u2265", "kA/m", "1e999 T", "lag_angle", "45 deg"};
    const size_t token_count = sizeof tokens / sizeof tokens[0];
    struct ledger *ledger = open_filled();
    size_t taken = 0;
    unsigned int seed = 1;
    for (int trial = 0; trial < 20000; trial++) {
        struct ledger_where *where = ledger_where_create();
        struct ledger_search search = LEDGER_SEARCH_ALL;
        struct error err = {0};
        struct text words = {0};
        size_t found = 0;
        const int length = 1 + trial % 9;
        for (int i = 0; i < length; i++) {
            seed = seed * 1103515245u + 12345u;
            text_add_format(&words, "%s ", tokens[(seed >> 16) % token_count]);
        }
        const enum status status = ledger_where_add(where, words.bytes, &err);
        ck_assert_msg(status == STATUS_OK || status == STATUS_USAGE, "'%s': %d, %s", words.bytes,
            status, err.message);
        search.where = where;
        if (status == STATUS_OK) {
            taken++;
            ck_assert_msg(ledger_count_loops(ledger, &search, &found, &err) == STATUS_OK,
                "'%s': %s", words.bytes, err.message);
        }
        text_clear(&words);
        ledger_where_destroy(where);
    }
    ck_assert_uint_gt(taken, 20);
    ledger_close(ledger);
}
END_TEST

START_TEST(takes_words_as_words_and_never_as_sql)
{
    struct ledger_sample odd = {9, "x'); DROP TABLE loop; --", "H'9", "R%_\\*", 18000};
    struct ledger *ledger = open_filled();
    struct ledger_where *where = ledger_where_create();
    struct ledger_search search = LEDGER_SEARCH_ALL;
    struct error err = {0};
    size_t found = 0;
    odd.specimen = "R%_";
    ck_assert_int_eq(ledger_sample_add(ledger, &odd, NULL), LEDGER_ADDED);
    ck_assert_uint_eq(count(ledger, "supplier = \"x'); DROP TABLE loop; --\""), 1);
    ck_assert_uint_eq(count(ledger, "specimen = R%_"), 1);
    ck_assert_uint_eq(count(ledger, "specimen = *%*"), 1);
    ck_assert_uint_eq(count(ledger, "heat = \"' OR 1 = 1 --\""), 0);
    ck_assert_int_eq(ledger_where_add_text(where, "heat", "H'9", &err), STATUS_OK);
    search.where = where;
    ck_assert_int_eq(ledger_count_loops(ledger, &search, &found, &err), STATUS_OK);
    ck_assert_uint_eq(found, 1);
    ledger_where_destroy(where);
    ledger_close(ledger);
}
END_TEST

START_TEST(finds_the_loops_of_a_row)
{
    static const struct {
        enum ledger_kind kind;
        long long id;
        size_t count;
    } cases[] = {{LEDGER_KIND_SUPPLIER, 1, 3}, {LEDGER_KIND_ALLOY, 1, 5}, {LEDGER_KIND_HEAT, 1, 2},
        {LEDGER_KIND_SPECIMEN, 3, 1}, {LEDGER_KIND_RIG, 1, 5}, {LEDGER_KIND_CAPTURE, 2, 1},
        {LEDGER_KIND_LOOP, 4, 1}, {LEDGER_KIND_VERDICT, 1, 0}, {LEDGER_KIND_HEAT, 9, 0}};
    struct ledger *ledger = open_filled();
    struct error err = {0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct ledger_where *where = ledger_where_create();
        struct ledger_search search = LEDGER_SEARCH_ALL;
        size_t found = 99;
        ck_assert_int_eq(ledger_where_add_row(where, cases[i].kind, cases[i].id, &err), STATUS_OK);
        search.where = where;
        ck_assert_int_eq(ledger_count_loops(ledger, &search, &found, &err), STATUS_OK);
        ck_assert_msg(found == cases[i].count, "%s %lld: %zu loops",
            ledger_kind_get_name(cases[i].kind), cases[i].id, found);
        ledger_where_destroy(where);
    }
    struct ledger_where *where = ledger_where_create();
    ck_assert_int_eq(ledger_where_add_row(where, LEDGER_KIND_TAG, 1, &err), STATUS_USAGE);
    ledger_where_destroy(where);
    ledger_close(ledger);
}
END_TEST

START_TEST(sorts_and_limits)
{
    struct ledger *ledger = open_filled();
    struct ledger_search search = {.sort = FIGURE_COERCIVITY, .is_falling = true, .limit = 2};
    struct ledger_rows rows = {0};
    struct error err = {0};
    ck_assert_int_eq(ledger_read_loops(ledger, &search, &rows, &err), STATUS_OK);
    ck_assert_uint_eq(rows.count, 2);
    ck_assert_str_eq(rows.list[0].specimen, "R-21");
    ck_assert_str_eq(rows.list[1].specimen, "R-18");
    ledger_rows_clear(&rows);
    ledger_close(ledger);
}
END_TEST

/* Mean and deviation of 18000 and 18500: 18250, 500 / sqrt 2; of all five by hand. */
START_TEST(computes_statistics_of_heats)
{
    struct ledger *ledger = open_filled();
    struct ledger_lots lots = {0};
    struct error err = {0};
    ck_assert_int_eq(ledger_read_lots(ledger, NULL, FIGURE_COERCIVITY, &lots, &err), STATUS_OK);
    ck_assert_uint_eq(lots.count, 3);
    ck_assert_str_eq(lots.list[0].heat, "C7");
    ck_assert_str_eq(lots.list[1].heat, "H2291");
    ck_assert_uint_eq(lots.list[1].count, 2);
    ck_assert_double_eq_tol(lots.list[1].mean, 18250, 1e-9);
    ck_assert_double_eq_tol(lots.list[1].deviation, 500 / sqrt(2), 1e-9);
    ck_assert(isnan(lots.list[2].deviation));
    double mean = 0, squares = 0;
    for (size_t i = 0; i < SAMPLES; i++) {
        mean += samples[i].coercivity / SAMPLES;
    }
    for (size_t i = 0; i < SAMPLES; i++) {
        squares += pow(samples[i].coercivity - mean, 2);
    }
    ck_assert_uint_eq(lots.all.count, SAMPLES);
    ck_assert_double_eq_tol(lots.all.mean, mean, 1e-9);
    ck_assert_double_eq_tol(lots.all.deviation, sqrt(squares / (SAMPLES - 1)), 1e-9);
    ck_assert_double_eq(lots.all.least, 17000);
    ck_assert_double_eq(lots.all.most, 19100);
    ledger_lots_clear(&lots);
    ledger_close(ledger);
}
END_TEST

START_TEST(changes_nothing_after_a_rollback)
{
    struct ledger *ledger = open_filled();
    struct ledger_loop loop;
    struct error err = {0};
    struct ledger_sample sample = {7, CALDER, "C8", "R-41", 18000};
    enum ledger_outcome outcome;
    char words[2000];
    long long id;
    char *json = ledger_sample_write(&sample);
    ck_assert_int_eq(ledger_loop_read("s", json, strlen(json), &loop, &err), STATUS_OK);
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_int_eq(ledger_add_loop(ledger, &loop, &outcome, &id, &err), STATUS_OK);
    ledger_rollback(ledger);
    ck_assert_uint_eq(count(ledger, "heat = C8"), 0);
    ck_assert_int_eq(ledger_sample_add(ledger, &sample, &id), LEDGER_ADDED);
    ledger_loop_clear(&loop);
    free(json);
    ledger_close(ledger);
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) == 0, "%s", words);
}
END_TEST

/* Each way of meddling, and the word that names it. Triggers do not stop who takes them away. */
START_TEST(check_finds_what_was_changed_behind_its_back)
{
    static const struct {
        const char *sql, *fault;
    } cases[] = {
        {"UPDATE loop SET coercivity_A_per_m = 18000.000000000004 WHERE id = 1",
            "loop 1 is not what was written"},
        {"UPDATE loop SET u_coercivity_A_per_m = NULL WHERE id = 2", "loop 2 is not what was"},
        {"UPDATE supplier SET name = 'Northgate' WHERE id = 1", "supplier 1 is not what was"},
        {"UPDATE change_set SET day = '2026-11-24' WHERE id = 1", "change_set 1 is not what was"},
        {"PRAGMA foreign_keys = OFF; DELETE FROM loop WHERE id = 5", "loop 5 is gone"},
        {"INSERT INTO supplier VALUES (77, 'x')", "supplier 77 was put in without the journal"},
        {"DROP TRIGGER journal_keeps_lines; UPDATE journal SET digest = 'x' WHERE id = 9",
            "line 9 of the journal was changed"},
        {"DROP TRIGGER journal_keeps_all; DELETE FROM journal WHERE id = 9",
            "line 9 of the journal is missing"},
        {"UPDATE rig_version SET sha256 = 'x'", "rig_version 1 does not have its hash"},
        {"UPDATE loop SET heat_id = 3 WHERE id = 1", "names another heat than its specimen"},
        {"PRAGMA foreign_keys = OFF; DELETE FROM specimen WHERE id = 1",
            "loop 1 refers to a row of 'specimen' that is not there"},
    };
    char words[4000];
    ledger_close(open_filled());
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) == 0, "%s", words);
    ledger_sample_spoil(cases[_i].sql);
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) > 0, "not found");
    ck_assert_msg(strstr(words, cases[_i].fault) != NULL, "%s: %s", cases[_i].sql, words);
}
END_TEST

START_TEST(the_journal_refuses_to_be_changed)
{
    ledger_close(open_filled());
    ledger_sample_refuse("UPDATE journal SET digest = 'x'", "the journal only grows");
    ledger_sample_refuse("DELETE FROM journal WHERE id = 9", "the journal only grows");
}
END_TEST

/* A head that was noted tells a journal that was written anew from its begin. */
START_TEST(check_knows_an_earlier_head)
{
    char words[2000];
    ledger_close(open_filled());
    ck_assert_uint_eq(
        ledger_sample_check("0000000000000000000000000000000000000000000000000000000000000001",
            words, sizeof words),
        1);
    ck_assert_ptr_nonnull(strstr(words, "does not hold the head"));
}
END_TEST

START_TEST(refuses_what_is_no_ledger_and_leaves_it_alone)
{
    static const struct {
        const char *bytes, *message;
    } cases[] = {
        {"", "is empty: it is no ledger"},
        {"name: bench 2\n", "it is no ledger, or damaged"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct ledger *ledger = NULL;
        struct error err = {0};
        scratch_write("test.ledger", cases[i].bytes, strlen(cases[i].bytes));
        ck_assert_int_eq(
            ledger_open("test.ledger", LEDGER_WRITE, NULL, &ledger, &err), STATUS_INPUT);
        ck_assert_msg(strstr(err.message, cases[i].message) != NULL, "%s", err.message);
        ck_assert_ptr_null(ledger);
        ck_assert(scratch_holds("test.ledger", cases[i].bytes));
    }
    struct ledger *ledger = NULL;
    struct error err = {0};
    ck_assert_int_eq(ledger_open("none.ledger", LEDGER_WRITE, NULL, &ledger, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "there is no ledger 'none.ledger'");
    ck_assert_int_eq(ledger_open(".", LEDGER_CREATE, NULL, &ledger, &err), STATUS_IO);
}
END_TEST

START_TEST(refuses_a_ledger_of_a_newer_program)
{
    static const char *const marks[][2] = {
        {"PRAGMA user_version = 99", "is of a newer program: its version is 99"},
        {"ALTER TABLE loop ADD COLUMN sheen_cd_per_m2 REAL", "holds a figure 'sheen_cd_per_m2'"},
        {"PRAGMA application_id = 1", "is a database of another program"},
    };
    struct ledger *ledger = NULL;
    struct error err = {0};
    ledger_close(open_filled());
    ledger_sample_spoil(marks[_i][0]);
    char *before = ledger_sample_hash(), *after = NULL;
    ck_assert_int_eq(ledger_open("test.ledger", LEDGER_CREATE, NULL, &ledger, &err), STATUS_INPUT);
    ck_assert_msg(strstr(err.message, marks[_i][1]) != NULL, "%s", err.message);
    after = ledger_sample_hash();
    ck_assert_str_eq(before, after);
    free(before);
    free(after);
}
END_TEST

/* As if the program that made it had not known the fullness. */
START_TEST(adds_the_columns_of_new_figures)
{
    struct ledger_sample sample = {8, CALDER, "C9", "R-51", 18000};
    char words[2000];
    ledger_close(open_filled());
    ledger_sample_spoil("ALTER TABLE loop DROP COLUMN loop_fullness; "
                        "ALTER TABLE loop DROP COLUMN u_loop_fullness");
    struct ledger *ledger = ledger_sample_open(LEDGER_WRITE, "add");
    ck_assert_int_eq(ledger_sample_add(ledger, &sample, NULL), LEDGER_ADDED);
    ck_assert_uint_eq(count(ledger, "coercivity > 0 A/m"), SAMPLES + 1);
    ck_assert_uint_eq(count(ledger, "loop_fullness > 0"), 0);
    ledger_close(ledger);
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) == 0, "%s", words);
}
END_TEST

START_TEST(finds_rows_by_name_number_and_hash)
{
    static const struct {
        enum ledger_kind kind;
        const char *word;
        long long id; /* 0: none, -1: several */
    } cases[] = {
        {LEDGER_KIND_HEAT, "C7", 3},
        {LEDGER_KIND_HEAT, "2", 2},
        {LEDGER_KIND_HEAT, "C8", 0},
        {LEDGER_KIND_LOOP, "4", 4},
        {LEDGER_KIND_LOOP, "44", 0},
        {LEDGER_KIND_LOOP, "x", 0},
        {LEDGER_KIND_CAPTURE, "c3.wav", 3},
        {LEDGER_KIND_CAPTURE, "00000000", -1},
        {LEDGER_KIND_CAPTURE, "0000000000000000000000000000000000000000000000000000000000000004",
            4},
        {LEDGER_KIND_SUPPLIER, NORTHGATE, 1},
        {LEDGER_KIND_SPECIMEN, "R-32", 5},
    };
    struct ledger *ledger = open_filled();
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct error err = {0};
        long long id = 0;
        const enum status status = ledger_find_row(ledger, cases[i].kind, cases[i].word, &id, &err);
        if (cases[i].id > 0) {
            ck_assert_msg(status == STATUS_OK && id == cases[i].id, "'%s': %lld, %s", cases[i].word,
                id, err.message);
        } else {
            ck_assert_int_eq(status, STATUS_USAGE);
            ck_assert_msg(strstr(err.message, cases[i].id < 0 ? "several" : "there is no") != NULL,
                "%s", err.message);
        }
    }
    ledger_close(ledger);
}
END_TEST

struct story {
    char words[2000];
};

static enum status keep_event(const struct ledger_event *event, void *user, struct error *err)
{
    struct story *story = user;
    const size_t length = strlen(story->words);
    (void)err;
    snprintf(story->words + length, sizeof story->words - length, "%s %s %s%s%s;", event->kind,
        event->command, event->day, event->before != NULL ? " before" : "",
        event->after != NULL && strstr(event->after, "\"is_current\": 1") != NULL ? " current"
                                                                                  : "");
    return STATUS_OK;
}

START_TEST(tells_the_history_of_a_row)
{
    struct ledger *ledger = open_filled();
    struct ledger_sample other = samples[0];
    struct story story = {{0}};
    struct error err = {0};
    other.coercivity = 18010;
    ck_assert_int_eq(ledger_sample_add(ledger, &other, NULL), LEDGER_REPLACED);
    ck_assert_int_eq(
        ledger_visit_history(ledger, LEDGER_KIND_LOOP, 1, keep_event, &story, &err), STATUS_OK);
    ck_assert_str_eq(story.words, "add add 2026-11-25 current;change add 2026-11-25 before;");
    ledger_close(ledger);
}
END_TEST

START_TEST(keeps_remarks_and_tags)
{
    struct ledger *ledger = open_filled();
    struct error err = {0};
    bool was_there = true;
    char words[2000];
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_int_eq(ledger_add_remark(ledger, LEDGER_KIND_HEAT, 1, "looks fine", &err), STATUS_OK);
    ck_assert_int_eq(
        ledger_add_tag(ledger, LEDGER_KIND_HEAT, 1, "golden", &was_there, &err), STATUS_OK);
    ck_assert(!was_there);
    ck_assert_int_eq(
        ledger_add_tag(ledger, LEDGER_KIND_HEAT, 1, "golden", &was_there, &err), STATUS_OK);
    ck_assert(was_there);
    ck_assert_int_eq(ledger_commit(ledger, &err), STATUS_OK);
    ck_assert_uint_eq(count(ledger, "tag = golden"), 2);
    ck_assert_uint_eq(count(ledger, "tag != golden"), 3);
    ck_assert_int_eq(ledger_begin(ledger, &err), STATUS_OK);
    ck_assert_int_eq(
        ledger_remove_tag(ledger, LEDGER_KIND_HEAT, 1, "golden", &was_there, &err), STATUS_OK);
    ck_assert(was_there);
    ck_assert_int_eq(ledger_commit(ledger, &err), STATUS_OK);
    ck_assert_uint_eq(count(ledger, "tag = golden"), 0);
    ledger_close(ledger);
    ck_assert_msg(ledger_sample_check(NULL, words, sizeof words) == 0, "%s", words);
}
END_TEST

START_TEST(refuses_json_that_is_no_loop)
{
    static const char *const cases[][2] = {
        {"{}", "schema"},
        {"{\"schema\": \"lodecard-loop/1\"}", "has no figures"},
        {"{\"schema\": \"lodecard-loop/1\", \"error\": {}}", "a capture without a result"},
        {"{\"schema\": \"lodecard-loop/1\", \"figures\": {\"remanence_T\": 1}, \"capture\": "
         "{\"sha256\": \"ABC\"}}",
            "does not tell the hash of its capture"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct ledger_loop loop;
        struct error err = {0};
        ck_assert_int_eq(ledger_loop_read("x.json", cases[i][0], strlen(cases[i][0]), &loop, &err),
            STATUS_INPUT);
        ck_assert_msg(strstr(err.message, cases[i][1]) != NULL, "%s", err.message);
    }
}
END_TEST

START_TEST(sees_paths_from_its_own_folder)
{
    static const struct {
        const char *path, *relative;
    } cases[] = {
        {"c1.wav", "c1.wav"},
        {"./c1.wav", "c1.wav"},
        {"a/../c1.wav", "c1.wav"},
        {"a/b/c1.wav", "a/b/c1.wav"},
    };
    struct error err = {0};
    ck_assert_int_eq(file_create_folder("a/b", &err), STATUS_OK);
    struct ledger *ledger = ledger_sample_open(LEDGER_CREATE, "add");
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *relative = ledger_get_relative(ledger, cases[i].path);
        ck_assert_str_eq(relative, cases[i].relative);
        free(relative);
    }
    char *above = ledger_get_relative(ledger, "../c1.wav");
    ck_assert_str_eq(above, "../c1.wav");
    free(above);
    ledger_close(ledger);
}
END_TEST

Suite *ledger_suite(void)
{
    Suite *suite = suite_create("ledger");
    TCase *tests = tcase_create("ledger");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_set_timeout(tests, 30);
    tcase_add_test(tests, keeps_every_figure_as_it_was);
    tcase_add_test(tests, recognises_the_same_capture);
    tcase_add_test(tests, keeps_the_old_loop_of_a_capture_with_other_figures);
    tcase_add_test(tests, finds_what_the_conditions_say);
    tcase_add_test(tests, refuses_bad_conditions_and_says_why);
    tcase_add_test(tests, refuses_conditions_without_end);
    tcase_add_test(tests, takes_nothing_that_cannot_be_asked);
    tcase_add_test(tests, takes_words_as_words_and_never_as_sql);
    tcase_add_test(tests, finds_the_loops_of_a_row);
    tcase_add_test(tests, sorts_and_limits);
    tcase_add_test(tests, computes_statistics_of_heats);
    tcase_add_test(tests, changes_nothing_after_a_rollback);
    tcase_add_loop_test(tests, check_finds_what_was_changed_behind_its_back, 0, 11);
    tcase_add_test(tests, the_journal_refuses_to_be_changed);
    tcase_add_test(tests, check_knows_an_earlier_head);
    tcase_add_test(tests, refuses_what_is_no_ledger_and_leaves_it_alone);
    tcase_add_loop_test(tests, refuses_a_ledger_of_a_newer_program, 0, 3);
    tcase_add_test(tests, adds_the_columns_of_new_figures);
    tcase_add_test(tests, finds_rows_by_name_number_and_hash);
    tcase_add_test(tests, tells_the_history_of_a_row);
    tcase_add_test(tests, keeps_remarks_and_tags);
    tcase_add_test(tests, refuses_json_that_is_no_loop);
    tcase_add_test(tests, sees_paths_from_its_own_folder);
    suite_add_tcase(suite, tests);
    return suite;
}
