// SPDX-License-Identifier: GPL-3.0-or-later
/* Audio captures, against files that libsndfile itself writes and reads. */
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "capture/capture.h"
#include "feed.h"
#include "scratch.h"
#include "suites.h"

#define FRAMES 40001
#define RATE 44100

static struct error err;
static const struct capture_options whole = {0};

/* One sample of a channel: no two channels, and no two neighbours, are alike. */
static double get_sample(size_t frame, size_t channel)
{
    return 0.9 * sin(0.0123 * (double)(frame + 1) * (double)(channel + 1) + (double)channel);
}

static void write_file(const char *name, int format, size_t channels, size_t frames, int rate)
{
    SF_INFO info = {.samplerate = rate, .channels = (int)channels, .format = format};
    SNDFILE *file = sf_open(name, SFM_WRITE, &info);
    ck_assert_msg(file != NULL, "%x: %s", format, sf_strerror(NULL));
    double *values = malloc(frames * channels * sizeof *values);
    for (size_t i = 0; i < frames; i++) {
        for (size_t m = 0; m < channels; m++) {
            values[i * channels + m] = get_sample(i, m);
        }
    }
    ck_assert_int_eq(sf_writef_double(file, values, (sf_count_t)frames), (sf_count_t)frames);
    free(values);
    ck_assert_int_eq(sf_close(file), 0);
}

/* What libsndfile reads from the file by its name; to be freed. */
static double *read_directly(const char *name, size_t channels, size_t frames)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(name, SFM_READ, &info);
    ck_assert_ptr_nonnull(file);
    double *values = malloc(frames * channels * sizeof *values);
    ck_assert_int_eq(sf_readf_double(file, values, (sf_count_t)frames), (sf_count_t)frames);
    sf_close(file);
    return values;
}

