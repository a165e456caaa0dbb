// SPDX-License-Identifier: GPL-3.0-or-later
/* Long captures that a thread reads ahead, against the same captures read plainly. */
#include <dirent.h>
#include <math.h>
#include <omp.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "capture/ahead.h"
#include "capture/capture.h"
#include "feed.h"
#include "scratch.h"
#include "suites.h"

#define FRAMES (AHEAD_FRAMES + 200003)
#define CHANNELS 3
#define CHUNK 5000

static const struct capture_options whole = {0};

/* A long recording; every thousandth frame of the first channel is missing. */
static void write_file(const char *name, int format)
{
    SF_INFO info = {.samplerate = 48000, .channels = CHANNELS, .format = format};
    SNDFILE *file = sf_open(name, SFM_WRITE, &info);
    double *values = malloc(sizeof *values * CHANNELS * FRAMES);
    ck_assert(file != NULL && values != NULL);
    for (size_t i = 0; i < (size_t)CHANNELS * FRAMES; i++) {
        values[i] = (double)(i * 7919 % 65521) / 65521.0 - 0.5;
        if ((format & SF_FORMAT_SUBMASK) == SF_FORMAT_FLOAT && i % (1000 * CHANNELS) == 0) {
            values[i] = NAN;
        }
    }
    ck_assert_int_eq(sf_writef_double(file, values, FRAMES), FRAMES);
    free(values);
    ck_assert_int_eq(sf_close(file), 0);
}

/* All that a capture gives. */
struct taken {
    double *values;
    size_t frames;
    enum status status;
    struct error err;
    struct capture_info info;
    int64_t missing_lines[16];
    int threads; /* the most there were at a time, besides those before */
};

static int count_threads(void)
{
    int count = -2; /* . and .. */
    DIR *folder = opendir("/proc/self/task");
    ck_assert_ptr_nonnull(folder);
    while (readdir(folder) != NULL) {
        count++;
    }
    closedir(folder);
    return count;
}

static struct capture *open_two(const char *name)
{
    struct capture *capture = NULL;
    struct error err;
    const size_t two[2] = {2, 0};
    ck_assert_msg(!capture_open(name, &whole, &capture, &err), "%s", err.message);
    ck_assert_int_eq(capture_select(capture, two, 2, &err), STATUS_OK);
    return capture;
}

static enum status read_next(
    struct capture *capture, bool takes, double *room, size_t *got, struct error *err)
{
    const double *values = room;
    const enum status status = takes ? capture_take(capture, &values, got, err)
                                     : capture_read(capture, CHUNK, room, NULL, got, err);
    if (status == STATUS_OK && takes) {
        memcpy(room, values, 2 * *got * sizeof *room);
    }
    return status;
}

static struct taken take_all(const char *name, bool takes)
{
    struct taken taken = {.values = malloc(sizeof(double) * 2 * (FRAMES + CHUNK))};
    const int before = count_threads();
    struct capture *capture = open_two(name);
    const struct capture_info *info = capture_get_info(capture);
    for (size_t got = 1; taken.status == STATUS_OK && got > 0;) {
        taken.status = read_next(capture, takes, taken.values + 2 * taken.frames, &got, &taken.err);
        if (taken.status == STATUS_OK) {
            taken.frames += got;
            ck_assert_int_eq(info->frames, (int64_t)taken.frames);
        }
        const int threads = count_threads() - before;
        taken.threads = threads > taken.threads ? threads : taken.threads;
    }
    if (taken.status == STATUS_OK) {
        taken.status = capture_finish(capture, &taken.err);
    }
    taken.info = *info;
    memcpy(taken.missing_lines, info->missing_lines, sizeof taken.missing_lines);
    capture_close(capture);
    return taken;
}

static void check_same(const char *name, struct taken *taken, struct taken *plain)
{
    ck_assert_msg(taken->status == plain->status, "%s: %s", name, taken->err.message);
    if (taken->status != STATUS_OK) {
        ck_assert_str_eq(taken->err.message, plain->err.message);
        ck_assert_str_eq(taken->err.hint, plain->err.hint);
    } else {
        ck_assert_uint_eq(taken->frames, plain->frames);
        ck_assert_mem_eq(taken->values, plain->values, 2 * sizeof(double) * plain->frames);
        ck_assert_str_eq(taken->info.sha256, plain->info.sha256);
        ck_assert_int_eq(taken->info.missing, plain->info.missing);
        ck_assert_uint_eq(taken->info.missing_line_count, plain->info.missing_line_count);
        ck_assert_mem_eq(taken->missing_lines, plain->missing_lines,
            plain->info.missing_line_count * sizeof(int64_t));
    }
    free(taken->values);
    free(plain->values);
}

/* From a file and from a pipe. */
static void check_both_ways(const char *name)
{
    size_t count;
    struct feed feed;
    struct taken plain = take_all(name, false);
    struct taken taken = take_all(name, true);
    check_same(name, &taken, &plain);
    char *bytes = feed_read_file(name, &count);
    feed_begin(&feed, "pipe", bytes, count);
    plain = take_all("pipe", false);
    feed_end(&feed);
    feed_begin(&feed, "pipe", bytes, count);
    taken = take_all("pipe", true);
    feed_end(&feed);
    check_same(name, &taken, &plain);
    free(bytes);
}

static const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_PCM_16, SF_FORMAT_WAV | SF_FORMAT_FLOAT,
    SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
