// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/recorder.h"

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "ring_text.h"
#include "suites.h"
#include "virtual/waves.h"

static const double pi = 3.14159265358979323846;

/* A ring at work: everything that recorder_compute needs. */
struct bench {
    struct ring ring;
    struct fourier_loop waves;
    struct recorder recorder;
};

static void bench_open(struct bench *bench, const struct ring_text *text, uint64_t seed)
{
    struct error err = {0};
    *bench = (struct bench){0};
    ring_text_read(text, &bench->ring);
    ck_assert_msg(!waves_compute(&bench->ring, &bench->waves, &err), "%s", err.message);
    ck_assert(!recorder_create(&bench->recorder, &bench->ring, &bench->waves, seed, &err));
}

static void bench_close(struct bench *bench)
{
    recorder_clear(&bench->recorder);
    fourier_loop_clear(&bench->waves);
    ring_clear(&bench->ring);
}

/* All rows of both inputs, and their times. */
struct record {
    size_t rows;
    double *values[RING_INPUTS];
    double *times;
};

static struct record record_read(const struct bench *bench)
{
    struct record record = {.rows = bench->recorder.rows};
    record.values[0] = calloc(record.rows, sizeof(double));
    record.values[1] = calloc(record.rows, sizeof(double));
    record.times = calloc(record.rows, sizeof(double));
    for (size_t row = 0; row < record.rows; row += SIGNAL_BLOCK) {
        double values[RING_INPUTS][SIGNAL_BLOCK], times[SIGNAL_BLOCK];
        size_t count = record.rows - row < SIGNAL_BLOCK ? record.rows - row : SIGNAL_BLOCK;
        recorder_compute(&bench->recorder, row, count, values, times);
        memcpy(record.values[0] + row, values[0], count * sizeof(double));
        memcpy(record.values[1] + row, values[1], count * sizeof(double));
        memcpy(record.times + row, times, count * sizeof(double));
    }
    return record;
}

static void record_free(struct record *record)
{
    free(record->values[0]);
    free(record->values[1]);
    free(record->times);
}

static struct record record_of(const struct ring_text *text, uint64_t seed)
{
    struct bench bench;
    bench_open(&bench, text, seed);
    struct record record = record_read(&bench);
    bench_close(&bench);
    return record;
}

static struct record record_with(const char *faults)
{
    return record_of(&(struct ring_text){.faults = faults}, 1);
}

static double get_rms(const double *values, const double *others, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += pow(values[i] - (others ? others[i] : 0.0), 2);
    return sqrt(sum / (double)count);
}

/* The expected sample of the plain ring, from its series and the conventions of the measurement,
 * in long double and term by term: i = l H / N1, v1 = R i, Phi = A B + mu0 H (A2 - A), v2 = N2
 * dPhi/dt taken 2.1 us later, both through a coupling of 3.4 Hz. */
static void expect_plain(const struct bench *bench, size_t row, long double expected[2])
{
    const long double length = 3.14159265358979323846264L * 36e-3L, area = 24e-6L, air = 6e-6L;
    const long double f = 20.0L, turn = 2.0L * 3.14159265358979323846264L;
    expected[0] = expected[1] = 0.0L;
    for (size_t k = 1; k <= bench->waves.harmonics; k++) {
        /* 20 Hz at 48 kHz: 2400 rows a cycle, so that the phase is exact */
        long double cycles =
            (long double)((row * k) % 2400) / 2400.0L + (long double)k * 35.0L / 360.0L;
        long double late = cycles + (long double)k * f * 2.1e-6L;
        long double complex h = (long double complex)bench->waves.field[k];
        long double complex b = (long double complex)bench->waves.flux_density[k];
        long double complex pass =
            1.0L / (1.0L - (long double complex)I * 3.4L / ((long double)k * f));
        long double complex v1 = h * length / 400.0L * 0.05L * pass;
        long double complex flux = area * b + 4e-7L * 3.14159265358979323846264L * air * h;
        long double complex v2 =
            100.0L * (long double complex)I * turn * (long double)k * f * flux * pass;
        expected[0] += creall(v1 * cexpl((long double complex)I * turn * cycles));
        expected[1] += creall(v2 * cexpl((long double complex)I * turn * late));
    }
}