static struct capture *open_capture(const char *name, const struct capture_options *options)
{
    struct capture *capture = NULL;
    enum status status = capture_open(name, options, &capture, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    return capture;
}

/* Reads to the end in blocks of uneven size and closes; the number of rows. */
static size_t read_all(struct capture *capture, size_t selected, double *values, size_t most)
{
    size_t have = 0;
    size_t got = 1;
    for (size_t i = 0; got > 0; i++) {
        size_t wanted = i % 2 == 0 ? 4999 : 1;
        wanted = have + wanted > most ? most - have : wanted;
        enum status status =
            capture_read(capture, wanted, values + have * selected, NULL, &got, &err);
        ck_assert_msg(status == STATUS_OK, "%s", err.message);
        have += got;
    }
    return have;
}

static void check_digest(const char *name, const char *found)
{
    char wanted[DIGEST_TEXT_SIZE];
    size_t count;
    char *bytes = feed_read_file(name, &count);
    struct digest *digest = digest_create();
    digest_add(digest, bytes, count);
    digest_get(digest, wanted);
    digest_destroy(digest);
    free(bytes);
    ck_assert_str_eq(found, wanted);
}

/* The capture gives the same samples as libsndfile does from the file. */
static void check_samples(struct capture *capture, const char *file, size_t channels)
{
    double *wanted = read_directly(file, channels, FRAMES);
    double *found = malloc((FRAMES + 1) * channels * sizeof *found);
    ck_assert_uint_eq(read_all(capture, channels, found, FRAMES + 1), FRAMES);
    ck_assert_mem_eq(found, wanted, FRAMES * channels * sizeof *found);
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    const struct capture_info *info = capture_get_info(capture);
    ck_assert_int_eq(info->frames, FRAMES);
    ck_assert_int_eq(info->missing, 0);
    check_digest(file, info->sha256);
    free(wanted);
    free(found);
}

static const struct lossless {
    int format;
    size_t channels;
    const char *words;
    int bits;
    bool is_streamable;
} lossless[] = {
    {SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 2, "WAV, 8-bit PCM", 8, true},
    {SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, "WAV, 16-bit PCM", 16, true},
    {SF_FORMAT_WAV | SF_FORMAT_PCM_24, 2, "WAV, 24-bit PCM", 24, true},
    {SF_FORMAT_WAV | SF_FORMAT_PCM_32, 2, "WAV, 32-bit PCM", 32, true},
    {SF_FORMAT_WAV | SF_FORMAT_FLOAT, 2, "WAV, 32-bit float", 24, true},
    {SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 2, "WAV, 64-bit float", 53, true},
    {SF_FORMAT_WAV | SF_FORMAT_PCM_24 | SF_ENDIAN_BIG, 2, "WAV, 24-bit PCM", 24, true},
    {SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, 3, "WAV, 24-bit PCM", 24, true},
    {SF_FORMAT_WAVEX | SF_FORMAT_FLOAT, 2, "WAV, 32-bit float", 24, true},
    {SF_FORMAT_RF64 | SF_FORMAT_PCM_16, 2, "RF64, 16-bit PCM", 16, true},
    {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, 2, "RF64, 24-bit PCM", 24, true},
    {SF_FORMAT_RF64 | SF_FORMAT_FLOAT, 2, "RF64, 32-bit float", 24, true},
    {SF_FORMAT_W64 | SF_FORMAT_PCM_16, 1, "W64, 16-bit PCM", 16, true},
    {SF_FORMAT_W64 | SF_FORMAT_PCM_24, 2, "W64, 24-bit PCM", 24, true},
    {SF_FORMAT_W64 | SF_FORMAT_DOUBLE, 2, "W64, 64-bit float", 53, true},
    {SF_FORMAT_AIFF | SF_FORMAT_PCM_S8, 2, "AIFF, 8-bit PCM", 8, true},
    {SF_FORMAT_AIFF | SF_FORMAT_PCM_24, 2, "AIFF, 24-bit PCM", 24, true},
    {SF_FORMAT_AIFF | SF_FORMAT_PCM_16 | SF_ENDIAN_LITTLE, 2, "AIFF, 16-bit PCM", 16, true},
    {SF_FORMAT_AIFF | SF_FORMAT_DOUBLE, 2, "AIFF, 64-bit float", 53, true},
    {SF_FORMAT_AIFF | SF_FORMAT_DWVW_16, 1, "AIFF, 16-bit DWVW", 16, true},
    {SF_FORMAT_AIFF | SF_FORMAT_DWVW_24, 1, "AIFF, 24-bit DWVW", 24, true},
    {SF_FORMAT_CAF | SF_FORMAT_PCM_24, 2, "CAF, 24-bit PCM", 24, true},
    {SF_FORMAT_CAF | SF_FORMAT_PCM_24 | SF_ENDIAN_LITTLE, 2, "CAF, 24-bit PCM", 24, true},
    {SF_FORMAT_CAF | SF_FORMAT_FLOAT, 2, "CAF, 32-bit float", 24, true},
    {SF_FORMAT_CAF | SF_FORMAT_ALAC_16, 2, "CAF, 16-bit ALAC", 16, true},
    {SF_FORMAT_CAF | SF_FORMAT_ALAC_20, 1, "CAF, 20-bit ALAC", 20, true},
    {SF_FORMAT_CAF | SF_FORMAT_ALAC_24, 2, "CAF, 24-bit ALAC", 24, true},
    {SF_FORMAT_CAF | SF_FORMAT_ALAC_32, 2, "CAF, 32-bit ALAC", 32, true},
    {SF_FORMAT_FLAC | SF_FORMAT_PCM_S8, 2, "FLAC, 8-bit PCM", 8, true},
    {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 2, "FLAC, 16-bit PCM", 16, true},
    {SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 8, "FLAC, 24-bit PCM", 24, true},
    {SF_FORMAT_AU | SF_FORMAT_PCM_24, 2, "AU, 24-bit PCM", 24, true},
    {SF_FORMAT_AU | SF_FORMAT_PCM_16 | SF_ENDIAN_LITTLE, 2, "AU, 16-bit PCM", 16, true},
    {SF_FORMAT_AU | SF_FORMAT_DOUBLE, 2, "AU, 64-bit float", 53, true},
    {SF_FORMAT_NIST | SF_FORMAT_PCM_24, 2, "NIST, 24-bit PCM", 24, true},
    {SF_FORMAT_IRCAM | SF_FORMAT_FLOAT, 2, "IRCAM, 32-bit float", 24, true},
    {SF_FORMAT_IRCAM | SF_FORMAT_PCM_16 | SF_ENDIAN_BIG, 2, "IRCAM, 16-bit PCM", 16, true},
    {SF_FORMAT_PVF | SF_FORMAT_PCM_32, 2, "PVF, 32-bit PCM", 32, true},
    {SF_FORMAT_AVR | SF_FORMAT_PCM_16, 2, "AVR, 16-bit PCM", 16, true},
    {SF_FORMAT_PAF | SF_FORMAT_PCM_16, 2, "PAF, 16-bit PCM", 16, true},
    {SF_FORMAT_MPC2K | SF_FORMAT_PCM_16, 2, "MPC, 16-bit PCM", 16, true},
    {SF_FORMAT_XI | SF_FORMAT_DPCM_16, 1, "XI, 16-bit DPCM", 16, true},
    {SF_FORMAT_MAT4 | SF_FORMAT_DOUBLE, 2, "MAT4, 64-bit float", 53, true},
    {SF_FORMAT_MAT4 | SF_FORMAT_PCM_16 | SF_ENDIAN_BIG, 2, "MAT4, 16-bit PCM", 16, true},
    {SF_FORMAT_MAT5 | SF_FORMAT_FLOAT, 2, "MAT5, 32-bit float", 24, false},
    {SF_FORMAT_SVX | SF_FORMAT_PCM_16, 1, "SVX, 16-bit PCM", 16, false},
    {SF_FORMAT_VOC | SF_FORMAT_PCM_16, 2, "VOC, 16-bit PCM", 16, false},
    {SF_FORMAT_HTK | SF_FORMAT_PCM_16, 1, "HTK, 16-bit PCM", 16, false},
};
#define LOSSLESS_COUNT ((int)(sizeof lossless / sizeof lossless[0]))

START_TEST(reads_the_samples_that_libsndfile_reads)
{
    const struct lossless *row = &lossless[_i];
    write_file("capture", row->format, row->channels, FRAMES, RATE);
    struct capture *capture = open_capture("capture", &whole);
    const struct capture_info *info = capture_get_info(capture);
    ck_assert_int_eq(info->kind, CAPTURE_AUDIO);
    ck_assert_int_eq(info->timing, CAPTURE_TIMING_RATE);
    ck_assert_str_eq(info->format, row->words);
    ck_assert_str_eq(info->file, "capture");
    ck_assert_uint_eq(info->channel_count, row->channels);
    ck_assert_int_eq(info->bits, row->bits);
    ck_assert_int_eq(info->is_float, strstr(row->words, "float") != NULL);
    ck_assert_int_eq(info->frames_expected, FRAMES);
    check_samples(capture, "capture", row->channels);
    capture_close(capture);
}
END_TEST

START_TEST(reads_the_same_samples_from_a_pipe)
{
    const struct lossless *row = &lossless[_i];
    struct feed feed;
    struct capture *capture = NULL;
    size_t count;
    write_file("capture", row->format, row->channels, FRAMES, RATE);
    char *bytes = feed_read_file("capture", &count);
    feed_begin(&feed, "pipe", bytes, count);
    enum status status = capture_open("pipe", &whole, &capture, &err);
    if (row->is_streamable) {
        ck_assert_msg(status == STATUS_OK, "%s", err.message);
        ck_assert_str_eq(capture_get_info(capture)->format, row->words);
        check_samples(capture, "capture", row->channels);
    } else {
        ck_assert_int_eq(status, STATUS_INPUT);
    }
    capture_close(capture);
    feed_end(&feed);
    free(bytes);
}
END_TEST

START_TEST(reads_standard_input)
{
    write_file("capture", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 2, FRAMES, RATE);
    ck_assert_ptr_nonnull(freopen("capture", "rb", stdin));
    struct capture *capture = open_capture("-", &whole);
    ck_assert_str_eq(capture_get_info(capture)->file, "-");
    check_samples(capture, "capture", 2);
    capture_close(capture);
}
END_TEST

START_TEST(reads_a_long_stream_without_keeping_it)
{
    enum { LONG = 1500000 }; /* 24 MB: more than a source keeps */
    struct feed feed;
    size_t count;
    size_t got = 1;
    static double values[2 * 65536];
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 2, LONG, RATE);
    char *bytes = feed_read_file("capture", &count);
    feed_begin(&feed, "pipe", bytes, count);
    struct capture *capture = open_capture("pipe", &whole);
    for (size_t have = 0; got > 0; have += got) {
        ck_assert_int_eq(capture_read(capture, 65536, values, NULL, &got, &err), STATUS_OK);
        for (size_t i = 0; i < got; i += 997) {
            ck_assert_double_eq(values[2 * i + 1], get_sample(have + i, 1));
        }
    }
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    ck_assert_int_eq(capture_get_info(capture)->frames, LONG);
    check_digest("capture", capture_get_info(capture)->sha256);
    capture_close(capture);
    feed_end(&feed);
    free(bytes);
}
END_TEST

