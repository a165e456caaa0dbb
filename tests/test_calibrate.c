// SPDX-License-Identifier: GPL-3.0-or-later
/* Values of the bench from recordings of the virtual one, whose truth is known. */
#include "calibrate/coil.h"
#include "calibrate/full_scale.h"
#include "calibrate/loopback.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "cli/calibrate.h"
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

/* ---- loopback ---- */

/* Twelve tones of one size from 20 Hz to 18 kHz; phases chosen for a low crest. */
#define TONES                                                                                      \
    VOLTAGE("1: 100 mV, 0 deg; 2: 100 mV, 71 deg; 3: 100 mV, 133 deg; 5: 100 mV, 20 deg; "         \
            "9: 100 mV, 200 deg; 17: 100 mV, 300 deg; 33: 100 mV, 111 deg; 65: 100 mV, 333 deg; "  \
            "129: 100 mV, 17 deg; 257: 100 mV, 220 deg; 513: 100 mV, 92 deg; 900: 100 mV, 55 deg", \
        "20 Hz")
#define TWO_INPUTS(corners, delay)                                                                 \
    "rig:\n"                                                                                       \
    "  inputs:\n"                                                                                  \
    "    excitation: {channel: 1, full_scale: 1.537 V, shunt: 50.00 mohm" corners "\n"             \
    "  timing: {pickup_delay: " delay "}\n"                                                        \
    "  winding: {primary_turns: 400, secondary_turns: 100}\n"
#define CORNERS(excitation, pickup)                                                                \
    ", corner: " excitation "}\n    pickup: {channel: 2, full_scale: 1.561 V, corner: " pickup "}"
#define DC "}\n    pickup: {channel: 2, full_scale: 1.561 V}"

/* A rig that knows its channels only. */
static struct rig get_channels(void)
{
    static char one[] = "1", two[] = "2";
    return (struct rig){.excitation = {.channel = one}, .pickup = {.channel = two}};
}

static struct calibration get_loopback(const struct loopback_options *options)
{
    struct calibration calibration = {0};
    struct error err = {0};
    ck_assert_msg(!loopback_calibrate(options, &calibration, &err), "%s", err.message);
    ck_assert_str_eq(err.message, "");
    return calibration;
}

static bool has_note(const struct calibration *calibration, const char *code)
{
    return notes_has(&calibration->notes, code);
}

static const struct {
    const char *rig;
    double delay_s;
    double corners_Hz[2];
} loopback_list[] = {
    {TWO_INPUTS(CORNERS("3.4 Hz", "3.1 Hz"), "2.1 us"), 2.1e-6, {3.4, 3.1}},
    {TWO_INPUTS(CORNERS("0.5 Hz", "5 Hz"), "-31.7 us"), -31.7e-6, {0.5, 5.0}},
};

START_TEST(two_inputs_are_compared_without_knowing_the_signal)
{
    make(&(struct ring_text){.source = TONES,
             .recording = RECORDING("kind: loopback, duration: 2.0137 s"),
             .rig = loopback_list[_i].rig},
        "out", 1);
    const struct rig rig = get_channels();
    struct loopback_options options = {
        .capture = "out/capture.wav", .rig = &rig, .frequency_Hz = 20};
    const double *corners = loopback_list[_i].corners_Hz;
    for (int is_flat = 0; is_flat < 2; is_flat++) {
        options.is_flat = is_flat;
        struct calibration calibration = get_loopback(&options);
        ck_assert_double_eq_tol(find(&calibration, "gain")->value, 1.537 / 1.561, 2e-8);
        ck_assert_double_eq_tol(
            find(&calibration, "pickup delay")->value, loopback_list[_i].delay_s, 1e-11);
        ck_assert_double_eq_tol(
            find(&calibration, "corner of the excitation")->value, corners[0], 1e-3);
        ck_assert_double_eq_tol(
            find(&calibration, "corner of the pickup")->value, corners[1], 1e-3);
        ck_assert(!has_note(&calibration, "unidentified"));
        calibration_clear(&calibration);
    }
}
END_TEST