START_TEST(samples_are_those_of_the_series)
{
    struct bench bench;
    bench_open(&bench, &(struct ring_text){0}, 1);
    struct record record = record_read(&bench);
    for (size_t row = 0; row < record.rows; row += 379) {
        long double expected[2];
        expect_plain(&bench, row, expected);
        /* 1e-13 of the peaks, 0.85 V and 1.2 V */
        ck_assert_double_eq_tol(record.values[0][row], (double)expected[0], 0.85e-13);
        ck_assert_double_eq_tol(record.values[1][row], (double)expected[1], 1.2e-13);
        ck_assert_double_eq_tol(record.times[row], (double)row / 48000, 1e-15);
    }
    record_free(&record);
    bench_close(&bench);
}
END_TEST

START_TEST(two_hundred_harmonics_keep_thirteen_digits)
{
    /* all of one size, even and odd, with phases that do not repeat: the worst for Horner's rule */
    char source[9000] = "series:\n  field: '1: 8 kA/m, 0 deg'\n  flux_density: |\n";
    for (int k = 1; k <= 200; k++)
        snprintf(source + strlen(source), sizeof source - strlen(source), "    %d: 1 mT, %d deg\n",
            k, k * k % 360);
    strcat(source, "drive: {frequency: 20 Hz}\n");
    struct bench bench;
    bench_open(&bench,
        &(struct ring_text){.source = source,
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 1, quantity: field strength}\n"
                   "    pickup: {channel: 2, quantity: flux density}\n"
                   "  timing: {sample_rate: 48 kHz}\n",
            .recording = "recording: {format: csv, rows: 20000}\n"},
        1);
    struct record record = record_read(&bench);
    for (size_t row = 0; row < record.rows; row += 401) {
        long double expected = 0.0L;
        for (size_t k = 1; k <= 200; k++) {
            long double cycles =
                (long double)((row * k) % 2400) / 2400.0L + (long double)(k * k % 360) / 360.0L;
            expected += 1e-3L * cosl(2.0L * 3.14159265358979323846264L * cycles);
        }
        ck_assert_double_eq_tol(record.values[1][row], (double)expected, 0.2e-13); /* sum 0.2 T */
    }
    record_free(&record);
    bench_close(&bench);
}
END_TEST

START_TEST(phase_is_exact_after_a_thousand_million_rows)
{
    /* 7 Hz at 44 100 Hz: 6300 rows a cycle */
    struct ring ring = {.frequency_Hz = 7, .sample_rate_Hz = 44100, .rows = 2000000000};
    struct clock clock;
    clock_init(&clock, &ring);
    for (size_t row = 1; row < 2000000000; row = row * 3 + 1) {
        double exact = (double)(row % 6300) / 6300;
        ck_assert_double_eq_tol(clock_get_turns(&clock, RING_EXCITATION, row, 0), exact, 2.3e-16);
    }
}
END_TEST

