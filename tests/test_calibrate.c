// SPDX-License-Identifier: GPL-3.0-or-later
/* Values of the bench from recordings of the virtual one, whose truth is known. */
#include "calibrate/full_scale.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "ring_text.h"
#include "scratch.h"
#include "suites.h"
#include "virtual/bench.h"

#define VOLTAGE(terms, frequency)                                                                  \
    "series: {voltage: '" terms "'}\ndrive: {frequency: " frequency "}\n"
#define RECORDING(words)                                                                           \
    "recording: {format: wav, encoding: double, sample_rate: 48 kHz, " words "}\n"
#define RIG(coupling)                                                                              \
    "rig:\n"                                                                                       \
    "  inputs:\n"                                                                                  \
    "    excitation: {channel: 1, full_scale: 1.537 V, shunt: 50.00 mohm}\n"                       \
    "    pickup: {channel: 2, full_scale: 1.561 V}\n" coupling                                     \
    "  winding: {primary_turns: 400, secondary_turns: 100, secondary_area: 30 mm2}\n"

static void make(const struct ring_text *text, const char *folder, uint64_t seed)
{
    struct ring ring = {0};
    struct error err = {0};
    ring_text_read(text, &ring);
    ck_assert_msg(!bench_run(&ring, folder, seed, &err), "%s", err.message);
    ring_clear(&ring);
}

static const struct finding *find(const struct calibration *calibration, const char *label)
{
    for (size_t i = 0; i < calibration->count; i++)
        if (strstr(calibration->list[i].label, label))
            return &calibration->list[i];
    ck_abort_msg("nothing is called '%s'", label);
    return NULL;
}

/* A meter's reading with its expanded uncertainty. */
static struct quantity reading(double value, double half_width)
{
    return (struct quantity){
        .value = value, .half_width = half_width, .is_present = true, .has_uncertainty = true};
}

static struct calibration get_full_scale(const struct full_scale_options *options)
{
    struct calibration calibration = {0};
    struct error err = {0};
    ck_assert_msg(!full_scale_calibrate(options, &calibration, &err), "%s", err.message);
    return calibration;
}

/* Two tones: r.m.s. sqrt((0.7^2 + 0.1^2)/2) V; peak to peak 2 (0.7 + 0.1) V, since a third harmonic
 * of that size and phase raises the peak of a cosine at its very top. */
#define TWO_TONES VOLTAGE("1: 700 mV, 0 deg; 3: 100 mV, 0 deg", "997 Hz")

START_TEST(full_scale_is_the_voltage_over_what_was_recorded)
{
    make(&(struct ring_text){.source = TWO_TONES,
             .recording = RECORDING("kind: tone, cycles: 100.37"),
             .rig = RIG("")},
        "out", 1);
    struct full_scale_level level = {"out/capture.wav", reading(0.5, 1e-3)};
    struct full_scale_options options = {
        .channel = 1, .levels = &level, .count = 1, .key_path = "full_scale"};
    struct calibration calibration = get_full_scale(&options);
    const struct finding *full_scale = find(&calibration, "full scale of channel 1");
    ck_assert_double_eq_tol(full_scale->value, 1.537, 1e-9); /* sqrt(0.25) V */
    ck_assert_double_eq_tol(full_scale->u, 1.537 * 1e-3 / 2 / 0.5, 1e-9);
    ck_assert_str_eq(full_scale->key_path, "full_scale");
    ck_assert_uint_eq(calibration.notes.count, 1); /* 14 % of harmonics */
    ck_assert_str_eq(calibration.notes.list[0].code, "distorted");
    calibration_clear(&calibration);

    options.is_peak_to_peak = true;
    level.voltage = reading(1.6, 1e-3);
    calibration = get_full_scale(&options);
    ck_assert_double_eq_tol(find(&calibration, "full scale")->value, 1.537, 1e-9);
    calibration_clear(&calibration);
}
END_TEST