START_TEST(equal_corners_cancel_and_the_note_says_so)
{
    make(&(struct ring_text){.source = TONES,
             .recording = RECORDING("kind: loopback, duration: 2.0137 s"),
             .rig = TWO_INPUTS(CORNERS("3.4 Hz", "3.4 Hz"), "2.1 us"),
             .faults = "faults: {noise: {excitation: 20 uV, pickup: 20 uV}}\n"},
        "out", 1);
    struct rig rig = get_channels();
    struct loopback_options options = {
        .capture = "out/capture.wav", .rig = &rig, .frequency_Hz = 20};
    struct calibration calibration = get_loopback(&options);
    const struct finding *difference = find(&calibration, "corner: pickup above excitation");
    ck_assert_double_eq_tol(difference->value, 0, 4 * difference->u);
    ck_assert_double_lt(difference->u, 1e-3);
    ck_assert(has_note(&calibration, "unidentified"));
    ck_assert_str_eq(find(&calibration, "pickup delay")->key_path, "timing.pickup_delay");
    for (size_t i = 0; i < calibration.count; i++)
        ck_assert(!calibration.list[i].key_path || !strstr(calibration.list[i].key_path, "corner"));
    calibration_clear(&calibration);
}
END_TEST

START_TEST(known_values_of_the_excitation_carry_over_to_the_pickup)
{
    make(&(struct ring_text){.source = TONES,
             .recording = RECORDING("kind: loopback, duration: 2.0137 s"),
             .rig = TWO_INPUTS(CORNERS("3.4 Hz", "2.9 Hz"), "2.1 us")},
        "out", 1);
    struct rig rig = get_channels();
    rig.excitation.full_scale = reading(1.537, 0.004);
    rig.excitation.corner = reading(3.4, 0.1);
    rig.pickup.full_scale = reading(1.6, 0.01);
    struct loopback_options options = {
        .capture = "out/capture.wav", .rig = &rig, .frequency_Hz = 20};
    struct calibration calibration = get_loopback(&options);
    const struct finding *full_scale = find(&calibration, "full scale of the pickup");
    ck_assert_double_eq_tol(full_scale->value, 1.561, 1e-7);
    ck_assert_double_eq_tol(full_scale->u, 0.002 * 1.561 / 1.537, 1e-6);
    ck_assert_str_eq(full_scale->key_path, "inputs.pickup.full_scale");
    const struct finding *corner = find(&calibration, "corner of the pickup");
    ck_assert_double_eq_tol(corner->value, 2.9, 1e-5);
    ck_assert_double_eq_tol(corner->u, 0.05, 2e-3); /* that of the excitation, nearly */
    ck_assert_str_eq(corner->key_path, "inputs.pickup.corner");
    ck_assert(has_note(&calibration, "disagrees")); /* 1.6 V against 1.561 V */
    calibration_clear(&calibration);
}
END_TEST

START_TEST(one_tone_tells_the_delay_only)
{
    make(&(struct ring_text){.source = VOLTAGE("1: 500 mV, 20 deg", "997 Hz"),
             .recording = RECORDING("kind: loopback, cycles: 500.3"),
             .rig = TWO_INPUTS(DC, "7.3 us"),
             .faults = "faults: {reversed: {pickup: yes}}\n"},
        "out", 1);
    const struct rig rig = get_channels();
    struct calibration calibration =
        get_loopback(&(struct loopback_options){.capture = "out/capture.wav", .rig = &rig});
    ck_assert_double_eq_tol(find(&calibration, "pickup delay")->value, 7.3e-6, 1e-13);
    ck_assert_double_eq_tol(find(&calibration, "in samples")->value, 7.3e-6 * 48000, 1e-8);
    ck_assert_double_eq_tol(find(&calibration, "gain")->value, -1.537 / 1.561, 1e-9);
    ck_assert(has_note(&calibration, "unidentified"));
    ck_assert(has_note(&calibration, "reversed"));
    calibration_clear(&calibration);
}
END_TEST

/* (value - truth)/u over 40 recordings, as above: 40 squares lie within 17.9 and 73.4 but once in
 * 1000 times (chi-square, 40 degrees); u is the larger of two estimates. */