START_TEST(passive_integrator_and_directions_act_as_the_rig_says)
{
    static const char recording[] = "recording: {format: csv, sample_rate: 48 kHz, rows: 2400}\n";
    struct record plain =
        record_of(&(struct ring_text){.recording = recording,
                      .rig = "rig:\n"
                             "  inputs:\n"
                             "    excitation: {channel: 2, transfer: 10 A/V}\n"
                             "    pickup: {channel: 3, quantity: flux linkage}\n"
                             "  winding: {primary_turns: 400, secondary_turns: 100}\n"},
            1);
    struct record other = record_of(
        &(struct ring_text){.recording = recording,
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 2, shunt: 50 mohm, divider: 4, invert: yes}\n"
                   "    pickup: {channel: 3, integrator: {resistance: 1 Mohm, capacitance: 1 uF}}\n"
                   "  winding: {primary_turns: 400, secondary_turns: 100}\n"},
        1);
    struct record meter = record_of(
        &(struct ring_text){.recording = recording,
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 2, quantity: current}\n"
                   "    pickup: {channel: 3, fluxmeter: 10 mWb/V, invert: yes, divider: 2}\n"
                   "  winding: {primary_turns: 400, secondary_turns: 100}\n"},
        1);
    for (size_t row = 0; row < 2400; row += 7) {
        double current = meter.values[0][row];
        ck_assert_double_eq_tol(plain.values[0][row], current / 10, 1e-14);
        ck_assert_double_eq_tol(other.values[0][row], -current * 0.05 / 4, 1e-14);
        ck_assert_double_eq_tol(meter.values[1][row], -plain.values[1][row] / 0.01 / 2, 1e-13);
    }
    /* RC dv/dt + v = v2 = d(linkage)/dt, RC = 1 s: the linkage is v + its integral over one cycle.
     * Checked in the harmonics: |V| = |linkage| w / sqrt(1 + w^2). */
    for (int k = 1; k <= 9; k += 2) {
        double complex linkage = 0, voltage = 0;
        for (size_t row = 0; row < 2400; row++) {
            double complex turn =
                cexp(-2 * pi * I * (double)((row * (size_t)k) % 2400) / 2400) / 1200;
            linkage += plain.values[1][row] * turn;
            voltage += other.values[1][row] * turn;
        }
        double w = 2 * pi * 20 * k;
        double complex expected = linkage * I * w / (1 + I * w);
        ck_assert_double_eq_tol(cabs(voltage - expected), 0, 1e-15);
    }
    record_free(&plain);
    record_free(&other);
    record_free(&meter);
}
END_TEST

START_TEST(additive_faults_add_what_is_ordered)
{
    struct record clean = record_with("");
    struct record faulty =
        record_with("faults:\n"
                    "  offset: {excitation: 3 mV, pickup: -2 mV}\n"
                    "  drift: {pickup: 10 mV}\n"
                    "  hum: {frequency: 50 Hz, excitation: 1 mV, pickup: 4 mV, phase: 30 deg}\n");
    for (size_t row = 0; row < clean.rows; row += 97) {
        double hum = sin(2 * pi * fmod(50.0 * (double)row / 48000, 1.0) + pi / 6);
        double place = (double)row / (double)(clean.rows - 1);
        ck_assert_double_eq_tol(
            faulty.values[0][row] - clean.values[0][row], 3e-3 + 1e-3 * hum, 1e-15);
        ck_assert_double_eq_tol(faulty.values[1][row] - clean.values[1][row],
            -2e-3 + 10e-3 * place + 4e-3 * hum, 1e-15);
    }
    record_free(&clean);
    record_free(&faulty);
}
END_TEST

START_TEST(noise_is_white_normal_and_of_the_ordered_size)
{
    struct record clean = record_with("");
    struct record faulty = record_with("faults: {noise: {excitation: 1 mV, pickup: 3 mV}}\n");
    double product = 0.0, neighbours = 0.0;
    int beyond = 0;
    for (size_t row = 0; row < clean.rows; row++) {
        double first = (faulty.values[0][row] - clean.values[0][row]) / 1e-3;
        double second = (faulty.values[1][row] - clean.values[1][row]) / 3e-3;
        product += first * second;
        if (row > 0)
            neighbours += first * (faulty.values[0][row - 1] - clean.values[0][row - 1]) / 1e-3;
        beyond += fabs(first) > 1.959964;
    }
    double n = (double)clean.rows;
    /* four standard deviations of each statistic */
    ck_assert_double_eq_tol(
        get_rms(faulty.values[0], clean.values[0], clean.rows) / 1e-3, 1, 4 / sqrt(2 * n));
    ck_assert_double_eq_tol(
        get_rms(faulty.values[1], clean.values[1], clean.rows) / 3e-3, 1, 4 / sqrt(2 * n));
    ck_assert_double_eq_tol(product / n, 0, 4 / sqrt(n));
    ck_assert_double_eq_tol(neighbours / n, 0, 4 / sqrt(n));
    ck_assert_double_eq_tol(beyond / n, 0.05, 4 * sqrt(0.05 * 0.95 / n));
    record_free(&clean);
    record_free(&faulty);
}
END_TEST