START_TEST(drains_a_pipe_that_is_not_read_to_its_end)
{
    struct feed feed;
    size_t count;
    size_t got;
    double values[20];
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 2, FRAMES, RATE);
    char *bytes = feed_read_file("capture", &count);
    feed_begin(&feed, "pipe", bytes, count);
    struct capture *capture = open_capture("pipe", &whole);
    ck_assert_int_eq(capture_read(capture, 10, values, NULL, &got, &err), STATUS_OK);
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    ck_assert_int_eq(capture_get_info(capture)->frames, 10);
    check_digest("capture", capture_get_info(capture)->sha256);
    capture_close(capture);
    feed_end(&feed);
    free(bytes);
}
END_TEST

START_TEST(full_scale_is_one)
{
    static const short steps[] = {-32768, -1, 0, 1, 16384, 32767};
    double values[6];
    SF_INFO info = {.samplerate = RATE, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_PCM_16};
    SNDFILE *file = sf_open("capture", SFM_WRITE, &info);
    ck_assert_int_eq(sf_write_short(file, steps, 6), 6);
    sf_close(file);
    struct capture *capture = open_capture("capture", &whole);
    ck_assert_uint_eq(read_all(capture, 1, values, 6), 6);
    for (size_t i = 0; i < 6; i++) {
        ck_assert_double_eq(values[i], steps[i] / 32768.0);
    }
    capture_close(capture);
}
END_TEST

