// SPDX-License-Identifier: GPL-3.0-or-later
/* From captures that were written by the writer to loops, and from loops to JSON. */
#include "loop/loop.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "capture/writer.h"
#include "num/random.h"
#include "scratch.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;

/* ---- the bench: a shunt of 0.1 ohm, 200 and 100 turns, 1.5 V at full scale, a divider of 5 ----
 */

static const char audio_rig[] = "name: bench\n"
                                "inputs:\n"
                                "  excitation: {channel: 1, full_scale: 1.5 V, shunt: 0.1 ohm}\n"
                                "  pickup: {channel: 2, full_scale: 1.5 V, divider: 5.0}\n"
                                "winding: {primary_turns: 200, secondary_turns: 100}\n";
static const char ring[] =
    "name: R-1\n"
    "ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm, density: 8100 kg/m3}\n";

static const double length = 36e-3 * 3.14159265358979323846, area = 24e-6;
static const double rate = 8000.0, frequency = 49.7;

enum { TOP = 5 };
static const double complex true_field[TOP + 1] = {
    0.0, 8000.0 - 1000.0 * I, 0.0, 300.0 * I, 0.0, -90.0};
static const double complex true_flux[TOP + 1] = {
    0.0, 0.8 - 0.8 * I, 0.0, -0.1 - 0.02 * I, 0.0, 0.03 * I};

/* The volts at both inputs; `sign` turns the pickup coil. */
static void get_volts(double time, double sign, double volts[2])
{
    volts[0] = volts[1] = 0.0;
    for (int k = 1; k <= TOP; k++) {
        const double w = 2.0 * PI * k * frequency;
        const double complex turn = cos(w * time) + I * sin(w * time);
        volts[0] += creal(true_field[k] * turn) * length / 200.0 * 0.1;
        volts[1] += sign * creal(I * w * true_flux[k] * turn) * 100.0 * area / 5.0;
    }
}

/* An audio file of `channels`; excitation and pickup where told, others hum. */
struct tape {
    const char *name;
    enum audio_encoding encoding;
    size_t channels, excitation, pickup; /* from 0 */
    double frames, sign;
    double noise; /* fraction of full scale */
    double start; /* cut: seconds */
};

static const struct tape plain_tape = {.name = "a.wav",
    .encoding = AUDIO_DOUBLE,
    .channels = 2,
    .pickup = 1,
    .frames = 8000,
    .sign = 1};

static void write_tape(const struct tape *tape)
{
    struct writer *writer = NULL;
    struct error err = {0};
    struct random random;
    const struct audio_writer_options options = {
        .encoding = tape->encoding, .channels = tape->channels, .sample_rate_Hz = rate};
    double *row = calloc(tape->channels, sizeof *row);
    ck_assert_msg(!audio_writer_create(tape->name, &options, &writer, &err), "%s", err.message);
    random_init(&random, 9, 0);
    for (double n = 0.0; n < tape->frames; n += 1.0) {
        double volts[2];
        get_volts(tape->start + n / rate, tape->sign, volts);
        for (size_t c = 0; c < tape->channels; c++) {
            row[c] = 0.3 * sin(0.01 * n * (double)(c + 3));
        }
        row[tape->excitation] = volts[0] / 1.5 + tape->noise * random_get_normal(&random);
        row[tape->pickup] = volts[1] / 1.5 + tape->noise * random_get_normal(&random);
        ck_assert(!writer_add(writer, row, NULL, 1, &err));
    }
    ck_assert_msg(!writer_commit(writer, &err), "%s", err.message);
    writer_destroy(writer);
    free(row);
}

/* ---- reading ---- */

static struct rig rig;
static struct specimen specimen;
static struct loop loop;
static struct error err;

static void set_up(void)
{
    scratch_enter();
    rig = (struct rig){0};
    specimen = (struct specimen){0};
    loop = (struct loop){0};
    err = (struct error){0};
}

static void tear_down(void)
{
    loop_clear(&loop);
    rig_clear(&rig);
    specimen_clear(&specimen);
    scratch_leave();
}

static void read_setup(const char *rig_text, const char *specimen_text)
{
    rig_clear(&rig);
    specimen_clear(&specimen);
    scratch_write("rig.yaml", rig_text, strlen(rig_text));
    scratch_write("specimen.yaml", specimen_text, strlen(specimen_text));
    ck_assert_msg(!rig_read("rig.yaml", &rig, &err), "%s", err.message);
    ck_assert_str_eq(rig.file, "rig.yaml");
    ck_assert_msg(!specimen_read("specimen.yaml", &specimen, &err), "%s", err.message);
}

static enum status read_with(const char *name, const struct loop_options *options)
{
    loop_clear(&loop);
    return loop_read(name, &rig, &specimen, options, &loop, &err);
}

static enum status read_plainly(const char *name)
{
    return read_with(name, &(struct loop_options){0});
}

static const struct note *find_note(const char *code)
{
    for (size_t i = 0; i < loop.notes.count; i++) {
        if (strcmp(loop.notes.list[i].code, code) == 0) {
            return &loop.notes.list[i];
        }
    }
    return NULL;
}

/* The figures that the waves themselves have. */
static void get_truth(struct figures *truth)
{
    double complex field[TOP + 1], flux[TOP + 1];
    const struct fourier_loop waves = {.harmonics = TOP, .field = field, .flux_density = flux};
    memcpy(field, true_field, sizeof field);
    memcpy(flux, true_flux, sizeof flux);
    ck_assert(!fourier_loop_compute_figures(&waves, frequency, 8100.0, truth, NULL));
}

/* Relative; absolute where the truth is 0. */
static void check_figures(const struct figures *figures, double tolerance)
{
    struct figures truth;
    get_truth(&truth);
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        if (f == FIGURE_HARMONICS || !truth.list[f].is_present) {
            continue;
        }
        const double value = figures->list[f].value, wanted = truth.list[f].value;
        const double scale = fabs(wanted) > 1e-9 ? fabs(wanted) : 1.0;
        ck_assert_msg(figures->list[f].is_present, "%s is absent", figure_table[f].key);
        ck_assert_msg(fabs(value - wanted) <= tolerance * scale, "%s: %.15g instead of %.15g",
            figure_table[f].key, value, wanted);
    }
}

