// SPDX-License-Identifier: GPL-3.0-or-later
/* The virtual bench from a ring.yaml to what `loop` reads in its files. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "capture/capture.h"
#include "loop/loop.h"
#include "ring_text.h"
#include "scratch.h"
#include "setup/setup.h"
#include "suites.h"
#include "virtual/bench.h"
#include "virtual/truth.h"
#include "virtual/waves.h"

static void run_bench(const struct ring_text *text, const char *folder, uint64_t seed)
{
    struct ring ring = {0};
    struct error err = {0};
    ring_text_read(text, &ring);
    ck_assert_msg(!bench_run(&ring, folder, seed, &err), "%s", err.message);
    ring_clear(&ring);
}

static void compute_truth(const struct ring_text *text, struct figures *figures)
{
    struct ring ring = {0};
    struct fourier_loop waves = {0};
    struct error err = {0};
    ring_text_read(text, &ring);
    ck_assert_msg(!waves_compute(&ring, &waves, &err), "%s", err.message);
    ck_assert(!truth_compute(&ring, &waves, figures, &err));
    fourier_loop_clear(&waves);
    ring_clear(&ring);
}

/* Reads the capture with the rig and specimen that were written beside it. */
static void read_loop(const char *capture, struct loop *loop)
{
    struct rig rig = {0};
    struct specimen specimen = {0};
    struct error err = {0};
    ck_assert_msg(!rig_read("out/rig.yaml", &rig, &err), "%s", err.message);
    ck_assert_msg(!specimen_read("out/specimen.yaml", &specimen, &err), "%s", err.message);
    enum status status = loop_read(capture, &rig, &specimen, &(struct loop_options){0}, loop, &err);
    ck_assert_msg(!status, "%s", err.message);
    rig_clear(&rig);
    specimen_clear(&specimen);
}

static char *read_file(const char *path, size_t *length)
{
    char *bytes = NULL;
    struct error err;
    ck_assert_msg(!file_read(path, (size_t)1 << 26, &bytes, length, &err), "%s", path);
    return bytes;
}

static bool is_same_file(const char *a, const char *b)
{
    size_t length_a, length_b;
    char *bytes_a = read_file(a, &length_a), *bytes_b = read_file(b, &length_b);
    bool is_same = length_a == length_b && memcmp(bytes_a, bytes_b, length_a) == 0;
    memory_destroy(bytes_a);
    memory_destroy(bytes_b);
    return is_same;
}

#define TABLE "recording: {format: csv, sample_rate: 10 kHz, cycles: 10.3, phase: 35 deg}\n"
#define WINDING "  winding: {primary_turns: 400, secondary_turns: 100, secondary_area: 30 mm2}\n"
#define SPECIMEN(path)                                                                             \
    "specimen:\n"                                                                                  \
    "  ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm, density: 8100 kg/m3, "   \
    "path: " path "}\n"

