// SPDX-License-Identifier: GPL-3.0-or-later
#include <string.h>

#include "base/error.h"
#include "suites.h"

START_TEST(fills_status_message_and_hint)
{
    struct error err = {0};
    enum status status = fail(&err, STATUS_INPUT, "write 100 %", "line %d of '%s'", 7, "a.yaml");
    ck_assert_int_eq(status, STATUS_INPUT);
    ck_assert_int_eq(err.status, STATUS_INPUT);
    ck_assert_str_eq(err.message, "line 7 of 'a.yaml'");
    ck_assert_str_eq(err.hint, "write 100 %");
}
END_TEST

START_TEST(works_without_an_error_to_fill)
{
    ck_assert_int_eq(fail(NULL, STATUS_IO, NULL, "x"), STATUS_IO);
    ck_assert_int_eq(fail_memory(NULL), STATUS_FAULT);
}
END_TEST

START_TEST(takes_no_hint_as_an_empty_one)
{
    struct error err = {.hint = "old"};
    fail(&err, STATUS_USAGE, NULL, "x");
    ck_assert_str_eq(err.hint, "");
}
END_TEST

START_TEST(may_wrap_the_message_that_is_there)
{
    struct error err = {0};
    fail(&err, STATUS_INPUT, NULL, "line 3: no number");
    fail(&err, STATUS_INPUT, NULL, "'a.csv': %s", err.message);
    ck_assert_str_eq(err.message, "'a.csv': line 3: no number");
}
END_TEST

/* "é" is two bytes: with one byte before them the cut falls inside a character for one of the two.
 */
START_TEST(cuts_long_texts_at_a_character_and_says_so)
{
    struct error err = {0};
    char words[2 * sizeof err.message];
    size_t lead = (size_t)_i;
    memset(words, 'x', lead);
    for (size_t i = lead; i + 2 < sizeof words; i += 2) {
        memcpy(words + i, "é", 3);
    }
    fail(&err, STATUS_INPUT, words, "%s", words);
    size_t length = strlen(err.message);
    ck_assert_uint_lt(length, sizeof err.message);
    ck_assert_uint_ge(length, sizeof err.message - 2);
    ck_assert_str_eq(err.message + length - 5, "é...");
    length = strlen(err.hint);
    ck_assert_uint_ge(length, sizeof err.hint - 2);
    ck_assert_str_eq(err.hint + length - 5, "é...");
}
END_TEST

Suite *error_suite(void)
{
    Suite *suite = suite_create("error");
    TCase *tests = tcase_create("error");
    tcase_add_test(tests, fills_status_message_and_hint);
    tcase_add_test(tests, works_without_an_error_to_fill);
    tcase_add_test(tests, takes_no_hint_as_an_empty_one);
    tcase_add_test(tests, may_wrap_the_message_that_is_there);
    tcase_add_loop_test(tests, cuts_long_texts_at_a_character_and_says_so, 0, 2);
    suite_add_tcase(suite, tests);
    return suite;
}
