// SPDX-License-Identifier: GPL-3.0-or-later
/* What `look` finds, against waveforms whose level, harmonics and noise are known in closed form.
 */
#include "loop/look.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "capture/writer.h"
#include "feed.h"
#include "num/random.h"
#include "scratch.h"
#include "suites.h"

static const double PI = 3.14159265358979323846264338327950;

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))
#define RATE 48000
#define FRAMES 48000
#define FREQUENCY 50.37 /* no whole number of samples or cycles */

static struct error err;
static const struct capture_options whole = {0};

struct wave {
    double frequency_Hz, amplitude, phase_deg, offset, third, noise;
    double limit; /* clipped there; 0: not */
};

static double get_value(const struct wave *wave, double time)
{
    double x = 2 * PI * wave->frequency_Hz * time + wave->phase_deg * PI / 180;
    double value = wave->offset + wave->amplitude * (cos(x) + wave->third * cos(3 * x));
    return wave->limit > 0 ? fmax(-wave->limit, fmin(wave->limit, value)) : value;
}

static void write_audio(const char *name, enum audio_encoding encoding, const struct wave *waves,
    size_t channels, size_t frames)
{
    struct audio_writer_options options = {
        .encoding = encoding, .channels = channels, .sample_rate_Hz = RATE};
    struct writer *writer = NULL;
    struct random random;
    random_init(&random, 1, 0);
    ck_assert_int_eq(audio_writer_create(name, &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < frames; i++) {
        double values[64];
        for (size_t m = 0; m < channels; m++) {
            values[m] = get_value(&waves[m], (double)i / RATE) +
                        waves[m].noise * random_get_normal(&random);
        }
        ck_assert_int_eq(writer_add(writer, values, NULL, 1, &err), STATUS_OK);
    }
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
}

static void write_table(const char *name, const char *time, const char *const *headers,
    const struct wave *waves, size_t channels, size_t rows, double rate)
{
    struct table_writer_options options = {.channels = channels,
        .headers = headers,
        .time_header = time,
        .sample_rate_Hz = rate,
        .digits = 9};
    struct writer *writer = NULL;
    ck_assert_int_eq(table_writer_create(name, &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < rows; i++) {
        double values[64];
        for (size_t m = 0; m < channels; m++) {
            values[m] = get_value(&waves[m], (double)i / rate);
        }
        ck_assert_int_eq(writer_add(writer, values, NULL, 1, &err), STATUS_OK);
    }
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
}

static struct look look;

static void look_at(const char *name)
{
    enum status status = look_read(name, &whole, &look, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
}

static const struct note *find_note(const char *code)
{
    for (size_t i = 0; i < look.notes.count; i++) {
        if (strcmp(look.notes.list[i].code, code) == 0) {
            return &look.notes.list[i];
        }
    }
    return NULL;
}

static const struct wave pair[] = {{.frequency_Hz = FREQUENCY, .amplitude = 0.5, .phase_deg = 20},
    {.frequency_Hz = FREQUENCY, .amplitude = 0.3, .phase_deg = 80, .third = 0.2}};

START_TEST(tells_level_frequency_and_harmonics)
{
    static const struct wave waves[] = {
        {.frequency_Hz = FREQUENCY, .amplitude = 0.5, .phase_deg = 20, .offset = 0.07},
        {.frequency_Hz = FREQUENCY, .amplitude = 0.3, .phase_deg = 80, .third = 0.2}};
    write_audio("a.wav", AUDIO_DOUBLE, waves, 2, FRAMES);
    look_at("a.wav");
    ck_assert_str_eq(look.format, "WAV, 64-bit float");
    ck_assert_str_eq(look.file, "a.wav");
    ck_assert_uint_eq(look.channel_count, 2);
    ck_assert_int_eq(look.frames, FRAMES);
    ck_assert_double_eq(look.sample_rate_Hz, RATE);
    ck_assert_double_eq_tol(look.length_s, 1, 1e-12);
    ck_assert_uint_eq(strlen(look.sha256), DIGEST_TEXT_SIZE - 1);
    const struct look_channel *first = &look.channels[0];
    const struct look_channel *second = &look.channels[1];
    ck_assert(first->is_periodic && second->is_periodic);
    /* the samples do not hit the peak: it is missed by up to (pi f / rate)^2 / 2 = 5e-6 of it */
    ck_assert_double_eq_tol(first->maximum, 0.57, 3e-6);
    ck_assert_double_eq_tol(first->minimum, -0.43, 3e-6);
    ck_assert_double_eq_tol(look_get_level_dBFS(first), 20 * log10(0.57), 1e-4);
    ck_assert_double_eq_tol(first->offset, 0.07, 1e-9);
    ck_assert_double_eq_tol(first->frequency_Hz, FREQUENCY, 1e-7);
    ck_assert_double_eq_tol(first->cycles, FREQUENCY, 1e-6);
    ck_assert_double_eq_tol(first->fundamental, 0.5, 1e-9);
    /* of a part of a cycle more than a whole number the rms is off by at most half a cycle's */
    ck_assert_double_eq_tol(first->rms, 0.5 / sqrt(2), 0.5 / FREQUENCY);
    ck_assert_double_eq_tol(first->crest_factor, sqrt(2), 2 * sqrt(2) / FREQUENCY);
    ck_assert_double_eq_tol(first->distortion, 0, 1e-9);
    ck_assert_double_eq_tol(second->harmonic[3], 0.2, 1e-9);
    ck_assert_double_eq_tol(second->harmonic[2], 0, 1e-9);
    ck_assert_double_eq_tol(second->distortion, 0.2, 1e-9);
    ck_assert(!first->is_clipped && !second->is_clipped);
    /* middle of the record: 20 degree and half a second of the frequency */
    ck_assert_double_eq_tol(first->phase_deg, fmod(20 + 360 * FREQUENCY * 0.5, 360), 1e-3);
    ck_assert_ptr_nonnull(find_note("offset"));
    look_clear(&look);
}
END_TEST

START_TEST(tells_the_distance_from_the_noise)
{
    static const struct wave waves[] = {
        {.frequency_Hz = FREQUENCY, .amplitude = 0.5, .third = 0.1, .noise = 5e-4}};
    write_audio("a.wav", AUDIO_DOUBLE, waves, 1, FRAMES);
    look_at("a.wav");
    const struct look_channel *channel = &look.channels[0];
    /* an estimate of a standard deviation from n values scatters by 1/sqrt(2n) = 0.3 %: 5 of it */
    ck_assert_double_eq_tol(channel->noise_rms, 5e-4, 5e-4 * 0.016);
    double wanted = 10 * log10(0.5 * 0.25 * 1.01 / 2.5e-7);
    ck_assert_double_eq_tol(channel->signal_to_noise_dB, wanted, 0.15);
    /* three standard deviations of an amplitude, noise * sqrt(2/n) */
    ck_assert_double_eq_tol(channel->harmonic_floor, 3 * 5e-4 * sqrt(2.0 / FRAMES) / 0.5, 3e-7);
    look_clear(&look);
}
END_TEST

static const struct {
    double lead_deg; /* of channel 2 over channel 1 */
    int excitation;  /* index; -1: cannot be told */
    int is_reversed;
    const char *words;
} leads[] = {{60, 0, 0, "2 leads 1 by 60.0 degree:"}, {5, 0, 0, "2 leads 1 by 5.0 degree:"},
    {85, 0, 0, "2 leads 1 by 85.0 degree:"},
    {240, 0, 1, "2 leads 1 by 60.0 degree and a reversal:"},
    {300, 1, 0, "1 leads 2 by 60.0 degree:"},
    {120, 1, 1, "1 leads 2 by 60.0 degree and a reversal:"}, {90, -1, 0, "too near"},
    {0, -1, 0, "too near"}, {180.5, -1, 0, "too near"}, {269.5, -1, 0, "too near"}};

START_TEST(tells_excitation_and_pickup_by_their_phase)
{
    struct wave waves[] = {pair[0], pair[1]};
    waves[1].phase_deg = waves[0].phase_deg + leads[_i].lead_deg;
    write_audio("a.flac", AUDIO_PCM24, waves, 2, FRAMES);
    look_at("a.flac");
    ck_assert_msg(strstr(look.pair.reason, leads[_i].words) != NULL, "%s", look.pair.reason);
    ck_assert_int_eq(look.pair.is_found, leads[_i].excitation >= 0);
    if (look.pair.is_found) {
        ck_assert_uint_eq(look.pair.excitation, (size_t)leads[_i].excitation);
        ck_assert_uint_eq(look.pair.pickup, (size_t)(1 - leads[_i].excitation));
        ck_assert_int_eq(look.pair.is_reversed, leads[_i].is_reversed);
        ck_assert_int_eq(find_note("reversed") != NULL, leads[_i].is_reversed);
    }
    look_clear(&look);
}
END_TEST

START_TEST(channels_of_two_frequencies_are_no_pair)
{
    struct wave waves[] = {pair[0], pair[1]};
    waves[1].frequency_Hz = FREQUENCY + 0.2;
    write_audio("a.wav", AUDIO_PCM24, waves, 2, FRAMES);
    look_at("a.wav");
    ck_assert(!look.pair.is_found);
    ck_assert_str_eq(
        look.pair.reason, "no two channels that can belong together share one frequency");
    look_clear(&look);
}
END_TEST

START_TEST(finds_the_pair_among_many_channels)
{
    struct wave waves[12] = {{0}};
    for (size_t m = 0; m < 12; m++) { /* noise in all others */
        waves[m].noise = 1e-3;
    }
    waves[9] = pair[1];
    waves[10] = pair[0];
    write_audio("a.w64", AUDIO_PCM24, waves, 12, FRAMES / 4);
    look_at("a.w64");
    ck_assert_uint_eq(look.channel_count, 12);
    ck_assert_int_eq(look.frames, FRAMES / 4);
    ck_assert(look.pair.is_found);
    ck_assert_uint_eq(look.pair.excitation, 10);
    ck_assert_uint_eq(look.pair.pickup, 9);
    for (size_t m = 0; m < 12; m++) {
        ck_assert_int_eq(look.channels[m].is_periodic, m == 9 || m == 10);
        ck_assert_int_eq(look.channels[m].samples, FRAMES / 4);
    }
    look_clear(&look);
}
END_TEST

START_TEST(looks_at_the_first_channels_of_a_stream)
{
    struct wave waves[12];
    struct feed feed;
    size_t count;
    for (size_t m = 0; m < 12; m++) {
        waves[m] = pair[m % 2];
    }
    write_audio("a.wav", AUDIO_PCM24, waves, 12, FRAMES / 4);
    char *bytes = feed_read_file("a.wav", &count);
    feed_begin(&feed, "pipe", bytes, count);
    look_at("pipe");
    feed_end(&feed);
    free(bytes);
    ck_assert_int_eq(look.channels[LOOK_GROUP - 1].samples, FRAMES / 4);
    ck_assert_int_eq(look.channels[LOOK_GROUP].samples, 0);
    ck_assert(isnan(look.channels[LOOK_GROUP].rms));
    ck_assert_str_eq(
        look.channels[LOOK_GROUP].reason, "of a stream only the first 8 channels are looked at");
    ck_assert(look.pair.is_found);
    look_clear(&look);
}
END_TEST

static const char *const unit_headers[] = {
    "temperature (degC)", "pickup (mV)", "sense (V)", "current (A)"};

START_TEST(units_tell_excitation_and_pickup)
{
    struct wave waves[] = {{.offset = 22}, pair[1], {.noise = 0}, pair[0]};
    waves[1].amplitude = 35;
    write_table("a.csv", "time (s)", unit_headers, waves, 4, 4000, 5000);
    look_at("a.csv");
    ck_assert(look.pair.is_found);
    ck_assert_uint_eq(look.pair.excitation, 3);
    ck_assert_uint_eq(look.pair.pickup, 1);
    ck_assert_str_eq(look.pair.reason, "by their units: current in column 5, voltage in 3");
    ck_assert_double_eq_tol(look.pair.lead_deg, 60, 1e-4);
    ck_assert_double_eq_tol(look.channels[1].fundamental, 0.035, 1e-9); /* mV became V */
    ck_assert_str_eq(look.channels[0].reason, "the channel does not move");
    ck_assert_double_eq_tol(look.sample_rate_Hz, 5000, 1e-9);
    ck_assert(look.has_sampling && look.sampling.is_even);
    look_clear(&look);
}
END_TEST

START_TEST(a_flux_density_follows_its_field)
{
    static const char *const headers[] = {"B (T)", "H (A/m)"};
    struct wave waves[] = {pair[1], pair[0]};
    waves[0].phase_deg = waves[1].phase_deg - 30 + (_i == 1 ? 180 : 0);
    write_table("a.csv", "t (s)", headers, waves, 2, 4000, 5000);
    look_at("a.csv");
    ck_assert(look.pair.is_found);
    ck_assert_uint_eq(look.pair.excitation, 1);
    ck_assert_double_eq_tol(look.pair.lead_deg, _i == 1 ? 150 : 330, 1e-4);
    ck_assert_int_eq(look.pair.is_reversed, _i == 1);
    look_clear(&look);
}
END_TEST

START_TEST(notes_a_phase_that_speaks_against_the_units)
{
    static const char *const headers[] = {"current (A)", "pickup (V)"};
    struct wave waves[] = {pair[1], pair[0]}; /* the current leads by 60 degree */
    write_table("a.csv", "t (s)", headers, waves, 2, 4000, 5000);
    look_at("a.csv");
    ck_assert(look.pair.is_found);
    ck_assert_uint_eq(look.pair.excitation, 0);
    const struct note *note = find_note("swapped");
    ck_assert_ptr_nonnull(note);
    ck_assert_str_eq(note->message, "column 3 leads 2 by 300.0 degree: by its phase it is not the "
                                    "pickup of that excitation");
    look_clear(&look);
}
END_TEST

START_TEST(looks_at_a_table_without_time_as_far_as_that_goes)
{
    static const char *const headers[] = {"current (A)", "fluxmeter (V)"};
    write_table("a.csv", NULL, headers, pair, 2, 4000, 5000);
    look_at("a.csv");
    ck_assert_int_eq(look.timing, CAPTURE_TIMING_NONE);
    ck_assert_int_eq(look.frames, 4000);
    ck_assert(!look.channels[0].is_periodic);
    ck_assert_str_eq(look.channels[0].reason, "the table has no time column");
    ck_assert_double_eq_tol(look.channels[0].rms, 0.5 / sqrt(2), 0.01);
    ck_assert(look.pair.is_found);
    ck_assert_uint_eq(look.pair.excitation, 0);
    ck_assert(!look.pair.has_lead);
    ck_assert_ptr_null(find_note("not-periodic"));
    look_clear(&look);
}
END_TEST

START_TEST(a_given_sample_rate_stands_for_the_time)
{
    static const char *const headers[] = {"current (A)", "pickup (V)"};
    const struct capture_options options = {.sample_rate_Hz = 5000};
    write_table("a.csv", NULL, headers, pair, 2, 4000, 5000);
    ck_assert_int_eq(look_read("a.csv", &options, &look, &err), STATUS_OK);
    ck_assert_double_eq_tol(look.channels[0].frequency_Hz, FREQUENCY, 1e-5);
    look_clear(&look);
}
END_TEST

START_TEST(times_that_go_back_leave_the_levels)
{
    static const char words[] = "t (s),i (A),u (V)\n"
                                "0,1,5\n0.1,2,6\n0.05,3,7\n0.2,4,8\n0.3,3,7\n";
    scratch_write("a.csv", words, sizeof words - 1);
    look_at("a.csv");
    ck_assert(!look.has_sampling);
    ck_assert(!look.channels[0].is_periodic);
    ck_assert_int_gt(strlen(look.channels[0].reason), 0);
    ck_assert_double_eq(look.channels[0].maximum, 4);
    ck_assert_ptr_nonnull(find_note("not-periodic"));
    look_clear(&look);
}
END_TEST

START_TEST(uneven_times_are_fitted_as_they_are)
{
    static const char *const headers[] = {"current (A)", "pickup (V)"};
    struct table_writer_options options = {
        .channels = 2, .headers = headers, .time_header = "time (s)"};
    struct writer *writer = NULL;
    struct random random;
    random_init(&random, 7, 0);
    double time = 0;
    ck_assert_int_eq(table_writer_create("a.csv", &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < 3000; i++) {
        double values[2] = {get_value(&pair[0], time), get_value(&pair[1], time)};
        ck_assert_int_eq(writer_add(writer, values, &time, 1, &err), STATUS_OK);
        time += 2e-4 * (0.5 + random_get_uniform(&random));
    }
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
    look_at("a.csv");
    ck_assert(look.has_sampling && !look.sampling.is_grid);
    ck_assert_double_eq(look.sample_rate_Hz, 0);
    ck_assert(look.channels[0].is_periodic);
    ck_assert_double_eq_tol(look.channels[0].frequency_Hz, FREQUENCY, 1e-5);
    ck_assert_uint_eq(look.pair.excitation, 0);
    look_clear(&look);
}
END_TEST

static const struct {
    enum audio_encoding encoding;
    double amplitude, limit;
    int is_clipped;
} clips[] = {
    {AUDIO_PCM16, 1.3, 0, 1},    /* at full scale, by the converter */
    {AUDIO_PCM16, 0.5, 0.45, 1}, /* below it, by an amplifier */
    {AUDIO_DOUBLE, 0.5, 0.45, 1},
    {AUDIO_PCM16, 0.99, 0, 0},
    {AUDIO_PCM16, 0.002, 0, 0}, /* few steps: a sine stays long on the highest */
    {AUDIO_DOUBLE, 0.5, 0, 0},
};

START_TEST(tells_clipping_from_a_flat_top)
{
    struct wave waves[] = {
        {.frequency_Hz = FREQUENCY, .amplitude = clips[_i].amplitude, .limit = clips[_i].limit}};
    write_audio("a.wav", clips[_i].encoding, waves, 1, FRAMES);
    look_at("a.wav");
    ck_assert_int_eq(look.channels[0].is_clipped, clips[_i].is_clipped);
    const struct note *note = find_note("clipped");
    ck_assert_int_eq(note != NULL, clips[_i].is_clipped);
    look_clear(&look);
}
END_TEST

START_TEST(notes_a_file_cut_off)
{
    size_t count;
    write_audio("a.wav", AUDIO_PCM24, pair, 2, FRAMES);
    char *bytes = feed_read_file("a.wav", &count);
    scratch_write("a.wav", bytes, count / 2);
    free(bytes);
    look_at("a.wav");
    ck_assert_int_eq(look.frames_expected, FRAMES);
    const struct note *note = find_note("dropout");
    ck_assert_ptr_nonnull(note);
    ck_assert_str_eq(note->message,
        "the file is cut off: it holds 23996 of the 48000 frames that its header promises");
    look_clear(&look);
}
END_TEST

/* Without `missing` values of the second channel from the thousandth on. */
static void write_with_hole(size_t missing)
{
    struct wave waves[] = {pair[0], pair[1]};
    struct audio_writer_options options = {
        .encoding = AUDIO_FLOAT, .channels = 2, .sample_rate_Hz = RATE};
    struct writer *writer = NULL;
    ck_assert_int_eq(audio_writer_create("a.wav", &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < FRAMES; i++) {
        double time = (double)i / RATE;
        double values[2] = {get_value(&waves[0], time), get_value(&waves[1], time)};
        if (i >= 1000 && i < 1000 + missing) {
            values[1] = NAN;
        }
        ck_assert_int_eq(writer_add(writer, values, NULL, 1, &err), STATUS_OK);
    }
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
}

START_TEST(notes_missing_samples)
{
    write_with_hole(10);
    look_at("a.wav");
    ck_assert_int_eq(look.missing, 10);
    ck_assert_int_eq(look.channels[0].missing, 0);
    ck_assert_int_eq(look.channels[1].missing, 10);
    ck_assert_int_eq(look.channels[1].samples, FRAMES - 10);
    const struct note *note = find_note("dropout");
    ck_assert_ptr_nonnull(note);
    ck_assert_str_eq(note->message, "10 of 48000 rows lack a value, the first in frame 1001");
    ck_assert_double_eq_tol(look.channels[1].frequency_Hz, FREQUENCY, 1e-6);
    look_clear(&look);
}
END_TEST

/* One is told; more than one in a hundred is a warning. */
START_TEST(how_many_samples_are_missing_decides_what_their_note_is)
{
    static const size_t list[] = {0, 1, FRAMES / 100, FRAMES / 100 + 1};
    for (size_t i = 0; i < COUNT(list); i++) {
        write_with_hole(list[i]);
        look_at("a.wav");
        const struct note *note = find_note("dropout");
        ck_assert((note != NULL) == (i > 0));
        if (note != NULL) {
            ck_assert_int_eq(note->level, i < 3 ? NOTE_INFO : NOTE_WARNING);
        }
        look_clear(&look);
    }
}
END_TEST

START_TEST(notes_samples_that_were_filled_in)
{
    struct audio_writer_options options = {
        .encoding = AUDIO_PCM24, .channels = 2, .sample_rate_Hz = RATE};
    struct writer *writer = NULL;
    double values[2] = {0};
    ck_assert_int_eq(audio_writer_create("a.wav", &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < FRAMES; i++) {
        if (i < 1000 || i >= 1032) {
            values[0] = get_value(&pair[0], (double)i / RATE);
            values[1] = get_value(&pair[1], (double)i / RATE);
        }
        ck_assert_int_eq(writer_add(writer, values, NULL, 1, &err), STATUS_OK);
    }
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
    look_at("a.wav");
    ck_assert_int_eq(look.repeated_run, 32);
    ck_assert_int_eq(look.repeated_at, 1000);
    const struct note *note = find_note("dropout");
    ck_assert_ptr_nonnull(note);
    ck_assert_ptr_nonnull(strstr(note->message, "32 rows from row 1001 on repeat the one before"));
    look_clear(&look);
}
END_TEST

START_TEST(notes_what_is_quiet_and_short_and_silent)
{
    struct wave waves[] = {pair[0], pair[1], {.amplitude = 0}};
    waves[1].amplitude = 4e-4;
    write_audio("a.wav", AUDIO_PCM16, waves, 3, 9 * RATE / 50);
    look_at("a.wav");
    const struct note *note = find_note("quiet");
    ck_assert_ptr_nonnull(note);
    ck_assert_ptr_nonnull(strstr(note->message, "channel 2 reaches only"));
    ck_assert_ptr_nonnull(find_note("short"));
    ck_assert_str_eq(look.channels[2].reason, "the channel does not move");
    ck_assert(isinf(look_get_level_dBFS(&look.channels[2])));
    ck_assert(!look.channels[2].is_clipped);
    look_clear(&look);
}
END_TEST

START_TEST(a_clean_capture_has_no_notes)
{
    write_audio("a.wav", AUDIO_PCM24, pair, 2, FRAMES);
    look_at("a.wav");
    ck_assert_msg(
        look.notes.count == 0, "%s: %s", look.notes.list[0].code, look.notes.list[0].message);
    look_clear(&look);
}
END_TEST

START_TEST(noise_is_not_periodic)
{
    static const struct wave waves[] = {{.noise = 0.1}};
    write_audio("a.wav", AUDIO_PCM24, waves, 1, FRAMES);
    look_at("a.wav");
    ck_assert(!look.channels[0].is_periodic);
    ck_assert_int_gt(strlen(look.channels[0].reason), 0);
    ck_assert_double_eq_tol(look.channels[0].rms, 0.1, 0.1 * 0.016);
    ck_assert_str_eq(look.pair.reason, "there is one channel alone: a loop needs two");
    look_clear(&look);
}
END_TEST

/* "key": number, the first of them behind `from`. */
static double read_number(const char *from, const char *key)
{
    char words[64];
    snprintf(words, sizeof words, "\"%s\":", key);
    const char *found = strstr(from, words);
    ck_assert_msg(found != NULL, "no %s", words);
    return strtod(found + strlen(words), NULL);
}

START_TEST(one_unit_tells_both)
{
    static const struct {
        const char *headers[2], *reason;
        size_t excitation;
    } list[] = {{{"current (A)", "u2"}, "by its unit, column 2 is the excitation (current)", 0},
        {{"u1", "H (A/m)"}, "by its unit, column 3 is the excitation (field strength)", 1},
        {{"u1", "B (T)"}, "by its unit, column 3 is the pickup (flux density)", 0},
        {{"B (T)", "u1"}, "by its unit, column 2 is the pickup (flux density)", 1}};
    for (int i = 0; i < COUNT(list); i++) {
        write_table("a.csv", "t (s)", list[i].headers, pair, 2, 2000, 5000);
        look_at("a.csv");
        ck_assert(look.pair.is_found);
        ck_assert_uint_eq(look.pair.excitation, list[i].excitation);
        ck_assert_uint_eq(look.pair.pickup, 1 - list[i].excitation);
        ck_assert_str_eq(look.pair.reason, list[i].reason);
        look_clear(&look);
    }
}
END_TEST

START_TEST(rows_that_are_missing_are_told_and_leave_the_frequency)
{
    static const char *const headers[] = {"current (A)", "pickup (V)"};
    struct table_writer_options options = {
        .channels = 2, .headers = headers, .time_header = "time (s)"};
    struct writer *writer = NULL;
    struct text out = {0};
    ck_assert_int_eq(table_writer_create("a.csv", &options, &writer, &err), STATUS_OK);
    for (size_t i = 0; i < 4000; i++) {
        const double time = (double)i / 5000;
        double values[2] = {get_value(&pair[0], time), get_value(&pair[1], time)};
        values[1] = i == 77 ? NAN : values[1];
        if (i < 1000 || i >= 1009) { /* ten steps of 0.2 ms from the row before to the next */
            ck_assert_int_eq(writer_add(writer, values, &time, 1, &err), STATUS_OK);
        }
    }
    ck_assert_int_eq(writer_commit(writer, &err), STATUS_OK);
    writer_destroy(writer);
    look_at("a.csv");
    const struct note *note = NULL;
    for (size_t i = 0; i < look.notes.count; i++) {
        note = strncmp(look.notes.list[i].message, "the times jump", 14) == 0 ? &look.notes.list[i]
                                                                              : note;
    }
    ck_assert_ptr_nonnull(note);
    ck_assert_str_eq(note->message, "the times jump 1 times, by up to 0.002 s: rows are missing");
    ck_assert_double_eq_tol(look.channels[0].frequency_Hz, FREQUENCY, 1e-7);
    ck_assert_double_eq_tol(look.channels[1].frequency_Hz, FREQUENCY, 1e-7);
    /* the row without a value: behind the header and 77 others */
    ck_assert_int_eq(look_write_json(&look, 2, &out, &err), STATUS_OK);
    const char *lines = strstr(out.bytes, "\"missing_lines\": [");
    ck_assert_ptr_nonnull(lines);
    ck_assert_int_eq(strtol(strchr(lines, '[') + 1, NULL, 10), 79);
    text_clear(&out);
    look_clear(&look);
}
END_TEST

START_TEST(two_rows_with_a_time_give_no_frequency)
{
    static const char words[] = "t (s),i (A),u (V)\n0,1,5\n,2,6\n0.2,3,7\n,4,8\n";
    scratch_write("a.csv", words, sizeof words - 1);
    look_at("a.csv");
    ck_assert(!look.channels[0].is_periodic && !look.pair.has_lead);
    ck_assert_int_gt(strlen(look.channels[1].reason), 0);
    ck_assert_double_eq(look.channels[0].maximum, 4);
    ck_assert_double_eq(look.channels[1].minimum, 5);
    look_clear(&look);
}
END_TEST

START_TEST(a_table_of_words_has_nothing_to_look_at)
{
    static const char words[] = "t (s),remark\n0,cold\n1,warm\n2,hot\n3,cool\n";
    scratch_write("a.csv", words, sizeof words - 1);
    ck_assert_int_eq(look_read("a.csv", &whole, &look, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "'a.csv'"));
    ck_assert_ptr_null(look.channels);
}
END_TEST

START_TEST(writes_json)
{
    struct text out = {0};
    write_audio("a.wav", AUDIO_PCM24, pair, 2, FRAMES);
    look_at("a.wav");
    ck_assert_int_eq(look_write_json(&look, _i == 0 ? 2 : 0, &out, &err), STATUS_OK);
    ck_assert_ptr_nonnull(strstr(out.bytes, "lodecard-look/1"));
    ck_assert_ptr_nonnull(strstr(out.bytes, look.sha256));
    ck_assert_double_eq(read_number(out.bytes, "frames"), FRAMES);
    const char *second = strstr(strstr(out.bytes, "\"frequency_Hz\"") + 1, "\"channel\"");
    ck_assert_ptr_nonnull(second);
    ck_assert_double_eq(read_number(second, "channel"), 2);
    ck_assert_double_eq(read_number(second, "frequency_Hz"), look.channels[1].frequency_Hz);
    ck_assert_double_eq(
        read_number(second, "total_harmonic_distortion"), look.channels[1].distortion);
    ck_assert_double_eq(read_number(second, "pickup"), 2);
    ck_assert_double_eq_tol(read_number(second, "lead_deg"), 60, 1e-3);
    ck_assert_int_eq(strchr(out.bytes, '\n') == out.bytes + out.length - 1, _i == 1);
    text_clear(&out);
    look_clear(&look);
}
END_TEST

START_TEST(tells_why_a_capture_cannot_be_looked_at)
{
    ck_assert_int_eq(look_read("none", &whole, &look, &err), STATUS_IO);
    ck_assert_str_eq(err.message, "cannot read 'none': No such file or directory");
    ck_assert_ptr_null(look.channels);
    look_clear(&look);
}
END_TEST

Suite *look_suite(void)
{
    Suite *suite = suite_create("look");
    TCase *tests = tcase_create("look");
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, tells_level_frequency_and_harmonics);
    tcase_add_test(tests, tells_the_distance_from_the_noise);
    tcase_add_loop_test(tests, tells_excitation_and_pickup_by_their_phase, 0, COUNT(leads));
    tcase_add_test(tests, channels_of_two_frequencies_are_no_pair);
    tcase_add_test(tests, finds_the_pair_among_many_channels);
    tcase_add_test(tests, looks_at_the_first_channels_of_a_stream);
    tcase_add_test(tests, units_tell_excitation_and_pickup);
    tcase_add_loop_test(tests, a_flux_density_follows_its_field, 0, 2);
    tcase_add_test(tests, notes_a_phase_that_speaks_against_the_units);
    tcase_add_test(tests, looks_at_a_table_without_time_as_far_as_that_goes);
    tcase_add_test(tests, a_given_sample_rate_stands_for_the_time);
    tcase_add_test(tests, times_that_go_back_leave_the_levels);
    tcase_add_test(tests, uneven_times_are_fitted_as_they_are);
    tcase_add_loop_test(tests, tells_clipping_from_a_flat_top, 0, COUNT(clips));
    tcase_add_test(tests, notes_a_file_cut_off);
    tcase_add_test(tests, notes_missing_samples);
    tcase_add_test(tests, how_many_samples_are_missing_decides_what_their_note_is);
    tcase_add_test(tests, notes_samples_that_were_filled_in);
    tcase_add_test(tests, notes_what_is_quiet_and_short_and_silent);
    tcase_add_test(tests, a_clean_capture_has_no_notes);
    tcase_add_test(tests, noise_is_not_periodic);
    tcase_add_test(tests, one_unit_tells_both);
    tcase_add_test(tests, rows_that_are_missing_are_told_and_leave_the_frequency);
    tcase_add_test(tests, two_rows_with_a_time_give_no_frequency);
    tcase_add_test(tests, a_table_of_words_has_nothing_to_look_at);
    tcase_add_loop_test(tests, writes_json, 0, 2);
    tcase_add_test(tests, tells_why_a_capture_cannot_be_looked_at);
    suite_add_tcase(suite, tests);
    return suite;
}