START_TEST(a_capture_gives_the_loop_that_it_was_made_from)
{
    static const struct {
        const char *name;
        enum audio_encoding encoding;
        double tolerance; /* rounding of a sample, over the root of 8000 samples */
    } list[] = {{"a.wav", AUDIO_DOUBLE, 1e-11}, {"a.w64", AUDIO_FLOAT, 1e-8},
        {"a.flac", AUDIO_PCM24, 3e-7}, {"a.aiff", AUDIO_PCM16, 1e-4}};
    read_setup(audio_rig, ring);
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct tape tape = plain_tape;
        tape.name = list[i].name;
        tape.encoding = list[i].encoding;
        write_tape(&tape);
        ck_assert_msg(!read_plainly(list[i].name), "%s", err.message);
        check_figures(&loop.figures, list[i].tolerance);
        ck_assert_double_eq_tol(loop.figures.list[FIGURE_CYCLES].value, 49.7, 1e-4);
        ck_assert_str_eq(loop.file, list[i].name);
        ck_assert_uint_eq(strlen(loop.sha256), 64);
        ck_assert_uint_eq(loop.channels, 2);
        ck_assert_int_eq(loop.frames, 8000);
        ck_assert_double_eq(loop.sample_rate_Hz, rate);
        ck_assert_double_eq(loop.start_s, 0.0);
        ck_assert_double_eq(loop.length_s, 1.0);
        ck_assert(!loop.is_trace);
        ck_assert(!loop.is_reversed);
        ck_assert(notes_find_fatal(&loop.notes) == NULL);
    }
}
END_TEST

START_TEST(two_of_many_channels_are_taken_wherever_they_are)
{
    struct tape tape = plain_tape;
    tape.channels = 7;
    tape.excitation = 6;
    tape.pickup = 2;
    write_tape(&tape);
    read_setup("name: bench\n"
               "inputs:\n"
               "  excitation: {channel: 7, full_scale: 1.5 V, shunt: 0.1 ohm}\n"
               "  pickup: {channel: 3, full_scale: 1.5 V, divider: 5.0}\n"
               "winding: {primary_turns: 200, secondary_turns: 100}\n",
        ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    check_figures(&loop.figures, 1e-11);
    ck_assert_uint_eq(loop.channels, 7);
}
END_TEST

START_TEST(part_of_a_capture_is_taken_and_told)
{
    struct tape tape = plain_tape;
    tape.frames = 24000;
    write_tape(&tape);
    read_setup(audio_rig, ring);
    const struct loop_options options = {.capture = {.start_s = 0.5, .length_s = 1.25}};
    ck_assert_msg(!read_with("a.wav", &options), "%s", err.message);
    check_figures(&loop.figures, 1e-11);
    ck_assert_double_eq(loop.start_s, 0.5);
    ck_assert_double_eq(loop.length_s, 1.25);
    ck_assert_int_eq(loop.frames, 10000);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_CYCLES].value, 1.25 * frequency, 1e-9);
}
END_TEST

/* ---- scatter ---- */

START_TEST(the_scatter_of_the_blocks_is_the_uncertainty)
{
    struct tape tape = plain_tape;
    tape.noise = 1e-3;
    write_tape(&tape);
    read_setup(audio_rig, ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    ck_assert_uint_ge(loop.block_count, 40);
    static const enum figure list[] = {
        FIGURE_LOOP_AREA, FIGURE_COERCIVITY, FIGURE_REMANENCE, FIGURE_FIELD_PEAK, FIGURE_LAG_ANGLE};
    struct figures truth;
    get_truth(&truth);
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        const double n = (double)loop.block_count;
        double mean = 0.0, squares = 0.0;
        for (size_t b = 0; b < loop.block_count; b++) {
            mean += loop.blocks[b].list[list[i]].value / n;
        }
        for (size_t b = 0; b < loop.block_count; b++) {
            squares += pow(loop.blocks[b].list[list[i]].value - mean, 2.0);
        }
        const struct figure_value *figure = &loop.figures.list[list[i]];
        ck_assert(figure->has_u);
        ck_assert_double_eq_tol(figure->u / sqrt(squares / (n - 1.0) / n), 1.0, 1e-6);
        /* and it covers the truth: five of them, with a fixed seed */
        ck_assert_double_le(fabs(figure->value - truth.list[list[i]].value), 5.0 * figure->u);
    }
    ck_assert(loop.figures.list[FIGURE_FREQUENCY].has_u);
    ck_assert(!loop.figures.list[FIGURE_HARMONICS].has_u);
}
END_TEST

/* ---- direction ---- */

START_TEST(a_reversed_pickup_is_set_right_with_a_note)
{
    struct tape tape = plain_tape;
    tape.sign = -1.0;
    write_tape(&tape);
    read_setup(audio_rig, ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    check_figures(&loop.figures, 1e-11);
    ck_assert(loop.is_reversed);
    const struct note *note = find_note("reversed");
    ck_assert_ptr_nonnull(note);
    ck_assert_int_eq(note->level, NOTE_WARNING);
    for (size_t b = 0; b < loop.block_count; b++) {
        ck_assert_double_gt(loop.blocks[b].list[FIGURE_LOOP_AREA].value, 0.0);
    }
    /* said in the rig, it is no matter for a note */
    read_setup("name: bench\n"
               "inputs:\n"
               "  excitation: {channel: 1, full_scale: 1.5 V, shunt: 0.1 ohm}\n"
               "  pickup: {channel: 2, full_scale: 1.5 V, divider: 5.0, invert: yes}\n"
               "winding: {primary_turns: 200, secondary_turns: 100}\n",
        ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    check_figures(&loop.figures, 1e-11);
    ck_assert(!loop.is_reversed);
    ck_assert_ptr_null(find_note("reversed"));
}
END_TEST

START_TEST(the_air_flux_is_not_turned_with_a_reversed_pickup)
{
    struct tape tape = plain_tape;
    struct figures right;
    read_setup("name: bench\n"
               "inputs:\n"
               "  excitation: {channel: 1, full_scale: 1.5 V, shunt: 0.1 ohm}\n"
               "  pickup: {channel: 2, full_scale: 1.5 V, divider: 5.0}\n"
               "winding: {primary_turns: 200, secondary_turns: 100, secondary_area: 300 mm2}\n",
        ring);
    write_tape(&tape);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    right = loop.figures;
    struct figures plain;
    get_truth(&plain);
    /* air of 11.5 times the steel's section carries mu0 H more at the tip, where B is 1 T */
    ck_assert_double_lt(right.list[FIGURE_FLUX_DENSITY_PEAK].value,
        plain.list[FIGURE_FLUX_DENSITY_PEAK].value - 0.05);
    tape.sign = -1.0;
    write_tape(&tape);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    ck_assert(loop.is_reversed);
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        ck_assert_double_eq_tol(loop.figures.list[f].value, right.list[f].value,
            1e-10 * fabs(right.list[f].value) + 1e-9);
    }
}
END_TEST

/* With H for the pickup's voltage and B for the integral of the current the lag angle d becomes
 * 180 degree - d; with the coil turned round besides -d, and the loop runs backwards. */
START_TEST(swapped_channels_are_told_and_fatal_when_the_loop_runs_backwards)
{
    struct tape tape = plain_tape;
    struct figures truth;
    get_truth(&truth);
    const double lag = truth.list[FIGURE_LAG_ANGLE].value;
    tape.excitation = 1;
    tape.pickup = 0;
    write_tape(&tape);
    read_setup(audio_rig, ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_LAG_ANGLE].value, 180.0 - lag, 1e-9);
    ck_assert_ptr_nonnull(find_note("swapped"));
    ck_assert_int_eq(find_note("swapped")->level, NOTE_WARNING);
    tape.sign = -1.0;
    write_tape(&tape);
    ck_assert_int_eq(read_plainly("a.wav"), STATUS_CAPTURE);
    const struct note *note = find_note("swapped");
    ck_assert_ptr_nonnull(note);
    ck_assert_int_eq(note->level, NOTE_FATAL);
    ck_assert_int_eq(strncmp(err.message, "swapped: the loop runs backwards", 32), 0);
    ck_assert_str_eq(err.hint, note->hint);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_LAG_ANGLE].value, -lag, 1e-9);
    ck_assert_int_eq(loop.frames, 8000);
    ck_assert_uint_eq(strlen(loop.sha256), 64);
}
END_TEST