/* Every convention of the measurement, there and back. */
static const struct {
    const char *capture;
    struct ring_text text;
} rig_list[] = {
    {"out/capture.wav", {0}},
    {"out/capture.w64",
        {.recording = "recording: {format: w64, encoding: float, sample_rate: 96 kHz, duration: "
                      "1.234567 s, channels: 4}\n",
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 4, full_scale: 10 V, transfer: 5 A/V, invert: yes}\n"
                   "    pickup: {channel: 2, full_scale: 300 mV, divider: 11.0, invert: "
                   "yes}\n" WINDING,
            .specimen = SPECIMEN("logarithmic")}},
    {"out/capture.csv", {.recording = TABLE,
                            .rig = "rig:\n"
                                   "  inputs:\n"
                                   "    excitation: {channel: U1 (mV), shunt: 50.00 mohm}\n"
                                   "    pickup: {channel: U2, integrator: {resistance: 100 kohm, "
                                   "capacitance: 1 uF}, invert: yes, divider: 11.0}\n" WINDING}},
    {"out/capture.wav",
        {.rig = "rig:\n"
                "  inputs:\n"
                "    excitation: {channel: 1, full_scale: 2 V, shunt: 50 mohm, inductance: 2 uH, "
                "input_resistance: 20 ohm, shunt_temperature: {coefficient: 0.1 %/K, reference: "
                "20 degC, actual: 40 degC}}\n"
                "    pickup: {channel: 2, full_scale: 2 V, input_resistance: 10 kohm, "
                "source_resistance: 900 ohm}\n" WINDING}},
    {"out/capture.csv",
        {.recording = TABLE,
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: U1 (mV), shunt: 50.00 mohm}\n"
                   "    pickup: {channel: U2, integrator: {resistance: 100 kohm, capacitance: 1 "
                   "uF}, input_resistance: 1 Mohm, source_resistance: 1 kohm}\n" WINDING}},
    {"out/capture.csv", {.recording = "recording: {format: csv, separator: semicolon, decimal: "
                                      "comma, sample_rate: 10 kHz, cycles: 10.3, crlf: yes}\n",
                            .rig = "rig:\n"
                                   "  inputs:\n"
                                   "    excitation: {channel: 3, transfer: 10 A/V, corner: 5 Hz}\n"
                                   "    pickup: {channel: 2, fluxmeter: 10 mWb/V, corner: 1 Hz}\n"
                                   "  winding: {primary_turns: 400, secondary_turns: 100}\n",
                            .specimen = SPECIMEN("effective")}},
    {"out/capture.tsv", {.recording = "recording: {format: tsv, cycles: 10.3, header: no}\n",
                            .rig = "rig:\n"
                                   "  inputs:\n"
                                   "    excitation: {channel: 1, quantity: field strength}\n"
                                   "    pickup: {channel: 2, quantity: polarization}\n"
                                   "  timing: {sample_rate: 10 kHz, pickup_delay: -3 us}\n"}},
    {"out/capture.txt",
        {.recording = "recording: {format: txt, sample_rate: 10 kHz, cycles: 10.3}\n",
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: current, quantity: current}\n"
                   "    pickup: {channel: linkage, quantity: flux linkage, air_flux: removed}\n"
                   "  winding: {primary_turns: 400, secondary_turns: 100}\n"}},
    {"out/capture.csv", {.recording = TABLE,
                            .rig = "rig:\n"
                                   "  inputs:\n"
                                   "    excitation: {channel: 3, quantity: field strength}\n"
                                   "    pickup: {channel: 2, quantity: flux density}\n"}},
};

START_TEST(loop_finds_the_truth_through_every_convention)
{
    struct figures truth;
    struct loop loop = {0};
    compute_truth(&rig_list[_i].text, &truth);
    run_bench(&rig_list[_i].text, "out", 1);
    read_loop(rig_list[_i].capture, &loop);
    /* 64-bit samples: 1e-9 is room for the fit; 24 bits of a float leave 1e-7 */
    double tolerance = _i == 1 ? 1e-7 : 1e-9;
    for (int i = 0; i < FIGURE_COUNT; i++) {
        const struct figure_value *expected = &truth.list[i], *found = &loop.figures.list[i];
        if (!expected->is_present || (_i == 1 && i == FIGURE_HARMONICS)) /* rounding has its own */
            continue;
        ck_assert_msg(found->is_present, "%s is missing", figure_table[i].key);
        ck_assert_msg(
            fabs(found->value - expected->value) <= tolerance * fmax(fabs(expected->value), 1.0),
            "%s: %.15g, truth %.15g", figure_table[i].key, found->value, expected->value);
    }
    loop_clear(&loop);
}
END_TEST

START_TEST(truth_of_an_ordered_series_has_its_closed_forms)
{
    /* H = 8000 sin x + 900 sin(3x + 0.3), B = 1.2 sin(x - 0.5) + 0.05 sin(3x - 0.4):
     * W = pi sum k Hk Bk sin(hk - bk) */
    struct figures truth;
    compute_truth(
        &(struct ring_text){
            .source = "series:\n"
                      "  field: '1: 8 kA/m, -90 deg; 3: 900 A/m, -1.2707963267948966 rad'\n"
                      "  flux_density: '1: 1.2 T, -2.0707963267948966 rad; 3: 50 mT, "
                      "-1.9707963267948966 rad'\n"
                      "drive: {frequency: 50 Hz}\n"},
        &truth);
    ck_assert_double_eq_tol(truth.list[FIGURE_LOOP_AREA].value, 14732.355989941721, 1e-11 * 14732);
    ck_assert_double_eq_tol(truth.list[FIGURE_LOSS].value, 50 * 14732.355989941721, 1e-6);
    ck_assert_double_eq_tol(
        truth.list[FIGURE_LAG_ANGLE].value, 0.5 * 180 / 3.14159265358979323846, 1e-12);
    ck_assert_double_eq_tol(truth.list[FIGURE_FLUX_DISTORTION].value, 0.05 / 1.2, 1e-15);
    ck_assert_double_eq(truth.list[FIGURE_HARMONICS].value, 3);
    ck_assert_double_eq_tol(truth.list[FIGURE_CYCLES].value, 40.3, 1e-12);
}
END_TEST