START_TEST(one_fault_more_leaves_the_noise_as_it_is)
{
    struct record noisy = record_with("faults: {noise: {excitation: 1 mV, pickup: 3 mV}}\n");
    struct record both =
        record_with("faults: {noise: {excitation: 1 mV, pickup: 3 mV}, offset: {pickup: 1 V}}\n");
    for (size_t row = 0; row < noisy.rows; row++) {
        ck_assert_double_eq(both.values[0][row], noisy.values[0][row]);
        ck_assert_double_eq_tol(both.values[1][row] - noisy.values[1][row], 1.0, 1e-15);
    }
    record_free(&noisy);
    record_free(&both);
}
END_TEST

START_TEST(clipping_ends_the_input_at_its_level)
{
    struct record clean = record_with("");
    struct record faulty = record_with("faults: {clipping: {pickup: 0.9 V}}\n");
    size_t clipped = 0;
    for (size_t row = 0; row < clean.rows; row++) {
        double expected = fmin(fmax(clean.values[1][row], -0.9), 0.9);
        clipped += expected != clean.values[1][row];
        ck_assert_double_eq(faulty.values[1][row], expected);
        ck_assert_double_eq(faulty.values[0][row], clean.values[0][row]);
    }
    ck_assert_uint_gt(clipped, 1000);
    record_free(&clean);
    record_free(&faulty);
}
END_TEST

START_TEST(channels_are_reversed_and_swapped)
{
    struct record clean = record_with("");
    struct record reversed = record_with("faults: {reversed: {pickup: yes}}\n");
    struct record swapped = record_with("faults: {swapped: yes, offset: {pickup: 1 mV}}\n");
    for (size_t row = 0; row < clean.rows; row += 31) {
        ck_assert_double_eq(reversed.values[0][row], clean.values[0][row]);
        ck_assert_double_eq(reversed.values[1][row], -clean.values[1][row]);
        ck_assert_double_eq(swapped.values[0][row], clean.values[1][row]);
        /* the offset belongs to the input, not to the wire */
        ck_assert_double_eq_tol(swapped.values[1][row], clean.values[0][row] + 1e-3, 1e-16);
    }
    record_free(&clean);
    record_free(&reversed);
    record_free(&swapped);
}
END_TEST

START_TEST(skew_is_a_delay_that_the_rig_does_not_know)
{
    /* a skew of 7.9 us above the rig's 2.1 us is a rig with 10 us */
    struct record skewed = record_with("faults: {skew: 7.9 us}\n");
    struct record later = record_of(
        &(struct ring_text){
            .rig =
                "rig:\n"
                "  inputs:\n"
                "    excitation: {channel: 1, full_scale: 1.550 V, shunt: 50.00 mohm}\n"
                "    pickup: {channel: 2, full_scale: 1.550 V}\n"
                "  timing: {pickup_delay: 10 us}\n"
                "  coupling: {corner: 3.40 Hz}\n"
                "  winding: {primary_turns: 400, secondary_turns: 100, secondary_area: 30 mm2}\n"},
        1);
    struct record clean = record_with("");
    for (size_t row = 0; row < clean.rows; row += 31) {
        ck_assert_double_eq(skewed.values[0][row], clean.values[0][row]);
        ck_assert_double_eq_tol(skewed.values[1][row], later.values[1][row], 1e-13);
    }
    ck_assert_double_gt(get_rms(skewed.values[1], clean.values[1], clean.rows), 1e-4);
    record_free(&skewed);
    record_free(&later);
    record_free(&clean);
}
END_TEST

