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

START_TEST(shows_what_would_steer_a_terminal)
{
    struct error err = {0};
    fail(&err, STATUS_INPUT, "h\x1b]0;t\x07", "'%s'",
        "a\x1b[31m\nb\t\xff\xc2\x9b\xe2\x80\xae.wav 25 °C\x7f");
    ck_assert_str_eq(err.message, "'a\\x1b[31m\\nb\\t\\xff\\u009b\\u202e.wav 25 °C\\x7f'");
    ck_assert_str_eq(err.hint, "h\\x1b]0;t\\x07");
    fail_lines(&err, STATUS_INPUT, NULL, "a.yaml:1: x\na.yaml:2: %s", "\x1b");
    ck_assert_str_eq(err.message, "a.yaml:1: x\na.yaml:2: \\x1b");
}
END_TEST

/* Each byte becomes four. */
START_TEST(cuts_what_grows_beyond_its_room)
{
    struct error err = {0};
    char words[sizeof err.message];
    memset(words, '\x1b', sizeof words - 1);
    words[sizeof words - 1] = '\0';
    fail(&err, STATUS_INPUT, words, "x%s", words);
    ck_assert_uint_lt(strlen(err.message), sizeof err.message);
    ck_assert_str_eq(err.message + strlen(err.message) - 3, "...");
    ck_assert_int_eq(strncmp(err.message, "x\\x1b\\x1b", 9), 0);
    ck_assert_str_eq(err.hint + strlen(err.hint) - 3, "...");
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
    tcase_add_test(tests, shows_what_would_steer_a_terminal);
    tcase_add_test(tests, cuts_what_grows_beyond_its_room);
    tcase_add_loop_test(tests, cuts_long_texts_at_a_character_and_says_so, 0, 2);
    suite_add_tcase(suite, tests);
    return suite;
}