START_TEST(a_skew_that_turns_a_narrow_loop_is_fatal_by_its_own_name)
{
    /* B lags by 0.2 degree; two samples are 4.5 degree, and the rig's delay takes one away */
    struct writer *writer = NULL;
    const struct audio_writer_options options = {
        .encoding = AUDIO_DOUBLE, .channels = 2, .sample_rate_Hz = rate};
    ck_assert(!audio_writer_create("a.wav", &options, &writer, &err));
    for (int n = 0; n < 8000; n++) {
        const double x = 2.0 * PI * frequency * n / rate;
        const double row[2] = {0.3 * cos(x), -0.3 * sin(x - 0.2 * PI / 180.0)};
        ck_assert(!writer_add(writer, row, NULL, 1, &err));
    }
    ck_assert(!writer_commit(writer, &err));
    writer_destroy(writer);
    read_setup(audio_rig, ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_LAG_ANGLE].value, 0.2, 1e-9);
    rig.pickup_delay.value = -1.0 / rate;
    rig.pickup_delay.is_present = true;
    ck_assert_int_eq(read_plainly("a.wav"), STATUS_CAPTURE);
    ck_assert_int_eq(
        strncmp(err.message, "delay-sensitive: the loop runs backwards with a lag angle of", 60),
        0);
    ck_assert_ptr_nonnull(find_note("delay-sensitive"));
}
END_TEST

/* ---- tables ---- */

static void write_table(const char *name, const struct table_writer_options *options,
    const double *values, const double *times, size_t rows)
{
    struct writer *writer = NULL;
    ck_assert_msg(!table_writer_create(name, options, &writer, &err), "%s", err.message);
    ck_assert_msg(!writer_add(writer, values, times, rows, &err), "%s", err.message);
    ck_assert_msg(!writer_commit(writer, &err), "%s", err.message);
    writer_destroy(writer);
}

static const char *const volt_headers[] = {"u1 (V)", "u2 (V)"};
static const char table_rig[] = "name: bench\n"
                                "inputs:\n"
                                "  excitation: {channel: u1, shunt: 0.1 ohm}\n"
                                "  pickup: {channel: u2, divider: 5.0}\n"
                                "winding: {primary_turns: 200, secondary_turns: 100}\n";

enum { TABLE_ROWS = 5000 };

START_TEST(tables_give_the_same_loop_whatever_their_clock)
{
    static const char *const with_rate = "name: bench\n"
                                         "inputs:\n"
                                         "  excitation: {channel: 1, shunt: 0.1 ohm}\n"
                                         "  pickup: {channel: 2, divider: 5.0}\n"
                                         "timing: {sample_rate: 8 kHz}\n"
                                         "winding: {primary_turns: 200, secondary_turns: 100}\n";
    static double values[2 * TABLE_ROWS], times[TABLE_ROWS];
    for (int clock = 0; clock < 3; clock++) { /* none, even, uneven */
        for (int n = 0; n < TABLE_ROWS; n++) {
            const double wobble = clock == 2 ? 0.3 * sin(1.7 * n * n) : 0.0;
            times[n] = (n + wobble) / rate;
            get_volts(times[n], 1.0, values + 2 * n);
            if (clock > 0 && n % 997 == 500) {
                values[2 * n + n % 2] = NAN;
            }
        }
        const struct table_writer_options options = {.channels = 2,
            .headers = volt_headers,
            .time_header = clock > 0 ? "time (s)" : NULL,
            .sample_rate_Hz = rate};
        write_table("a.csv", &options, values, times, TABLE_ROWS);
        read_setup(clock > 0 ? table_rig : with_rate, ring);
        ck_assert_msg(!read_plainly("a.csv"), "%s", err.message);
        check_figures(&loop.figures, 1e-10);
        ck_assert_double_eq_tol(loop.sample_rate_Hz, clock == 2 ? 0.0 : rate, 1e-9);
        ck_assert_int_eq(loop.frames, TABLE_ROWS);
        ck_assert(clock == 0 || find_note("dropout") != NULL);
        ck_assert_double_eq_tol(loop.length_s, TABLE_ROWS / rate, 2.0 / rate);
    }
}
END_TEST

START_TEST(missing_rows_leave_the_others_at_their_places)
{
    static double values[2 * TABLE_ROWS], times[TABLE_ROWS];
    size_t rows = 0;
    for (int n = 0; n < TABLE_ROWS; n++) {
        if (n % 700 < 690 || n < 700) { /* seven holes of ten rows */
            times[rows] = n / rate;
            get_volts(times[rows], 1.0, values + 2 * rows);
            rows++;
        }
    }
    const struct table_writer_options options = {
        .channels = 2, .headers = volt_headers, .time_header = "time (s)", .sample_rate_Hz = rate};
    write_table("a.csv", &options, values, times, rows);
    read_setup(table_rig, ring);
    ck_assert_msg(!read_plainly("a.csv"), "%s", err.message);
    check_figures(&loop.figures, 1e-10);
    ck_assert_double_eq_tol(loop.sample_rate_Hz, rate, 1e-9);
    ck_assert_uint_eq((size_t)loop.frames, rows);
    ck_assert_ptr_nonnull(find_note("dropout"));
}
END_TEST