START_TEST(noise_of_a_loopback_is_told_at_its_size)
{
    double gain = 0.0, delay = 0.0, corner = 0.0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        make(
            &(struct ring_text){.source = VOLTAGE("1: 100 mV, 0 deg; 2: 100 mV, 71 deg; 4: 100 mV, "
                                                  "20 deg; 9: 100 mV, 200 deg",
                                    "100 Hz"),
                .recording = RECORDING("kind: loopback, rows: 9600"),
                .rig = TWO_INPUTS(CORNERS("3.4 Hz", "4.4 Hz"), "2.1 us"),
                .faults = "faults: {noise: {excitation: 200 uV, pickup: 100 uV}}\n"},
            "out", seed);
        struct rig rig = get_channels();
        rig.excitation.corner = reading(3.4, 0);
        struct calibration calibration = get_loopback(&(struct loopback_options){
            .capture = "out/capture.wav", .rig = &rig, .frequency_Hz = 100});
        const struct finding *finding = find(&calibration, "gain");
        gain += pow((finding->value - 1.537 / 1.561) / finding->u, 2);
        finding = find(&calibration, "pickup delay");
        delay += pow((finding->value - 2.1e-6) / finding->u, 2);
        finding = find(&calibration, "corner: pickup above");
        corner += pow((finding->value - 1.0) / finding->u, 2);
        ck_assert(!has_note(&calibration, "delay-varies"));
        calibration_clear(&calibration);
    }
    const double sums[] = {gain, delay, corner};
    for (int i = 0; i < 3; i++)
        ck_assert_msg(sums[i] > 0.6 * 17.9 && sums[i] < 73.4, "%d: %g", i, sums[i]);
}
END_TEST

/* A second corner at one input, which no delay and no single corner explains. */
START_TEST(delay_that_varies_with_frequency_is_told)
{
    make(&(struct ring_text){.source = TONES,
             .recording = RECORDING("kind: loopback, duration: 2.0137 s"),
             .rig = TWO_INPUTS(CORNERS("3 Hz", "3 Hz"), "2.1 us"),
             .faults = "faults: {coupling: {pickup: 9 Hz}, noise: {excitation: 20 uV, pickup: 20 "
                       "uV}}\n"},
        "out", 1);
    struct rig rig = get_channels();
    rig.excitation.corner = reading(3, 0);
    struct calibration calibration = get_loopback(
        &(struct loopback_options){.capture = "out/capture.wav", .rig = &rig, .frequency_Hz = 20});
    ck_assert(has_note(&calibration, "delay-varies"));
    calibration_clear(&calibration);
}
END_TEST

START_TEST(crosstalk_is_found_or_limited)
{
    static const char *const faults[] = {
        "faults: {noise: {excitation: 20 uV, pickup: 20 uV}, crosstalk: {pickup: 0.1 %}}\n",
        "faults: {noise: {excitation: 20 uV, pickup: 20 uV}}\n"};
    const struct rig rig = get_channels();
    make(&(struct ring_text){.source = TONES,
             .recording = RECORDING("kind: loopback, duration: 2.0137 s"),
             .rig = TWO_INPUTS(DC, "2.1 us")},
        "both", 1);
    for (int i = 0; i < 2; i++) {
        make(&(struct ring_text){.source = TONES,
                 .recording = RECORDING("kind: tone, duration: 2.0137 s"),
                 .rig = TWO_INPUTS(DC, "2.1 us"),
                 .faults = faults[i]},
            "one", 1);
        struct loopback_options options = {.capture = "both/capture.wav",
            .crosstalk = "one/capture.wav",
            .rig = &rig,
            .frequency_Hz = 20};
        struct calibration calibration = get_loopback(&options);
        const struct finding *crosstalk =
            find(&calibration, "crosstalk from excitation into pickup");
        ck_assert_int_eq(crosstalk->is_limit, i);
        if (i == 0) {
            ck_assert_double_eq_tol(crosstalk->value, -60, 4 * crosstalk->u);
            ck_assert_double_lt(crosstalk->u, 0.1);
            const struct finding *gain = find(&calibration, "gain"); /* may be off by the leak */
            ck_assert_double_eq_tol(gain->u, 1e-3 / sqrt(3) * 1.537 / 1.561, 2e-5);
        } else {
            ck_assert_double_lt(crosstalk->value, -95);
        }
        calibration_clear(&calibration);
    }
}
END_TEST

START_TEST(refuses_noise_that_never_repeats)
{
    make(&(struct ring_text){.source = VOLTAGE("1: 1 uV, 0 deg", "997 Hz"),
             .recording = RECORDING("kind: loopback, rows: 48000"),
             .rig = TWO_INPUTS(DC, "0 us"),
             .faults = "faults: {noise: {excitation: 100 mV, pickup: 100 mV}}\n"},
        "out", 1);
    const struct rig rig = get_channels();
    struct calibration calibration = {0};
    struct error err = {0};
    ck_assert_int_eq(
        loopback_calibrate(&(struct loopback_options){.capture = "out/capture.wav", .rig = &rig},
            &calibration, &err),
        STATUS_CAPTURE);
    ck_assert_ptr_nonnull(strstr(err.message, "'capture.wav' cannot calibrate"));
    ck_assert_ptr_nonnull(strstr(err.hint, "noise that repeats"));
}
END_TEST

/* ---- empty coil ---- */

