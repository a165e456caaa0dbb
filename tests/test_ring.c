// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/ring.h"

#include <stdio.h>
#include <string.h>

#include "ring_text.h"
#include "suites.h"
#include "virtual/ring_layout.h"

START_TEST(example_is_a_ring_that_works)
{
    struct ring ring = {0};
    struct error err = {0};
    ck_assert_msg(!ring_read_bytes("example", ring_example, strlen(ring_example), &ring, &err),
        "%s", err.message);
    ck_assert_ptr_eq(ring.model, &model_tanh);
    ck_assert_double_eq(ring.parameters[0], 1.30);
    ck_assert_double_eq(ring.frequency_Hz, 20);
    ck_assert_double_eq(ring.sample_rate_Hz, 48000);
    ck_assert_uint_eq(ring.rows, 96720);
    ck_assert_uint_eq(ring.harmonics, 99);
    ck_assert(!ring.is_table);
    ck_assert_str_eq(ring_get_extension(&ring), "flac");
    ck_assert_double_eq(ring.faults.noise.values[RING_PICKUP], 20e-6);
    ring_clear(&ring);
    ring_clear(&ring);
}
END_TEST

START_TEST(terms_of_a_series_stand_on_lines_or_between_semicolons)
{
    struct ring ring = {0};
    ring_text_read(
        &(struct ring_text){.source = "series:\n"
                                      "  field: |\n"
                                      "    0: 500 A/m\n"
                                      "    1: 8 kA/m, 0 deg\n"
                                      "\n"
                                      "    3: 900 A/m, 0.3 rad\n"
                                      "  flux_density: '1: 1.2 T, -90 deg; 7 : 5 mT, 0 rad'\n"
                                      "drive: {frequency: 50 Hz}\n"},
        &ring);
    ck_assert_ptr_null(ring.model);
    ck_assert_uint_eq(ring.harmonics, 7);
    ck_assert_uint_eq(ring.field.count, 3);
    ck_assert_uint_eq(ring.field.terms[2].harmonic, 3);
    ck_assert_double_eq(ring.field.terms[0].amplitude, 500);
    ck_assert_double_eq(ring.field.terms[2].phase, 0.3);
    ck_assert_double_eq_tol(ring.flux_density.terms[0].phase, -1.5707963267948966, 1e-15);
    ck_assert_double_eq(ring.flux_density.terms[1].amplitude, 5e-3);
    ring_clear(&ring);
}
END_TEST

START_TEST(length_is_a_duration_or_cycles_or_rows)
{
    static const struct {
        const char *recording;
        size_t rows;
    } list[] = {
        {"recording: {format: wav, sample_rate: 48 kHz, duration: 1.5 s}\n", 72000},
        {"recording: {format: wav, sample_rate: 48 kHz, cycles: 3.001}\n", 7202},
        {"recording: {format: wav, sample_rate: 48 kHz, rows: 12345}\n", 12345},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct ring ring = {0};
        ring_text_read(&(struct ring_text){.recording = list[i].recording}, &ring);
        ck_assert_uint_eq(ring.rows, list[i].rows);
        ring_clear(&ring);
    }
}
END_TEST

START_TEST(harmonics_end_below_half_the_sample_rate)
{
    struct ring ring = {0};
    const struct ring_text slow = {.source =
                                       "model: {ellipse: {permeability: 100, lag_angle: 30 deg}}\n"
                                       "drive: {frequency: 20 Hz, field_peak: 10 kA/m}\n",
        .recording = "recording: {format: wav, sample_rate: 1 kHz, duration: 1 s}\n"};
    ring_text_read(&slow, &ring);
    ck_assert_uint_eq(ring.harmonics, 22); /* 0.9 of 25 */
    ring_clear(&ring);
}
END_TEST

START_TEST(columns_stand_where_the_rig_expects_them)
{
    static const struct {
        const char *excitation, *pickup, *timing;
        size_t columns[2];
    } list[] = {
        {"2", "3", "", {0, 1}},
        {"3", "2", "", {1, 0}},
        {"I", "U", "", {0, 1}},
        {"3", "U", "", {1, 0}},
        {"I", "2", "", {1, 0}},
        {"2", "1", "  timing: {sample_rate: 10 kHz}\n", {1, 0}},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        char rig[600];
        struct ring ring = {0};
        snprintf(rig, sizeof rig,
            "rig:\n"
            "  inputs:\n"
            "    excitation: {channel: %s, quantity: current}\n"
            "    pickup: {channel: %s}\n"
            "%s"
            "  winding: {primary_turns: 400, secondary_turns: 100}\n",
            list[i].excitation, list[i].pickup, list[i].timing);
        ring_text_read(
            &(struct ring_text){.rig = rig,
                .recording = "recording: {format: csv, sample_rate: 10 kHz, cycles: 5}\n"},
            &ring);
        ck_assert_uint_eq(ring_layout_get_column(&ring, RING_EXCITATION), list[i].columns[0]);
        ck_assert_uint_eq(ring_layout_get_column(&ring, RING_PICKUP), list[i].columns[1]);
        ck_assert_uint_eq(ring_layout_get_columns(&ring), 2);
        ring_clear(&ring);
    }
}
END_TEST

