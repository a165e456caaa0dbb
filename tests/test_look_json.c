// SPDX-License-Identifier: GPL-3.0-or-later
/* Each member of a look's JSON holds its own number: a struct filled by hand, no number twice. */
#include <math.h>

#include "base/version.h"
#include "loop/look.h"
#include "suites.h"

static struct look look;
static struct look_channel channels[2];

static void set_up(void)
{
    channels[0] = (struct look_channel){.name = "u1",
        .column = 2,
        .dimension = DIMENSION_VOLTAGE,
        .has_unit = true,
        .samples = 990,
        .missing = 10,
        .minimum = -0.5,
        .maximum = 0.25,
        .offset = 0.125,
        .rms = 0.375,
        .crest_factor = 1.5,
        .extreme_run = 3,
        .is_clipped = true,
        .is_periodic = true,
        .fit_share = 0.75,
        .frequency_Hz = 50,
        .u_frequency_Hz = 0.001,
        .cycles = 60,
        .harmonics = 3,
        .fundamental = 0.4375,
        .phase_deg = 30,
        .harmonic = {0, 0, 0.01, 0.02, 0.03},
        .harmonic_floor = 0.005,
        .distortion = 0.04,
        .noise_rms = 0.0005,
        .signal_to_noise_dB = 70};
    channels[1] = (struct look_channel){.name = "u2",
        .column = 5,
        .samples = 7,
        .reason = "silent",
        .minimum = NAN,
        .maximum = NAN,
        .offset = NAN,
        .rms = 0,
        .crest_factor = NAN};
    look = (struct look){.file = "a.csv",
        .format = "commas",
        .sha256 = "0123",
        .kind = CAPTURE_TABLE,
        .timing = CAPTURE_TIMING_ROWS,
        .frames = 1000,
        .frames_expected = -1,
        .missing = 11,
        .missing_lines = {12, 13},
        .missing_line_count = 2,
        .sample_rate_Hz = 8000,
        .start_s = 0.0625,
        .length_s = 1.25,
        .has_sampling = true,
        .sampling = {.is_even = true, .jitter_rms_s = 1e-6, .gap_count = 4},
        .channels = channels,
        .channel_count = 2,
        .pair = {.is_found = true,
            .excitation = 0,
            .pickup = 1,
            .has_lead = true,
            .lead_deg = 65,
            .is_reversed = true,
            .reason = "by units"}};
}

static void check_look(const char *expected)
{
    struct text out = {0};
    ck_assert(!look_write_json(&look, 0, &out, NULL));
    ck_assert_str_eq(out.bytes, expected);
    text_clear(&out);
}

START_TEST(a_table_is_told_whole)
{
    check_look(
        "{\"schema\": \"lodecard-look/1\", \"version\": \"" LODECARD_VERSION "\", "
        "\"capture\": {\"file\": \"a.csv\", \"sha256\": \"0123\", \"kind\": \"table\", "
        "\"format\": \"commas\", \"channels\": 2, \"frames\": 1000, \"missing\": 11, "
        "\"missing_lines\": [12, 13], \"timing\": \"rows\", \"sample_rate_Hz\": 8000, "
        "\"start_s\": 0.0625, \"length_s\": 1.25, \"is_even\": true, "
        "\"jitter_rms_s\": 1e-06, \"gaps\": 4}, \"channels\": [{\"channel\": 2, "
        "\"name\": \"u1\", \"unit\": \"V\", \"samples\": 990, \"missing\": 10, "
        "\"minimum\": -0.5, \"maximum\": 0.25, \"offset\": 0.125, \"rms\": 0.375, "
        "\"crest_factor\": 1.5, \"is_clipped\": true, \"extreme_run\": 3, "
        "\"is_periodic\": true, \"frequency_Hz\": 50, \"u_frequency_Hz\": 0.001, "
        "\"cycles\": 60, \"harmonics\": 3, \"fundamental\": 0.4375, \"phase_deg\": 30, "
        "\"harmonic_shares\": [0.01, 0.02], \"harmonic_floor\": 0.005, "
        "\"total_harmonic_distortion\": 0.04, \"noise_rms\": 0.0005, "
        "\"signal_to_noise_dB\": 70, \"fitted_share\": 0.75}, {\"channel\": 5, "
        "\"name\": \"u2\", \"unit\": \"\", \"samples\": 7, \"missing\": 0, \"minimum\": null, "
        "\"maximum\": null, \"offset\": null, \"rms\": 0, \"crest_factor\": null, "
        "\"is_clipped\": false, \"extreme_run\": 0, \"is_periodic\": false, "
        "\"reason\": \"silent\"}], \"pair\": {\"is_found\": true, \"excitation\": 2, "
        "\"pickup\": 5, \"is_reversed\": true, \"lead_deg\": 65, "
        "\"reason\": \"by units\"}, \"notes\": []}\n");
}
END_TEST