START_TEST(delivers_the_channels_that_are_wanted_in_their_order)
{
    enum { WIDE_FRAMES = 6007 };
    static const size_t selections[][3] = {{63, 0, 17}, {5, 4, 3}, {0, 1, 2}};
    double *found = malloc((WIDE_FRAMES + 1) * 3 * sizeof *found);
    const size_t *selection = selections[_i];
    write_file("capture", SF_FORMAT_W64 | SF_FORMAT_DOUBLE, 64, WIDE_FRAMES, RATE);
    struct capture *capture = open_capture("capture", &whole);
    ck_assert_int_eq(capture_select(capture, selection, 3, &err), STATUS_OK);
    ck_assert_uint_eq(read_all(capture, 3, found, WIDE_FRAMES + 1), WIDE_FRAMES);
    for (size_t i = 0; i < WIDE_FRAMES; i++) {
        for (size_t m = 0; m < 3; m++) {
            ck_assert_double_eq(found[3 * i + m], get_sample(i, selection[m]));
        }
    }
    capture_close(capture);
    free(found);
}
END_TEST

START_TEST(delivers_two_channels_swapped_or_one_alone)
{
    static const struct {
        size_t indices[2];
        size_t count;
    } selections[] = {{{0, 1}, 2}, {{1, 0}, 2}, {{1}, 1}};
    static double found[2 * (FRAMES + 1)];
    size_t count = selections[_i].count;
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 2, FRAMES, RATE);
    struct capture *capture = open_capture("capture", &whole);
    ck_assert_int_eq(capture_select(capture, selections[_i].indices, count, &err), STATUS_OK);
    ck_assert_uint_eq(read_all(capture, count, found, FRAMES + 1), FRAMES);
    for (size_t i = 0; i < FRAMES; i++) {
        for (size_t m = 0; m < count; m++) {
            ck_assert_double_eq(found[count * i + m], get_sample(i, selections[_i].indices[m]));
        }
    }
    capture_close(capture);
}
END_TEST

