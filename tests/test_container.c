// SPDX-License-Identifier: GPL-3.0-or-later
/* Headers of audio files, built by hand: never completed, broken, impossible. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "capture/capture.h"
#include "feed.h"
#include "scratch.h"
#include "suites.h"

#define FRAMES 5000
#define WIDTH 4 /* bytes a frame: 16 bits, 2 channels */

static struct error err;
static const struct capture_options whole = {0};

/* A file that grows byte by byte. */
struct bytes {
    char list[1 << 16];
    size_t count;
};

static void add(struct bytes *bytes, const void *list, size_t count)
{
    memcpy(bytes->list + bytes->count, list, count);
    bytes->count += count;
}

static void add_little(struct bytes *bytes, uint64_t number, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        bytes->list[bytes->count++] = (char)(number >> (8 * i));
    }
}

static void add_big(struct bytes *bytes, uint64_t number, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        bytes->list[bytes->count++] = (char)(number >> (8 * (count - 1 - i)));
    }
}

static int get_step(size_t index)
{
    return (int)(index * 37 % 20011) - 10000;
}

static void add_samples(struct bytes *bytes, int is_big)
{
    for (size_t i = 0; i < FRAMES * 2; i++) {
        uint64_t step = (uint64_t)get_step(i);
        if (is_big) {
            add_big(bytes, step, 2);
        } else {
            add_little(bytes, step, 2);
        }
    }
}

static void add_wave_format(struct bytes *bytes, unsigned channels, uint32_t rate)
{
    add_little(bytes, 1, 2);
    add_little(bytes, channels, 2);
    add_little(bytes, rate, 4);
    add_little(bytes, (uint64_t)rate * channels * 2, 4);
    add_little(bytes, channels * 2, 2);
    add_little(bytes, 16, 2);
}

static void add_wave_head(struct bytes *bytes, uint32_t riff, unsigned channels, uint32_t rate)
{
    add(bytes, "RIFF", 4);
    add_little(bytes, riff, 4);
    add(bytes, "WAVEfmt ", 8);
    add_little(bytes, 16, 4);
    add_wave_format(bytes, channels, rate);
}

static void make_wave(struct bytes *bytes, uint32_t riff, uint32_t data)
{
    bytes->count = 0;
    add_wave_head(bytes, riff, 2, 48000);
    add(bytes, "data", 4);
    add_little(bytes, data, 4);
    add_samples(bytes, 0);
}

static void make_rf64(struct bytes *bytes, uint64_t outer, uint64_t data)
{
    bytes->count = 0;
    add(bytes, "RF64", 4);
    add_little(bytes, UINT32_MAX, 4);
    add(bytes, "WAVEds64", 8);
    add_little(bytes, 28, 4);
    add_little(bytes, outer, 8);
    add_little(bytes, data, 8);
    add_little(bytes, 0, 8);
    add_little(bytes, 0, 4);
    add(bytes, "fmt ", 4);
    add_little(bytes, 16, 4);
    add_wave_format(bytes, 2, 48000);
    add(bytes, "data", 4);
    add_little(bytes, UINT32_MAX, 4);
    add_samples(bytes, 0);
}

static void add_guid(struct bytes *bytes, const char *name)
{
    add(bytes, name, 4);
    add(bytes, "\xF3\xAC\xD3\x11\x8C\xD1\x00\xC0\x4F\x8E\xDB\x8A", 12);
}

static void make_wave64(struct bytes *bytes, uint64_t riff, uint64_t data)
{
    bytes->count = 0;
    add(bytes, "riff\x2E\x91\xCF\x11\xA5\xD6\x28\xDB\x04\xC1\x00\x00", 16);
    add_little(bytes, riff, 8);
    add_guid(bytes, "wave");
    add_guid(bytes, "fmt ");
    add_little(bytes, 24 + 16, 8);
    add_wave_format(bytes, 2, 48000);
    add_guid(bytes, "data");
    add_little(bytes, data, 8);
    add_samples(bytes, 0);
}

static void make_aiff(struct bytes *bytes, uint32_t form, uint32_t frames, uint32_t data)
{
    bytes->count = 0;
    add(bytes, "FORM", 4);
    add_big(bytes, form, 4);
    add(bytes, "AIFFCOMM", 8);
    add_big(bytes, 18, 4);
    add_big(bytes, 2, 2);
    add_big(bytes, frames, 4);
    add_big(bytes, 16, 2);
    add(bytes, "\x40\x0E\xBB\x80\0\0\0\0\0\0", 10); /* 48000 */
    add(bytes, "SSND", 4);
    add_big(bytes, data, 4);
    add_big(bytes, 0, 8);
    add_samples(bytes, 1);
}