START_TEST(coupling_of_the_input_is_taken_out)
{
    make(&(struct ring_text){.source = VOLTAGE("1: 500 mV, 20 deg", "20 Hz"),
             .recording = RECORDING("kind: tone, terminated: excitation, cycles: 30.2"),
             .rig = RIG("  coupling: {corner: 3.4 Hz}\n")},
        "out", 1);
    struct full_scale_level level = {"out/capture.wav", reading(0.5 * sqrt(0.5), 1e-5)};
    struct full_scale_options options = {.channel = 2, .levels = &level, .count = 1};
    struct calibration calibration = get_full_scale(&options);
    double loss = 1 / hypot(1, 3.4 / 20);
    ck_assert_double_eq_tol(find(&calibration, "full scale")->value, 1.561 / loss, 1e-8);
    ck_assert_str_eq(calibration.notes.list[0].code, "coupling");
    calibration_clear(&calibration);

    options.corner = reading(3.4, 0.2);
    calibration = get_full_scale(&options);
    const struct finding *full_scale = find(&calibration, "full scale");
    ck_assert_double_eq_tol(full_scale->value, 1.561, 1e-8);
    ck_assert_uint_eq(calibration.notes.count, 0);
    double u_corner = (hypot(1, 3.5 / 20) - hypot(1, 3.3 / 20)) / 2 * loss;
    ck_assert_double_eq_tol(
        full_scale->u / 1.561, hypot(u_corner, 1e-5 / 2 / (0.5 * sqrt(0.5))), 1e-6);
    calibration_clear(&calibration);
}
END_TEST

/* Two readings that are off by a known amount: weights 1/0.5^2 and 1/0.25^2, that is 1 to 4. */
START_TEST(levels_are_weighed_and_one_meter_errs_at_all_of_them)
{
    make(&(struct ring_text){.source = VOLTAGE("1: 1 V, 0 deg", "997 Hz"),
             .recording = RECORDING("kind: tone, name: high, cycles: 300.5"),
             .rig = RIG("")},
        "out", 1);
    make(&(struct ring_text){.source = VOLTAGE("1: 100 mV, 0 deg", "997 Hz"),
             .recording = RECORDING("kind: tone, name: low, cycles: 300.5"),
             .rig = RIG("")},
        "out", 1);
    const double rms = sqrt(0.5), off[2] = {2e-3, -3e-3};
    struct full_scale_level levels[2] = {
        {"out/low.wav", reading(0.1 * rms * (1 + off[0]), 0.1 * rms * (1 + off[0]) * 1e-2)},
        {"out/high.wav", reading(rms * (1 + off[1]), rms * (1 + off[1]) * 0.5e-2)}};
    struct full_scale_options options = {.channel = 1, .levels = levels, .count = 2};
    struct calibration calibration = get_full_scale(&options);
    const double w[2] = {1 / pow(1 + off[0], 2), 4 / pow(1 + off[1], 2)}, sum = w[0] + w[1];
    const double mean = (w[0] * off[0] + w[1] * off[1]) / sum;
    const double meter = (w[0] * 0.5e-2 * (1 + off[0]) + w[1] * 0.25e-2 * (1 + off[1])) / sum;
    const double scatter =
        sqrt((w[0] * pow(off[0] - mean, 2) + w[1] * pow(off[1] - mean, 2)) / sum);
    const struct finding *full_scale = find(&calibration, "full scale");
    ck_assert_double_eq_tol(full_scale->value, 1.537 * (1 + mean), 1e-8);
    ck_assert_double_eq_tol(full_scale->u, 1.537 * hypot(meter, scatter), 1e-8);
    ck_assert_double_eq_tol(
        find(&calibration, "linearity")->value, (1 + off[0]) / (1 + mean) - 1, 1e-8);
    ck_assert_uint_eq(calibration.notes.count, 0);
    calibration_clear(&calibration);

    levels[0].voltage.half_width = 0.1 * rms * 1e-3; /* now 0.2 % are five times what it may be */
    levels[1].voltage.half_width = rms * 1e-3;
    calibration = get_full_scale(&options);
    ck_assert_uint_eq(calibration.notes.count, 1);
    ck_assert_str_eq(calibration.notes.list[0].code, "linearity");
    calibration_clear(&calibration);
}
END_TEST

/* With a meter that is nearly perfect the noise is left: (value - truth)/u is standard normal. The
 * sum of 60 squares lies within 30.3 and 102.7 but once in 1000 times (chi-square, 60 degrees). */
START_TEST(noise_is_told_at_its_size)
{
    double sum = 0.0;
    for (uint64_t seed = 1; seed <= 60; seed++) {
        make(&(struct ring_text){.source = VOLTAGE("1: 300 mV, 0 deg", "997 Hz"),
                 .recording = RECORDING("kind: tone, rows: 4096"),
                 .rig = RIG(""),
                 .faults = "faults: {noise: {excitation: 1 mV}}\n"},
            "out", seed);
        struct full_scale_level level = {"out/capture.wav", reading(0.3 * sqrt(0.5), 1e-9)};
        struct full_scale_options options = {.channel = 1, .levels = &level, .count = 1};
        struct calibration calibration = get_full_scale(&options);
        const struct finding *full_scale = find(&calibration, "full scale");
        sum += pow((full_scale->value - 1.537) / full_scale->u, 2);
        double floor = find(&calibration, "noise floor")->value;
        ck_assert_double_eq_tol(floor, 20 * log10(1e-3 / 1.537), 0.5);
        calibration_clear(&calibration);
    }
    ck_assert_double_gt(sum, 30.3 * 0.7); /* u is the larger of two estimates: on the safe side */
    ck_assert_double_lt(sum, 102.7);
}
END_TEST