START_TEST(a_time_column_that_is_named_goes_before_that_of_the_rig)
{
    /* the second clock runs at half of the pace: half of the frequency, and twice the flux */
    static const char *const headers[] = {"u1 (V)", "u2 (V)", "slow (s)"};
    static const char *const rig_text = "name: bench\n"
                                        "inputs:\n"
                                        "  excitation: {channel: u1, shunt: 0.1 ohm}\n"
                                        "  pickup: {channel: u2, divider: 5.0}\n"
                                        "timing: {time: time (s)}\n"
                                        "winding: {primary_turns: 200, secondary_turns: 100}\n";
    static double values[3 * TABLE_ROWS], times[TABLE_ROWS];
    for (int n = 0; n < TABLE_ROWS; n++) {
        double volts[2];
        times[n] = n / rate;
        get_volts(times[n], 1.0, volts);
        memcpy(values + 3 * n, volts, sizeof volts);
        values[3 * n + 2] = 2.0 * n / rate;
    }
    const struct table_writer_options options = {
        .channels = 3, .headers = headers, .time_header = "time (s)", .sample_rate_Hz = rate};
    write_table("a.csv", &options, values, times, TABLE_ROWS);
    read_setup(rig_text, ring);
    ck_assert_msg(!read_plainly("a.csv"), "%s", err.message);
    const double peak = loop.figures.list[FIGURE_FLUX_DENSITY_PEAK].value;
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_FREQUENCY].value, frequency, 1e-8);
    const struct loop_options how = {.capture = {.time_column = "slow"}};
    ck_assert_msg(!read_with("a.csv", &how), "%s", err.message);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_FREQUENCY].value, 0.5 * frequency, 1e-8);
    ck_assert_double_eq_tol(
        loop.figures.list[FIGURE_FLUX_DENSITY_PEAK].value, 2.0 * peak, 1e-8 * peak);
}
END_TEST

/* A table that is longer than what the clock is judged by: rows of 80 to a cycle at 4 kHz, and what
 * follows them. */
enum { LONG_ROWS = (1 << 19) + 200 };

static void write_long_table(const char *tail)
{
    char cycle[80][32];
    FILE *file = fopen("long.csv", "w");
    ck_assert_ptr_nonnull(file);
    fputs("time (s),u1 (V),u2 (V)\n", file);
    for (int n = 0; n < 80; n++) {
        const double x = 2.0 * PI * n / 80.0;
        snprintf(cycle[n], sizeof cycle[n], ",%.6f,%.6f\n", cos(x), cos(x + 1.0));
    }
    for (int n = 0; n < LONG_ROWS; n++) { /* 0.25 ms a row */
        fprintf(file, "%d.%05d%s", n / 4000, n % 4000 * 25, cycle[n % 80]);
    }
    fputs(tail, file);
    fclose(file);
}

START_TEST(a_long_table_keeps_the_clock_that_it_began_with)
{
    /* the last row stands at 131.12175 s */
    static const struct {
        const char *tail, *message;
    } list[] = {{"131.1221,1,1\n", "row 524489 of 'long.csv' leaves the even clock of 0.00025 s "
                                   "that the rows before keep"},
        {"200,1,1\n", "row 524489 of 'long.csv' jumps by 68.878 s"},
        {"1,1,1\n", "row 524489 of 'long.csv' jumps by -130.122 s"}};
    read_setup(table_rig, ring);
    write_long_table(list[_i].tail);
    ck_assert_int_eq(read_plainly("long.csv"), STATUS_INPUT);
    ck_assert_str_eq(err.message, list[_i].message);
    ck_assert_ptr_null(loop.file);
}
END_TEST

START_TEST(rows_without_a_time_follow_those_before_them_however_long_the_table)
{
    read_setup(table_rig, ring);
    write_long_table(",1,0.540302\n,0.996917,0.472131\n131.1225,0.987688,0.401149\n"
                     "131.12325,0.951057,0.258819\n"); /* two rows without a time, one missing */
    ck_assert_msg(!read_plainly("long.csv"), "%s", err.message);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_FREQUENCY].value, 50.0, 1e-6);
    ck_assert_int_eq(loop.frames, LONG_ROWS + 4);
    /* pickup ahead of the excitation by 1 rad, and the flux a quarter behind the pickup */
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_LAG_ANGLE].value, 90.0 - 180.0 / PI, 1e-4);
}
END_TEST

START_TEST(a_clock_that_is_off_moves_the_frequency_and_with_it_the_flux)
{
    write_tape(&plain_tape);
    read_setup(audio_rig, ring);
    rig.clock = (struct quantity){.value = 1.001, .is_present = true};
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    struct figures truth;
    get_truth(&truth);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_FREQUENCY].value, 1.001 * frequency, 1e-9);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_FLUX_DENSITY_PEAK].value,
        truth.list[FIGURE_FLUX_DENSITY_PEAK].value / 1.001, 1e-10);
    /* the loss is current times voltage, whatever the clock */
    ck_assert_double_eq_tol(
        loop.figures.list[FIGURE_LOSS].value / truth.list[FIGURE_LOSS].value, 1.0, 1e-10);
}
END_TEST

START_TEST(a_bias_that_is_real_is_kept_and_told)
{
    static double values[2 * TABLE_ROWS], times[TABLE_ROWS];
    for (int n = 0; n < TABLE_ROWS; n++) {
        times[n] = n / rate;
        get_volts(times[n], 1.0, values + 2 * n);
        values[2 * n] += 500.0 * length / 200.0 * 0.1;
    }
    const struct table_writer_options options = {
        .channels = 2, .headers = volt_headers, .time_header = "time (s)", .sample_rate_Hz = rate};
    write_table("a.csv", &options, values, times, TABLE_ROWS);
    read_setup(table_rig, ring);
    ck_assert_msg(!read_plainly("a.csv"), "%s", err.message);
    check_figures(&loop.figures, 1e-10);
    ck_assert(!loop.figures.list[FIGURE_FIELD_BIAS].is_present);
    rig.excitation.keeps_bias = true;
    ck_assert_msg(!read_plainly("a.csv"), "%s", err.message);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_FIELD_BIAS].value, 500.0, 1e-8);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_COERCIVITY_RISING].value -
                                loop.figures.list[FIGURE_COERCIVITY_FALLING].value,
        1000.0, 1e-6);
}
END_TEST

/* ---- traces ---- */

static const char trace_rig[] = "name: permeameter\n"
                                "inputs:\n"
                                "  excitation: {channel: H, quantity: field strength}\n"
                                "  pickup: {channel: B, quantity: flux density}\n"
                                "timing: {trace: yes}\n";

/* An ellipse in rows; `sign` turns B, `gap` opens it, `extra` rows run past its begin. */
static void write_trace(double sign, double gap, int extra)
{
    static const char *const headers[] = {"H (kA/m)", "B (T)"};
    static double values[2 * 500];
    const int rows = 360 + extra;
    for (int n = 0; n < rows; n++) {
        const double x = 2.0 * PI * n / 360.0;
        values[2 * n] = 10.0 * cos(x);
        values[2 * n + 1] = sign * (1.2 * cos(x - PI / 6.0) + gap * n / 359.0);
    }
    const struct table_writer_options options = {.channels = 2, .headers = headers};
    write_table("trace.csv", &options, values, NULL, (size_t)rows);
}

