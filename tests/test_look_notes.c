// SPDX-License-Identifier: GPL-3.0-or-later
/* The notes of a look: channels filled by hand, each limit from both sides, and each note's words
 * and numbers. docs/notes.md has the limits. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "loop/look_part.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

static struct look look;
static struct look_channel channels[2];

/* Two sines of half of full scale, 1000 samples a cycle, 16 bits: nothing to note. */
static void set_up(void)
{
    for (size_t i = 0; i < 2; i++) {
        channels[i] = (struct look_channel){.column = i + 1,
            .samples = 48000,
            .minimum = -0.5,
            .maximum = 0.5,
            .extreme_run = 2,
            .extreme_count = 40,
            .is_periodic = true,
            .frequency_Hz = 48,
            .cycles = 48,
            .reason = "it has no cycles"};
    }
    look = (struct look){.kind = CAPTURE_AUDIO,
        .timing = CAPTURE_TIMING_RATE,
        .bits = 16,
        .frames = 48000,
        .frames_expected = -1,
        .sample_rate_Hz = 48000,
        .channels = channels,
        .channel_count = 2,
        .pair = {.is_found = true, .excitation = 0, .pickup = 1}};
}

static void tear_down(void)
{
    notes_clear(&look.notes);
}

static void make_float(void)
{
    look.bits = 32;
    look.is_float = true;
}

/* The notes anew; the only one, or NULL. */
static const struct note *find_only_note(void)
{
    notes_clear(&look.notes);
    look_add_notes(&look);
    ck_assert(!look.notes.failed);
    ck_assert_msg(
        look.notes.count < 2, "%s: %s", look.notes.list[1].code, look.notes.list[1].message);
    return look.notes.count > 0 ? &look.notes.list[0] : NULL;
}

static void expect_none(void)
{
    const struct note *note = find_only_note();
    ck_assert_msg(note == NULL, "%s: %s", note->code, note->message);
}

/* Numbers by place; without a limit it is NAN. */
static const struct note *expect(const char *code, enum note_level level, const char *message)
{
    const struct note *note = find_only_note();
    ck_assert_msg(note != NULL, "no %s", code);
    ck_assert_str_eq(note->code, code);
    ck_assert_int_eq(note->level, level);
    ck_assert_str_eq(note->message, message);
    ck_assert_uint_gt(strlen(note->hint), 10);
    return note;
}

/* Within what rounding makes of it. */
static void expect_close(double found, double wanted)
{
    ck_assert_msg(fabs(found - wanted) <= 1e-12 * fabs(wanted), "%.17g, not %.17g", found, wanted);
}

static void expect_number(
    const struct note *note, size_t place, const char *key, double value, double limit)
{
    ck_assert_uint_gt(note->number_count, place);
    ck_assert_str_eq(note->numbers[place].key, key);
    expect_close(note->numbers[place].value, value);
    if (isnan(limit)) {
        ck_assert(isnan(note->numbers[place].limit));
    } else {
        expect_close(note->numbers[place].limit, limit);
    }
}

START_TEST(a_slow_log_has_its_natural_run_too)
{
    look.sample_rate_Hz = 0.5;
    channels[0].frequency_Hz = channels[1].frequency_Hz = 0.0005;
    expect_none();
    expect_close(channels[0].natural_run, 2 * sqrt(2 * pow(2, -15) / 0.5) / (2 * PI) * 1000);
}
END_TEST

START_TEST(two_clean_channels_have_no_note)
{
    expect_none();
}
END_TEST

/* ---- clipped ---- */

/* A sine stays within a step q of its top where a (1 - cos x) < q: on both sides of it by x =
 * sqrt(2 q/a), for small steps. */
static double get_run(double step, double amplitude, double samples_per_cycle)
{
    return 2 * sqrt(2 * step / amplitude) / (2 * PI) * samples_per_cycle;
}

/* Below full scale three times that, at least 3, may stay there; at full scale half more than it,
 * at least 2. */
static const struct {
    double maximum, samples_per_cycle, factor;
    int least;
    bool is_float;
    double step; /* of a float's values */
} runs[] = {
    {0.5, 1000, 3, 3, false, 0},
    {0.5, 100, 3, 3, false, 0}, /* 0.35 samples: the least */
    {1.0, 1000, 1.5, 2, false, 0},
    {1.0, 100, 1.5, 2, false, 0},
    {0.5, 1000, 3, 3, true, 1e-4},
    {1.0, 1000, 3, 3, true, 1e-4}, /* floats have no full scale */
    {0.5, 1000, 3, 3, true, 0},
    {0.5, 3e5, 3, 3, false, 0},
};