START_TEST(bias_is_in_the_truth_only_where_the_rig_keeps_it)
{
    static const char source[] = "series:\n"
                                 "  field: '0: 500 A/m; 1: 8 kA/m, 0 deg'\n"
                                 "  flux_density: '1: 1 T, -30 deg'\n"
                                 "drive: {frequency: 50 Hz}\n";
    struct figures removed, kept;
    compute_truth(&(struct ring_text){.source = source}, &removed);
    ck_assert(!removed.list[FIGURE_FIELD_BIAS].is_present);
    ck_assert_double_eq_tol(removed.list[FIGURE_COERCIVITY_FALLING].value, 4000, 1e-5);
    compute_truth(
        &(struct ring_text){.source = source,
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 1, full_scale: 1 V, shunt: 50 mohm, bias: keep}\n"
                   "    pickup: {channel: 2, full_scale: 1 V}\n" WINDING},
        &kept);
    ck_assert_double_eq(kept.list[FIGURE_FIELD_BIAS].value, 500);
    ck_assert_double_eq_tol(kept.list[FIGURE_COERCIVITY_FALLING].value, 3500, 1e-5);
    ck_assert_double_eq_tol(kept.list[FIGURE_COERCIVITY_RISING].value, 4500, 1e-5);
}
END_TEST

START_TEST(truth_of_a_model_is_that_of_its_series)
{
    /* an ellipse is its first harmonic: W = pi Hm Bm sin d */
    struct figures truth;
    compute_truth(&(struct ring_text){.source = "model: {ellipse: {permeability: "
                                                "119.36620731892151, lag_angle: 30 deg}}\n"
                                                "drive: {frequency: 20 Hz, field_peak: 8 kA/m}\n"},
        &truth);
    ck_assert_double_eq_tol(truth.list[FIGURE_LOOP_AREA].value, 15079.644737231, 1e-8);
    ck_assert_double_eq_tol(truth.list[FIGURE_COERCIVITY].value, 4000, 1e-9 * 4000);
    ck_assert_double_eq_tol(truth.list[FIGURE_REMANENCE].value, 0.6, 1e-9 * 0.6);
    /* Jiles and Atherton's loop of test_model.c, cut at the 999th harmonic: its area loses
     * the product of the harmonics beyond, none with a sinusoidal field */
    compute_truth(&(struct ring_text){.source = "model: {jiles-atherton-1992: {saturation: 1.6 "
                                                "MA/m, shape: 1100 A/m, pinning: 400 A/m, "
                                                "reversibility: 0.2, coupling: 0.0016}}\n"
                                                "drive: {frequency: 20 Hz, field_peak: 6 kA/m, "
                                                "harmonics: 999}\n"},
        &truth);
    ck_assert_double_eq_tol(truth.list[FIGURE_LOOP_AREA].value, 2204.683402, 2e-5);
    ck_assert_double_eq_tol(truth.list[FIGURE_COERCIVITY].value, 315.987749, 1e-3);
}
END_TEST

#define NOISE "faults: {noise: {excitation: 1 mV, pickup: 1 mV}}\n"

START_TEST(same_seed_gives_the_same_bytes)
{
    static const char *const files[] = {"capture.wav", "rig.yaml", "specimen.yaml", "truth.json"};
    const struct ring_text text = {
        .faults = NOISE, .recording = "recording: {format: wav, sample_rate: 48 kHz, cycles: 5}\n"};
    run_bench(&text, "out", 5);
    run_bench(&text, "again", 5);
    run_bench(&text, "other", 6);
    for (size_t i = 0; i < 4; i++) {
        char a[40], b[40];
        snprintf(a, sizeof a, "out/%s", files[i]);
        snprintf(b, sizeof b, "again/%s", files[i]);
        ck_assert_msg(is_same_file(a, b), "%s", files[i]);
    }
    ck_assert(!is_same_file("out/capture.wav", "other/capture.wav"));
    ck_assert(is_same_file("out/rig.yaml", "other/rig.yaml"));
}
END_TEST