START_TEST(a_trace_gives_its_polygon_and_no_frequency)
{
    read_setup(trace_rig, ring);
    for (int sign = 1; sign >= -1; sign -= 2) {
        write_trace(sign, 0.0, 40);
        ck_assert_msg(!read_plainly("trace.csv"), "%s", err.message);
        /* a polygon of 360 corners: 1 - (2 pi/360)^2/6 of the ellipse; closed at the first row */
        const double whole = PI * 1e4 * 1.2 * sin(PI / 6.0);
        ck_assert_double_eq_tol(loop.figures.list[FIGURE_LOOP_AREA].value / whole,
            1.0 - pow(PI / 180.0, 2.0) / 6.0, 2e-6);
        ck_assert_double_eq_tol(loop.figures.list[FIGURE_FIELD_PEAK].value, 1e4, 1e-8);
        ck_assert_double_eq_tol(loop.figures.list[FIGURE_REMANENCE].value, 0.6, 1e-4);
        ck_assert_double_eq_tol(loop.figures.list[FIGURE_COERCIVITY].value, 5000.0, 1.0);
        ck_assert(loop.is_trace);
        ck_assert(loop.is_reversed == (sign < 0));
        ck_assert((find_note("reversed") != NULL) == (sign < 0));
        ck_assert_uint_ge(loop.trace_count, 360);
        ck_assert_uint_le(loop.trace_count, 362);
        ck_assert_ptr_nonnull(find_note("drift")); /* rows were cut */
        ck_assert_int_eq(find_note("drift")->level, NOTE_INFO);
        ck_assert(!loop.figures.list[FIGURE_FREQUENCY].is_present);
        ck_assert(!loop.figures.list[FIGURE_LAG_ANGLE].is_present);
        ck_assert(!loop.figures.list[FIGURE_LOSS].is_present);
        ck_assert_uint_eq(loop.block_count, 0);
    }
}
END_TEST

START_TEST(rows_of_a_trace_that_lack_a_value_are_left_out)
{
    /* a parallelogram with points on its sides, two of which have a hole */
    static const char whole[] = "H (kA/m),B (T)\n"
                                "10,1\n4,1\n-2,1\n-4,0\n-6,-1\n-10,-1\n-4,-1\n2,-1\n4,0\n6,1\n";
    static const char holes[] = "H (kA/m),B (T)\n"
                                "10,1\n4,\n-2,1\n-4,0\n-6,-1\n-10,-1\n,-1\n2,-1\n4,0\n6,1\n";
    struct figures figures;
    read_setup(trace_rig, ring);
    scratch_write("trace.csv", whole, sizeof whole - 1);
    ck_assert_msg(!read_plainly("trace.csv"), "%s", err.message);
    figures = loop.figures;
    ck_assert_uint_eq(loop.trace_count, 10);
    scratch_write("trace.csv", holes, sizeof holes - 1);
    ck_assert_msg(!read_plainly("trace.csv"), "%s", err.message);
    ck_assert_uint_eq(loop.trace_count, 8);
    /* between -4 and 4 kA/m at all heights */
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_LOOP_AREA].value, 16e3, 1e-6);
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        ck_assert_double_eq_tol(loop.figures.list[f].value, figures.list[f].value, 1e-9);
    }
}
END_TEST

START_TEST(points_of_a_trace_are_linear_in_row_number_from_the_least_field)
{
    read_setup(trace_rig, ring);
    write_trace(1.0, 0.0, 0);
    ck_assert_msg(!read_plainly("trace.csv"), "%s", err.message);
    double field[720], flux[720];
    ck_assert(!loop_compute_points(&loop, 720, field, flux, &err));
    for (int n = 0; n < 720; n += 2) { /* every other point is a row, from the 180th on */
        const double x = PI + 2.0 * PI * n / 720.0;
        ck_assert_double_eq_tol(field[n], 1e4 * cos(x), 1e-8);
        ck_assert_double_eq_tol(flux[n], 1.2 * cos(x - PI / 6.0), 1e-12);
        const int next = (n + 2) % 720;
        ck_assert_double_eq_tol(field[n + 1], 0.5 * (field[n] + field[next]), 1e-9);
    }
}
END_TEST

START_TEST(a_gap_of_a_trace_is_shared_where_the_rig_says_so)
{
    read_setup(trace_rig, ring);
    write_trace(1.0, 0.05, 0);
    ck_assert_msg(!read_plainly("trace.csv"), "%s", err.message);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_CLOSURE_GAP].value, 0.05, 0.011);
    ck_assert_int_eq(find_note("drift")->level, NOTE_WARNING);
    const double chord = loop.figures.list[FIGURE_LOOP_AREA].value;
    ck_assert_double_eq(chord, loop.figures.list[FIGURE_LOOP_AREA_CHORD].value);
    rig.drift = TRACE_DRIFT_LINEAR;
    ck_assert_msg(!read_plainly("trace.csv"), "%s", err.message);
    ck_assert_double_eq(loop.figures.list[FIGURE_LOOP_AREA].value,
        loop.figures.list[FIGURE_LOOP_AREA_DRIFT_SHARED].value);
    ck_assert_double_ne(loop.figures.list[FIGURE_LOOP_AREA].value, chord);
}
END_TEST

START_TEST(a_trace_that_runs_backwards_is_fatal)
{
    static const char *const headers[] = {"H (kA/m)", "B (T)"};
    double values[2 * 100];
    for (int n = 0; n < 100; n++) {
        const double x = -2.0 * PI * n / 100.0;
        values[2 * n] = 10.0 * cos(x);
        values[2 * n + 1] = 1.2 * cos(x - PI / 6.0);
    }
    const struct table_writer_options options = {.channels = 2, .headers = headers};
    write_table("trace.csv", &options, values, NULL, 100);
    read_setup(trace_rig, ring);
    ck_assert_int_eq(read_plainly("trace.csv"), STATUS_CAPTURE);
    ck_assert_int_eq(strncmp(err.message, "swapped: the trace runs backwards", 33), 0);
}
END_TEST

/* ---- JSON ---- */

/* Whether the words follow one another in the text. */
static void check_order(const char *text, const char *const *words)
{
    const char *at = text;
    for (; *words != NULL; words++) {
        char quoted[80];
        snprintf(quoted, sizeof quoted, "\"%s\":", *words);
        const char *found = strstr(at, quoted);
        ck_assert_msg(
            found != NULL, "%s is missing, or not where it belongs, in\n%s", quoted, text);
        at = found + 1;
    }
}

static double get_number(const char *text, const char *key)
{
    char quoted[80];
    snprintf(quoted, sizeof quoted, "\"%s\":", key);
    const char *found = strstr(text, quoted);
    ck_assert_msg(found != NULL, "%s", key);
    return strtod(found + strlen(quoted), NULL);
}

