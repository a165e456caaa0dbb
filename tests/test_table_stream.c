// SPDX-License-Identifier: GPL-3.0-or-later
/* Logger tables as streams of bytes: longer than what is read at once, from pipes, and in every
 * encoding. Run from the top of the repository: files stand in tests/data/table. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "capture/capture.h"
#include "capture_text.h"
#include "feed.h"
#include "scratch.h"
#include "suites.h"

#define NAME "x.csv"

static void add_repeated(struct text *text, const char *words, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        text_add(text, words);
    }
}

/* --- long tables ------------------------------------------------------------------------------
 */

/* Rows "n,n+0.5" with a missing cell, a quoted line end and a comment now and then: longer than
 * what is read at once, so that lines and quotes are cut everywhere (the padding moves the cuts).
 */
#define LONG_ROWS 60000

static void write_long_table(struct text *bytes, size_t padding, const char *line_end)
{
    text_add(bytes, "#");
    add_repeated(bytes, "-", padding);
    text_add_format(bytes, "%sn,note,x%s", line_end, line_end);
    for (int i = 0; i < LONG_ROWS; i++) {
        text_add_format(bytes, "%d,", i);
        text_add(bytes, i % 7 == 0 ? "\"a\n\"\"b\"" : "ok");
        if (i % 20000 == 19999) {
            text_add_format(bytes, ",%s# nothing%s", line_end, line_end);
        } else {
            text_add_format(bytes, ",%d.5%s", i, line_end);
        }
    }
}