/* Parts of a capture of FRAMES frames; a pipe reads and skips where a file seeks. */
static const struct part {
    double start_s;
    double length_s;
    size_t first;
    size_t count;
} parts[] = {
    {0.25, 0.5, 11025, 22050}, {0.25, 0, 11025, FRAMES - 11025}, {0, 0.1, 0, 4410},
    {0.9, 5, 39690, 311}, /* longer than what is there */
    {1e-4, 1e-3, 4, 44},  /* 4.41 and 44.1 frames */
};
static const int part_formats[] = {SF_FORMAT_WAV | SF_FORMAT_DOUBLE,
    SF_FORMAT_FLAC | SF_FORMAT_PCM_24, SF_FORMAT_CAF | SF_FORMAT_ALAC_24};

static void check_part(const char *name, const struct part *part)
{
    static double found[2 * (FRAMES + 1)];
    struct capture_options options = {.start_s = part->start_s, .length_s = part->length_s};
    struct capture *capture = open_capture(name, &options);
    double *wanted = read_directly("capture", 2, FRAMES);
    ck_assert_int_eq(capture_get_info(capture)->frames_expected, (int64_t)part->count);
    ck_assert_uint_eq(read_all(capture, 2, found, FRAMES + 1), part->count);
    ck_assert_mem_eq(found, wanted + 2 * part->first, 2 * part->count * sizeof *found);
    ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
    ck_assert_int_eq(capture_get_info(capture)->frames, (int64_t)part->count);
    check_digest("capture", capture_get_info(capture)->sha256);
    capture_close(capture);
    free(wanted);
}

START_TEST(takes_a_part)
{
    struct feed feed;
    size_t count;
    for (size_t k = 0; k < 3; k++) {
        write_file("capture", part_formats[k], 2, FRAMES, RATE);
        check_part("capture", &parts[_i]);
        char *bytes = feed_read_file("capture", &count);
        feed_begin(&feed, "pipe", bytes, count);
        check_part("pipe", &parts[_i]);
        feed_end(&feed);
        free(bytes);
    }
}
END_TEST

START_TEST(refuses_a_start_behind_the_end)
{
    struct capture *capture = NULL;
    struct capture_options options = {.start_s = 0.91};
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, FRAMES, RATE);
    ck_assert_int_eq(capture_open("capture", &options, &capture, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "cannot start at 0.91 s: 'capture' is 0.907052 s long");
    ck_assert_str_eq(err.hint, "choose a start inside the recording");
    ck_assert_ptr_null(capture);
}
END_TEST

START_TEST(a_stream_of_unknown_length_tells_late_that_the_start_is_behind_its_end)
{
    struct feed feed;
    size_t count;
    size_t got;
    double values[2];
    struct capture_options options = {.start_s = 2};
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, FRAMES, RATE);
    char *bytes = feed_read_file("capture", &count);
    memset(bytes + 4, 0xFF, 4);
    memset(bytes + 40, 0xFF, 4);
    feed_begin(&feed, "pipe", bytes, count);
    struct capture *capture = open_capture("pipe", &options);
    ck_assert_int_eq(capture_get_info(capture)->frames_expected, -1);
    ck_assert_int_eq(capture_read(capture, 1, values, NULL, &got, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "cannot start at 2 s: 'pipe' is 0.907052 s long");
    capture_close(capture);
    feed_end(&feed);
    free(bytes);
}
END_TEST