START_TEST(json_has_its_members_in_their_order_and_every_digit)
{
    static const char *const order[] = {"schema", "version", "capture", "file", "sha256",
        "channels", "frames", "sample_rate_Hz", "start_s", "length_s", "rig", "specimen",
        "path_length_m", "area_m2", "figures", "frequency_Hz", "u_frequency_Hz", "cycles",
        "harmonics", "field_peak_A_per_m", "u_field_peak_A_per_m", "flux_density_peak_T",
        "polarization_peak_T", "remanence_T", "coercivity_A_per_m", "coercivity_J_A_per_m",
        "loop_area_J_per_m3", "loss_W_per_m3", "specific_loss_W_per_kg", "lag_angle_deg",
        "lag_angle_area_deg", "amplitude_permeability", "squareness", "loop_fullness",
        "form_factor", "flux_distortion", "remanence_falling_T", "notes", "points", "field_A_per_m",
        "flux_density_T", NULL};
    write_tape(&plain_tape);
    read_setup(audio_rig, ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    struct text text = {0};
    ck_assert(!loop_write_json(&loop, &rig, &specimen, 8, 2, &text, &err));
    check_order(text.bytes, order);
    ck_assert_ptr_nonnull(strstr(text.bytes, "\"schema\": \"lodecard-loop/1\""));
    ck_assert_ptr_nonnull(strstr(text.bytes, "\"file\": \"a.wav\""));
    ck_assert_ptr_nonnull(strstr(text.bytes, loop.sha256));
    for (size_t f = 0; f < FIGURE_COUNT; f++) {
        const struct figure_value *figure = &loop.figures.list[f];
        if (figure->is_present) {
            ck_assert_double_eq(get_number(text.bytes, figure_table[f].key), figure->value);
        } else {
            char quoted[80];
            snprintf(quoted, sizeof quoted, "\"%s\":", figure_table[f].key);
            ck_assert_ptr_null(strstr(text.bytes, quoted));
        }
    }
    ck_assert_double_eq(get_number(text.bytes, "path_length_m"), specimen.path_length_m);
    text_clear(&text);
    /* one line, without points */
    ck_assert(!loop_write_json(&loop, &rig, &specimen, 0, 0, &text, &err));
    ck_assert_ptr_eq(strchr(text.bytes, '\n'), text.bytes + text.length - 1);
    ck_assert_ptr_null(strstr(text.bytes, "\"points\""));
    text_clear(&text);
}
END_TEST

START_TEST(json_of_a_trace_has_no_times)
{
    read_setup(trace_rig, ring);
    write_trace(1.0, 0.001, 0);
    ck_assert_msg(!read_plainly("trace.csv"), "%s", err.message);
    struct text text = {0};
    ck_assert(!loop_write_json(&loop, &rig, &specimen, 4, 2, &text, &err));
    static const char *const order[] = {"channels", "frames", "rig", "figures",
        "loop_area_J_per_m3", "u_loop_area_J_per_m3", "loop_area_chord_J_per_m3",
        "loop_area_drift_shared_J_per_m3", "closure_gap_T", "notes", "points", NULL};
    check_order(text.bytes, order);
    static const char *const absent[] = {"sample_rate_Hz", "start_s", "length_s", "frequency_Hz",
        "cycles", "harmonics", "lag_angle_deg", "form_factor", "flux_distortion", "loss_W_per_m3"};
    for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++) {
        char quoted[80];
        snprintf(quoted, sizeof quoted, "\"%s\":", absent[i]);
        ck_assert_msg(strstr(text.bytes, quoted) == NULL, "%s", absent[i]);
    }
    text_clear(&text);
}
END_TEST

START_TEST(points_run_from_the_least_field_uniformly_in_phase)
{
    write_tape(&plain_tape);
    read_setup(audio_rig, ring);
    ck_assert_msg(!read_plainly("a.wav"), "%s", err.message);
    double field[100], flux[100], fine_field[1000], fine_flux[1000];
    ck_assert(!loop_compute_points(&loop, 100, field, flux, &err));
    ck_assert(!loop_compute_points(&loop, 1000, fine_field, fine_flux, &err));
    for (int n = 0; n < 1000; n++) {
        ck_assert_double_ge(fine_field[n], field[0] - 1e-9);
    }
    for (int n = 0; n < 100; n++) {
        ck_assert_double_eq_tol(field[n], fine_field[10 * n], 1e-9);
        ck_assert_double_eq_tol(flux[n], fine_flux[10 * n], 1e-12);
    }
    ck_assert_double_gt(field[1], field[0]);
}
END_TEST

/* ---- failures ---- */

START_TEST(a_capture_that_gives_no_loop_says_why_in_a_fatal_note)
{
    static const struct {
        const char *code, *message;
        double frames, noise, gain;
        size_t harmonics;
    } list[] = {
        {"short", "the capture holds only 2.4", 400, 0.0, 1.0, 0},
        {"short", "the capture holds only 10 usable samples", 10, 0.0, 1.0, 0},
        {"not-periodic", "no periodic waveform was found", 8000, 0.1, 0.0, 0},
        {"undersampled", "100 harmonics were asked for, but the sampling carries only 80", 8000,
            0.0, 1.0, 100},
        {"undersampled", "100 harmonics were asked for, but the sampling carries only 80", 1.06e6,
            0.0, 1.0, 100}, /* found before the end of the file */
    };
    read_setup(audio_rig, ring);
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct writer *writer = NULL;
        struct random random;
        random_init(&random, 5, i);
        const struct audio_writer_options options = {
            .encoding = AUDIO_PCM16, .channels = 2, .sample_rate_Hz = rate};
        ck_assert(!audio_writer_create("a.wav", &options, &writer, &err));
        const size_t frames = (size_t)list[i].frames;
        for (size_t n = 0; n < frames; n += 10) { /* all are whole tens */
            double rows[20];
            for (size_t r = 0; r < 10; r++) {
                get_volts((double)(n + r) / rate, 1.0, rows + 2 * r);
            }
            for (size_t v = 0; v < 20; v++) {
                rows[v] = list[i].gain * rows[v] / 1.5 + list[i].noise * random_get_normal(&random);
            }
            ck_assert(!writer_add(writer, rows, NULL, 10, &err));
        }
        ck_assert(!writer_commit(writer, &err));
        writer_destroy(writer);
        const struct loop_options how = {.harmonics = list[i].harmonics};
        ck_assert_int_eq(read_with("a.wav", &how), STATUS_CAPTURE);
        const struct note *fatal = notes_find_fatal(&loop.notes);
        ck_assert_ptr_nonnull(fatal);
        ck_assert_str_eq(fatal->code, list[i].code);
        ck_assert_int_eq(strncmp(fatal->message, list[i].message, strlen(list[i].message)), 0);
        ck_assert_str_eq(err.message, fatal->message);
        ck_assert_str_eq(err.hint, fatal->hint);
        ck_assert_uint_eq(loop.notes.count, 1);
        /* what was read is told */
        ck_assert_uint_eq(strlen(loop.sha256), 64);
        ck_assert_double_eq((double)loop.frames, list[i].frames);
        ck_assert_double_eq_tol(loop.length_s, list[i].frames / rate, 1e-9);
        struct text text = {0};
        ck_assert(!loop_write_json(&loop, &rig, &specimen, 100, 0, &text, &err));
        ck_assert_ptr_nonnull(strstr(text.bytes, "\"level\": \"fatal\""));
        ck_assert_ptr_nonnull(strstr(text.bytes, "\"figures\": {}"));
        ck_assert_ptr_null(strstr(text.bytes, "\"points\""));
        text_clear(&text);
    }
}
END_TEST