START_TEST(gain_and_unknown_corner_act_on_one_input)
{
    struct record clean = record_with("");
    struct record gained = record_with("faults: {gain: {excitation: 1 %}}\n");
    struct record coupled = record_with("faults: {coupling: {excitation: 2 Hz}}\n");
    /* H is a sine of 20 Hz: a corner of 2 Hz leads by atan(0.1) and passes 1/sqrt(1.01) */
    double lead = atan(0.1) / (2 * pi) * 2400;
    double rms = get_rms(clean.values[0], NULL, 2400 * 40);
    ck_assert_double_eq_tol(
        get_rms(coupled.values[0], NULL, 2400 * 40) / rms, 1 / sqrt(1.01), 1e-12);
    for (size_t row = 0; row < 2000; row += 31) {
        ck_assert_double_eq_tol(gained.values[0][row], 1.01 * clean.values[0][row], 1e-15);
        ck_assert_double_eq(gained.values[1][row], clean.values[1][row]);
        ck_assert_double_eq(coupled.values[1][row], clean.values[1][row]);
        double phase = atan2(clean.values[0][row], -clean.values[0][row + 600]);
        double moved = atan2(coupled.values[0][row], -coupled.values[0][row + 600]);
        double turned = remainder(moved - phase, 2 * pi) / (2 * pi) * 2400;
        ck_assert_double_eq_tol(-turned, lead, 1e-9);
    }
    record_free(&clean);
    record_free(&gained);
    record_free(&coupled);
}
END_TEST

START_TEST(clock_error_shows_as_a_wrong_frequency_and_drift_as_a_moving_one)
{
    /* with the true rate 100 ppm too high, row n is earlier: the same phase comes 100 ppm later */
    struct record clean = record_with("");
    struct record slow = record_with("faults: {clock_error: 100 ppm}\n");
    for (size_t row = 0; row < 9000; row += 61) {
        size_t later = 20000 + row;
        double shift = (double)later * (1.0 - 1.0 / 1.0001);
        size_t whole = (size_t)shift;
        double share = shift - (double)whole;
        double expected = (1.0 - share) * clean.values[0][later - whole] +
                          share * clean.values[0][later - whole - 1];
        ck_assert_double_eq_tol(slow.values[0][later], expected, 1e-6); /* chord of a sine */
    }
    /* a drift about the middle leaves the middle and both ends in phase */
    struct record drifting = record_with("faults: {frequency_drift: 1 %}\n");
    double half = 0.5 * (double)clean.rows / 48000;
    ck_assert_double_eq_tol(drifting.values[0][0], clean.values[0][0], 1e-14);
    /* a pickup voltage follows the momentary frequency */
    ck_assert_double_eq_tol(drifting.values[1][0], clean.values[1][0] * (1 - 0.01 * half), 1e-5);
    /* the phase is behind by f d/2 (T/2)^2 cycles in the middle */
    double behind = 20 * 0.01 / 2 * half * half;
    size_t middle = clean.rows / 2;
    double shift = behind * 2400;
    size_t whole = (size_t)shift;
    double share = shift - (double)whole;
    double expected = (1.0 - share) * clean.values[0][middle - whole] +
                      share * clean.values[0][middle - whole - 1];
    ck_assert_double_eq_tol(drifting.values[0][middle], expected, 1e-6);
    record_free(&clean);
    record_free(&slow);
    record_free(&drifting);
}
END_TEST