START_TEST(what_is_no_number_is_a_missing_sample)
{
    static double values[2 * FRAMES];
    static const size_t holes[] = {3, 4, 5000, 39999};
    SF_INFO info = {.samplerate = RATE, .channels = 2, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    SNDFILE *file = sf_open("capture", SFM_WRITE, &info);
    values[2 * 3] = NAN;
    values[2 * 4 + 1] = INFINITY;
    values[2 * 5000] = NAN;
    values[2 * 5000 + 1] = NAN;
    values[2 * 39999 + 1] = -INFINITY;
    ck_assert_int_eq(sf_writef_double(file, values, FRAMES), FRAMES);
    sf_close(file);
    struct capture *capture = open_capture("capture", &whole);
    const struct capture_info *about = capture_get_info(capture);
    ck_assert_uint_eq(read_all(capture, 2, values, FRAMES), FRAMES);
    ck_assert_int_eq(about->missing, 4);
    ck_assert_uint_eq(about->missing_line_count, 4);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_int_eq(about->missing_lines[i], (int64_t)holes[i] + 1);
    }
    ck_assert(isnan(values[2 * 4 + 1]) && values[2 * 4] == 0);
    capture_close(capture);
}
END_TEST

START_TEST(counts_missing_samples_of_the_wanted_channels_and_part_alone)
{
    static double values[2 * FRAMES];
    static const size_t second = 1;
    struct capture_options options = {.start_s = 1000.0 / RATE};
    SF_INFO info = {.samplerate = RATE, .channels = 2, .format = SF_FORMAT_WAV | SF_FORMAT_DOUBLE};
    SNDFILE *file = sf_open("capture", SFM_WRITE, &info);
    values[2 * 500 + 1] = NAN;  /* ahead of the part */
    values[2 * 2000] = NAN;     /* the other channel */
    values[2 * 3000 + 1] = NAN; /* counts */
    ck_assert_int_eq(sf_writef_double(file, values, FRAMES), FRAMES);
    sf_close(file);
    struct capture *capture = open_capture("capture", &options);
    ck_assert_int_eq(capture_select(capture, &second, 1, &err), STATUS_OK);
    ck_assert_uint_eq(read_all(capture, 1, values, FRAMES), FRAMES - 1000);
    ck_assert_int_eq(capture_get_info(capture)->missing, 1);
    ck_assert_int_eq(capture_get_info(capture)->missing_lines[0], 3001);
    capture_close(capture);
}
END_TEST

START_TEST(tells_at_most_sixteen_missing_lines)
{
    static double values[2 * FRAMES];
    SF_INFO info = {.samplerate = RATE, .channels = 2, .format = SF_FORMAT_WAV | SF_FORMAT_DOUBLE};
    SNDFILE *file = sf_open("capture", SFM_WRITE, &info);
    for (size_t i = 0; i < 30; i++) {
        values[2 * i] = NAN;
    }
    ck_assert_int_eq(sf_writef_double(file, values, FRAMES), FRAMES);
    sf_close(file);
    struct capture *capture = open_capture("capture", &whole);
    ck_assert_uint_eq(read_all(capture, 2, values, FRAMES), FRAMES);
    ck_assert_int_eq(capture_get_info(capture)->missing, 30);
    ck_assert_uint_eq(capture_get_info(capture)->missing_line_count, 16);
    capture_close(capture);
}
END_TEST

static const struct {
    int format;
    size_t channels;
    int rate;
    const char *words;
} lossy[] = {
    {SF_FORMAT_WAV | SF_FORMAT_ULAW, 2, RATE, "'capture' (WAV) is coded as µ-law"},
    {SF_FORMAT_AU | SF_FORMAT_ALAW, 2, RATE, "'capture' (AU) is coded as A-law"},
    {SF_FORMAT_WAV | SF_FORMAT_IMA_ADPCM, 2, RATE, "'capture' (WAV) is coded as IMA ADPCM"},
    {SF_FORMAT_AIFF | SF_FORMAT_IMA_ADPCM, 2, RATE, "'capture' (AIFF) is coded as IMA ADPCM"},
    {SF_FORMAT_W64 | SF_FORMAT_MS_ADPCM, 2, RATE, "'capture' (W64) is coded as Microsoft ADPCM"},
    {SF_FORMAT_WAV | SF_FORMAT_GSM610, 1, RATE, "'capture' (WAV) is coded as GSM 6.10"},
    {SF_FORMAT_WAV | SF_FORMAT_G721_32, 1, RATE, "'capture' (WAV) is coded as G.721 ADPCM"},
    {SF_FORMAT_WAV | SF_FORMAT_NMS_ADPCM_16, 1, RATE, "'capture' (WAV) is coded as NMS ADPCM"},
    {SF_FORMAT_WVE | SF_FORMAT_ALAW, 1, 8000, "'capture' (WVE) is coded as A-law"},
    {SF_FORMAT_OGG | SF_FORMAT_VORBIS, 2, RATE, "'capture' is coded as Ogg Vorbis"},
    {SF_FORMAT_OGG | SF_FORMAT_OPUS, 2, 48000, "'capture' is coded as Opus"},
};

