// SPDX-License-Identifier: GPL-3.0-or-later
#include "cli/wrap.h"

#include <string.h>

#include "suites.h"

/* Twelve columns and a blank. */
#define WORD "abcdefghijkl "

START_TEST(breaks_lines_at_blanks_within_eighty_columns)
{
    struct text out = {0};
    wrap_add(&out, WORD WORD WORD WORD WORD WORD "end two", 0, 2);
    /* 2 + 6 * 13 = 80 columns with the blank ahead of "end": it has no room */
    ck_assert_str_eq(out.bytes, "  " WORD WORD WORD WORD WORD "abcdefghijkl\n  end two\n");
    text_clear(&out);
}
END_TEST

START_TEST(fills_the_eightieth_column)
{
    struct text out = {0};
    wrap_add(&out, WORD WORD WORD WORD WORD WORD "zz x", 0, 0);
    ck_assert_str_eq(out.bytes, WORD WORD WORD WORD WORD WORD "zz\nx\n");
    text_clear(&out);
}
END_TEST

START_TEST(goes_on_where_the_text_stands_and_keeps_line_breaks)
{
    struct text out = {0};
    text_add(&out, "name      ");
    wrap_add(&out, "first\nsecond\n\nthird", 10, 4);
    ck_assert_str_eq(out.bytes, "name      first\n    second\n\n    third\n");
    text_clear(&out);
}
END_TEST

START_TEST(counts_letters_not_bytes)
{
    struct text out = {0};
    /* 78 letters of two bytes each, then one that fits and one that does not */
    char words[400] = "";
    for (int i = 0; i < 78; i++)
        strcat(words, "\u00B5");
    strcat(words, " y z");
    wrap_add(&out, words, 0, 0);
    ck_assert_str_eq(out.bytes + 2 * 78, " y\nz\n");
    text_clear(&out);
}
END_TEST

START_TEST(leaves_long_words_whole)
{
    struct text out = {0};
    char words[200] = "see ";
    memset(words + 4, 'x', 100);
    words[104] = '\0';
    strcat(words, " there");
    wrap_add(&out, words, 0, 1);
    ck_assert_str_eq(out.bytes + strlen(" see\n ") + 100, "\n there\n");
    ck_assert_int_eq(strncmp(out.bytes, " see\n x", 7), 0);
    text_clear(&out);
}
END_TEST

Suite *wrap_suite(void)
{
    Suite *suite = suite_create("wrap");
    TCase *tests = tcase_create("wrap");
    tcase_add_test(tests, breaks_lines_at_blanks_within_eighty_columns);
    tcase_add_test(tests, fills_the_eightieth_column);
    tcase_add_test(tests, goes_on_where_the_text_stands_and_keeps_line_breaks);
    tcase_add_test(tests, counts_letters_not_bytes);
    tcase_add_test(tests, leaves_long_words_whole);
    suite_add_tcase(suite, tests);
    return suite;
}