/* All 17 digits of a Jiles-Atherton loop with noise, jitter and lost rows, as a table of our own
 * writer: the digest was found with gcc 12 and clang 14 on x86-64 with and without fused
 * multiply-add. */
START_TEST(bytes_are_the_same_on_every_machine)
{
    run_bench(
        &(struct ring_text){
            .source = "model: {jiles-atherton-1992: {saturation: 1.25 MA/m, shape: 10 kA/m, "
                      "pinning: 22 kA/m, reversibility: 0.1, coupling: 0.015}}\n"
                      "drive: {frequency: 20 Hz, flux_density_peak: 1.2 T}\n",
            .recording = "recording: {format: csv, sample_rate: 10 kHz, cycles: 4, jitter: 2 us}\n",
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 2, shunt: 50.00 mohm}\n"
                   "    pickup: {channel: 3, integrator: {resistance: 100 kohm, capacitance: 1 "
                   "uF}}\n"
                   "  timing: {pickup_delay: 2.1 us}\n"
                   "  coupling: {corner: 3.40 Hz}\n" WINDING,
            .faults = "faults:\n"
                      "  noise: {excitation: 1 mV, pickup: 1 mV}\n"
                      "  frequency_drift: 1 %\n"
                      "  missing: {kind: dropped, runs: 3, length: 5}\n"},
        "out", 12345);
    char text[DIGEST_TEXT_SIZE];
    size_t length;
    char *bytes = read_file("out/capture.csv", &length);
    struct digest *digest = digest_create();
    digest_add(digest, bytes, length);
    digest_get(digest, text);
    digest_destroy(digest);
    memory_destroy(bytes);
    ck_assert_str_eq(text, "93ffa7e20abf1a1b6a64e34bb7cfbd2d65c3e9c2389ef9ef73a8d77027b917eb");
}
END_TEST

START_TEST(rig_and_specimen_read_back_to_the_same_numbers)
{
    static const char rig_text[] =
        "rig:\n"
        "  name: 'bench \"2\": odd, with # and \\'\n"
        "  inputs:\n"
        "    excitation: {channel: 3, full_scale: 2.5501234567891 V ± 0.3 %, transfer: 10.1 A/V ± "
        "1 % rect, bias: keep}\n"
        "    pickup: {channel: 1, full_scale: 1 V, divider: 11.00 ± 0.02, integrator: {resistance: "
        "99.8 kohm ± 0.1 kohm, capacitance: 1.03 uF}}\n"
        "  timing: {pickup_delay: 3.3333333333333333 us}\n"
        "  coupling: {corner: 3.4 Hz ± 0.05 Hz}\n" WINDING;
    static const char specimen_text[] = "specimen:\n"
                                        "  name: \"no\"\n"
                                        "  condition: quenched 950 °C; tempered\n"
                                        "  ring: {outer_diameter: 1.5 in, inner_diameter: 32 mm ± "
                                        "20 um, height: 0.6 cm, mass: 0.0191 kg, density: 8.1 "
                                        "g/cm3 ± 0.02 g/cm3, path: logarithmic}\n"
                                        "  resistivity: 27 uohm cm\n"
                                        "  temperature: 296.15 K ± 2 K\n";
    struct ring ring = {0};
    struct rig rig = {0};
    struct specimen specimen = {0};
    struct error err = {0};
    const struct ring_text text = {.rig = rig_text,
        .specimen = specimen_text,
        .recording = "recording: {format: wav, sample_rate: 8 kHz, cycles: 4}\n"};
    ring_text_read(&text, &ring);
    run_bench(&text, "out", 1);
    ck_assert_msg(!rig_read("out/rig.yaml", &rig, &err), "%s", err.message);
    ck_assert_msg(!specimen_read("out/specimen.yaml", &specimen, &err), "%s", err.message);
    ck_assert_str_eq(rig.name, ring.rig.name);
    ck_assert_str_eq(specimen.name, ring.specimen.name);
    ck_assert_str_eq(specimen.condition, ring.specimen.condition);
    ck_assert(rig.excitation.keeps_bias);
    ck_assert(specimen.path == PATH_LOGARITHMIC);
    const struct quantity *pairs[][2] = {
        {&rig.excitation.full_scale, &ring.rig.excitation.full_scale},
        {&rig.excitation.transfer, &ring.rig.excitation.transfer},
        {&rig.pickup.divider, &ring.rig.pickup.divider},
        {&rig.pickup.integrator_resistance, &ring.rig.pickup.integrator_resistance},
        {&rig.pickup.integrator_capacitance, &ring.rig.pickup.integrator_capacitance},
        {&rig.pickup_delay, &ring.rig.pickup_delay},
        {&rig.corner, &ring.rig.corner},
        {&rig.winding.secondary_area, &ring.rig.winding.secondary_area},
        {&specimen.outer_diameter, &ring.specimen.outer_diameter},
        {&specimen.inner_diameter, &ring.specimen.inner_diameter},
        {&specimen.mass, &ring.specimen.mass},
        {&specimen.density, &ring.specimen.density},
        {&specimen.resistivity, &ring.specimen.resistivity},
        {&specimen.temperature, &ring.specimen.temperature},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        ck_assert_double_eq(pairs[i][0]->value, pairs[i][1]->value);
        ck_assert_double_eq(pairs[i][0]->half_width, pairs[i][1]->half_width);
        ck_assert_int_eq(pairs[i][0]->distribution, pairs[i][1]->distribution);
    }
    rig_clear(&rig);
    specimen_clear(&specimen);
    ring_clear(&ring);
}
END_TEST