START_TEST(a_run_at_the_extreme_is_clipping_when_no_sine_stays_so_long)
{
    const double step = runs[_i].is_float ? runs[_i].step : pow(2, -15);
    if (runs[_i].is_float) {
        make_float();
    }
    struct look_channel *channel = &channels[1];
    channel->maximum = runs[_i].maximum;
    channel->minimum = -runs[_i].maximum;
    channel->step = runs[_i].step;
    channel->frequency_Hz = 48000 / runs[_i].samples_per_cycle;
    const double natural = get_run(step, channel->maximum, runs[_i].samples_per_cycle);
    const double limit = fmax(runs[_i].least, runs[_i].factor * natural);
    channel->extreme_run = (int64_t)limit;
    channel->extreme_count = 777;
    expect_none();
    expect_close(channel->natural_run, natural);
    ck_assert(!channel->is_clipped);
    channel->extreme_run = (int64_t)limit + 1;
    char message[200];
    snprintf(message, sizeof message,
        "channel 2 stays at its extreme for %d samples in a row, 777 in all: its peaks are cut off",
        (int)limit + 1);
    const struct note *note = expect("clipped", NOTE_WARNING, message);
    ck_assert(channel->is_clipped && !channels[0].is_clipped);
    ck_assert_uint_eq(note->number_count, 3);
    expect_number(note, 0, "channel", 2, NAN);
    expect_number(note, 1, "extreme_run_samples", (double)((int64_t)limit + 1), limit);
    expect_number(note, 2, "extreme_count_samples", 777, NAN);
    look.kind = CAPTURE_TABLE; /* no full scale, and the steps are those of the values */
    look.bits = 0;
    look.is_float = false;
    channels[0].step = 1e-4;
    channel->step = step;
    channel->extreme_run = (int64_t)fmax(3, 3 * natural);
    expect_none();
    channel->extreme_run++;
    ck_assert_int_eq(strncmp(find_only_note()->message, "column 2 ", 9), 0);
}
END_TEST

/* From 1.5 steps below: full scale of positive numbers is one step short of 1. */
START_TEST(full_scale_begins_one_and_a_half_steps_below_one)
{
    const double step = pow(2, -15);
    for (int side = 0; side < 2; side++) {
        for (int is_full = 0; is_full < 2; is_full++) {
            const double peak = 1 - (is_full ? 1.5 : 1.5625) * step;
            channels[0].maximum = side == 0 ? peak : 0.99;
            channels[0].minimum = side == 0 ? -0.99 : -peak;
            channels[0].frequency_Hz = 480; /* 100 samples, of which 0.25 would be natural */
            channels[0].extreme_run = 3;
            find_only_note();
            ck_assert_int_eq(channels[0].is_clipped, is_full);
        }
    }
}
END_TEST

/* Without a frequency, a rate or an amplitude there is no natural run: full scale alone tells. */
START_TEST(what_is_no_sine_is_clipped_at_full_scale_only)
{
    struct look_channel *channel = &channels[0];
    for (int way = 0; way < 3; way++) {
        for (int is_full = 0; is_full < 2; is_full++) {
            set_up();
            channel->is_periodic = way != 0;
            look.timing = CAPTURE_TIMING_NONE; /* of which no period is asked */
            look.sample_rate_Hz = way == 1 ? 0 : 48000;
            channel->minimum = is_full ? -1 : -0.5;
            channel->maximum = way == 2 ? channel->minimum : 0.5;
            channel->extreme_run = 30000;
            find_only_note();
            ck_assert(isnan(channel->natural_run));
            ck_assert_int_eq(channel->is_clipped, is_full && way < 2); /* way 2 does not move */
            notes_clear(&look.notes);
        }
    }
    set_up();
    channel->is_periodic = false;
    look.timing = CAPTURE_TIMING_NONE;
    channel->maximum = 1;
    channel->extreme_run = 2;
    expect_none();
    channel->extreme_run = 3;
    const struct note *note = find_only_note();
    expect_number(note, 1, "extreme_run_samples", 3, 2);
}
END_TEST

/* ---- level ---- */