static void check_long_table(const char *path)
{
    struct capture *capture = NULL;
    const struct capture_options options = {0};
    struct error err = {0};
    double values[2 * 1000];
    const size_t chosen[] = {0, 2};
    size_t got = 1;
    int row = 0;
    int wrong = 0; /* one check for all of them: a check is dearer than a row */
    enum status status = capture_open(path, &options, &capture, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_int_eq(capture_select(capture, chosen, 2, &err), STATUS_OK);
    while (got > 0) {
        status = capture_read(capture, 1000, values, NULL, &got, &err);
        ck_assert_msg(status == STATUS_OK, "%s", err.message);
        for (size_t i = 0; i < got; i++, row++) {
            bool is_missing = row % 20000 == 19999;
            double value = values[2 * i + 1];
            wrong += values[2 * i] != row || (is_missing ? !isnan(value) : value != row + 0.5);
        }
    }
    ck_assert_int_eq(row, LONG_ROWS);
    ck_assert_int_eq(wrong, 0);
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    const struct capture_info *info = capture_get_info(capture);
    ck_assert_int_eq(info->frames, LONG_ROWS);
    ck_assert_int_eq(info->missing, 3);
    ck_assert_uint_eq(info->missing_line_count, 3);
    for (int i = 1; i <= 3; i++) { /* a header of two lines, quoted line ends, comments */
        int quoted = (20000 * i - 1 + 6) / 7;
        ck_assert_int_eq(info->missing_lines[i - 1], 2 + 20000 * i + quoted + i - 1);
    }
    capture_close(capture);
}

START_TEST(reads_long_tables_wherever_they_are_cut)
{
    struct text bytes = {0};
    const char *const line_ends[] = {"\n", "\r\n", "\r"};
    const char *line_end = line_ends[_i % 3];
    write_long_table(&bytes, (size_t)_i, line_end);
    scratch_write(NAME, bytes.bytes, bytes.length);
    check_long_table(NAME);
    text_clear(&bytes);
}
END_TEST

START_TEST(reads_the_same_from_a_pipe)
{
    struct text bytes = {0};
    struct feed feed;
    write_long_table(&bytes, (size_t)_i, "\r\n");
    feed_begin(&feed, "pipe", bytes.bytes, bytes.length);
    check_long_table("pipe");
    feed_end(&feed);
    text_clear(&bytes);
}
END_TEST

START_TEST(keeps_the_first_sixteen_missing_lines)
{
    struct text bytes = {0};
    struct text out = {0};
    struct error err = {0};
    text_add(&bytes, "a,b\n");
    add_repeated(&bytes, "0.5,1\n0.5,1\n,\n", 20);
    text_add(&bytes, "1,2\n");
    const struct capture_options options = {0};
    scratch_write(NAME, bytes.bytes, bytes.length);
    text_clear(&bytes);
    enum status status = capture_text_describe(NAME, &options, NULL, &out, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_ptr_nonnull(
        strstr(out.bytes, "missing 20: line 4 7 10 13 16 19 22 25 28 31 34 37 40 43 46 49\n"));
    text_clear(&out);
}
END_TEST

/* --- broken bytes -----------------------------------------------------------------------------
 */

static const char *const sound_tables[] = {
    "# bench 2\ntime (s),u2 (mV),i [A],note\n0,1.5,2,\"a, b\"\n0.001,2.5,3,\n0.002,,4,ok\n",
    "Rate;1000\nt;U;I\ns;mV;kA\n0;1,5;2\n0,1;1.234,5;OVER\n0,2;-1,5;4\n\nend\n",
    "time u i\n2024-05-06 10:00:00.5 1 2\n2024-05-06 10:00:01 3e5 4\n\n7 8 9\n",
    "\xFF\xFEt\0,\0u\0\n\0000\0,\0001\0\n\0001\0,\0002\0\n",
};
static const size_t sound_sizes[] = {0, 0, 0, 26}; /* 0: up to the zero byte */

/* Changes some bytes into those that mean most to the reader. */
static size_t spoil(char bytes[256], int seed)
{
    static const char letters[] = ",;\t \"\n\r.-+eE0159#%/():TZnaN\0\xFF\xC2\xB5\xD8";
    unsigned long long state = 20000 + (unsigned long long)seed;
    const char *table = sound_tables[seed % 4];
    size_t size = sound_sizes[seed % 4] > 0 ? sound_sizes[seed % 4] : strlen(table);
    memcpy(bytes, table, size);
    for (int i = 0; i < 1 + seed % 5; i++) {
        state = state * 6364136223846793005ULL + 1442695040888963407ULL;
        bytes[(state >> 33) % size] = letters[(state >> 50) % (sizeof letters - 1)];
    }
    return size;
}

/* Whatever the bytes: rows, or an error that says what is wrong and what to do. */
START_TEST(reads_or_refuses_whatever_the_bytes)
{
    for (int seed = 0; seed < 400; seed++) {
        char bytes[256];
        struct text out = {0};
        struct error err = {0};
        const struct capture_options options = {.is_trace = seed % 3 == 0};
        size_t size = spoil(bytes, seed);
        scratch_write(NAME, bytes, size);
        enum status status = capture_text_describe(NAME, &options, NULL, &out, &err);
        if (status == STATUS_OK) {
            ck_assert_msg(out.length > 0, "seed %d", seed);
        } else {
            ck_assert_msg(status == STATUS_INPUT, "seed %d: %d", seed, status);
            ck_assert_msg(strstr(err.message, "'x.csv'") != NULL, "seed %d: %s", seed, err.message);
            ck_assert_msg(err.hint[0] != '\0', "seed %d: %s", seed, err.message);
        }
        text_clear(&out);
    }
}
END_TEST

/* --- encodings --------------------------------------------------------------------------------
 */

#define DATA "tests/data/table/"

/* The same table in each of them: "Zeit (µs);Spannung ü (mV)", rows 0;1,5 and 20;2,5. */
static const struct {
    const char *name;
    const char *encoding;
} encoding_list[] = {
    {"utf8.csv", "UTF-8"},
    {"utf8_mark.csv", "UTF-8"},
    {"utf16_little.csv", "UTF-16"},
    {"utf16_big.csv", "UTF-16"},
    {"latin1.csv", "Latin-1"},
};

START_TEST(reads_every_encoding)
{
    char path[80];
    char expected[200];
    struct text out = {0};
    struct error err = {0};
    const struct capture_options options = {.time_column = "Zeit"};
    snprintf(path, sizeof path, DATA "%s", encoding_list[_i].name);
    snprintf(expected, sizeof expected,
        "semicolons, decimal commas, %s; time in steps of 1e-06 s\n2 Spannung ü [mV: voltage]\n0: "
        "0.0015\n2e-05: 0.0025\n",
        encoding_list[_i].encoding);
    enum status status = capture_text_describe(path, &options, NULL, &out, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(out.bytes, expected);
    text_clear(&out);
}
END_TEST

/* Bytes and bytes that end in zero: scratch_write with what is no C string. */
static const struct {
    const char *bytes;
    size_t count;
    const char *expected; /* or the message */
    bool is_refused;
} raw_list[] = {
    /* a surrogate pair in a name */
    {.bytes = "\xFF\xFE"
              "a\0=\xD8\0\xDE,\0b\0\n\0"
              "1\0,\0"
              "2\0\n\0",
        .count = 22,
        .expected = "commas, whole numbers, UTF-16\n1 a\xF0\x9F\x98\x80, 2 b\n1 2\n"},
    /* half a character at the end must not make a number of what is left of it */
    {.bytes = "\xFE\xFF"
              "\0a\0,\0b\0\n\0"
              "1\0,\0"
              "2\0\n\0"
              "3\0,\0"
              "4\0\n\0"
              "5\0,\0"
              "6\0",
        .count = 33,
        .expected = "commas, whole numbers, UTF-16\n1 a, 2 b\n1 2\n3 4\n5 -\nmissing 1: line 4\n"},
    /* UTF-16 without a mark */
    {.bytes = "a\0,\0b\0\n\0"
              "1\0,\0"
              "2\0\n\0",
        .count = 16,
        .expected = "'x.csv' is neither a recording nor a table: byte 2 of its text, on line 1, is "
                    "0x00",
        .is_refused = true},
    {.bytes = "\xFF\xFE", .count = 2, .expected = "'x.csv' is empty", .is_refused = true},
};

START_TEST(decodes_with_care)
{
    struct text out = {0};
    struct error err = {0};
    const struct capture_options options = {0};
    scratch_write(NAME, raw_list[_i].bytes, raw_list[_i].count);
    enum status status = capture_text_describe(NAME, &options, NULL, &out, &err);
    ck_assert_int_eq(status, raw_list[_i].is_refused ? STATUS_INPUT : STATUS_OK);
    ck_assert_str_eq(raw_list[_i].is_refused ? err.message : out.bytes, raw_list[_i].expected);
    text_clear(&out);
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *table_stream_suite(void)
{
    Suite *suite = suite_create("table_stream");
    TCase *tests = tcase_create("table_stream");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_loop_test(tests, reads_long_tables_wherever_they_are_cut, 0, 9);
    tcase_add_loop_test(tests, reads_the_same_from_a_pipe, 0, 2);
    tcase_add_test(tests, keeps_the_first_sixteen_missing_lines);
    tcase_add_test(tests, reads_or_refuses_whatever_the_bytes);
    tcase_add_loop_test(tests, decodes_with_care, 0, COUNT(raw_list));
    suite_add_tcase(suite, tests);
    TCase *files = tcase_create("files of the repository");
    tcase_add_loop_test(files, reads_every_encoding, 0, COUNT(encoding_list));
    suite_add_tcase(suite, files);
    return suite;
}