static const struct {
    const char *faults;
    size_t channel;
    enum status status;
    const char *message;
} refusal_list[] = {
    {"faults: {clipping: {excitation: 1.6 V}}\n", 1, STATUS_CAPTURE,
        "'capture.wav' reaches digital full scale"},
    {"faults: {noise: {pickup: 1 mV}}\n", 2, STATUS_CAPTURE, "'capture.wav' cannot calibrate: "},
    {"", 3, STATUS_INPUT, "has no channel 3"},
};

START_TEST(refuses_what_cannot_calibrate)
{
    make(
        &(struct ring_text){.source = VOLTAGE("1: 1.9 V, 0 deg", "997 Hz"),
            .recording =
                "recording: {format: wav, sample_rate: 48 kHz, kind: tone, cycles: 300.5}\n",
            .rig = "rig:\n"
                   "  inputs:\n"
                   "    excitation: {channel: 1, full_scale: 1.6 V, shunt: 50.00 mohm}\n"
                   "    pickup: {channel: 2, full_scale: 1.561 V}\n"
                   "  winding: {primary_turns: 400, secondary_turns: 100}\n",
            .faults = _i == 2   ? "faults: {clipping: {excitation: 1.5 V}}\n"
                      : _i == 1 ? "faults: {clipping: {excitation: 1.5 V}, noise: {pickup: 1 mV}}\n"
                                : refusal_list[_i].faults},
        "out", 1);
    struct full_scale_level level = {"out/capture.wav", reading(1.3, 1e-3)};
    struct full_scale_options options = {
        .channel = refusal_list[_i].channel, .levels = &level, .count = 1};
    struct calibration calibration = {0};
    struct error err = {0};
    ck_assert_int_eq(full_scale_calibrate(&options, &calibration, &err), refusal_list[_i].status);
    ck_assert_msg(strstr(err.message, refusal_list[_i].message), "%s", err.message);
    ck_assert_uint_eq(calibration.count, 0);
}
END_TEST

/* U to two digits, the value to match. */
static const struct {
    enum finding_unit unit;
    double value, u;
    const char *words;
} words_list[] = {
    {FINDING_VOLT, 1.53704, 0.00268, "1.5370 V ± 0.0054 V"},
    {FINDING_SECOND, 2.1013e-6, 4e-10, "2.10130 µs ± 0.00080 µs"},
    {FINDING_SECOND, -2.1013e-6, 2e-7, "-2.10 µs ± 0.40 µs"},
    {FINDING_SQUARE_MILLIMETRE, 30.123e-6, 5e-8, "30.12 mm2 ± 0.10 mm2"},
    {FINDING_OHM, 0.0500041, 2.5e-6, "50.0041 mohm ± 0.0050 mohm"},
    {FINDING_HERTZ, 3.4, 0, "3.400 Hz"},
    {FINDING_PERCENT, 1.234e-3, 0, "0.1234 %"},
};

START_TEST(findings_are_written_as_the_rig_takes_them)
{
    struct text out = {0};
    finding_add_value(&out,
        &(struct finding){
            .unit = words_list[_i].unit, .value = words_list[_i].value, .u = words_list[_i].u});
    ck_assert_str_eq(out.bytes, words_list[_i].words);
    text_clear(&out);
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof *(list)))

Suite *calibrate_suite(void)
{
    Suite *suite = suite_create("calibrate");
    TCase *tests = tcase_create("calibrate");
    tcase_set_timeout(tests, 120); /* the sanitizers are slow */
    tcase_add_checked_fixture(tests, scratch_enter, scratch_leave);
    tcase_add_test(tests, full_scale_is_the_voltage_over_what_was_recorded);
    tcase_add_test(tests, coupling_of_the_input_is_taken_out);
    tcase_add_test(tests, levels_are_weighed_and_one_meter_errs_at_all_of_them);
    tcase_add_test(tests, noise_is_told_at_its_size);
    tcase_add_loop_test(tests, refuses_what_cannot_calibrate, 0, COUNT(refusal_list));
    tcase_add_loop_test(tests, findings_are_written_as_the_rig_takes_them, 0, COUNT(words_list));
    suite_add_tcase(suite, tests);
    return suite;
}