START_TEST(one_input_that_does_not_repeat_is_fatal)
{
    struct writer *writer = NULL;
    struct random random;
    const struct audio_writer_options options = {
        .encoding = AUDIO_DOUBLE, .channels = 2, .sample_rate_Hz = rate};
    random_init(&random, 5, 0);
    ck_assert(!audio_writer_create("a.wav", &options, &writer, &err));
    for (int n = 0; n < 8000; n++) {
        double row[2];
        get_volts(n / rate, 1.0, row);
        row[1] = 0.1 * random_get_normal(&random);
        ck_assert(!writer_add(writer, row, NULL, 1, &err));
    }
    ck_assert(!writer_commit(writer, &err));
    writer_destroy(writer);
    read_setup(audio_rig, ring);
    ck_assert_int_eq(read_plainly("a.wav"), STATUS_CAPTURE);
    const struct note *fatal = notes_find_fatal(&loop.notes);
    ck_assert_ptr_nonnull(fatal);
    ck_assert_str_eq(fatal->code, "not-periodic");
    ck_assert_int_eq(strncmp(fatal->message, "the pickup input is not periodic", 32), 0);
}
END_TEST

/* A pickup with so much more noise than signal; gives the status. */
static enum status read_noisy(double power_ratio)
{
    enum { FRAMES = 80000 };
    struct writer *writer = NULL;
    struct random random;
    const struct audio_writer_options options = {
        .encoding = AUDIO_DOUBLE, .channels = 2, .sample_rate_Hz = rate};
    double power = 0.0;
    for (int n = 0; n < FRAMES; n++) {
        double row[2];
        get_volts(n / rate, 1.0, row);
        power += row[1] * row[1] / FRAMES;
    }
    random_init(&random, 6, 0);
    ck_assert(!audio_writer_create("a.wav", &options, &writer, &err));
    for (int n = 0; n < FRAMES; n++) {
        double row[2];
        get_volts(n / rate, 1.0, row);
        row[0] *= 0.1;
        row[1] = 0.1 * (row[1] + sqrt(power / power_ratio) * random_get_normal(&random));
        ck_assert(!writer_add(writer, row, NULL, 1, &err));
    }
    ck_assert(!writer_commit(writer, &err));
    writer_destroy(writer);
    return read_plainly("a.wav");
}

START_TEST(an_input_below_its_noise_warns_and_below_a_tenth_fails)
{
    /* ten seconds leave the ratio uncertain by about 1 %, the harmonics not found by some more */
    static const struct {
        double ratio;
        enum note_level level; /* -1: none */
        double limit;
    } list[] = {{1.1, (enum note_level) - 1, 0.0}, {0.9, NOTE_WARNING, 1.0},
        {0.115, NOTE_WARNING, 1.0}, {0.085, NOTE_FATAL, 0.1}};
    read_setup(audio_rig, ring);
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        const enum status status = read_noisy(list[i].ratio);
        const struct note *note = find_note("not-periodic");
        ck_assert_int_eq(status, list[i].level == NOTE_FATAL ? STATUS_CAPTURE : STATUS_OK);
        ck_assert_int_eq(note != NULL, list[i].limit > 0.0);
        if (note != NULL) {
            ck_assert_int_eq(note->level, list[i].level);
            ck_assert_str_eq(note->subject, "pickup");
            ck_assert_double_eq(note->numbers[0].limit, list[i].limit);
            ck_assert_double_eq_tol(note->numbers[0].value, list[i].ratio, 0.05 * list[i].ratio);
        }
        ck_assert_int_eq(loop.figures.list[FIGURE_LOOP_AREA].is_present, status == STATUS_OK);
    }
}
END_TEST

/* A drive of 106.55 Hz whose pickup has a tone near half of that: in a tenth of a second both are
 * multiples of that half. */
START_TEST(a_tone_that_passes_for_the_fundamental_is_fatal_until_told)
{
    enum { FRAMES = 740 };
    struct writer *writer = NULL;
    const struct audio_writer_options options = {
        .encoding = AUDIO_DOUBLE, .channels = 2, .sample_rate_Hz = rate};
    ck_assert(!audio_writer_create("a.wav", &options, &writer, &err));
    for (int n = 0; n < FRAMES; n++) {
        const double x = 2.0 * PI * 106.55 * n / rate, tone = 2.0 * PI * 50.0 * n / rate;
        const double row[2] = {
            0.5 * cos(x), 0.5 * cos(x + 1.0) + 0.125 * cos(tone + 1.0) + 0.04 * cos(3.0 * tone)};
        ck_assert(!writer_add(writer, row, NULL, 1, &err));
    }
    ck_assert(!writer_commit(writer, &err));
    writer_destroy(writer);
    read_setup(audio_rig, ring);
    ck_assert_int_eq(read_plainly("a.wav"), STATUS_CAPTURE);
    const struct note *fatal = notes_find_fatal(&loop.notes);
    ck_assert_ptr_nonnull(fatal);
    ck_assert_str_eq(fatal->code, "not-periodic");
    ck_assert_ptr_nonnull(strstr(fatal->hint, "--fundamental"));
    ck_assert_str_eq(fatal->numbers[1].key, "strongest_harmonic");
    ck_assert_double_eq(fatal->numbers[1].value, 2.0);
    const struct loop_options how = {.frequency_Hz = 106.7};
    ck_assert_msg(!read_with("a.wav", &how), "%s", err.message);
    ck_assert_double_eq_tol(loop.figures.list[FIGURE_FREQUENCY].value, 106.55, 0.1);
    const struct note *hum = find_note("hum");
    ck_assert_ptr_nonnull(hum);
    ck_assert_str_eq(hum->subject, "pickup");
    ck_assert_double_eq_tol(hum->numbers[0].value, 50.0, 1.0);
    ck_assert_double_eq_tol(hum->numbers[1].value, 0.25, 0.03);
}
END_TEST