#define COIL_SOURCE                                                                                \
    "series: {field: '1: 3 kA/m, 0 deg; 3: 200 A/m, 40 deg'}\ndrive: {frequency: 397 Hz}\n"
#define COIL_RIG                                                                                   \
    "rig:\n"                                                                                       \
    "  inputs:\n"                                                                                  \
    "    excitation: {channel: 1, full_scale: 1.537 V ± 0.006 V, shunt: 100 mohm ± 0.1 %}\n"     \
    "    pickup: {channel: 2, full_scale: 1.561 V ± 0.003 V, corner: 1.7 Hz}\n"                   \
    "  timing: {pickup_delay: 2.1 us ± 0.1 us}\n"                                                 \
    "  coupling: {corner: 3.4 Hz}\n"                                                               \
    "  winding: {primary_turns: 400, secondary_turns: 100 ± 0.4, secondary_area: 31.7 mm2}\n"

static const char *const coil_specimen =
    "specimen:\n"
    "  ring: {outer_diameter: 40 mm ± 0.2 mm, inner_diameter: 32 mm ± 0.1 mm, height: 6 mm, "
    "density: 8100 kg/m3}\n";

/* Calibrates with the rig and the specimen beside the recording, but for the area. */
static enum status get_coil(struct calibration *calibration, double *section_m2, struct error *err)
{
    struct rig rig = {0};
    struct specimen specimen = {0};
    ck_assert(!rig_read("out/rig.yaml", &rig, NULL));
    ck_assert(!specimen_read("out/specimen.yaml", &specimen, NULL));
    rig.winding.secondary_area = (struct quantity){0};
    if (section_m2)
        *section_m2 = specimen.area_m2;
    struct coil_options options = {
        .capture = "out/capture.wav", .rig = &rig, .specimen = &specimen};
    enum status status = coil_calibrate(&options, calibration, err);
    rig_clear(&rig);
    specimen_clear(&specimen);
    return status;
}

START_TEST(empty_coil_tells_the_area_of_its_turns)
{
    make(&(struct ring_text){.source = COIL_SOURCE,
             .recording = RECORDING("kind: empty coil, duration: 1.0137 s"),
             .rig = COIL_RIG,
             .specimen = coil_specimen},
        "out", 1);
    struct calibration calibration = {0};
    struct error err = {0};
    ck_assert_msg(!get_coil(&calibration, NULL, &err), "%s", err.message);
    const struct finding *product = find(&calibration, "N2 A2");
    const struct finding *area = find(&calibration, "area of the pickup turns");
    ck_assert_double_eq_tol(product->value, 3170e-6, 1e-12);
    ck_assert_double_eq_tol(area->value, 31.7e-6, 1e-14);
    ck_assert_str_eq(area->key_path, "winding.secondary_area");
    /* A2 = lambda l / (N2 mu0 N1 i): full scales, shunt, diameters; the turns in the area alone */
    const double u_path = 0.5 * hypot(0.2, 0.1) / 72;
    const double relative = hypot(hypot(0.003 / 1.537, 0.0015 / 1.561), hypot(0.5e-3, u_path));
    ck_assert_double_eq_tol(product->u / product->value, relative, 1e-3 * relative);
    ck_assert_double_eq_tol(area->u / area->value, hypot(relative, 0.2 / 100), 1e-3 * relative);
    ck_assert_uint_eq(calibration.notes.count, 0);
    calibration_clear(&calibration);
}
END_TEST

/* 40 squares as above; all but the noise is exact here. */
START_TEST(noise_of_an_empty_coil_is_told_at_its_size)
{
    double sum = 0.0;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        make(&(struct ring_text){.source = COIL_SOURCE,
                 .recording = RECORDING("kind: empty coil, rows: 9600"),
                 .faults = "faults: {noise: {excitation: 100 uV, pickup: 1 mV}}\n"},
            "out", seed);
        struct calibration calibration = {0};
        ck_assert(!get_coil(&calibration, NULL, NULL));
        const struct finding *area = find(&calibration, "area of the pickup turns");
        sum += pow((area->value - 30e-6) / area->u, 2);
        calibration_clear(&calibration);
    }
    ck_assert_msg(sum > 0.6 * 17.9 && sum < 73.4, "%g", sum);
}
END_TEST