static void make_caf(struct bytes *bytes, uint64_t data)
{
    bytes->count = 0;
    add(bytes, "caff\0\1\0\0desc", 12);
    add_big(bytes, 32, 8);
    add(bytes, "\x40\xE7\x70\0\0\0\0\0lpcm", 12); /* 48000 */
    add_big(bytes, 0, 4);
    add_big(bytes, WIDTH, 4);
    add_big(bytes, 1, 4);
    add_big(bytes, 2, 4);
    add_big(bytes, 16, 4);
    add(bytes, "data", 4);
    add_big(bytes, data, 8);
    add_big(bytes, 0, 4);
    add_samples(bytes, 1);
}

static void make_au(struct bytes *bytes, uint32_t data)
{
    bytes->count = 0;
    add(bytes, ".snd", 4);
    add_big(bytes, 24, 4);
    add_big(bytes, data, 4);
    add_big(bytes, 3, 4);
    add_big(bytes, 48000, 4);
    add_big(bytes, 2, 4);
    add_samples(bytes, 1);
}

/* All samples come out, and nothing behind them. */
static void check_samples(struct capture *capture)
{
    static double values[2 * (FRAMES + 1)];
    size_t have = 0;
    size_t got = 1;
    while (got > 0) {
        ck_assert_int_eq(
            capture_read(capture, FRAMES + 1 - have, values + 2 * have, NULL, &got, &err),
            STATUS_OK);
        have += got;
    }
    ck_assert_uint_eq(have, FRAMES);
    for (size_t i = 0; i < FRAMES * 2; i++) {
        ck_assert_double_eq(values[i], get_step(i) / 32768.0);
    }
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
}