START_TEST(amplitude_ramps_about_the_middle)
{
    struct record clean = record_with("");
    struct record ramped = record_with("faults: {amplitude_ramp: 2 %}\n");
    for (size_t row = 0; row < clean.rows; row += 61) {
        double age = (double)row / 48000 - 0.5 * (double)clean.rows / 48000;
        for (int input = 0; input < 2; input++)
            ck_assert_double_eq_tol(
                ramped.values[input][row], clean.values[input][row] * (1 + 0.02 * age), 1e-15);
    }
    record_free(&clean);
    record_free(&ramped);
}
END_TEST

/* Three runs of 50 rows. */
START_TEST(rows_are_dropped_blank_held_or_repeated)
{
    enum { RUNS = 3, LENGTH = 50 };
    static const char *const kinds[] = {"dropped", "blank", "held", "repeated"};
    struct record clean = record_with("");
    size_t starts[RUNS]; /* those of the first kind: the seed alone places the runs */
    for (int kind = 0; kind < 4; kind++) {
        char faults[200];
        snprintf(faults, sizeof faults, "faults: {missing: {kind: %s, runs: 3, length: 50}}\n",
            kinds[kind]);
        struct record record = record_with(faults);
        size_t lost = 0, from = 0, run = 0;
        ck_assert_uint_eq(record.rows, clean.rows - (kind == 0 ? RUNS * LENGTH : 0));
        for (size_t row = 0; row < record.rows; row++, from++) {
            bool is_same = record.values[0][row] == clean.values[0][from] &&
                           record.values[1][row] == clean.values[1][from];
            run = is_same ? 0 : run + 1;
            if (is_same)
                continue;
            if (kind == 0)
                starts[lost] = from;
            else if (run == 1)
                ck_assert_uint_eq(row, starts[lost / LENGTH]);
            lost++;
            if (kind == 0) { /* the rows after a gap move up; the times jump */
                from += LENGTH;
                ck_assert_double_eq(record.values[0][row], clean.values[0][from]);
                ck_assert_double_eq_tol(
                    record.times[row] - record.times[row - 1], (LENGTH + 1) / 48000.0, 1e-12);
            } else if (kind == 1) {
                ck_assert(isnan(record.values[0][row]) && isnan(record.values[1][row]));
            } else if (kind == 2) {
                ck_assert_double_eq(record.values[0][row], clean.values[0][row - run]);
            } else {
                ck_assert_double_eq(record.values[1][row], clean.values[1][row - LENGTH]);
            }
        }
        ck_assert_uint_eq(lost, kind == 0 ? RUNS : RUNS * LENGTH);
        record_free(&record);
    }
    record_free(&clean);
}
END_TEST

START_TEST(jitter_moves_the_samples_and_the_times_alike)
{
    struct record record = record_of(
        &(struct ring_text){
            .source = "series: {field: '1: 1 kA/m, 0 deg', flux_density: '1: 1 T, -90 deg'}\n"
                      "drive: {frequency: 20 Hz}\n",
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 2, quantity: field strength}\n"
                   "    pickup: {channel: 3, quantity: flux density}\n",
            .recording =
                "recording: {format: csv, sample_rate: 1 kHz, rows: 5000, jitter: 50 us}\n"},
        1);
    double sum = 0.0;
    for (size_t row = 0; row < record.rows; row++) {
        double late = record.times[row] - (double)row / 1000;
        sum += late * late;
        ck_assert_double_eq_tol(
            record.values[0][row], 1000 * cos(2 * pi * 20 * record.times[row]), 1e-9);
        ck_assert_double_eq_tol(record.values[1][row], sin(2 * pi * 20 * record.times[row]), 1e-12);
    }
    ck_assert_double_eq_tol(sqrt(sum / (double)record.rows), 50e-6, 4 * 50e-6 / sqrt(2.0 * 5000));
    record_free(&record);
}
END_TEST