enum { FORMAT_COUNT = sizeof formats / sizeof formats[0] };

START_TEST(gives_the_rows_that_reading_gives)
{
    write_file("capture", formats[_i]);
    check_both_ways("capture");
}
END_TEST

START_TEST(ends_where_a_file_that_was_cut_off_ends)
{
    size_t count;
    write_file("capture", formats[_i]);
    char *bytes = feed_read_file("capture", &count);
    scratch_write("capture", bytes, count - count / 8 - 1);
    free(bytes);
    check_both_ways("capture");
}
END_TEST

START_TEST(tells_of_damage_in_the_words_of_reading)
{
    size_t count;
    write_file("capture", SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
    char *bytes = feed_read_file("capture", &count);
    memset(bytes + count - count / 8, 0x5A, 50);
    scratch_write("capture", bytes, count);
    free(bytes);
    struct taken plain = take_all("capture", false), taken = take_all("capture", true);
    ck_assert_int_eq(plain.status, STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(plain.err.message, "is damaged behind frame"));
    check_same("capture", &taken, &plain);
}
END_TEST

/* Takes until the thread reads, if there is to be one, and then a little. */
static void take_some(struct capture *capture, int64_t frames)
{
    const double *values;
    size_t got = 1;
    struct error err;
    while (capture_get_info(capture)->frames < frames && got > 0) {
        ck_assert_int_eq(capture_take(capture, &values, &got, &err), STATUS_OK);
    }
}

START_TEST(an_end_and_an_error_stay)
{
    const double *values = NULL;
    size_t got = 1;
    struct error err;
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    struct capture *capture = open_two("capture");
    take_some(capture, FRAMES);
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(capture_take(capture, &values, &got, &err), STATUS_OK);
        ck_assert_uint_eq(got, 0);
        ck_assert_int_eq(capture_get_info(capture)->frames, FRAMES);
    }
    capture_close(capture);
}
END_TEST

START_TEST(may_be_left_at_any_place)
{
    static const int64_t places[] = {1, AHEAD_FRAMES - 1, AHEAD_FRAMES + 1, AHEAD_FRAMES + 100000};
    struct error err;
    char digest[DIGEST_TEXT_SIZE];
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    ck_assert_int_eq(digest_file("capture", digest, &err), STATUS_OK);
    struct capture *capture = open_two("capture");
    take_some(capture, places[_i]);
    capture_close(capture);
    capture = open_two("capture");
    take_some(capture, places[_i]);
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    ck_assert_str_eq(capture_get_info(capture)->sha256, digest);
    capture_close(capture);
}
END_TEST

START_TEST(a_pipe_may_be_left_at_any_place)
{
    size_t count;
    struct feed feed;
    struct error err;
    char digest[DIGEST_TEXT_SIZE];
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    ck_assert_int_eq(digest_file("capture", digest, &err), STATUS_OK);
    char *bytes = feed_read_file("capture", &count);
    feed_begin(&feed, "pipe", bytes, count);
    struct capture *capture = open_two("pipe");
    take_some(capture, AHEAD_FRAMES + 1);
    capture_close(capture);
    feed_end(&feed);
    feed_begin(&feed, "pipe", bytes, count);
    capture = open_two("pipe");
    take_some(capture, AHEAD_FRAMES + 1);
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    ck_assert_str_eq(capture_get_info(capture)->sha256, digest);
    capture_close(capture);
    feed_end(&feed);
    free(bytes);
}
END_TEST

/* Of a file the digest has a thread too, which soon ends: of a pipe it has none. */
START_TEST(has_a_thread_where_there_are_cores_for_it)
{
    size_t count;
    struct feed feed;
    const int procs = omp_get_num_procs();
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    char *bytes = feed_read_file("capture", &count);
    struct capture *others[512];
    const int most = procs < 512 ? procs : 512;
    for (int crowd = 0; crowd < 2; crowd++) {
        for (int i = 0; crowd == 1 && i < most; i++) {
            others[i] = open_two("capture");
            take_some(others[i], 1);
        }
        for (int i = 0; crowd == 1 && i < most; i++) { /* their digests' threads end */
            struct error err;
            ck_assert_int_eq(capture_finish(others[i], &err), STATUS_OK);
        }
        feed_begin(&feed, "pipe", bytes, count);
        struct taken taken = take_all("pipe", true);
        feed_end(&feed);
        ck_assert_int_eq(taken.threads, crowd == 0 && procs >= 2);
        free(taken.values);
        for (int i = 0; crowd == 1 && i < most; i++) {
            capture_close(others[i]);
        }
    }
    free(bytes);
}
END_TEST

Suite *ahead_suite(void)
{
    Suite *suite = suite_create("ahead");
    TCase *tests = tcase_create("ahead");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, gives_the_rows_that_reading_gives, 0, FORMAT_COUNT);
    tcase_add_loop_test(tests, ends_where_a_file_that_was_cut_off_ends, 0, 2);
    tcase_add_test(tests, tells_of_damage_in_the_words_of_reading);
    tcase_add_test(tests, an_end_and_an_error_stay);
    tcase_add_loop_test(tests, may_be_left_at_any_place, 0, 4);
    tcase_add_test(tests, a_pipe_may_be_left_at_any_place);
    tcase_add_test(tests, has_a_thread_where_there_are_cores_for_it);
    suite_add_tcase(suite, tests);
    return suite;
}
