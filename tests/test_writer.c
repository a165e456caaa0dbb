// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/writer.h"

#include <math.h>
#include <signal.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>

#include "capture/capture.h"
#include "feed.h"
#include "scratch.h"
#include "suites.h"

#define FRAMES 5003

static struct error err;

static double get_sample(size_t frame, size_t channel)
{
    return 0.95 * sin(0.0311 * (double)(frame + 1) * (double)(channel + 1) + (double)channel);
}

static void write_audio(const char *name, const struct audio_writer_options *options)
{
    static double values[8 * FRAMES];
    struct writer *writer = NULL;
    size_t channels = options->channels;
    for (size_t i = 0; i < FRAMES * channels; i++) {
        values[i] = get_sample(i / channels, i % channels);
    }
    enum status status = audio_writer_create(name, options, &writer, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    ck_assert_int_eq(writer_add(writer, values, NULL, 1000, &err), STATUS_OK);
    ck_assert_int_eq(
        writer_add(writer, values + 1000 * channels, NULL, FRAMES - 1000, &err), STATUS_OK);
    ck_assert_int_eq(writer_get_clipped(writer), 0);
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
}

static const struct {
    const char *name;
    struct audio_writer_options options;
    const char *format;
    double step; /* of the encoding; 0: exact */
} forms[] = {
    {"a.wav", {AUDIO_PCM16, 2, 48000}, "WAV, 16-bit PCM", 0x1p-15},
    {"a.wav", {AUDIO_PCM24, 2, 96000}, "WAV, 24-bit PCM", 0x1p-23},
    {"a.wav", {AUDIO_PCM32, 1, 44100}, "WAV, 32-bit PCM", 0x1p-31},
    {"a.wav", {AUDIO_FLOAT, 2, 192000}, "WAV, 32-bit float", 0x1p-23},
    {"a.WAV", {AUDIO_DOUBLE, 8, 8000}, "WAV, 64-bit float", 0},
    {"a.w64", {AUDIO_PCM24, 2, 48000}, "W64, 24-bit PCM", 0x1p-23},
    {"a.w64", {AUDIO_DOUBLE, 2, 48000}, "W64, 64-bit float", 0},
    {"a.rf64", {AUDIO_PCM24, 2, 48000}, "RF64, 24-bit PCM", 0x1p-23},
    {"a.aiff", {AUDIO_PCM16, 2, 48000}, "AIFF, 16-bit PCM", 0x1p-15},
    {"a.aif", {AUDIO_FLOAT, 2, 48000}, "AIFF, 32-bit float", 0x1p-23},
    {"a.caf", {AUDIO_PCM24, 3, 48000}, "CAF, 24-bit PCM", 0x1p-23},
    {"a.caf", {AUDIO_DOUBLE, 2, 48000}, "CAF, 64-bit float", 0},
    {"a.flac", {AUDIO_PCM16, 2, 48000}, "FLAC, 16-bit PCM", 0x1p-15},
    {"a.flac", {AUDIO_PCM24, 8, 96000}, "FLAC, 24-bit PCM", 0x1p-23},
    {"a.au", {AUDIO_PCM32, 2, 48000}, "AU, 32-bit PCM", 0x1p-31},
};

START_TEST(what_is_written_is_read_again)
{
    static double values[8 * (FRAMES + 1)];
    const struct audio_writer_options *options = &forms[_i].options;
    static const struct capture_options whole = {0};
    struct capture *capture = NULL;
    size_t got;
    write_audio(forms[_i].name, options);
    ck_assert_int_eq(capture_open(forms[_i].name, &whole, &capture, &err), STATUS_OK);
    const struct capture_info *info = capture_get_info(capture);
    ck_assert_str_eq(info->format, forms[_i].format);
    ck_assert_double_eq(info->sample_rate_Hz, options->sample_rate_Hz);
    ck_assert_uint_eq(info->channel_count, options->channels);
    ck_assert_int_eq(info->frames_expected, FRAMES);
    ck_assert_int_eq(capture_read(capture, FRAMES + 1, values, NULL, &got, &err), STATUS_OK);
    ck_assert_uint_eq(got, FRAMES);
    for (size_t i = 0; i < FRAMES * options->channels; i++) {
        double wanted = get_sample(i / options->channels, i % options->channels);
        ck_assert_double_le(fabs(values[i] - wanted), forms[_i].step / 2);
    }
    capture_close(capture);
    ck_assert_uint_eq(scratch_count(), 1);
}
END_TEST

/* And nothing in it that could change: the chunk of peaks holds a date. */
START_TEST(the_same_values_give_the_same_bytes)
{
    size_t first_count;
    size_t second_count;
    write_audio(forms[_i].name, &forms[_i].options);
    char *first = feed_read_file(forms[_i].name, &first_count);
    write_audio(forms[_i].name, &forms[_i].options);
    char *second = feed_read_file(forms[_i].name, &second_count);
    ck_assert_uint_eq(first_count, second_count);
    ck_assert_mem_eq(first, second, first_count);
    ck_assert_ptr_null(memmem(first, first_count < 8192 ? first_count : 8192, "PEAK", 4));
    ck_assert_ptr_null(memmem(first, first_count < 8192 ? first_count : 8192, "peak", 4));
    free(first);
    free(second);
}
END_TEST

START_TEST(rounds_to_the_nearest_step_and_clips)
{
    static const struct {
        double value; /* in steps of 2^-15 */
        int step;
    } rows[] = {{0, 0}, {0.49, 0}, {0.5, 0}, {0.51, 1}, {1.5, 2}, {2.5, 2}, {-0.5, 0}, {-0.51, -1},
        {-1.5, -2}, {32766.4, 32766}, {32767, 32767}, {32767.4, 32767}, {32767.5, 32767},
        {32768, 32767}, {1e9, 32767}, {-32768, -32768}, {-32768.4, -32768}, {-32769, -32768},
        {INFINITY, 32767}, {-INFINITY, -32768}};
    enum { ROWS = sizeof rows / sizeof rows[0], CLIPPED = 6 };
    struct audio_writer_options options = {
        .encoding = AUDIO_PCM16, .channels = 1, .sample_rate_Hz = 48000};
    struct writer *writer = NULL;
    short steps[ROWS];
    SF_INFO info = {0};
    ck_assert_int_eq(audio_writer_create("a.wav", &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < ROWS; i++) {
        double value = rows[i].value * 0x1p-15;
        ck_assert_int_eq(writer_add(writer, &value, NULL, 1, &err), STATUS_OK);
    }
    ck_assert_int_eq(writer_get_clipped(writer), CLIPPED);
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
    SNDFILE *file = sf_open("a.wav", SFM_READ, &info);
    ck_assert_int_eq(sf_read_short(file, steps, ROWS), ROWS);
    sf_close(file);
    for (size_t i = 0; i < ROWS; i++) {
        ck_assert_msg(steps[i] == rows[i].step, "%g became %d", rows[i].value, steps[i]);
    }
}
END_TEST

START_TEST(an_integer_encoding_cannot_miss_a_sample)
{
    double value = NAN;
    struct audio_writer_options options = {
        .encoding = AUDIO_PCM16, .channels = 1, .sample_rate_Hz = 48000};
    struct writer *writer = NULL;
    ck_assert_int_eq(audio_writer_create("a.wav", &options, &writer, &err), STATUS_OK);
    ck_assert_int_eq(writer_add(writer, &value, NULL, 1, &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "cannot write a missing sample to 'a.wav': integers have no value for it");
    writer_destroy(writer);
    ck_assert_uint_eq(scratch_count(), 0);
}
END_TEST

START_TEST(a_short_format_ends_at_four_gigabytes)
{
    static double values[2] = {0};
    struct audio_writer_options options = {
        .encoding = AUDIO_DOUBLE, .channels = 2, .sample_rate_Hz = 48000};
    struct writer *writer = NULL;
    ck_assert_int_eq(audio_writer_create("a.wav", &options, &writer, &err), STATUS_OK);
    /* refused ahead of any reading of the values */
    ck_assert_int_eq(writer_add(writer, values, NULL, ((size_t)1 << 32) / 16, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'a.wav' would be larger than the 4 GiB that its format holds");
    ck_assert_str_eq(err.hint, "write it as .rf64, .w64 or .caf");
    writer_destroy(writer);
}
END_TEST

START_TEST(leaves_nothing_without_a_commit)
{
    struct audio_writer_options audio = {
        .encoding = AUDIO_PCM16, .channels = 1, .sample_rate_Hz = 48000};
    struct table_writer_options table = {.channels = 1};
    struct writer *writer = NULL;
    double value = 0.5;
    scratch_write("a.wav", "old", 3);
    ck_assert_int_eq(audio_writer_create("a.wav", &audio, &writer, &err), STATUS_OK);
    ck_assert_int_eq(writer_add(writer, &value, NULL, 1, &err), STATUS_OK);
    writer_destroy(writer);
    ck_assert_int_eq(table_writer_create("a.csv", &table, &writer, &err), STATUS_OK);
    ck_assert_int_eq(writer_add(writer, &value, NULL, 1, &err), STATUS_OK);
    writer_destroy(writer);
    writer_destroy(NULL);
    ck_assert(scratch_holds("a.wav", "old"));
    ck_assert_uint_eq(scratch_count(), 1);
}
END_TEST

static const struct {
    const char *name;
    struct audio_writer_options options;
    const char *message;
} bad_audio[] = {
    {"a.mp3", {AUDIO_PCM16, 2, 48000},
        "cannot tell from its name what kind of audio file 'a.mp3' is to be"},
    {"wav", {AUDIO_PCM16, 2, 48000},
        "cannot tell from its name what kind of audio file 'wav' is to be"},
    {"a.wav", {AUDIO_PCM16, 2, 44100.5}, "cannot write 'a.wav' with a sample rate of 44100.5 Hz"},
    {"a.wav", {AUDIO_PCM16, 2, 0}, "cannot write 'a.wav' with a sample rate of 0 Hz"},
    {"a.wav", {AUDIO_PCM16, 2, NAN}, "cannot write 'a.wav' with a sample rate of nan Hz"},
    {"a.w64", {AUDIO_PCM16, 65, 48000}, "cannot write 'a.w64' with 65 channels"},
    {"a.flac", {AUDIO_DOUBLE, 2, 48000},
        "a .flac file cannot hold 2 channels of double at 48000 Hz"},
    {"a.flac", {AUDIO_PCM16, 9, 48000}, "a .flac file cannot hold 9 channels of pcm16 at 48000 Hz"},
};

START_TEST(refuses_audio_that_cannot_be)
{
    struct writer *writer = NULL;
    ck_assert_int_eq(audio_writer_create(bad_audio[_i].name, &bad_audio[_i].options, &writer, &err),
        STATUS_USAGE);
    ck_assert_str_eq(err.message, bad_audio[_i].message);
    ck_assert_ptr_null(writer);
    ck_assert_uint_eq(scratch_count(), 0);
}
END_TEST

START_TEST(says_why_it_cannot_write)
{
    struct audio_writer_options audio = {
        .encoding = AUDIO_PCM16, .channels = 1, .sample_rate_Hz = 48000};
    struct table_writer_options table = {.channels = 1};
    struct writer *writer = NULL;
    ck_assert_int_eq(audio_writer_create("none/a.wav", &audio, &writer, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot write 'none/a.wav': No such file or directory");
    ck_assert_int_eq(table_writer_create("none/a.csv", &table, &writer, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot write 'none/a.csv': No such file or directory");
    ck_assert_ptr_null(writer);
}
END_TEST

/* A limit on the size of files stands for a full disk. */
START_TEST(a_full_disk_is_told_and_leaves_nothing)
{
    static double values[100000];
    struct rlimit limit = {.rlim_cur = 20000, .rlim_max = RLIM_INFINITY};
    struct audio_writer_options audio = {
        .encoding = AUDIO_DOUBLE, .channels = 1, .sample_rate_Hz = 48000};
    struct table_writer_options table = {.channels = 1};
    struct writer *writer = NULL;
    enum status status = _i == 0 ? audio_writer_create("a.wav", &audio, &writer, &err)
                                 : table_writer_create("a.csv", &table, &writer, &err);
    ck_assert_int_eq(status, STATUS_OK);
    signal(SIGXFSZ, SIG_IGN);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    status = writer_add(writer, values, NULL, 100000, &err);
    if (status == STATUS_OK) {
        status = writer_commit(writer, &err);
    }
    writer_destroy(writer);
    limit.rlim_cur = RLIM_INFINITY;
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    ck_assert_int_eq(status, STATUS_IO);
    ck_assert_msg(strstr(err.message, "File too large") != NULL, "%s", err.message);
    ck_assert_uint_eq(scratch_count(), 0);
}
END_TEST

static const char *const headers[] = {"current (A)", "u; coil \"2\""};
static const struct {
    struct table_writer_options options;
    const char *text;
} tables[] = {
    {{.channels = 2}, "0.5,-0.25\n,1e-07\n123456.789,0.1\n"},
    {{.channels = 2,
         .headers = headers,
         .time_header = "time (s)",
         .sample_rate_Hz = 1000,
         .digits = 4},
        "time (s),current (A),\"u; coil \"\"2\"\"\"\n"
        "0,0.5,-0.25\n0.001,,1e-07\n0.002,1.235e+05,0.1\n"},
    {{.channels = 2,
         .separator = ';',
         .decimal = ',',
         .has_crlf = true,
         .has_bom = true,
         .preamble = "Logger 7\nfirst; run",
         .headers = headers,
         .time_header = "t",
         .sample_rate_Hz = 48000,
         .time_decimals = 6},
        "\xEF\xBB\xBF"
        "Logger 7\r\nfirst; run\r\nt;current (A);\"u; coil \"\"2\"\"\"\r\n"
        "0,000000;0,5;-0,25\r\n0,000021;;1e-07\r\n0,000042;123456,789;0,1\r\n"},
    {{.channels = 2, .separator = ' ', .headers = headers},
        "\"current (A)\" \"u; coil \"\"2\"\"\"\n0.5 -0.25\nNaN 1e-07\n123456.789 0.1\n"},
    {{.channels = 2, .separator = '\t', .decimal = ',', .digits = 2},
        "0,5\t-0,25\n\t1e-07\n1,2e+05\t0,1\n"},
};

START_TEST(writes_tables_as_loggers_do)
{
    static const double values[] = {0.5, -0.25, NAN, 1e-7, 123456.789, 0.1};
    struct writer *writer = NULL;
    ck_assert_int_eq(table_writer_create("a.csv", &tables[_i].options, &writer, &err), STATUS_OK);
    ck_assert_int_eq(writer_add(writer, values, NULL, 2, &err), STATUS_OK);
    ck_assert_int_eq(writer_add(writer, values + 4, NULL, 1, &err), STATUS_OK);
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
    size_t count;
    char *bytes = feed_read_file("a.csv", &count);
    bytes[count] = '\0';
    ck_assert_str_eq(bytes, tables[_i].text);
    free(bytes);
}
END_TEST

START_TEST(writes_times_that_are_given)
{
    static const double values[] = {1, 2, 3};
    static const double times[] = {0.25, NAN, 1.5};
    struct table_writer_options options = {.channels = 1, .time_header = "t"};
    struct writer *writer = NULL;
    ck_assert_int_eq(table_writer_create("a.csv", &options, &writer, &err), STATUS_OK);
    ck_assert_int_eq(writer_add(writer, values, times, 3, &err), STATUS_OK);
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
    ck_assert(scratch_holds("a.csv", "0.25,1\n,2\n1.5,3\n"));
}
END_TEST

START_TEST(a_missing_value_alone_in_its_row_can_be_seen)
{
    static const double values[] = {1, NAN, 3};
    struct table_writer_options options = {.channels = 1};
    struct writer *writer = NULL;
    ck_assert_int_eq(table_writer_create("a.csv", &options, &writer, &err), STATUS_OK);
    ck_assert_int_eq(writer_add(writer, values, NULL, 3, &err), STATUS_OK);
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
    ck_assert(scratch_holds("a.csv", "1\nNaN\n3\n"));
}
END_TEST

static const struct {
    struct table_writer_options options;
    const char *message;
} bad_tables[] = {
    {{.channels = 1, .separator = '|'}, "cannot write 'a.csv' with separator '|' and decimal '.'"},
    {{.channels = 1, .decimal = ','}, "cannot write 'a.csv' with separator ',' and decimal ','"},
    {{.channels = 1, .digits = 18},
        "cannot write 'a.csv' with 18 digits and times with 0 decimals"},
    {{.channels = 0}, "cannot write 'a.csv' with 0 channels"},
};

START_TEST(refuses_tables_that_cannot_be)
{
    struct writer *writer = NULL;
    ck_assert_int_eq(
        table_writer_create("a.csv", &bad_tables[_i].options, &writer, &err), STATUS_USAGE);
    ck_assert_str_eq(err.message, bad_tables[_i].message);
    ck_assert_ptr_null(writer);
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *writer_suite(void)
{
    Suite *suite = suite_create("writer");
    TCase *tests = tcase_create("writer");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_loop_test(tests, what_is_written_is_read_again, 0, COUNT(forms));
    tcase_add_loop_test(tests, the_same_values_give_the_same_bytes, 0, COUNT(forms));
    tcase_add_test(tests, rounds_to_the_nearest_step_and_clips);
    tcase_add_test(tests, an_integer_encoding_cannot_miss_a_sample);
    tcase_add_test(tests, a_short_format_ends_at_four_gigabytes);
    tcase_add_test(tests, leaves_nothing_without_a_commit);
    tcase_add_loop_test(tests, refuses_audio_that_cannot_be, 0, COUNT(bad_audio));
    tcase_add_test(tests, says_why_it_cannot_write);
    tcase_add_loop_test(tests, a_full_disk_is_told_and_leaves_nothing, 0, 2);
    tcase_add_loop_test(tests, writes_tables_as_loggers_do, 0, COUNT(tables));
    tcase_add_test(tests, writes_times_that_are_given);
    tcase_add_test(tests, a_missing_value_alone_in_its_row_can_be_seen);
    tcase_add_loop_test(tests, refuses_tables_that_cannot_be, 0, COUNT(bad_tables));
    suite_add_tcase(suite, tests);
    return suite;
}