START_TEST(refuses_lossy_coding_and_says_why)
{
    struct capture *capture = NULL;
    write_file("capture", lossy[_i].format, lossy[_i].channels, FRAMES, lossy[_i].rate);
    ck_assert_int_eq(capture_open("capture", &whole, &capture, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, lossy[_i].words);
    ck_assert_ptr_nonnull(strstr(err.hint, "lossy coding destroys the phase"));
    ck_assert_ptr_null(capture);
}
END_TEST

/* A file that ends before the length in its header is read as far as it goes. */
START_TEST(reads_a_file_cut_off_as_far_as_it_goes)
{
    static const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_PCM_24,
        SF_FORMAT_RF64 | SF_FORMAT_FLOAT, SF_FORMAT_W64 | SF_FORMAT_PCM_16,
        SF_FORMAT_AIFF | SF_FORMAT_PCM_16, SF_FORMAT_CAF | SF_FORMAT_PCM_24,
        SF_FORMAT_AU | SF_FORMAT_PCM_16, SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
        SF_FORMAT_CAF | SF_FORMAT_ALAC_16};
    static double found[2 * (FRAMES + 1)];
    struct feed feed;
    size_t count;
    write_file("capture", formats[_i], 2, FRAMES, RATE);
    double *wanted = read_directly("capture", 2, FRAMES);
    char *bytes = feed_read_file("capture", &count);
    scratch_write("cut", bytes, count * 2 / 3 + 1);
    feed_begin(&feed, "pipe", bytes, count * 2 / 3 + 1);
    for (int k = 0; k < 2; k++) {
        struct capture *capture = open_capture(k == 0 ? "cut" : "pipe", &whole);
        size_t have = read_all(capture, 2, found, FRAMES + 1);
        ck_assert_uint_gt(have, FRAMES / 2);
        ck_assert_uint_lt(have, FRAMES);
        ck_assert_mem_eq(found, wanted, 2 * have * sizeof *found);
        ck_assert_int_eq(capture_finish(capture, &err), STATUS_OK);
        ck_assert_int_eq(capture_get_info(capture)->frames, (int64_t)have);
        /* libsndfile counts whole packets of an ALAC file that is cut off */
        int64_t expected = capture_get_info(capture)->frames_expected;
        ck_assert_int_eq(expected, _i == 7 ? FRAMES / 4096 * 4096 : FRAMES);
        capture_close(capture);
    }
    feed_end(&feed);
    free(bytes);
    free(wanted);
}
END_TEST

START_TEST(says_where_a_file_is_damaged)
{
    struct capture *capture = NULL;
    static double found[2 * (FRAMES + 1)];
    size_t count;
    size_t got = 1;
    enum status status = STATUS_OK;
    write_file("capture", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 2, FRAMES, RATE);
    char *bytes = feed_read_file("capture", &count);
    memset(bytes + count / 2, 0x5A, 50);
    scratch_write("capture", bytes, count);
    free(bytes);
    capture = open_capture("capture", &whole);
    while (status == STATUS_OK && got > 0) {
        status = capture_read(capture, 1000, found, NULL, &got, &err);
    }
    ck_assert_int_eq(status, STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "'capture' is damaged behind frame "));
    capture_close(capture);
    /* the part ahead of the damage is whole */
    struct capture_options options = {.length_s = 0.2};
    capture = open_capture("capture", &options);
    ck_assert_uint_eq(read_all(capture, 2, found, FRAMES), 8820);
    capture_close(capture);
}
END_TEST

