// SPDX-License-Identifier: GPL-3.0-or-later
/* Logger tables that are refused: the message says where, the hint what to do. */
#include <string.h>

#include "capture/capture.h"
#include "capture_text.h"
#include "scratch.h"
#include "suites.h"

#define NAME "x.csv"

static const struct {
    const char *bytes;
    const char *message;
    struct capture_options options;
    enum status status; /* 0: STATUS_INPUT */
} bad_list[] = {
    /* no table */
    {.bytes = "", .message = "'x.csv' is empty (0 bytes)"},
    {.bytes = "\xEF\xBB\xBF", .message = "'x.csv' is empty"},
    {.bytes = "\n\n",
        .message =
            "'x.csv' is neither a recording nor a table: none of its first 2 lines is a row of "
            "numbers"},
    {.bytes = "hello\nworld, this is text\n",
        .message = "'x.csv' is neither a recording nor a table: none of its "
                   "first 2 lines is a row of numbers"},
    {.bytes = "a,b\n1,\x01\n",
        .message = "'x.csv' is neither a recording nor a table: byte 7 of its text, on line 2, "
                   "is 0x01"},
    {.bytes = "time\n1\n2\n", .message = "'x.csv' has no column but the time"},
    /* what can be read in two ways */
    {.bytes = "1,234\n2,345\n",
        .message = "line 1 of 'x.csv', column 1: '1,234' may be 2 columns or a decimal comma "
                   "or one number with thousands separators"},
    {.bytes = "1,5\n2,25\n",
        .message = "line 1 of 'x.csv', column 1: '1,5' may be 2 columns or a decimal comma"},
    {.bytes = "1,234,567\n2,345,678\n",
        .message = "line 1 of 'x.csv', column 1: '1,234,567' may be 3 columns or one "
                   "number with thousands separators"},
    {.bytes = "1.234,56\n2.345,67\n",
        .message = "line 1 of 'x.csv', column 1: '1.234,56' may be 2 columns or one "
                   "number with thousands separators"},
    {.bytes = "u (V)\n1,234\n2,345\n",
        .message = "line 2 of 'x.csv', column 1: '1,234' may have a decimal comma or a "
                   "thousands separator"},
    {.bytes = "a\tb\n1\t5,678\n",
        .message = "line 2 of 'x.csv', column 2: '5,678' may have a decimal comma or a "
                   "thousands separator"},
    {.bytes = "a b\n1,234 5,678\n",
        .message = "line 2 of 'x.csv', column 1: '1,234' may have a decimal comma or a "
                   "thousands separator"},
    {.bytes = "a,b\n\"1,234\",5\n",
        .message = "line 2 of 'x.csv', column 1: '1,234' may have a decimal comma or a "
                   "thousands separator"},
    {.bytes = "t,u\n10:00,5\n10:01,6\n",
        .message = "line 2 of 'x.csv', column 1 't': '10:00' may be hours and minutes "
                   "or minutes and seconds"},
    {.bytes = "time,u,time\n1,2,3\n",
        .message = "columns 1 and 3 of 'x.csv' are both headed as time"},
    /* both decimal signs, thousands */
    {.bytes = "a;b\n1,5;2\n1;2.5\n",
        .message = "line 2 of 'x.csv', column 1: '1,5' has a decimal comma, but '2.5' in "
                   "column 2 of line 3 a decimal point"},
    {.bytes = "a;b\n1,5;2\n1;1.234,5\n3;4\n",
        .message = "line 3 of 'x.csv', column 2 'b': '1.234,5' cannot be read "
                   "as a number"},
    {.bytes = "a\tb\n1\t1,234.5\n2\t2,234.5\n",
        .message = "line 2 of 'x.csv', column 2: '1,234.5' cannot be read as a "
                   "number"},
    {.bytes = "a;b\n1;1 234\n2;1'234\n",
        .message = "line 2 of 'x.csv', column 2: '1 234' cannot be read as a number"},
    {.bytes = "a,b\n1.5,2\n\"2,5\",3\n4.5,5\n",
        .message = "line 3 of 'x.csv', column 1 'a': '2,5' has a comma, but "
                   "the decimal sign of this table is a point",
        .options = {.decimal = '.'}},
    {.bytes = "a;b\n1.5;2\n2,5;3\n4,5;5\n",
        .message = "line 2 of 'x.csv', column 1 'a': '1.5' has a point, but the "
                   "decimal sign of this table is a comma",
        .options = {.decimal = ','}},
    {.bytes = "1;2\n3;4\n",
        .message = "line 1 of 'x.csv', column 1: '1;2' cannot be read as a number",
        .options = {.separator = ','}},
    /* too many cells */
    {.bytes = "t,u\n0,1\n1,2\n2,3,4\n",
        .message = "line 4 of 'x.csv', column 3: '4' is one cell more than the 2 of "
                   "the header on line 1"},
    {.bytes = "0.5,1\n1,2\n2,3,4\n",
        .message = "line 3 of 'x.csv', column 3: '4' is one cell more than the 2 of other "
                   "lines"},
    {.bytes = "t,u\n0,1,0,5\n1,2,2,5\n",
        .message = "line 2 of 'x.csv' has 4 cells, but the header on line 1 has 2"},
    /* two tables */
    {.bytes = "t,u\n0,1\n1,2\nt,u\n0,1\n1,2\n2,3\n",
        .message = "line 4 of 'x.csv' names columns amid the rows: "
                   "another table begins there"},
    {.bytes = "t,u\n0,1\n1,2\n3,4\nmax,min\n0,1\n",
        .message = "line 5 of 'x.csv' names columns amid the rows: another "
                   "table begins there"},
    /* columns */
    {.bytes = "t,u\n0,1\n1,a\n2,b\n3,\n",
        .message = "column 2 'u' of 'x.csv' is no column of numbers: 3 of its 4 "
                   "cells hold none, the first on line 3: 'a'"},
    {.bytes = "t,u\n0,1\n5/1/2024 10:00,2\n5/1/2024 10:01,3\n",
        .message =
            "column 1 't' of 'x.csv' is no time: 2 of its 3 cells hold none, the first on line 3: "
            "'5/1/2024 10:00'"},
    {.bytes = "t,u [foo]\n0,1\n",
        .message = "line 1 of 'x.csv', column 2 'u [foo]': 'foo' is no unit that is known"},
    {.bytes = "t (counts),u\n0,1\n",
        .message = "line 1 of 'x.csv', column 1 't (counts)': 'counts' is no unit that is "
                   "known"},
    {.bytes = "t;u (mV)\ns;V\n0;1\n",
        .message = "line 1 of 'x.csv', column 2 'u (mV)': its header has a unit, and the "
                   "row of units another, 'V'"},
    {.bytes = "u (V),i\n0,1\n",
        .message = "column 1 'u (V)' of 'x.csv' is voltage, not a time",
        .options = {.time_column = "1"}},
    {.bytes = "u (V),i\n0,1\n",
        .message = "'x.csv' has no column 'time'",
        .options = {.time_column = "time"}},
    {.bytes = "u (V),i\n0,1\n",
        .message = "'x.csv' has no column '3'",
        .options = {.time_column = "3"}},
    /* quotes */
    {.bytes = "t,u\n0,1\n1,\"2\n2,3\n",
        .message = "line 3 of 'x.csv', column 2 'u': a quote opens here and never "
                   "closes"},
    /* parts */
    {.bytes = "u,v\n0.5,1\n",
        .message = "cannot take a part of 'x.csv': it has no time axis",
        .options = {.start_s = 1},
        .status = STATUS_USAGE},
    {.bytes = "t,v\n0.5,1\n2,1\n",
        .message = "cannot start at 7 s: 'x.csv' is 1.5 s long",
        .options = {.start_s = 7}},
    {.bytes = "u,v\n0.5,1\n2,1\n",
        .message = "cannot start at 7 s: 'x.csv' is 0.2 s long",
        .options = {.start_s = 7, .sample_rate_Hz = 10}},
};