START_TEST(trace_runs_once_around_and_on)
{
    struct record record = record_of(
        &(struct ring_text){
            .source = "model: {tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}}\n"
                      "drive: {field_peak: 60 kA/m}\n",
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 1, quantity: field strength}\n"
                   "    pickup: {channel: 2, quantity: flux density}\n"
                   "  timing: {trace: yes}\n",
            .recording = "recording: {format: csv, rows: 1100, overrun: 10 %}\n"},
        1);
    ck_assert_double_eq_tol(record.values[0][0], 60e3, 1e-9);
    ck_assert_double_eq_tol(record.values[0][500], -60e3, 1e-9); /* half a cycle is 500 rows */
    ck_assert_double_eq_tol(record.values[0][1000], 60e3, 1e-9);
    for (size_t row = 0; row < 100; row++) {
        ck_assert_double_eq_tol(record.values[0][row], record.values[0][1000 + row], 1e-9);
        ck_assert_double_eq_tol(record.values[1][row], record.values[1][1000 + row], 1e-13);
    }
    record_free(&record);
}
END_TEST

START_TEST(seeds_give_other_noise_and_the_same_seed_the_same)
{
    const struct ring_text text = {.faults = "faults: {noise: {pickup: 1 mV}}\n"};
    struct record first = record_of(&text, 7), again = record_of(&text, 7),
                  other = record_of(&text, 8);
    ck_assert_mem_eq(first.values[1], again.values[1], first.rows * sizeof(double));
    ck_assert_double_eq_tol(
        get_rms(first.values[1], other.values[1], first.rows), 1e-3 * sqrt(2), 2e-5);
    record_free(&first);
    record_free(&again);
    record_free(&other);
}
END_TEST

/* The bench without what would turn the closed forms into more than a line: no delay, DC coupled.
 */
#define PLAIN_RIG                                                                                  \
    "rig:\n"                                                                                       \
    "  inputs:\n"                                                                                  \
    "    excitation: {channel: 1, full_scale: 10 V, shunt: 50.00 mohm, divider: 2, invert: yes}\n" \
    "    pickup: {channel: 2, full_scale: 10 V}\n"                                                 \
    "  winding: {primary_turns: 400, secondary_turns: 100, secondary_area: 30 mm2}\n"
#define VOLTAGE                                                                                    \
    "series: {voltage: '1: 2 V, 0 deg; 3: 500 mV, 90 deg'}\n"                                      \
    "drive: {frequency: 20 Hz}\n"
#define FIELD                                                                                      \
    "series: {field: '1: 10 kA/m, 0 deg; 5: 1 kA/m, 0 deg'}\n"                                     \
    "drive: {frequency: 20 Hz}\n"
#define OF_KIND(words)                                                                             \
    "recording: {format: wav, encoding: double, sample_rate: 48 kHz, cycles: 10.3, " words "}\n"

START_TEST(one_voltage_stands_at_both_inputs_or_at_one)
{
    struct record both = record_of(
        &(struct ring_text){
            .source = VOLTAGE, .rig = PLAIN_RIG, .recording = OF_KIND("kind: loopback")},
        1);
    struct record one = record_of(&(struct ring_text){.source = VOLTAGE,
                                      .rig = PLAIN_RIG,
                                      .recording = OF_KIND("kind: tone, terminated: excitation"),
                                      .faults = "faults: {crosstalk: {excitation: 0.1 %}}\n"},
        1);
    for (size_t row = 0; row < both.rows; row += 31) {
        double x = 2 * pi * 20 * (double)row / 48000;
        double voltage = 2 * cos(x) - 0.5 * sin(3 * x); /* neither divided nor turned */
        ck_assert_double_eq_tol(both.values[0][row], voltage, 1e-12);
        ck_assert_double_eq_tol(both.values[1][row], voltage, 1e-12);
        ck_assert_double_eq_tol(one.values[0][row], 1e-3 * voltage, 1e-15);
        ck_assert_double_eq_tol(one.values[1][row], voltage, 1e-12);
    }
    record_free(&both);
    record_free(&one);
}
END_TEST

