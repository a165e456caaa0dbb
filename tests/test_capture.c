// SPDX-License-Identifier: GPL-3.0-or-later
/* Opening by content, choosing channels, and what is refused before any reader looks. */
#include "capture/capture.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "capture/writer.h"
#include "scratch.h"
#include "suites.h"

static struct error err;
static const struct capture_options whole = {0};

static void write_table(const char *name, const char *words)
{
    scratch_write(name, words, strlen(words));
}

static const char table[] = "time (s),current (A),pickup coil [mV],Temp\n"
                            "0.000,1.5,20,22.1\n"
                            "0.001,2.5,30,22.1\n"
                            "0.002,1.0,10,22.2\n"
                            "0.003,0.5,-10,22.2\n";

static struct capture *open_capture(const char *name)
{
    struct capture *capture = NULL;
    enum status status = capture_open(name, &whole, &capture, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    return capture;
}

static void write_audio(const char *name, size_t channels, size_t frames)
{
    static double values[64];
    struct audio_writer_options options = {
        .encoding = AUDIO_PCM24, .channels = channels, .sample_rate_Hz = 48000};
    struct writer *writer = NULL;
    ck_assert_int_eq(audio_writer_create(name, &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < frames; i++) {
        values[0] = (double)(i + 1) / 1024;
        ck_assert_int_eq(writer_add(writer, values, NULL, 1, &err), STATUS_OK);
    }
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
}

START_TEST(opens_by_content_and_not_by_name)
{
    write_audio("audio.wav", 2, 10);
    ck_assert_int_eq(rename("audio.wav", "audio.csv"), 0);
    write_table("table.wav", table);
    struct capture *capture = open_capture("audio.csv");
    ck_assert_int_eq(capture_get_info(capture)->kind, CAPTURE_AUDIO);
    ck_assert_str_eq(capture_get_info(capture)->file, "audio.csv");
    capture_close(capture);
    capture = open_capture("table.wav");
    ck_assert_int_eq(capture_get_info(capture)->kind, CAPTURE_TABLE);
    capture_close(capture);
}
END_TEST

START_TEST(results_name_the_file_without_its_folder)
{
    ck_assert_int_eq(mkdir("folder", 0777), 0);
    write_audio("folder/a.wav", 2, 10);
    struct capture *capture = open_capture("./folder/a.wav");
    ck_assert_str_eq(capture_get_info(capture)->file, "a.wav");
    capture_close(capture);
}
END_TEST

START_TEST(delivers_all_channels_where_nobody_chose)
{
    double values[3 * 5];
    size_t got;
    write_audio("a.wav", 3, 5);
    struct capture *capture = open_capture("a.wav");
    ck_assert_int_eq(capture_read(capture, 5, values, NULL, &got, &err), STATUS_OK);
    ck_assert_uint_eq(got, 5);
    for (size_t i = 0; i < 5; i++) {
        ck_assert_double_eq(values[3 * i], (double)(i + 1) / 1024);
        ck_assert_double_eq(values[3 * i + 2], 0);
    }
    capture_close(capture);
}
END_TEST

START_TEST(refuses_a_selection_of_what_is_not_there)
{
    static const size_t indices[] = {0, 2};
    write_audio("a.wav", 2, 5);
    struct capture *capture = open_capture("a.wav");
    ck_assert_int_eq(capture_select(capture, indices, 2, &err), STATUS_FAULT);
    ck_assert_str_eq(err.message, "'a.wav' has no channel 3");
    ck_assert_int_eq(capture_select(capture, indices, 0, &err), STATUS_FAULT);
    ck_assert_int_eq(capture_select(capture, indices, 3, &err), STATUS_FAULT);
    capture_close(capture);
}
END_TEST

START_TEST(a_capture_may_be_closed_unread_or_never_opened)
{
    char sha256[DIGEST_TEXT_SIZE];
    write_audio("a.wav", 2, 5);
    struct capture *capture = open_capture("a.wav");
    capture_close(capture);
    capture_close(NULL);
    capture = open_capture("a.wav"); /* finished without a read: the digest is there */
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    memcpy(sha256, capture_get_info(capture)->sha256, DIGEST_TEXT_SIZE);
    ck_assert_uint_eq(strlen(sha256), DIGEST_TEXT_SIZE - 1);
    capture_close(capture);
}
END_TEST

static const struct {
    const char *reference;
    size_t index;
} good_references[] = {{"2", 0}, {"3", 1}, {"4", 2}, {"current", 0}, {"Current", 0},
    {"current (A)", 0}, {" CURRENT(a) ", 0}, {"current [A]", 0}, {"pickup coil", 1},
    {"pickupcoil", 1}, {"Pickup Coil [mV]", 1}, {"pickup coil (mV)", 1}, {"temp", 2}};

START_TEST(finds_a_channel_by_number_or_header_text)
{
    size_t index = 99;
    write_table("a.csv", table);
    struct capture *capture = open_capture("a.csv");
    enum status status = capture_find_channel(capture, good_references[_i].reference, &index, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_uint_eq(index, good_references[_i].index);
    capture_close(capture);
}
END_TEST

#define LIST "it has 2 'current (A)', 3 'pickup coil (mV)', 4 'Temp'"
static const struct {
    const char *reference;
    const char *message;
    const char *hint;
} bad_references[] = {
    {"curent", "'a.csv' has no channel 'curent': " LIST, "did you mean 'current'?"},
    {"curent (A)", "'a.csv' has no channel 'curent (A)': " LIST, "did you mean 'current'?"},
    {"current (mA)", "'a.csv' has no channel 'current (mA)': " LIST, "did you mean 'current'?"},
    {"voltage", "'a.csv' has no channel 'voltage': " LIST, "give a header text or a column number"},
    {"", "'a.csv' has no channel '': " LIST, "give a header text or a column number"},
    {"5", "'a.csv' has no channel 5: " LIST,
        "columns are counted from 1, the time column included"},
    {"0", "'a.csv' has no channel 0: " LIST,
        "columns are counted from 1, the time column included"},
    {"1", "column 1 of 'a.csv' is its time, no channel: " LIST,
        "columns are counted from 1, the time column included"},
    {"99999999999999999999", "'a.csv' has no channel '99999999999999999999': " LIST,
        "give a header text or a column number"},
};

START_TEST(lists_the_channels_there_are)
{
    size_t index = 99;
    write_table("a.csv", table);
    struct capture *capture = open_capture("a.csv");
    ck_assert_int_eq(
        capture_find_channel(capture, bad_references[_i].reference, &index, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, bad_references[_i].message);
    ck_assert_str_eq(err.hint, bad_references[_i].hint);
    ck_assert_uint_eq(index, 99);
    capture_close(capture);
}
END_TEST

START_TEST(a_header_text_must_mean_one_column)
{
    size_t index = 99;
    write_table("a.csv", "t (s),u (V),u (mV)\n0,1,2\n1,2,3\n2,3,4\n3,1,2\n");
    struct capture *capture = open_capture("a.csv");
    ck_assert_int_eq(capture_find_channel(capture, "u", &index, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.csv' has more than one channel 'u': columns 2 and 3");
    ck_assert_str_eq(err.hint, "give the number of the column");
    ck_assert_int_eq(capture_find_channel(capture, "u (mV)", &index, &err), STATUS_OK);
    ck_assert_uint_eq(index, 1);
    capture_close(capture);
}
END_TEST

START_TEST(numbers_audio_channels_from_one)
{
    size_t index = 99;
    write_audio("a.wav", 2, 5);
    struct capture *capture = open_capture("a.wav");
    ck_assert_int_eq(capture_find_channel(capture, "2", &index, &err), STATUS_OK);
    ck_assert_uint_eq(index, 1);
    ck_assert_int_eq(capture_find_channel(capture, "3", &index, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.wav' has no channel 3: it has 1, 2");
    ck_assert_str_eq(err.hint, "channels are numbered from 1");
    ck_assert_int_eq(capture_find_channel(capture, "left", &index, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.wav' has no channel 'left': it has 1, 2");
    capture_close(capture);
}
END_TEST

static const struct {
    const char *bytes;
    size_t count;
    const char *message;
    const char *hint;
} foreign[] = {
    {"", 0, "'x' is empty (0 bytes)", "record or export it again"},
    {"ID3\4\0\0\0\0\0", 9, "'x' is coded as MP3", "lossy coding"},
    {"\xFF\xFB\x90\x64\0\0\0", 7, "'x' is coded as MP3", "lossy coding"},
    {"\xFF\xF1\x50\x80\0\0\0", 7, "'x' is coded as AAC", "lossy coding"},
    {"\0\0\0\x20"
     "ftypM4A \0\0\0",
        15, "'x' is an MPEG-4 file (M4A, MP4), which is not read", "convert it"},
    {"\x30\x26\xB2\x75\x8E\x66\xCF\x11", 8, "'x' is a WMA file, which is not read", "convert it"},
    {"OggS\0\2\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\1\x1E\1vorbis", 35,
        "'x' is coded as Ogg Vorbis", "lossy coding"},
    {"OggS\0\2\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\1\x13OpusHead", 36, "'x' is coded as Opus",
        "lossy coding"},
    {"OggS\0\2\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\1\x33\x7F"
     "FLAC",
        33, "'x' is FLAC inside Ogg, which is not read", "unpack it"},
    {"PK\3\4\0\0", 6, "'x' is a ZIP archive or a spreadsheet, not a capture", "export the sheet"},
    {"\x1F\x8B\x08\0", 4, "'x' is packed with gzip", "unpack it first"},
    {"%PDF-1.4\n", 9, "'x' is a PDF document, not a capture", "give a recording"},
};

START_TEST(tells_what_it_does_not_read)
{
    struct capture *capture = NULL;
    scratch_write("x", foreign[_i].bytes, foreign[_i].count);
    ck_assert_int_eq(capture_open("x", &whole, &capture, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, foreign[_i].message);
    ck_assert_msg(
        strncmp(err.hint, foreign[_i].hint, strlen(foreign[_i].hint)) == 0, "%s", err.hint);
    ck_assert_ptr_null(capture);
}
END_TEST

START_TEST(a_table_may_begin_like_another_file)
{
    write_table("a.csv", "MAC (s),ID3 (V)\n0,1\n1,2\n2,3\n");
    struct capture *capture = open_capture("a.csv");
    ck_assert_int_eq(capture_get_info(capture)->kind, CAPTURE_TABLE);
    capture_close(capture);
}
END_TEST

START_TEST(says_why_a_file_cannot_be_read)
{
    struct capture *capture = NULL;
    ck_assert_int_eq(capture_open("none.wav", &whole, &capture, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'none.wav': No such file or directory");
    ck_assert_int_eq(capture_open(".", &whole, &capture, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read '.': it is a folder");
    if (geteuid() != 0) { /* root may read everything */
        write_table("secret", table);
        ck_assert_int_eq(chmod("secret", 0), 0);
        ck_assert_int_eq(capture_open("secret", &whole, &capture, &err), STATUS_IO);
        ck_assert_str_eq(err.message, "cannot read 'secret': Permission denied");
    }
    ck_assert_ptr_null(capture);
}
END_TEST

static const struct {
    struct capture_options options;
    const char *message;
} bad_options[] = {
    {{.start_s = -1}, "cannot take the part from -1 s that is 0 s long"},
    {{.length_s = -2}, "cannot take the part from 0 s that is -2 s long"},
    {{.start_s = NAN}, "cannot take the part from nan s that is 0 s long"},
    {{.length_s = INFINITY}, "cannot take the part from 0 s that is inf s long"},
    {{.is_trace = true, .start_s = 1}, "cannot take a part of a trace"},
};

START_TEST(refuses_a_part_that_cannot_be)
{
    struct capture *capture = NULL;
    write_table("a.csv", table);
    ck_assert_int_eq(capture_open("a.csv", &bad_options[_i].options, &capture, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, bad_options[_i].message);
    ck_assert_ptr_null(capture);
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *capture_suite(void)
{
    Suite *suite = suite_create("capture");
    TCase *tests = tcase_create("capture");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_test(tests, opens_by_content_and_not_by_name);
    tcase_add_test(tests, results_name_the_file_without_its_folder);
    tcase_add_test(tests, delivers_all_channels_where_nobody_chose);
    tcase_add_test(tests, refuses_a_selection_of_what_is_not_there);
    tcase_add_test(tests, a_capture_may_be_closed_unread_or_never_opened);
    tcase_add_loop_test(tests, finds_a_channel_by_number_or_header_text, 0, COUNT(good_references));
    tcase_add_loop_test(tests, lists_the_channels_there_are, 0, COUNT(bad_references));
    tcase_add_test(tests, a_header_text_must_mean_one_column);
    tcase_add_test(tests, numbers_audio_channels_from_one);
    tcase_add_loop_test(tests, tells_what_it_does_not_read, 0, COUNT(foreign));
    tcase_add_test(tests, a_table_may_begin_like_another_file);
    tcase_add_test(tests, says_why_a_file_cannot_be_read);
    tcase_add_loop_test(tests, refuses_a_part_that_cannot_be, 0, COUNT(bad_options));
    suite_add_tcase(suite, tests);
    return suite;
}