START_TEST(a_trace_that_is_no_loop_says_why_in_a_fatal_note)
{
    static const char *const headers[] = {"H (kA/m)", "B (T)"};
    static const struct {
        const char *code;
        int rows;
        double turns, middle;
    } list[] = {{"short", 5, 1.0, 0.0}, {"no-loop", 100, 3.0, 0.0}, {"no-loop", 100, 1.0, 20.0}};
    read_setup(trace_rig, ring);
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        double values[2 * 100];
        for (int n = 0; n < list[i].rows; n++) {
            const double x = 2.0 * PI * list[i].turns * n / list[i].rows;
            values[2 * n] = list[i].middle + 10.0 * cos(x);
            values[2 * n + 1] = 1.2 * cos(x - PI / 6.0);
        }
        const struct table_writer_options options = {.channels = 2, .headers = headers};
        write_table("trace.csv", &options, values, NULL, (size_t)list[i].rows);
        ck_assert_int_eq(read_plainly("trace.csv"), STATUS_CAPTURE);
        const struct note *fatal = notes_find_fatal(&loop.notes);
        ck_assert_ptr_nonnull(fatal);
        ck_assert_str_eq(fatal->code, list[i].code);
        ck_assert_str_eq(fatal->message, err.message);
        ck_assert_str_eq(fatal->hint, err.hint);
    }
}
END_TEST

static const struct {
    const char *name, *rig, *specimen;
    enum status status;
    const char *message;
} refusal_list[] = {
    {"none.wav", audio_rig, ring, STATUS_IO, "'none.wav'"},
    {"a.wav", table_rig, ring, STATUS_INPUT, "'u1'"},
    {"a.csv",
        "inputs:\n"
        "  excitation: {channel: 1, shunt: 0.1 ohm}\n"
        "  pickup: {channel: u1}\n"
        "timing: {sample_rate: 1 kHz}\n"
        "winding: {primary_turns: 200, secondary_turns: 100}\n",
        ring, STATUS_INPUT,
        "'rig.yaml': inputs.excitation and inputs.pickup both name channel '1' of 'a.csv'"},
    {"a.wav",
        "inputs:\n"
        "  excitation: {channel: 1, full_scale: 1.5 V, shunt: 0.1 ohm}\n"
        "  pickup: {channel: 3, full_scale: 1.5 V}\n"
        "winding: {primary_turns: 200, secondary_turns: 100}\n",
        ring, STATUS_INPUT, "'a.wav' has no channel 3"},
    {"a.wav",
        "inputs:\n"
        "  excitation: {channel: 1, full_scale: 1.5 V, shunt: 0.1 ohm}\n"
        "  pickup: {channel: 2, full_scale: 1.5 V, fluxmeter: 10 mWb/V}\n"
        "timing: {trace: yes}\n"
        "winding: {primary_turns: 200, secondary_turns: 100}\n",
        ring, STATUS_INPUT, "'rig.yaml': 'a.wav' is an audio file, not a trace"},
    {"a.csv", table_rig, ring, STATUS_INPUT, "'a.csv' has no time column"},
};

START_TEST(what_cannot_be_read_is_refused_and_leaves_nothing)
{
    struct tape tape = plain_tape;
    tape.frames = 100;
    write_tape(&tape);
    const double values[] = {1, 2, 3, 4, 5, 6};
    const struct table_writer_options options = {.channels = 2, .headers = volt_headers};
    write_table("a.csv", &options, values, NULL, 3);
    read_setup(refusal_list[_i].rig, refusal_list[_i].specimen);
    ck_assert_int_eq(read_plainly(refusal_list[_i].name), refusal_list[_i].status);
    ck_assert_msg(strstr(err.message, refusal_list[_i].message) != NULL, "%s", err.message);
    ck_assert_ptr_null(loop.file);
    ck_assert_ptr_null(loop.blocks);
    ck_assert_ptr_null(loop.notes.list);
    ck_assert_uint_eq(loop.series.harmonics, 0);
    loop_clear(&loop);
    loop_clear(&loop);
}
END_TEST

#define LENGTH(list) (int)(sizeof(list) / sizeof *(list))

Suite *loop_suite(void)
{
    Suite *suite = suite_create("loop");
    TCase *tests = tcase_create("loop");
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, a_capture_gives_the_loop_that_it_was_made_from);
    tcase_add_test(tests, two_of_many_channels_are_taken_wherever_they_are);
    tcase_add_test(tests, part_of_a_capture_is_taken_and_told);
    tcase_add_test(tests, the_scatter_of_the_blocks_is_the_uncertainty);
    tcase_add_test(tests, a_reversed_pickup_is_set_right_with_a_note);
    tcase_add_test(tests, the_air_flux_is_not_turned_with_a_reversed_pickup);
    tcase_add_test(tests, swapped_channels_are_told_and_fatal_when_the_loop_runs_backwards);
    tcase_add_test(tests, a_skew_that_turns_a_narrow_loop_is_fatal_by_its_own_name);
    tcase_add_test(tests, tables_give_the_same_loop_whatever_their_clock);
    tcase_add_test(tests, missing_rows_leave_the_others_at_their_places);
    tcase_add_test(tests, a_time_column_that_is_named_goes_before_that_of_the_rig);
    tcase_add_loop_test(tests, a_long_table_keeps_the_clock_that_it_began_with, 0, 3);
    tcase_add_test(tests, rows_without_a_time_follow_those_before_them_however_long_the_table);
    tcase_add_test(tests, a_clock_that_is_off_moves_the_frequency_and_with_it_the_flux);
    tcase_add_test(tests, a_bias_that_is_real_is_kept_and_told);
    tcase_add_test(tests, a_trace_gives_its_polygon_and_no_frequency);
    tcase_add_test(tests, rows_of_a_trace_that_lack_a_value_are_left_out);
    tcase_add_test(tests, points_of_a_trace_are_linear_in_row_number_from_the_least_field);
    tcase_add_test(tests, a_gap_of_a_trace_is_shared_where_the_rig_says_so);
    tcase_add_test(tests, a_trace_that_runs_backwards_is_fatal);
    tcase_add_test(tests, json_has_its_members_in_their_order_and_every_digit);
    tcase_add_test(tests, json_of_a_trace_has_no_times);
    tcase_add_test(tests, points_run_from_the_least_field_uniformly_in_phase);
    tcase_add_test(tests, a_capture_that_gives_no_loop_says_why_in_a_fatal_note);
    tcase_add_test(tests, one_input_that_does_not_repeat_is_fatal);
    tcase_add_test(tests, an_input_below_its_noise_warns_and_below_a_tenth_fails);
    tcase_add_test(tests, a_tone_that_passes_for_the_fundamental_is_fatal_until_told);
    tcase_add_test(tests, a_trace_that_is_no_loop_says_why_in_a_fatal_note);
    tcase_add_loop_test(
        tests, what_cannot_be_read_is_refused_and_leaves_nothing, 0, LENGTH(refusal_list));
    suite_add_tcase(suite, tests);
    return suite;
}