START_TEST(trace_gives_its_truth_within_the_error_of_a_polygon)
{
    const struct ring_text text = {
        .source = "model: {tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}}\n"
                  "drive: {field_peak: 60 kA/m}\n",
        .recording = "recording: {format: csv, rows: 5000, overrun: 2 %}\n",
        .rig = "rig:\n"
               "  inputs:\n"
               "    excitation: {channel: current (A), quantity: current}\n"
               "    pickup: {channel: fluxmeter (V), fluxmeter: 1 mWb/V}\n"
               "  timing: {trace: yes}\n" WINDING};
    struct figures truth;
    struct loop loop = {0};
    compute_truth(&text, &truth);
    ck_assert(!truth.list[FIGURE_FREQUENCY].is_present);
    ck_assert(!truth.list[FIGURE_LAG_ANGLE].is_present);
    ck_assert(!truth.list[FIGURE_HARMONICS].is_present);
    run_bench(&text, "out", 1);
    read_loop("out/capture.csv", &loop);
    for (int i = FIGURE_FIELD_PEAK; i <= FIGURE_LOOP_AREA; i++)
        ck_assert_double_eq_tol(
            loop.figures.list[i].value, truth.list[i].value, 3e-6 * truth.list[i].value);
    loop_clear(&loop);
}
END_TEST