START_TEST(a_mean_is_noted_against_the_amplitude)
{
    static const struct {
        double offset, maximum;
        int level; /* -1: none */
        const char *message;
    } list[] = {{0.0099, 0.5, -1, NULL}, {-0.0099, 0.5, -1, NULL},
        {0.01, 0.5, -1, NULL}, /* at the limit itself: the doubles double exactly */
        {0.012245, 0.5, NOTE_INFO, "channel 1 has a mean of 2.4 % of its amplitude"},
        {-0.05, 0.5, NOTE_INFO, "channel 1 has a mean of 10 % of its amplitude"},
        {0.0101, 0.5, NOTE_INFO, "channel 1 has a mean of 2 % of its amplitude"},
        {-0.0101, 0.5, NOTE_INFO, "channel 1 has a mean of 2 % of its amplitude"},
        {0.0499, 0.5, NOTE_INFO, "channel 1 has a mean of 10 % of its amplitude"},
        {-0.0501, 0.5, NOTE_WARNING, "channel 1 has a mean of 10 % of its amplitude"},
        {0.0501, 0.5, NOTE_WARNING, "channel 1 has a mean of 10 % of its amplitude"},
        {0.3, 0.9, NOTE_WARNING, "channel 1 has a mean of 43 % of its amplitude"}};
    for (int i = 0; i < COUNT(list); i++) {
        channels[0].offset = list[i].offset;
        channels[0].maximum = list[i].maximum;
        if (list[i].level < 0) {
            expect_none();
            continue;
        }
        const struct note *note = expect("offset", (enum note_level)list[i].level, list[i].message);
        ck_assert_uint_eq(note->number_count, 2);
        expect_number(note, 0, "channel", 1, NAN);
        expect_number(note, 1, "mean_over_amplitude",
            list[i].offset / ((list[i].maximum + 0.5) / 2),
            list[i].level == NOTE_INFO ? 0.02 : 0.1);
    }
    look.timing = CAPTURE_TIMING_NONE;
    channels[0].is_periodic = false; /* then the mean may be of a part of a cycle */
    expect_none();
}
END_TEST

/* 256 steps, or a thousandth of full scale. */
START_TEST(a_channel_is_quiet_below_its_format)
{
    static const struct {
        int bits;
        bool is_float;
        double limit; /* 0: none */
        const char *message;
    } list[] = {{16, false, 0.0078125,
                    "channel 2 reaches only 0.00773 of full scale (limit 0.0078 for 16 bits)"},
        {12, false, 0.125, "channel 2 reaches only 0.124 of full scale (limit 0.12 for 12 bits)"},
        {24, false, 1e-3, "channel 2 reaches only 0.00099 of full scale (limit 0.001 for 24 bits)"},
        {32, true, 0, NULL}, {0, false, 0, NULL}};
    for (int i = 0; i < COUNT(list); i++) {
        set_up();
        look.bits = list[i].bits;
        look.is_float = list[i].is_float;
        channels[1].extreme_run = 0;
        const double amplitude = list[i].limit > 0 ? 0.99 * list[i].limit : 1e-6;
        channels[1].maximum = 0.3 + amplitude;
        channels[1].minimum = 0.3 - amplitude;
        if (list[i].limit > 0) {
            const struct note *note = expect("quiet", NOTE_WARNING, list[i].message);
            ck_assert_uint_eq(note->number_count, 2);
            expect_number(note, 0, "channel", 2, NAN);
            expect_number(note, 1, "level_over_full_scale",
                (channels[1].maximum - channels[1].minimum) / 2, list[i].limit);
            channels[1].maximum = 0.3 + 1.01 * list[i].limit;
            channels[1].minimum = 0.3 - 1.01 * list[i].limit;
        }
        expect_none();
        notes_clear(&look.notes);
    }
}
END_TEST

START_TEST(the_limit_of_a_quiet_channel_itself_is_loud_enough)
{
    channels[0].maximum = 0.0078125;
    channels[0].minimum = -0.0078125;
    channels[0].extreme_run = 0;
    expect_none();
}
END_TEST