START_TEST(keeps_the_fraction_of_a_sample_rate)
{
    static const struct {
        int format;
        const char *chunk;
        size_t offset; /* of the rate behind the chunk's name */
    } rows[] = {{SF_FORMAT_CAF | SF_FORMAT_PCM_16, "desc", 12},
        {SF_FORMAT_AIFF | SF_FORMAT_PCM_16, "COMM", 16}};
    /* 22254.545454... Hz, an old sampling rate, as a double and as an 80-bit float */
    static const unsigned char rates[2][10] = {{0x40, 0xD5, 0xBB, 0xA2, 0xE8, 0xBA, 0x2E, 0x8C},
        {0x40, 0x0D, 0xAD, 0xDD, 0x17, 0x45, 0xD1, 0x74, 0x5D, 0x17}};
    static const size_t sizes[] = {8, 10};
    size_t count;
    write_file("capture", rows[_i].format, 2, FRAMES, RATE);
    char *bytes = feed_read_file("capture", &count);
    char *chunk = memmem(bytes, count, rows[_i].chunk, 4);
    ck_assert_ptr_nonnull(chunk);
    memcpy(chunk + rows[_i].offset, rates[_i], sizes[_i]);
    scratch_write("capture", bytes, count);
    free(bytes);
    struct capture *capture = open_capture("capture", &whole);
    ck_assert_double_eq_tol(capture_get_info(capture)->sample_rate_Hz, 22254.0 + 6.0 / 11.0, 1e-11);
    capture_close(capture);
}
END_TEST

START_TEST(a_part_of_no_frames_is_empty)
{
    struct capture_options options = {.length_s = 1e-6};
    double values[2];
    size_t got = 1;
    write_file("capture", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, FRAMES, RATE);
    struct capture *capture = open_capture("capture", &options);
    ck_assert_int_eq(capture_read(capture, 1, values, NULL, &got, &err), STATUS_OK);
    ck_assert_uint_eq(got, 0);
    capture_close(capture);
}
END_TEST

Suite *audio_suite(void)
{
    Suite *suite = suite_create("audio");
    TCase *tests = tcase_create("audio");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(tests, reads_the_samples_that_libsndfile_reads, 0, LOSSLESS_COUNT);
    tcase_add_loop_test(tests, reads_the_same_samples_from_a_pipe, 0, LOSSLESS_COUNT);
    tcase_add_test(tests, reads_standard_input);
    tcase_add_test(tests, reads_a_long_stream_without_keeping_it);
    tcase_add_test(tests, drains_a_pipe_that_is_not_read_to_its_end);
    tcase_add_test(tests, full_scale_is_one);
    tcase_add_loop_test(tests, delivers_the_channels_that_are_wanted_in_their_order, 0, 3);
    tcase_add_loop_test(tests, delivers_two_channels_swapped_or_one_alone, 0, 3);
    tcase_add_loop_test(tests, takes_a_part, 0, 5);
    tcase_add_test(tests, refuses_a_start_behind_the_end);
    tcase_add_test(tests, a_stream_of_unknown_length_tells_late_that_the_start_is_behind_its_end);
    tcase_add_test(tests, what_is_no_number_is_a_missing_sample);
    tcase_add_test(tests, counts_missing_samples_of_the_wanted_channels_and_part_alone);
    tcase_add_test(tests, tells_at_most_sixteen_missing_lines);
    tcase_add_loop_test(
        tests, refuses_lossy_coding_and_says_why, 0, (int)(sizeof lossy / sizeof lossy[0]));
    tcase_add_loop_test(tests, reads_a_file_cut_off_as_far_as_it_goes, 0, 8);
    tcase_add_test(tests, says_where_a_file_is_damaged);
    tcase_add_loop_test(tests, keeps_the_fraction_of_a_sample_rate, 0, 2);
    tcase_add_test(tests, a_part_of_no_frames_is_empty);
    suite_add_tcase(suite, tests);
    return suite;
}