/* From a file and from a pipe. `is_told`: the header tells a true length. */
static void check_readable(const struct bytes *bytes, const char *format, int is_told)
{
    struct feed feed;
    struct capture *capture = NULL;
    scratch_write("file", bytes->list, bytes->count);
    enum status status = capture_open("file", &whole, &capture, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(capture_get_info(capture)->format, format);
    ck_assert_int_eq(capture_get_info(capture)->frames_expected, FRAMES);
    ck_assert_double_eq(capture_get_info(capture)->sample_rate_Hz, 48000);
    check_samples(capture);
    capture_close(capture);

    feed_begin(&feed, "pipe", bytes->list, bytes->count);
    status = capture_open("pipe", &whole, &capture, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_str_eq(capture_get_info(capture)->format, format);
    ck_assert_int_eq(capture_get_info(capture)->frames_expected, is_told ? FRAMES : -1);
    check_samples(capture);
    capture_close(capture);
    feed_end(&feed);
}

static void check_refused(const struct bytes *bytes, const char *words)
{
    struct feed feed;
    char streamed[300];
    struct capture *capture = NULL;
    scratch_write("file", bytes->list, bytes->count);
    ck_assert_int_eq(capture_open("file", &whole, &capture, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, words);
    ck_assert_int_gt(strlen(err.hint), 0);
    feed_begin(&feed, "pipe", bytes->list, bytes->count);
    ck_assert_int_eq(capture_open("pipe", &whole, &capture, &err), STATUS_INPUT);
    feed_end(&feed);
    snprintf(streamed, sizeof streamed, "'pipe'%s", words + strlen("'file'"));
    ck_assert_str_eq(err.message, streamed);
    ck_assert_ptr_null(capture);
}

#define DATA ((uint32_t)FRAMES * WIDTH)

START_TEST(reads_headers_that_tell_the_truth)
{
    static struct bytes bytes;
    make_wave(&bytes, 36 + DATA, DATA);
    check_readable(&bytes, "WAV, 16-bit PCM", 1);
    make_rf64(&bytes, 72 + DATA, DATA);
    check_readable(&bytes, "RF64, 16-bit PCM", 1);
    make_wave64(&bytes, 104 + DATA, 24 + DATA);
    check_readable(&bytes, "W64, 16-bit PCM", 1);
    make_aiff(&bytes, 46 + DATA, FRAMES, 8 + DATA);
    check_readable(&bytes, "AIFF, 16-bit PCM", 1);
    make_caf(&bytes, 4 + DATA);
    check_readable(&bytes, "CAF, 16-bit PCM", 1);
    make_au(&bytes, DATA);
    check_readable(&bytes, "AU, 16-bit PCM", 1);
}
END_TEST

START_TEST(reads_headers_of_programs_that_stream)
{
    static struct bytes bytes;
    make_wave(&bytes, UINT32_MAX, UINT32_MAX);
    check_readable(&bytes, "WAV, 16-bit PCM", 0);
    make_wave(&bytes, 0x7FFFF024, 0x7FFFF000);
    check_readable(&bytes, "WAV, 16-bit PCM", 0);
    make_wave(&bytes, 0x80000024, 0x80000000);
    check_readable(&bytes, "WAV, 16-bit PCM", 0);
    make_rf64(&bytes, UINT64_MAX, UINT64_MAX);
    check_readable(&bytes, "RF64, 16-bit PCM", 0);
    make_wave64(&bytes, INT64_MAX, INT64_MAX);
    check_readable(&bytes, "W64, 16-bit PCM", 0);
    make_aiff(&bytes, UINT32_MAX, 0, UINT32_MAX);
    check_readable(&bytes, "AIFF, 16-bit PCM", 0);
    make_caf(&bytes, UINT64_MAX); /* -1: up to the end */
    check_readable(&bytes, "CAF, 16-bit PCM", 0);
    make_au(&bytes, UINT32_MAX);
    check_readable(&bytes, "AU, 16-bit PCM", 0);
}
END_TEST

START_TEST(mends_a_length_that_was_never_filled_in)
{
    static struct bytes bytes;
    make_wave(&bytes, 0, 0);
    check_readable(&bytes, "WAV, 16-bit PCM, unfinished header", 0);
    make_wave(&bytes, 36, 0);
    check_readable(&bytes, "WAV, 16-bit PCM, unfinished header", 0);
    make_wave(&bytes, UINT32_MAX, 0);
    check_readable(&bytes, "WAV, 16-bit PCM, unfinished header", 0);
    make_rf64(&bytes, 0, 0);
    check_readable(&bytes, "RF64, 16-bit PCM, unfinished header", 0);
    make_wave64(&bytes, 0, 0);
    check_readable(&bytes, "W64, 16-bit PCM, unfinished header", 0);
    make_wave64(&bytes, 104, 24);
    check_readable(&bytes, "W64, 16-bit PCM, unfinished header", 0);
    make_aiff(&bytes, 0, 0, 0);
    check_readable(&bytes, "AIFF, 16-bit PCM, unfinished header", 0);
    make_aiff(&bytes, 46, 0, 8);
    check_readable(&bytes, "AIFF, 16-bit PCM, unfinished header", 0);
    make_caf(&bytes, 0);
    check_readable(&bytes, "CAF, 16-bit PCM, unfinished header", 0);
    make_au(&bytes, 0);
    check_readable(&bytes, "AU, 16-bit PCM, unfinished header", 0);
}
END_TEST

START_TEST(refuses_an_empty_file_of_samples)
{
    static struct bytes bytes;
    make_wave(&bytes, 36 + DATA, 0); /* the outer length knows of what follows */
    check_refused(&bytes, "'file' (WAV) holds no samples: its length field at byte 40 says 0");
    ck_assert_str_eq(err.hint, "record or export it again");
}
END_TEST

/* What follows the samples is none of them. */
START_TEST(stops_at_what_stands_behind_the_samples)
{
    static struct bytes bytes;
    make_wave(&bytes, 36 + DATA + 12, DATA);
    add(&bytes, "LIST\4\0\0\0INFO", 12);
    check_readable(&bytes, "WAV, 16-bit PCM", 1);
    make_wave64(&bytes, 104 + DATA + 64, 24 + DATA);
    add_guid(&bytes, "levl");
    add_little(&bytes, 64, 8);
    add(&bytes, "0123456789012345678901234567890123456789", 40);
    check_readable(&bytes, "W64, 16-bit PCM", 1);
}
END_TEST

START_TEST(finds_the_samples_behind_other_chunks)
{
    static struct bytes bytes;
    bytes.count = 0;
    add_wave_head(&bytes, 36 + DATA + 24, 2, 48000);
    add(&bytes, "junk\3\0\0\0abc\0", 12); /* padded to an even length */
    add(&bytes, "LIST\4\0\0\0INFO", 12);
    add(&bytes, "data", 4);
    add_little(&bytes, DATA, 4);
    add_samples(&bytes, 0);
    check_readable(&bytes, "WAV, 16-bit PCM", 1);
}
END_TEST

START_TEST(names_the_byte_of_what_cannot_be)
{
    static struct bytes bytes;
    make_wave(&bytes, 36 + DATA, DATA);
    memcpy(bytes.list + 22, "\xE8\xFD", 2); /* 65000 */
    check_refused(&bytes,
        "'file' (WAV) says at byte 22 that it has 65000 channels: a capture has at most 64");
    memcpy(bytes.list + 22, "\0\0", 2);
    check_refused(&bytes, "'file' (WAV) says at byte 22 that it has 0 channels");
    memcpy(bytes.list + 22, "\2\0\0\0\0\0", 6);
    check_refused(&bytes, "'file' (WAV) says at byte 24 that its sample rate is 0 Hz");
    make_wave64(&bytes, 104 + DATA, 24 + DATA);
    memcpy(bytes.list + 66, "\x41\0", 2);
    check_refused(
        &bytes, "'file' (W64) says at byte 66 that it has 65 channels: a capture has at most 64");
    make_aiff(&bytes, 46 + DATA, FRAMES, 8 + DATA);
    memcpy(bytes.list + 20, "\xFD\xE8", 2);
    check_refused(&bytes,
        "'file' (AIFF) says at byte 20 that it has 65000 channels: a capture has at most 64");
    make_aiff(&bytes, 46 + DATA, FRAMES, 8 + DATA);
    memcpy(bytes.list + 28, "\x7F\xFF", 2);
    check_refused(&bytes, "'file' (AIFF) says at byte 28 that its sample rate is 0 Hz");
    make_caf(&bytes, 4 + DATA);
    memcpy(bytes.list + 20, "\x7F\xF0\0\0\0\0\0\0", 8);
    check_refused(&bytes, "'file' (CAF) says at byte 20 that its sample rate is inf Hz");
    make_au(&bytes, DATA);
    memcpy(bytes.list + 20, "\xFF\xFF\xFF\xFF", 4);
    check_refused(&bytes, "'file' (AU) says at byte 20 that it has 4294967295 channels: "
                          "a capture has at most 64");
}
END_TEST

START_TEST(names_the_byte_where_a_header_ends)
{
    static struct bytes bytes;
    make_wave(&bytes, 36 + DATA, DATA);
    bytes.count = 42;
    check_refused(&bytes, "'file' (WAV) ends at byte 42, before its samples");
    bytes.count = 25;
    check_refused(&bytes, "'file' (WAV) ends at byte 25, before its sample format");
    bytes.count = 12;
    check_refused(&bytes, "'file' (WAV) ends at byte 12, before its samples");
    make_aiff(&bytes, 46 + DATA, FRAMES, 8 + DATA);
    bytes.count = 48;
    check_refused(&bytes, "'file' (AIFF) ends at byte 48, before its samples");
    make_caf(&bytes, 4 + DATA);
    bytes.count = 60;
    check_refused(&bytes, "'file' (CAF) ends at byte 60, before its samples");
    make_au(&bytes, DATA);
    bytes.count = 23;
    check_refused(&bytes, "'file' (AU) ends at byte 23, before its sample format");
    ck_assert_str_eq(err.hint, "the file is cut off or damaged: copy or export it again");
}
END_TEST

START_TEST(a_header_alone_holds_no_samples)
{
    static struct bytes bytes;
    struct feed feed;
    struct capture *capture = NULL;
    double values[2];
    size_t got;
    make_wave(&bytes, 36 + DATA, DATA);
    scratch_write("file", bytes.list, 44);
    ck_assert_int_eq(capture_open("file", &whole, &capture, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'file' (WAV) ends at byte 44, before its first sample");
    feed_begin(&feed, "pipe", bytes.list, 44); /* a stream shows it when it is read */
    ck_assert_int_eq(capture_open("pipe", &whole, &capture, &err), STATUS_OK);
    ck_assert_int_eq(capture_read(capture, 1, values, NULL, &got, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'pipe' (WAV) holds no samples");
    capture_close(capture);
    feed_end(&feed);
}
END_TEST

START_TEST(a_header_may_promise_a_million_million_frames)
{
    static struct bytes bytes;
    struct capture *capture = NULL;
    uint64_t promised = 1000000000000;
    make_wave64(&bytes, 104 + promised * WIDTH, 24 + promised * WIDTH);
    if (_i == 1) {
        make_caf(&bytes, 4 + promised * WIDTH);
    } else if (_i == 2) {
        make_rf64(&bytes, 72 + promised * WIDTH, promised * WIDTH);
    }
    scratch_write("file", bytes.list, bytes.count);
    ck_assert_int_eq(capture_open("file", &whole, &capture, &err), STATUS_OK);
    ck_assert_int_eq(capture_get_info(capture)->frames_expected, (int64_t)promised);
    check_samples(capture);
    ck_assert_int_eq(capture_get_info(capture)->frames, FRAMES);
    capture_close(capture);
}
END_TEST

/* 5 GiB behind a header whose length has 32 bits and is not told: none is lost. The file has a
 * hole: it takes no room. */
START_TEST(reads_beyond_what_the_header_can_tell)
{
    static struct bytes bytes;
    struct capture *capture = NULL;
    int64_t length = (int64_t)5 << 30;
    make_wave(&bytes, UINT32_MAX, UINT32_MAX);
    scratch_write("file", bytes.list, bytes.count);
    ck_assert_int_eq(truncate("file", length), 0);
    ck_assert_int_eq(capture_open("file", &whole, &capture, &err), STATUS_OK);
    ck_assert_int_eq(capture_get_info(capture)->frames_expected, (length - 44) / WIDTH);
    capture_close(capture);
}
END_TEST

START_TEST(refuses_what_libsndfile_does_not_know)
{
    static struct bytes bytes;
    struct capture *capture = NULL;
    make_wave(&bytes, 36 + DATA, DATA);
    memcpy(bytes.list + 20, "\x34\x12", 2); /* a format tag that nobody has */
    scratch_write("file", bytes.list, bytes.count);
    ck_assert_int_eq(capture_open("file", &whole, &capture, &err), STATUS_INPUT);
    ck_assert_ptr_eq(strstr(err.message, "cannot read 'file' as WAV: "), err.message);
    ck_assert_ptr_null(strchr(err.message, '\n'));
    ck_assert_ptr_null(capture);
}
END_TEST

/* Every prefix of a header, and every byte of it turned over: no crash, and a reason. */
START_TEST(survives_any_header)
{
    static struct bytes bytes;
    static double values[2 * 64];
    make_wave(&bytes, 36 + DATA, DATA);
    if (_i == 1) {
        make_aiff(&bytes, 46 + DATA, FRAMES, 8 + DATA);
    } else if (_i == 2) {
        make_caf(&bytes, 4 + DATA);
    } else if (_i == 3) {
        make_wave64(&bytes, 104 + DATA, 24 + DATA);
    } else if (_i == 4) {
        make_rf64(&bytes, 72 + DATA, DATA);
    }
    for (size_t i = 1; i < 130; i++) {
        for (int k = 0; k < 3; k++) {
            struct capture *capture = NULL;
            char kept = bytes.list[i];
            size_t got;
            bytes.list[i] = (char)(k == 0 ? kept : k == 1 ? ~kept : kept ^ 1);
            scratch_write("file", bytes.list, k == 0 ? i : 400);
            bytes.list[i] = kept;
            enum status status = capture_open("file", &whole, &capture, &err);
            if (status == STATUS_OK && capture_get_info(capture)->channel_count <= 2) {
                status = capture_read(capture, 64, values, NULL, &got, &err);
            }
            ck_assert(status == STATUS_OK || strlen(err.message) > 0);
            capture_close(capture);
        }
    }
}
END_TEST

Suite *container_suite(void)
{
    Suite *suite = suite_create("container");
    TCase *tests = tcase_create("container");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, reads_headers_that_tell_the_truth);
    tcase_add_test(tests, reads_headers_of_programs_that_stream);
    tcase_add_test(tests, mends_a_length_that_was_never_filled_in);
    tcase_add_test(tests, refuses_an_empty_file_of_samples);
    tcase_add_test(tests, stops_at_what_stands_behind_the_samples);
    tcase_add_test(tests, finds_the_samples_behind_other_chunks);
    tcase_add_test(tests, names_the_byte_of_what_cannot_be);
    tcase_add_test(tests, names_the_byte_where_a_header_ends);
    tcase_add_test(tests, a_header_alone_holds_no_samples);
    tcase_add_loop_test(tests, a_header_may_promise_a_million_million_frames, 0, 3);
    tcase_add_test(tests, reads_beyond_what_the_header_can_tell);
    tcase_add_test(tests, refuses_what_libsndfile_does_not_know);
    tcase_add_loop_test(tests, survives_any_header, 0, 5);
    suite_add_tcase(suite, tests);
    return suite;
}