START_TEST(a_channel_without_cycles_tells_why)
{
    channels[1].is_periodic = false;
    channels[1].offset = 0.4;
    const struct note *note = expect("not-periodic", NOTE_INFO, "channel 2: it has no cycles");
    ck_assert_uint_eq(note->number_count, 1);
    expect_number(note, 0, "channel", 2, NAN);
    look.timing = CAPTURE_TIMING_ROWS;
    expect("not-periodic", NOTE_INFO, "channel 2: it has no cycles");
    look.timing = CAPTURE_TIMING_NONE;
    expect_none();
    look.timing = CAPTURE_TIMING_RATE;
    channels[1].samples = 0; /* it was not read at all */
    channels[1].is_clipped = true;
    expect_none();
}
END_TEST

/* ---- the record ---- */

START_TEST(few_cycles_are_short)
{
    static const struct {
        double cycles;
        int level;
        const char *message;
    } list[] = {{20, -1, NULL},
        {19.99, NOTE_INFO, "the capture holds 19.99 cycles (20 or more are advised)"},
        {4, NOTE_INFO, "the capture holds 4 cycles (20 or more are advised)"},
        {3.99, NOTE_WARNING, "the capture holds 3.99 cycles (20 or more are advised)"}};
    look.pair.excitation = 1;
    look.pair.pickup = 0;
    for (int i = 0; i < COUNT(list); i++) {
        channels[1].cycles = list[i].cycles;
        if (list[i].level < 0) {
            expect_none();
            continue;
        }
        const struct note *note = expect("short", (enum note_level)list[i].level, list[i].message);
        ck_assert_uint_eq(note->number_count, 1);
        expect_number(note, 0, "cycles", list[i].cycles, list[i].level == NOTE_INFO ? 20 : 4);
    }
    look.pair.is_found = false;
    expect_none();
    look.pair.is_found = true;
    look.timing = CAPTURE_TIMING_NONE;
    channels[1].is_periodic = false;
    expect_none();
}
END_TEST

/* Three times what the sharper of the two waveforms does of itself, at least 3. */
START_TEST(rows_that_repeat_too_long_were_filled_in)
{
    const double natural = get_run(pow(2, -15), 0.5, 500); /* of 96 Hz: 1.76 */
    for (size_t sharper = 0; sharper < 2; sharper++) {
        set_up();
        channels[sharper].frequency_Hz = 96;
        channels[1 - sharper].frequency_Hz = 12;
        look.repeated_run = (int64_t)(3 * natural);
        look.repeated_at = 1233;
        expect_none();
        look.repeated_run++;
        const struct note *note = expect("dropout", NOTE_WARNING,
            "6 rows from row 1234 on repeat the one before in all channels (up to 5 would be "
            "natural): samples were lost or filled in");
        ck_assert_uint_eq(note->number_count, 2);
        expect_number(note, 0, "repeated_run_frames", 6, 3 * natural);
        expect_number(note, 1, "first_repeated_frame", 1234, NAN);
        notes_clear(&look.notes);
    }
    set_up();
    channels[0].frequency_Hz = channels[1].frequency_Hz = 4800; /* 0.04 samples */
    channels[0].extreme_run = channels[1].extreme_run = 1;
    look.repeated_run = 3;
    expect_none();
    look.repeated_run = 4;
    expect_number(find_only_note(), 0, "repeated_run_frames", 4, 3);
}
END_TEST

START_TEST(rows_may_repeat_where_nothing_tells_how_long)
{
    look.repeated_run = 40000;
    for (size_t i = 0; i < 2; i++) {
        channels[i].is_periodic = false;
    }
    look.timing = CAPTURE_TIMING_NONE;
    expect_none();                  /* no waveform, no natural run */
    channels[1].is_periodic = true; /* one tells */
    ck_assert_str_eq(find_only_note()->code, "dropout");
    channels[1].natural_run = 1;
    channels[0].samples = channels[1].samples = 0; /* of an earlier look: nothing moves */
    channels[0].maximum = channels[0].minimum;
    channels[1].maximum = channels[1].minimum;
    expect_none();
    channels[1].maximum = 0.5; /* one moves */
    ck_assert_str_eq(find_only_note()->code, "dropout");
}
END_TEST