/* The rig and recording of a trace. */
#define TRACE_RIG                                                                                  \
    "rig:\n"                                                                                       \
    "  inputs:\n"                                                                                  \
    "    excitation: {channel: 1, quantity: current}\n"                                            \
    "    pickup: {channel: 2, fluxmeter: 1 mWb/V}\n"                                               \
    "  timing: {trace: yes}\n"                                                                     \
    "  winding: {primary_turns: 400, secondary_turns: 100}\n"
#define TRACE_SOURCE                                                                               \
    "model: {tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}}\n"                    \
    "drive: {field_peak: 60 kA/m}\n"
#define TABLE_RIG                                                                                  \
    "rig:\n"                                                                                       \
    "  inputs:\n"                                                                                  \
    "    excitation: {channel: 2, quantity: current}\n"                                            \
    "    pickup: {channel: 3}\n"                                                                   \
    "  winding: {primary_turns: 400, secondary_turns: 100}\n"

/* What is wrong, and how every fault is told with its place. */
static const struct {
    struct ring_text text;
    const char *message;
} error_list[] = {
    {{.source = "drive: {frequency: 20 Hz}\n"}, "ring.yaml:1:1: 'model' or 'series' is missing"},
    {{.source =
             "model:\n  tahn: {saturation: 1 T}\ndrive: {frequency: 20 Hz, field_peak: 1 kA/m}\n"},
        "ring.yaml:2:3: model.tahn: unknown key; did you mean 'tanh'?"},
    {{.source = "model: {tanh: {saturation: 1.3, shift: 19 kA/m, width: 19 kA/m}}\n"
                "drive: {frequency: 20 Hz, field_peak: 1 kA/m}\n"},
        "model.tanh.saturation: '1.3' has no unit"},
    {{.source = "model: {tanh: {saturation: 13 T, shift: 19 kA/m, width: 19 kA/m}}\n"
                "drive: {frequency: 20 Hz, field_peak: 1 kA/m}\n"},
        "ring.yaml:1:16: model.tanh.saturation: 13 T (saturation polarization), it must lie in "
        "1e-06 ... 10"},
    {{.source = "model: {tanh: {saturation: 1 T, shift: 19 kA/m, width: 19 kA/m},\n"
                "  ellipse: {permeability: 100, lag_angle: 3 deg}}\n"
                "drive: {frequency: 20 Hz, field_peak: 1 kA/m}\n"},
        "model: it holds 2 models, expected one"},
    {{.source = "model: {jiles-atherton-1992: {saturation: 1.6 MA/m, shape: 100 A/m, pinning: 400 "
                "A/m,\n"
                "  reversibility: 0.2, coupling: 0.0016}}\n"
                "drive: {frequency: 20 Hz, field_peak: 1 kA/m}\n"},
        "model: coupling * saturation / (3 * shape) is 8.53333, it must be below 1; raise 'shape'"},
    {{.source = "model: {ellipse: {permeability: 100, lag_angle: 30 deg}}\n"
                "drive: {frequency: 20 Hz}\n"},
        "drive: a model is driven by exactly one of 'field_peak: 30 kA/m' (sinusoidal field) and "
        "'flux_density_peak: 1.2 T' (sinusoidal flux density); both are missing"},
    {{.source = "model: {ellipse: {permeability: 100, lag_angle: 30 deg}}\n"
                "drive: {field_peak: 10 kA/m}\n"},
        "drive: 'frequency: 50 Hz' is missing"},
    {{.source = "series: {field: '1: 8 kA/m', flux_density: '1: 1 T, 0 deg'}\n"
                "drive: {frequency: 20 Hz}\n"},
        "series.field: harmonic 1 has no phase; write 'harmonic: amplitude, phase'"},
    {{.source = "series: {field: '1: 8 kA/m, 0 deg', flux_density: '0: 1 T'}\n"
                "drive: {frequency: 20 Hz}\n"},
        "series.flux_density: a flux density has no harmonic 0"},
    {{.source = "series: {field: '1: 8 kA/m, 0 deg; 1: 1 A/m, 0 deg', flux_density: '1: 1 T, 0 "
                "deg'}\n"
                "drive: {frequency: 20 Hz}\n"},
        "series.field: harmonic 1 is given twice; add them up"},
    {{.source = "series: {field: '1: 8 kA/m, 0 deg', flux_density: '1.5: 1 T, 0 deg'}\n"
                "drive: {frequency: 20 Hz, harmonics: 9}\n"},
        "drive.harmonics: this drives a model, and a series is ordered; leave it out"},
    {{.source = "series: {field: '1: 8 kA/m, 0 deg', flux_density: '1.5: 1 T, 0 deg'}\n"
                "drive: {frequency: 20 Hz}\n"},
        "series.flux_density: '1.5' is no harmonic, expected a whole number from 0 to 2000"},
    {{.source = "model: {ellipse: {permeability: 100, lag_angle: 30 deg}}\n"
                "drive: {frequency: 500 Hz, field_peak: 10 kA/m, harmonics: 49}\n"},
        "drive.harmonics: harmonic 49 of 500 Hz is not below half the sample rate of 48000 Hz; "
        "lower it, or order 'faults: {aliases: yes}'"},
    {{.source = "series: {field: '1: 8 kA/m, 0 deg'}\ndrive: {frequency: 20 Hz}\n"},
        "series: 'flux_density' is missing: the terms of B"},
    {{.source = "series: {voltage: '1: 8 V, 0 deg'}\ndrive: {frequency: 20 Hz}\n"},
        "series.voltage: this is for 'kind: loopback' and 'kind: tone'; leave it out"},
    {{.recording = "recording: {kind: loopback, format: wav, sample_rate: 48 kHz, cycles: 5}\n"},
        "model: an ordered voltage is recorded, and no ring; leave it out"},
    {{.source = "drive: {frequency: 20 Hz}\n",
         .recording = "recording: {kind: loopback, format: wav, sample_rate: 48 kHz, cycles: 5}\n"},
        "'voltage' is missing: the terms of what is played"},
    {{.source = "series: {field: '1: 8 kA/m, 0 deg', flux_density: '1: 1 T, 0 deg'}\n"
                "drive: {frequency: 20 Hz}\n",
         .recording =
             "recording: {kind: empty coil, format: wav, sample_rate: 48 kHz, cycles: 5}\n"},
        "series.flux_density: there is no steel in this recording; leave it out"},
    {{.recording =
             "recording: {kind: shunt comparison, format: wav, sample_rate: 48 kHz, cycles: 5}\n"},
        "recording: 'reference: 0.1 ohm' is missing"},
    {{.recording =
             "recording: {format: wav, sample_rate: 48 kHz, cycles: 5, terminated: pickup}\n"},
        "recording.terminated: this is for 'kind: tone'; leave it out"},
    {{.rig = TABLE_RIG,
         .recording =
             "recording: {kind: empty coil, format: csv, sample_rate: 48 kHz, cycles: 5}\n"},
        "recording.kind: a recording to calibrate with has voltages at both inputs"},
    {{.rig = TABLE_RIG,
         .recording = "recording: {format: csv, sample_rate: 48 kHz, cycles: 5}\n",
         .faults = "faults: {crosstalk: {pickup: 1 %}}\n"},
        "faults.crosstalk: it is for voltages at both inputs"},
    {{.recording = "recording: {format: mp3, sample_rate: 48 kHz, cycles: 5}\n"},
        "recording.format: 'mp3' is not known here, expected wav, w64, rf64, aiff, caf, flac, au, "
        "csv, tsv or txt"},
    {{.recording = "recording: {format: wav, sample_rate: 48 kHz}\n"},
        "recording: its length is exactly one of 'duration: 2 s', 'cycles: 40.3' and 'rows: "
        "96000'"},
    {{.recording = "recording: {format: wav, sample_rate: 48 kHz, cycles: 9, rows: 9}\n"},
        "recording: its length is exactly one of"},
    {{.recording = "recording: {format: wav, sample_rate: 1234.5 Hz, cycles: 9}\n"},
        "recording.sample_rate: an audio file has a whole number of samples a second"},
    {{.recording = "recording: {format: wav, cycles: 9}\n"},
        "recording: 'sample_rate: 96 kHz' is missing"},
    {{.recording = "recording: {format: wav, sample_rate: 48 kHz, rows: 100.5}\n"},
        "recording.rows: 100.5 is not a whole number"},
    {{.recording = "recording: {format: wav, sample_rate: 48 kHz, cycles: 9, name: ../x}\n"},
        "recording.name: '../x' is no plain name"},
    {{.recording = "recording: {format: csv, sample_rate: 48 kHz, cycles: 9}\n"},
        "rig.inputs.excitation.full_scale: this is for audio files only"},
    {{.rig = TABLE_RIG}, "rig.inputs.excitation.quantity: an audio file carries voltages"},
    {{.rig = TABLE_RIG,
         .recording = "recording: {format: csv, sample_rate: 1 kHz, cycles: 9, "
                      "header: no, overrun: 0.1}\n"},
        "recording.overrun: this is for a trace only"},
    {{.rig = "rig:\n"
             "  inputs:\n"
             "    excitation: {channel: 2, quantity: current}\n"
             "    pickup: {channel: 4}\n"
             "  winding: {primary_turns: 400, secondary_turns: 100}\n",
         .recording = "recording: {format: csv, sample_rate: 5 kHz, cycles: 9}\n"},
        "rig.inputs.pickup.channel: the table's two columns are 2 and 3"},
    {{.rig = "rig:\n"
             "  inputs:\n"
             "    excitation: {channel: 1, full_scale: 1 V, shunt: 1 ohm}\n"
             "    pickup: {channel: 2, full_scale: 1 V}\n"
             "  winding: {secondary_turns: 100}\n"},
        "rig.winding: 'primary_turns' is missing"},
    {{.rig = "rig:\n"
             "  inputs:\n"
             "    excitation: {channel: 1, full_scale: 1 V}\n"
             "    pickup: {channel: 2, full_scale: 1 V}\n"
             "  winding: {primary_turns: 100, secondary_turns: 100}\n"},
        "rig.inputs.excitation: a voltage becomes a current by exactly one of 'shunt: 0.1 ohm'"},
    {{.specimen =
             "specimen:\n  ring: {outer_diameter: 32 mm, inner_diameter: 40 mm, height: 6 mm}\n"},
        "specimen.ring.inner_diameter: 40 mm is not below the outer diameter of 32 mm"},
    {{.faults = "faults: {noise: {pickup: 20 mA}}\n"}, "faults.noise.pickup: "},
    {{.faults = "faults: {noise: {pickup: -20 mV}}\n"},
        "faults.noise.pickup: '-20 mV' is negative, expected 0 or more"},
    {{.faults = "faults: {hum: {pickup: 20 mV}}\n"}, "faults.hum.frequency: missing"},
    {{.faults = "faults: {missing: {kind: dropped, runs: 3, length: 20000}}\n"},
        "faults.missing: 60003 rows are more than half of the recording's 96720"},
    {{.faults = "faults: {missing: {kind: dropped, runs: 0.5, length: 20}}\n"},
        "faults.missing.runs: '0.5' cannot be, expected 1 to 1e9"},
    {{.source = TRACE_SOURCE, .rig = TRACE_RIG},
        "rig.timing: 'time', 'sample_rate' and 'trace' are "
        "for tables"},
    {{.source = TRACE_SOURCE,
         .rig = TRACE_RIG,
         .recording = "recording: {format: csv, cycles: 1}\n"},
        "recording.cycles: a trace has no time axis; leave it out"},
    {{.source = TRACE_SOURCE,
         .rig = TRACE_RIG,
         .recording = "recording: {format: csv, rows: 1000}\n",
         .faults = "faults: {skew: 2 us}\n"},
        "faults.skew: a trace has no time axis; leave it out"},
};