START_TEST(empty_coil_sees_steel_and_a_wrong_delay)
{
    struct calibration calibration = {0};
    double section;
    make(&(struct ring_text){.source = "model: {tanh: {saturation: 1.30 T, shift: 19.2 kA/m, "
                                       "width: 19.8 kA/m}}\n"
                                       "drive: {frequency: 20 Hz, field_peak: 30 kA/m}\n",
             .rig = COIL_RIG},
        "out", 1); /* the ring is still in it */
    ck_assert(!get_coil(&calibration, &section, NULL));
    ck_assert_str_eq(calibration.notes.list[0].code, "steel");
    ck_assert_double_gt(find(&calibration, "area of the pickup turns")->value, 10 * section);
    calibration_clear(&calibration);

    make(&(struct ring_text){.source = COIL_SOURCE,
             .recording = RECORDING("kind: empty coil, duration: 1.0137 s"),
             .rig = COIL_RIG,
             .faults = "faults: {skew: 20 us}\n"},
        "out", 1);
    ck_assert(!get_coil(&calibration, NULL, NULL));
    ck_assert_uint_eq(calibration.notes.count, 1);
    ck_assert_str_eq(calibration.notes.list[0].code, "delay");
    ck_assert_ptr_nonnull(strstr(calibration.notes.list[0].message, "a delay of 20 us"));
    calibration_clear(&calibration);
}
END_TEST

START_TEST(refuses_a_coil_that_runs_against_the_field)
{
    struct calibration calibration = {0};
    struct error err = {0};
    make(&(struct ring_text){.source = COIL_SOURCE,
             .recording = RECORDING("kind: empty coil, rows: 9600"),
             .faults = "faults: {reversed: {pickup: yes}}\n"},
        "out", 1);
    ck_assert_int_eq(get_coil(&calibration, NULL, &err), STATUS_CAPTURE);
    ck_assert_str_eq(err.message,
        "'capture.wav' cannot calibrate: the flux of the empty coil runs against the field");
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

/* A capture that hardly tells the shunt: the reader of rig.yaml would refuse what it gives. */
START_TEST(value_that_no_rig_can_have_is_not_written_and_the_capture_is_to_blame)
{
    static const char rig[] = "inputs:\n"
                              "  excitation: {channel: 1, full_scale: 1.55 V, shunt: 50 mohm}\n"
                              "  pickup: {channel: 2, full_scale: 1.55 V}\n";
    const struct calibrate_command options = {.rig = "rig.yaml"};
    const struct calibration calibration = {.count = 1,
        .list[0] = {.key_path = "inputs.excitation.shunt",
            .unit = FINDING_OHM,
            .value = 0.016,
            .u = 0.0395}};
    struct text out = {0};
    struct error err = {0};
    char *after = NULL;
    size_t length = 0;
    ck_assert(!file_write("rig.yaml", rig, sizeof rig - 1, &err));
    ck_assert_int_eq(calibrate_write(options.rig, &calibration, &options, "'m0.wav'", &out, &err),
        STATUS_CAPTURE);
    ck_assert_str_eq(err.message,
        "'m0.wav': what was found is no value to write: rig.yaml:2:55: inputs.excitation.shunt: "
        "'16 mohm ± 79 mohm' has a half-width as large as its value; check the unit behind the ±");
    ck_assert_int_eq(out.length, 0);
    ck_assert(!file_read("rig.yaml", 1000, &after, &length, &err));
    ck_assert_uint_eq(length, sizeof rig - 1);
    ck_assert_mem_eq(after, rig, length);
    memory_destroy(after);
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
    tcase_add_loop_test(
        tests, two_inputs_are_compared_without_knowing_the_signal, 0, COUNT(loopback_list));
    tcase_add_test(tests, equal_corners_cancel_and_the_note_says_so);
    tcase_add_test(tests, known_values_of_the_excitation_carry_over_to_the_pickup);
    tcase_add_test(tests, one_tone_tells_the_delay_only);
    tcase_add_test(tests, noise_of_a_loopback_is_told_at_its_size);
    tcase_add_test(tests, delay_that_varies_with_frequency_is_told);
    tcase_add_test(tests, crosstalk_is_found_or_limited);
    tcase_add_test(tests, refuses_noise_that_never_repeats);
    tcase_add_test(tests, empty_coil_tells_the_area_of_its_turns);
    tcase_add_test(tests, noise_of_an_empty_coil_is_told_at_its_size);
    tcase_add_test(tests, empty_coil_sees_steel_and_a_wrong_delay);
    tcase_add_test(tests, refuses_a_coil_that_runs_against_the_field);
    tcase_add_test(tests, value_that_no_rig_can_have_is_not_written_and_the_capture_is_to_blame);
    suite_add_tcase(suite, tests);
    return suite;
}