START_TEST(a_recording_is_told_whole)
{
    look.kind = CAPTURE_AUDIO;
    look.timing = CAPTURE_TIMING_RATE;
    look.bits = 24;
    look.frames_expected = 1001;
    look.missing_line_count = 0;
    look.has_sampling = false;
    look.pair.is_found = look.pair.has_lead = false;
    look.channel_count = 1;
    channels[0].fit_share = 1;
    channels[0].has_unit = false;
    check_look("{\"schema\": \"lodecard-look/1\", \"version\": \"" LODECARD_VERSION "\", "
               "\"capture\": {\"file\": \"a.csv\", \"sha256\": \"0123\", \"kind\": \"audio\", "
               "\"format\": \"commas\", \"channels\": 1, \"frames\": 1000, "
               "\"frames_expected\": 1001, \"missing\": 11, \"timing\": \"rate\", "
               "\"sample_rate_Hz\": 8000, \"bits\": 24, \"start_s\": 0.0625, "
               "\"length_s\": 1.25}, \"channels\": [{\"channel\": 2, \"name\": \"u1\", "
               "\"unit\": \"\", \"samples\": 990, \"missing\": 10, \"minimum\": -0.5, "
               "\"maximum\": 0.25, \"offset\": 0.125, \"rms\": 0.375, \"crest_factor\": 1.5, "
               "\"level_dBFS\": -6.020599913279624, \"is_clipped\": true, \"extreme_run\": 3, "
               "\"is_periodic\": true, \"frequency_Hz\": 50, \"u_frequency_Hz\": 0.001, "
               "\"cycles\": 60, \"harmonics\": 3, \"fundamental\": 0.4375, \"phase_deg\": 30, "
               "\"harmonic_shares\": [0.01, 0.02], \"harmonic_floor\": 0.005, "
               "\"total_harmonic_distortion\": 0.04, \"noise_rms\": 0.0005, "
               "\"signal_to_noise_dB\": 70}], \"pair\": {\"is_found\": false, "
               "\"reason\": \"by units\"}, \"notes\": []}\n");
}
END_TEST

START_TEST(a_table_without_time_tells_none)
{
    look.timing = CAPTURE_TIMING_NONE;
    look.sample_rate_Hz = 0;
    look.has_sampling = false;
    look.channel_count = 0;
    look.pair.is_found = look.pair.has_lead = false;
    check_look("{\"schema\": \"lodecard-look/1\", \"version\": \"" LODECARD_VERSION "\", "
               "\"capture\": {\"file\": \"a.csv\", \"sha256\": \"0123\", \"kind\": \"table\", "
               "\"format\": \"commas\", \"channels\": 0, \"frames\": 1000, \"missing\": 11, "
               "\"missing_lines\": [12, 13], \"timing\": \"none\"}, \"channels\": [], "
               "\"pair\": {\"is_found\": false, \"reason\": \"by units\"}, \"notes\": []}\n");
}
END_TEST

Suite *look_json_suite(void)
{
    Suite *suite = suite_create("look_json");
    TCase *tests = tcase_create("look_json");
    tcase_add_checked_fixture(tests, set_up, NULL);
    tcase_add_test(tests, a_table_is_told_whole);
    tcase_add_test(tests, a_recording_is_told_whole);
    tcase_add_test(tests, a_table_without_time_tells_none);
    suite_add_tcase(suite, tests);
    return suite;
}