START_TEST(empty_coil_sees_the_flux_of_the_field_in_its_own_area)
{
    struct record record = record_of(
        &(struct ring_text){
            .source = FIELD, .rig = PLAIN_RIG, .recording = OF_KIND("kind: empty coil")},
        1);
    for (size_t row = 0; row < record.rows; row += 31) {
        double omega = 2 * pi * 20, x = omega * (double)row / 48000;
        double field = 10e3 * cos(x) + 1e3 * cos(5 * x);
        double slope = -omega * (10e3 * sin(x) + 5 * 1e3 * sin(5 * x));
        ck_assert_double_eq_tol(/* i = H l / N1, l = pi (40 mm + 32 mm)/2 */
            record.values[0][row], -field * (pi * 36e-3 / 400) * 50e-3 / 2, 1e-12);
        ck_assert_double_eq_tol(record.values[1][row], 100 * 30e-6 * 4e-7 * pi * slope, 1e-12);
    }
    record_free(&record);
}
END_TEST

START_TEST(shunt_and_reference_carry_one_current)
{
    struct record record = record_of(
        &(struct ring_text){.source = FIELD,
            .rig = PLAIN_RIG,
            .recording = OF_KIND("kind: shunt comparison, reference: 20 mohm, inductance: 3 uH")},
        1);
    for (size_t row = 0; row < record.rows; row += 31) {
        double omega = 2 * pi * 20, x = omega * (double)row / 48000, turns = 400 / (pi * 36e-3);
        double current = (10e3 * cos(x) + 1e3 * cos(5 * x)) / turns;
        double slope = -omega * (10e3 * sin(x) + 5 * 1e3 * sin(5 * x)) / turns;
        ck_assert_double_eq_tol(
            record.values[0][row], -(50e-3 * current + 3e-6 * slope) / 2, 1e-12);
        ck_assert_double_eq_tol(record.values[1][row], 20e-3 * current, 1e-12);
    }
    record_free(&record);
}
END_TEST

Suite *recorder_suite(void)
{
    Suite *suite = suite_create("recorder");
    TCase *tests = tcase_create("recorder");
    tcase_set_timeout(tests, 60); /* the sanitizers are slow */
    tcase_add_test(tests, samples_are_those_of_the_series);
    tcase_add_test(tests, two_hundred_harmonics_keep_thirteen_digits);
    tcase_add_test(tests, phase_is_exact_after_a_thousand_million_rows);
    tcase_add_test(tests, passive_integrator_and_directions_act_as_the_rig_says);
    tcase_add_test(tests, additive_faults_add_what_is_ordered);
    tcase_add_test(tests, noise_is_white_normal_and_of_the_ordered_size);
    tcase_add_test(tests, one_fault_more_leaves_the_noise_as_it_is);
    tcase_add_test(tests, clipping_ends_the_input_at_its_level);
    tcase_add_test(tests, channels_are_reversed_and_swapped);
    tcase_add_test(tests, skew_is_a_delay_that_the_rig_does_not_know);
    tcase_add_test(tests, gain_and_unknown_corner_act_on_one_input);
    tcase_add_test(tests, clock_error_shows_as_a_wrong_frequency_and_drift_as_a_moving_one);
    tcase_add_test(tests, amplitude_ramps_about_the_middle);
    tcase_add_test(tests, rows_are_dropped_blank_held_or_repeated);
    tcase_add_test(tests, jitter_moves_the_samples_and_the_times_alike);
    tcase_add_test(tests, trace_runs_once_around_and_on);
    tcase_add_test(tests, seeds_give_other_noise_and_the_same_seed_the_same);
    tcase_add_test(tests, one_voltage_stands_at_both_inputs_or_at_one);
    tcase_add_test(tests, empty_coil_sees_the_flux_of_the_field_in_its_own_area);
    tcase_add_test(tests, shunt_and_reference_carry_one_current);
    suite_add_tcase(suite, tests);
    return suite;
}