START_TEST(refuses_a_wrong_ring_and_says_where)
{
    const char *message = ring_text_get_error(&error_list[_i].text);
    ck_assert_msg(strstr(message, error_list[_i].message) != NULL,
        "case %d\nexpected: %s\nfound: %s", _i, error_list[_i].message, message);
}
END_TEST

START_TEST(tells_all_faults_of_a_file_at_once)
{
    const char *message = ring_text_get_error(&(struct ring_text){
        .recording = "recording: {format: wav, sample_rate: 48, cycles: 9, digits: 99}\n",
        .faults = "faults: {nose: {pickup: 1 V}, skew: 2}\n"});
    ck_assert_ptr_nonnull(strstr(message, "recording.sample_rate: "));
    ck_assert_ptr_nonnull(strstr(message, "recording.digits: "));
    ck_assert_ptr_nonnull(strstr(message, "faults.nose: unknown key; did you mean 'noise'?"));
    ck_assert_ptr_nonnull(strstr(message, "faults.skew: "));
}
END_TEST

Suite *ring_suite(void)
{
    Suite *suite = suite_create("ring");
    TCase *tests = tcase_create("ring");
    tcase_add_test(tests, example_is_a_ring_that_works);
    tcase_add_test(tests, terms_of_a_series_stand_on_lines_or_between_semicolons);
    tcase_add_test(tests, length_is_a_duration_or_cycles_or_rows);
    tcase_add_test(tests, harmonics_end_below_half_the_sample_rate);
    tcase_add_test(tests, columns_stand_where_the_rig_expects_them);
    tcase_add_loop_test(
        tests, refuses_a_wrong_ring_and_says_where, 0, sizeof error_list / sizeof error_list[0]);
    tcase_add_test(tests, tells_all_faults_of_a_file_at_once);
    suite_add_tcase(suite, tests);
    return suite;
}