START_TEST(missing_values_are_told)
{
    static const struct {
        int64_t missing;
        enum capture_kind kind;
        int level;
        const char *message;
    } list[] = {{0, CAPTURE_AUDIO, -1, NULL},
        {1, CAPTURE_AUDIO, NOTE_INFO, "1 of 48000 rows lack a value, the first in frame 17"},
        {480, CAPTURE_TABLE, NOTE_INFO, "480 of 48000 rows lack a value, the first in line 17"},
        {481, CAPTURE_TABLE, NOTE_WARNING, "481 of 48000 rows lack a value, the first in line 17"}};
    look.missing_lines[0] = 17;
    look.missing_lines[1] = 18;
    for (int i = 0; i < COUNT(list); i++) {
        look.missing = list[i].missing;
        look.kind = list[i].kind;
        if (list[i].level < 0) {
            expect_none();
            continue;
        }
        const struct note *note =
            expect("dropout", (enum note_level)list[i].level, list[i].message);
        ck_assert_uint_eq(note->number_count, 2);
        expect_number(note, 0, "missing_over_rows", (double)list[i].missing / 48000,
            list[i].level == NOTE_INFO ? 0 : 0.01);
        expect_number(note, 1, "missing_rows", (double)list[i].missing, NAN);
    }
}
END_TEST

START_TEST(jumps_of_the_times_are_told)
{
    look.sampling = (struct sampling){.gap_count = 1, .gap_longest_s = 0.25};
    expect_none();
    look.has_sampling = true;
    const struct note *note = expect(
        "dropout", NOTE_WARNING, "the times jump 1 times, by up to 0.25 s: rows are missing");
    ck_assert_uint_eq(note->number_count, 2);
    expect_number(note, 0, "gap_count", 1, 0);
    expect_number(note, 1, "longest_gap_s", 0.25, NAN);
    look.sampling.gap_count = 0;
    expect_none();
}
END_TEST

START_TEST(a_file_that_promised_more_was_cut_off)
{
    look.frames_expected = 48000;
    expect_none();
    look.frames_expected = 48001;
    const struct note *note = expect("dropout", NOTE_WARNING,
        "the file is cut off: it holds 48000 of the 48001 frames that its header promises");
    ck_assert_uint_eq(note->number_count, 1);
    expect_number(note, 0, "frames", 48000, 48001);
    look.frames_expected = 47999;
    expect_none();
}
END_TEST

/* ---- the pair ---- */

START_TEST(a_turned_pickup_is_told)
{
    look.pair.is_reversed = true;
    expect("reversed", NOTE_INFO, "channel 2 is turned round against 1");
    look.pair.is_found = false;
    expect_none();
}
END_TEST

START_TEST(a_phase_against_the_units_is_told)
{
    look.pair.is_contradicted = true;
    look.pair.excitation = 1;
    look.pair.pickup = 0;
    look.pair.lead_deg = 300.25;
    const struct note *note = expect("swapped", NOTE_WARNING,
        "channel 1 leads 2 by 300.2 degree: by its phase it is not the pickup of that excitation");
    ck_assert_uint_eq(note->number_count, 1);
    expect_number(note, 0, "lead_deg", 300.25, NAN);
    look.pair.is_found = false;
    expect_none();
}
END_TEST

Suite *look_notes_suite(void)
{
    Suite *suite = suite_create("look_notes");
    TCase *tests = tcase_create("look_notes");
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, two_clean_channels_have_no_note);
    tcase_add_loop_test(
        tests, a_run_at_the_extreme_is_clipping_when_no_sine_stays_so_long, 0, COUNT(runs));
    tcase_add_test(tests, a_slow_log_has_its_natural_run_too);
    tcase_add_test(tests, full_scale_begins_one_and_a_half_steps_below_one);
    tcase_add_test(tests, what_is_no_sine_is_clipped_at_full_scale_only);
    tcase_add_test(tests, a_mean_is_noted_against_the_amplitude);
    tcase_add_test(tests, a_channel_is_quiet_below_its_format);
    tcase_add_test(tests, the_limit_of_a_quiet_channel_itself_is_loud_enough);
    tcase_add_test(tests, a_channel_without_cycles_tells_why);
    tcase_add_test(tests, few_cycles_are_short);
    tcase_add_test(tests, rows_that_repeat_too_long_were_filled_in);
    tcase_add_test(tests, rows_may_repeat_where_nothing_tells_how_long);
    tcase_add_test(tests, missing_values_are_told);
    tcase_add_test(tests, jumps_of_the_times_are_told);
    tcase_add_test(tests, a_file_that_promised_more_was_cut_off);
    tcase_add_test(tests, a_turned_pickup_is_told);
    tcase_add_test(tests, a_phase_against_the_units_is_told);
    suite_add_tcase(suite, tests);
    return suite;
}