START_TEST(refuses_and_says_where_and_what_to_do)
{
    struct text out = {0};
    struct error err = {0};
    scratch_write(NAME, bad_list[_i].bytes, strlen(bad_list[_i].bytes));
    enum status status = capture_text_describe(NAME, &bad_list[_i].options, NULL, &out, &err);
    ck_assert_msg(status != STATUS_OK, "%s", out.bytes);
    ck_assert_str_eq(err.message, bad_list[_i].message);
    ck_assert_int_eq(status, bad_list[_i].status == STATUS_OK ? STATUS_INPUT : bad_list[_i].status);
    ck_assert_str_ne(err.hint, "");
}
END_TEST

/* --- limits -----------------------------------------------------------------------------------
 */

static void add_repeated(struct text *text, const char *words, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        text_add(text, words);
    }
}

/* What a file of these bytes gives; the text is given back. */
static enum status describe(struct text *bytes, struct text *out, struct error *err)
{
    const struct capture_options options = {0};
    scratch_write(NAME, bytes->bytes, bytes->length);
    text_clear(bytes);
    return capture_text_describe(NAME, &options, NULL, out, err);
}

static void check_refused(struct text *bytes, const char *message)
{
    struct text out = {0};
    struct error err = {0};
    enum status status = describe(bytes, &out, &err);
    ck_assert_msg(status == STATUS_INPUT, "%s", out.bytes);
    ck_assert_str_eq(err.message, message);
    ck_assert_str_ne(err.hint, "");
}

