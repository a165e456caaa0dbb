// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/lines.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "scratch.h"
#include "suites.h"

static struct lines *open_text(const char *path, const char *text, size_t length, size_t limit)
{
    struct error err = {0};
    struct lines *lines = NULL;
    scratch_write(path, text, length);
    ck_assert_msg(lines_open(path, limit, true, &lines, &err) == STATUS_OK, "%s", err.message);
    return lines;
}

START_TEST(tells_each_line_its_number_and_its_place)
{
    static const char text[] = "one\n\nthree\r\nno end";
    static const struct line expected[] = {{"one", 3, 1, 0, true}, {"", 0, 2, 4, true},
        {"three\r", 6, 3, 5, true}, {"no end", 6, 4, 12, false}};
    static const char path[] = "lines.txt";
    struct lines *lines = open_text(path, text, strlen(text), 100);
    struct error err = {0};
    struct line line;
    bool is_found = false;
    for (size_t i = 0; i < 4; i++) {
        ck_assert_int_eq(lines_read(lines, &line, &is_found, &err), STATUS_OK);
        ck_assert(is_found);
        ck_assert_str_eq(line.bytes, expected[i].bytes);
        ck_assert_uint_eq(line.length, expected[i].length);
        ck_assert_uint_eq(line.number, expected[i].number);
        ck_assert_int_eq(line.offset, expected[i].offset);
        ck_assert_int_eq(line.has_end, expected[i].has_end);
    }
    ck_assert_int_eq(lines_read(lines, &line, &is_found, &err), STATUS_OK);
    ck_assert(!is_found);
    lines_close(lines);
}
END_TEST

/* Lines that are longer than what is read at once, at every place of its border. */
START_TEST(joins_lines_that_are_read_in_pieces)
{
    static const char path[] = "long.txt";
    const size_t count = 5, length = 40000;
    char *text = malloc(count * (length + 1));
    ck_assert_ptr_nonnull(text);
    for (size_t i = 0; i < count; i++) {
        memset(text + i * (length + 1), 'a' + (int)i, length);
        text[i * (length + 1) + length] = '\n';
    }
    struct lines *lines = open_text(path, text, count * (length + 1), length);
    struct error err = {0};
    struct line line;
    bool is_found = false;
    for (size_t i = 0; i < count; i++) {
        ck_assert_int_eq(lines_read(lines, &line, &is_found, &err), STATUS_OK);
        ck_assert(is_found);
        ck_assert_uint_eq(line.length, length);
        ck_assert_int_eq(line.offset, (long long)(i * (length + 1)));
        for (size_t j = 0; j < length; j++)
            ck_assert_int_eq(line.bytes[j], 'a' + (int)i);
    }
    free(text);
    lines_close(lines);
}
END_TEST

START_TEST(refuses_long_lines_and_zero_bytes_and_says_where)
{
    static const struct {
        const char *text;
        size_t length;
        const char *message;
    } cases[] = {
        {"1234567890\n12345678901\n", 23, "line 2 of '%s' has more than 10 bytes"},
        {"1\n12345678901", 13, "line 2 of '%s' has more than 10 bytes"},
        {"1\n2\n3\0004\n", 8, "line 3 of '%s' holds a zero byte"},
    };
    static const char path[] = "bad.txt";
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct lines *lines = open_text(path, cases[i].text, cases[i].length, 10);
        struct error err = {0};
        struct line line;
        bool is_found = true;
        enum status status = STATUS_OK;
        while (!status && is_found)
            status = lines_read(lines, &line, &is_found, &err);
        char message[400];
        snprintf(message, sizeof message, cases[i].message, path);
        ck_assert_int_eq(status, STATUS_INPUT);
        ck_assert_str_eq(err.message, message);
        lines_close(lines);
    }
}
END_TEST

Suite *lines_suite(void)
{
    Suite *suite = suite_create("lines");
    TCase *test = tcase_create("lines");
    tcase_add_checked_fixture(test, scratch_enter, scratch_leave);
    tcase_add_test(test, tells_each_line_its_number_and_its_place);
    tcase_add_test(test, joins_lines_that_are_read_in_pieces);
    tcase_add_test(test, refuses_long_lines_and_zero_bytes_and_says_where);
    suite_add_tcase(suite, test);
    return suite;
}