START_TEST(full_scale_is_not_passed_without_an_order)
{
    static const char rig[] =
        "rig:\n"
        "  inputs:\n"
        "    excitation: {channel: 1, full_scale: 1.550 V, shunt: 50.00 mohm}\n"
        "    pickup: {channel: 2, full_scale: 1.000 V}\n" WINDING;
    static const char recording[] = "recording: {format: wav, sample_rate: 48 kHz, cycles: 4}\n";
    struct ring ring = {0};
    struct error err = {0};
    ring_text_read(&(struct ring_text){.rig = rig, .recording = recording}, &ring);
    ck_assert_int_eq(bench_run(&ring, "out", 1, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "'ring.yaml': the pickup reaches 1.156 V at a full scale of 1 V");
    ck_assert(!file_exists("out/capture.wav"));
    ring_clear(&ring);
    run_bench(
        &(struct ring_text){
            .rig = rig, .recording = recording, .faults = "faults: {clipping: {pickup: 1 V}}\n"},
        "out", 1);
    ck_assert(file_exists("out/capture.wav"));
}
END_TEST

START_TEST(file_that_cannot_hold_what_is_ordered_is_refused_with_the_name_of_the_order)
{
    static const char rig[] =
        "rig:\n"
        "  inputs:\n"
        "    excitation: {channel: 40, full_scale: 1.550 V, shunt: 50.00 mohm}\n"
        "    pickup: {channel: 2, full_scale: 1.550 V}\n" WINDING;
    static const char recording[] = "recording: {format: flac, sample_rate: 48 kHz, cycles: 4}\n";
    struct ring ring = {0};
    struct error err = {0};
    ring_text_read(&(struct ring_text){.rig = rig, .recording = recording}, &ring);
    ck_assert_int_eq(bench_run(&ring, "out", 1, &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "'ring.yaml': a .flac file cannot hold 40 channels of pcm24 at 48000 Hz");
    ck_assert(!file_exists("out/capture.flac"));
    ring_clear(&ring);
}
END_TEST

START_TEST(header_with_a_foreign_unit_is_refused)
{
    struct ring ring = {0};
    struct error err = {0};
    ring_text_read(&(struct ring_text){.recording = TABLE,
                       .rig = "rig:\n"
                              "  inputs:\n"
                              "    excitation: {channel: current (mV), quantity: current}\n"
                              "    pickup: {channel: U (V)}\n" WINDING},
        &ring);
    ck_assert_int_eq(bench_run(&ring, "out", 1, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message,
        "'ring.yaml': the header 'current (mV)' is a voltage, but the rig says current");
    ring_clear(&ring);
}
END_TEST

START_TEST(blank_rows_are_silence_in_audio_and_empty_cells_in_tables)
{
    static const char faults[] = "faults: {missing: {kind: blank, runs: 2, length: 10}}\n";
    struct capture *capture;
    struct error err;
    run_bench(&(struct ring_text){.faults = faults,
                  .recording = "recording: {format: wav, sample_rate: 48 kHz, cycles: 4}\n"},
        "out", 1);
    ck_assert(!capture_open("out/capture.wav", &(struct capture_options){0}, &capture, &err));
    size_t silent = 0, got;
    double values[2 * 256];
    do {
        ck_assert(!capture_read(capture, 256, values, NULL, &got, &err));
        for (size_t i = 0; i < got; i++)
            silent += values[2 * i] == 0.0 && values[2 * i + 1] == 0.0;
    } while (got > 0);
    ck_assert_uint_eq(silent, 20);
    capture_close(capture);
    run_bench(&(struct ring_text){.faults = faults,
                  .recording = TABLE,
                  .rig = "rig:\n"
                         "  inputs:\n"
                         "    excitation: {channel: 2, quantity: current}\n"
                         "    pickup: {channel: 3}\n" WINDING},
        "out", 1);
    size_t length, empty = 0;
    char *bytes = read_file("out/capture.csv", &length);
    for (const char *at = bytes; (at = strstr(at, ",,\n")) != NULL; at++)
        empty++;
    ck_assert_uint_eq(empty, 20);
    memory_destroy(bytes);
}
END_TEST

Suite *virtual_suite(void)
{
    Suite *suite = suite_create("virtual");
    TCase *tests = tcase_create("virtual");
    tcase_set_timeout(tests, 60); /* the sanitizers are slow */
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_loop_test(tests, loop_finds_the_truth_through_every_convention, 0,
        sizeof rig_list / sizeof rig_list[0]);
    tcase_add_test(tests, truth_of_an_ordered_series_has_its_closed_forms);
    tcase_add_test(tests, bias_is_in_the_truth_only_where_the_rig_keeps_it);
    tcase_add_test(tests, truth_of_a_model_is_that_of_its_series);
    tcase_add_test(tests, same_seed_gives_the_same_bytes);
    tcase_add_test(tests, bytes_are_the_same_on_every_machine);
    tcase_add_test(tests, rig_and_specimen_read_back_to_the_same_numbers);
    tcase_add_test(tests, trace_gives_its_truth_within_the_error_of_a_polygon);
    tcase_add_test(tests, full_scale_is_not_passed_without_an_order);
    tcase_add_test(
        tests, file_that_cannot_hold_what_is_ordered_is_refused_with_the_name_of_the_order);
    tcase_add_test(tests, header_with_a_foreign_unit_is_refused);
    tcase_add_test(tests, blank_rows_are_silence_in_audio_and_empty_cells_in_tables);
    suite_add_tcase(suite, tests);
    return suite;
}