START_TEST(refuses_more_than_1024_columns)
{
    struct text bytes = {0};
    struct text out = {0};
    struct error err = {0};
    for (int row = 0; row < 3; row++) {
        add_repeated(&bytes, "0.5,", 1023);
        text_add(&bytes, "0.5\n");
    }
    enum status status = describe(&bytes, &out, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    text_clear(&out);
    for (int row = 0; row < 3; row++) {
        add_repeated(&bytes, "0.5,", 1024);
        text_add(&bytes, "0.5\n");
    }
    check_refused(&bytes, "line 1 of 'x.csv' has more than 1024 cells");
}
END_TEST

START_TEST(refuses_cells_of_more_than_4096_bytes)
{
    struct text bytes = {0};
    struct text out = {0};
    struct error err = {0};
    text_add(&bytes, "a,b\n0.5,1\n0.5,2\n1,");
    add_repeated(&bytes, "x", 4096);
    text_add(&bytes, "\n");
    enum status status = describe(&bytes, &out, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    text_clear(&out);
    text_add(&bytes, "a,b\n0.5,1\n0.5,2\n1,");
    add_repeated(&bytes, "x", 4097);
    text_add(&bytes, "\n");
    check_refused(&bytes, "line 4 of 'x.csv', column 2 'b': the cell is longer than 4096 bytes");
}
END_TEST

START_TEST(refuses_quotes_that_run_on)
{
    struct text bytes = {0};
    text_add(&bytes, "a,b\n0.5,1\n0.5,2\n1,\"");
    add_repeated(&bytes, "0.5,1\n", 1000);
    check_refused(&bytes, "line 4 of 'x.csv', column 2 'b': the cell is longer than 4096 bytes");
}
END_TEST

START_TEST(refuses_lines_of_more_than_a_mebibyte)
{
    struct text bytes = {0};
    add_repeated(&bytes, "0.5 ", 1 << 18);
    text_add(&bytes, "\n0.5\n");
    check_refused(&bytes, "line 1 of 'x.csv' is longer than 1048576 bytes");
    text_add(&bytes, "a,b\n0.5,1\n0.5,2\n1,");
    add_repeated(&bytes, ",,,,", 1 << 18);
    check_refused(&bytes, "line 4 of 'x.csv' is longer than 1048576 bytes");
}
END_TEST

START_TEST(looks_for_the_table_in_the_first_200_lines)
{
    struct text bytes = {0};
    struct text out = {0};
    struct error err = {0};
    add_repeated(&bytes, "words\n", 198);
    text_add(&bytes, "a,b\n0.5,1\n1.5,2\n");
    enum status status = describe(&bytes, &out, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(out.bytes, "commas, decimal points, UTF-8\n1 a, 2 b\n0.5 1\n1.5 2\n");
    text_clear(&out);
    add_repeated(&bytes, "words\n", 199);
    text_add(&bytes, "a,b\n0.5,1\n1.5,2\n");
    check_refused(&bytes, "'x.csv' is neither a recording nor a table: none of its first 200 lines "
                          "is a row of numbers");
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *table_refusal_suite(void)
{
    Suite *suite = suite_create("table_refusal");
    TCase *tests = tcase_create("table_refusal");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_loop_test(tests, refuses_and_says_where_and_what_to_do, 0, COUNT(bad_list));
    tcase_add_test(tests, refuses_more_than_1024_columns);
    tcase_add_test(tests, refuses_cells_of_more_than_4096_bytes);
    tcase_add_test(tests, refuses_quotes_that_run_on);
    tcase_add_test(tests, refuses_lines_of_more_than_a_mebibyte);
    tcase_add_test(tests, looks_for_the_table_in_the_first_200_lines);
    suite_add_tcase(suite, tests);
    return suite;
}
