// SPDX-License-Identifier: GPL-3.0-or-later
/* Which channels look like excitation and pickup: channels filled by hand, each threshold from both
 * sides. */
#include <math.h>
#include <string.h>

#include "loop/look_part.h"
#include "suites.h"

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

static struct look look;
static struct look_channel channels[4];

/* Two channels without units in one second of audio, the second 60 degree ahead. */
static void set_up(void)
{
    memset(channels, 0, sizeof channels);
    for (size_t i = 0; i < 4; i++) {
        channels[i] = (struct look_channel){.column = i + 1,
            .is_periodic = true,
            .frequency_Hz = 50,
            .phase_deg = 10,
            .signal_to_noise_dB = 60};
    }
    channels[1].phase_deg = 70;
    look = (struct look){.kind = CAPTURE_AUDIO,
        .timing = CAPTURE_TIMING_RATE,
        .length_s = 1,
        .channels = channels,
        .channel_count = 2};
}

static void set_dimension(size_t i, enum dimension dimension)
{
    channels[i].dimension = dimension;
    channels[i].has_unit = true;
}

static bool is_pair(size_t excitation, size_t pickup)
{
    look_find_pair(&look);
    return look.pair.is_found && look.pair.excitation == excitation && look.pair.pickup == pickup;
}

static void expect_reason(const char *words)
{
    ck_assert_msg(strstr(look.pair.reason, words) != NULL, "%s", look.pair.reason);
}

/* A fiftieth of a cycle over the record, or six standard uncertainties of the difference. */
START_TEST(frequencies_are_one_within_their_limits)
{
    static const struct {
        double length_s, u1, u2, difference;
        bool is_one;
    } list[] = {{1, 0, 0, 0.0199, true}, {1, 0, 0, 0.0201, false}, {1, 0, 0, -0.0199, true},
        {1, 0, 0, -0.0201, false}, {4, 0, 0, 0.00499, true}, {4, 0, 0, 0.00501, false},
        {1, 0.03, 0.04, 0.299, true}, {1, 0.03, 0.04, 0.301, false}, {1, 0.04, 0.03, -0.299, true},
        {1, 0.04, 0.03, -0.301, false}, {0, 0.03, 0.04, 0, false}, {0.5, 0, 0, 0.039, true},
        {0.5, 0, 0, 0.041, false}, {0.02, 0, 0, 1, true}, {0.02, 0, 0, -1, true}};
    for (int i = 0; i < COUNT(list); i++) {
        look.length_s = list[i].length_s;
        channels[0].u_frequency_Hz = list[i].u1;
        channels[1].u_frequency_Hz = list[i].u2;
        channels[1].frequency_Hz = 50 + list[i].difference;
        ck_assert_msg(is_pair(0, 1) == list[i].is_one, "%d", i);
        ck_assert_int_eq(look.pair.has_lead, list[i].is_one);
        if (!list[i].is_one) {
            ck_assert_str_eq(
                look.pair.reason, "no two channels that can belong together share one frequency");
        }
    }
}
END_TEST

START_TEST(both_must_be_periodic)
{
    for (size_t i = 0; i < 2; i++) {
        channels[i].is_periodic = false;
        ck_assert(!is_pair(0, 1) && !is_pair(1, 0));
        ck_assert_str_eq(look.pair.reason, "fewer than two channels are periodic");
        channels[i].is_periodic = true;
    }
    ck_assert(is_pair(0, 1));
    channels[1].frequency_Hz = 60;
    look.channel_count = 3; /* channels 1 and 3 are together */
    channels[2].phase_deg = 70;
    ck_assert(is_pair(0, 2));
    look.channel_count = 1;
    ck_assert(!is_pair(0, 1));
    ck_assert_str_eq(look.pair.reason, "there is one channel alone: a loop needs two");
}
END_TEST

/* A degree beside the multiples of 90 it cannot be told; behind that, the quadrant does. */
START_TEST(the_phase_decides_from_one_degree_beside_right_angles)
{
    static const struct {
        int excitation; /* -1: not told */
        bool is_turned;
    } quadrants[] = {{0, false}, {1, true}, {0, true}, {1, false}};
    for (int quadrant = 0; quadrant < 4; quadrant++) {
        static const double places[] = {0.9, 1, 1.1, 88.9, 89, 89.1};
        for (int near = 0; near < COUNT(places); near++) {
            const bool is_told = near > 0 && near < COUNT(places) - 1;
            const double lead = 90 * quadrant + places[near];
            channels[1].phase_deg = fmod(channels[0].phase_deg + lead, 360);
            look_find_pair(&look);
            ck_assert_msg(look.pair.is_found == is_told, "%g", lead);
            ck_assert_int_eq(look.pair.has_lead, is_told);
            if (!is_told) {
                expect_reason("channels 1 and 2 share one frequency, but are ");
                expect_reason("too near to multiples of 90");
                continue;
            }
            const size_t excitation = (size_t)quadrants[quadrant].excitation;
            ck_assert(is_pair(excitation, 1 - excitation));
            ck_assert_double_eq_tol(look.pair.lead_deg, excitation == 0 ? lead : 360 - lead, 1e-12);
            ck_assert_int_eq(look.pair.is_reversed, quadrants[quadrant].is_turned);
            ck_assert(!look.pair.is_contradicted);
            ck_assert((strstr(look.pair.reason, " and a reversal") != NULL) ==
                      quadrants[quadrant].is_turned);
        }
    }
}
END_TEST

START_TEST(a_decision_by_phase_is_told_in_whole)
{
    channels[1].phase_deg = 10 + 40.25;
    ck_assert(is_pair(0, 1));
    ck_assert_str_eq(look.pair.reason,
        "channels 1 and 2 share one frequency, and 2 leads 1 by 40.2 degree: a pickup voltage "
        "leads its excitation by 0 to 90, namely 90 less the lag angle");
    channels[1].phase_deg = 10 + 130.75; /* 1 leads 2 by 229.25, half a turn and 49.25 */
    ck_assert(is_pair(1, 0));
    ck_assert_str_eq(look.pair.reason,
        "channels 1 and 2 share one frequency, and 1 leads 2 by 49.2 degree and a reversal: a "
        "pickup voltage leads its excitation by 0 to 90, namely 90 less the lag angle");
    channels[1].phase_deg = 10 + 229.75;
    ck_assert(is_pair(0, 1));
    expect_reason("2 leads 1 by 49.8 degree and a reversal:");
    look.kind = CAPTURE_TABLE;
    channels[1].phase_deg = 10 + 90.5;
    look_find_pair(&look);
    ck_assert_str_eq(look.pair.reason,
        "columns 1 and 2 share one frequency, but are 90.5 degree apart: too near to multiples of "
        "90 to tell which is the pickup");
}
END_TEST

/* The phase of the second less that of the first, from 0 to 360 degree. */
START_TEST(leads_are_taken_around_the_circle)
{
    static const double list[][3] = {
        {350, 30, 40}, {30, 350, 320}, {0, 359, 359}, {359, 2, 3}, {40, 40, 0}};
    set_dimension(0, DIMENSION_CURRENT);
    set_dimension(1, DIMENSION_VOLTAGE);
    for (int i = 0; i < COUNT(list); i++) {
        channels[0].phase_deg = list[i][0];
        channels[1].phase_deg = list[i][1];
        ck_assert(is_pair(0, 1));
        ck_assert_double_eq(look.pair.lead_deg, list[i][2]);
    }
}
END_TEST

/* A pickup voltage leads the field by 90 less the lag angle, B itself lags by that angle. */
START_TEST(the_phase_speaks_for_or_against_units)
{
    static const struct {
        double lead_deg; /* of a pickup voltage */
        bool is_reversed, is_contradicted;
    } list[] = {{0.9, false, false}, {45, false, false}, {91, false, true}, {181, true, false},
        {269, true, false}, {89.1, false, false}, {90.9, false, false}, {91.1, false, true},
        {135, false, true}, {178.9, false, true}, {179.1, false, false}, {180.9, false, false},
        {181.1, true, false}, {268.9, true, false}, {269.1, false, false}, {270.9, false, false},
        {271.1, false, true}, {358.9, false, true}, {359.1, false, false}};
    static const enum dimension pickups[] = {
        DIMENSION_VOLTAGE, DIMENSION_FLUX, DIMENSION_FLUX_DENSITY};
    set_dimension(0, DIMENSION_CURRENT);
    for (int kind = 0; kind < 3; kind++) {
        set_dimension(1, pickups[kind]);
        for (int i = 0; i < COUNT(list); i++) {
            const double lead = fmod(list[i].lead_deg + (kind > 0 ? 270 : 0), 360);
            channels[1].phase_deg = fmod(10 + lead, 360);
            ck_assert(is_pair(0, 1));
            ck_assert_double_eq_tol(look.pair.lead_deg, lead, 1e-12);
            ck_assert_msg(look.pair.is_reversed == list[i].is_reversed, "%g", list[i].lead_deg);
            ck_assert_msg(
                look.pair.is_contradicted == list[i].is_contradicted, "%g", list[i].lead_deg);
        }
    }
}
END_TEST

enum { NONE = -1 };

/* Units of the first and the second channel, and which is the excitation, with times and without.
 */
static const struct {
    int units[2];
    int excitation, excitation_without_times;
    const char *reason;
} roles[] = {
    {{DIMENSION_CURRENT, DIMENSION_VOLTAGE}, 0, 0,
        "by their units: current in column 1, voltage in 2"},
    {{DIMENSION_VOLTAGE, DIMENSION_CURRENT}, 1, 1,
        "by their units: current in column 2, voltage in 1"},
    {{DIMENSION_FIELD_STRENGTH, DIMENSION_FLUX}, 0, 0,
        "by their units: field strength in column 1, flux in 2"},
    {{DIMENSION_FLUX_DENSITY, DIMENSION_FIELD_STRENGTH}, 1, 1,
        "by their units: field strength in column 2, flux density in 1"},
    {{DIMENSION_VOLTAGE, DIMENSION_FLUX}, 0, NONE,
        "by their units: voltage in column 1, flux in 2"},
    {{DIMENSION_FLUX_DENSITY, DIMENSION_VOLTAGE}, 1, NONE,
        "by their units: voltage in column 2, flux density in 1"},
    {{DIMENSION_CURRENT, NONE}, 0, 0, "by its unit, column 1 is the excitation (current)"},
    {{NONE, DIMENSION_CURRENT}, 1, 1, "by its unit, column 2 is the excitation (current)"},
    {{DIMENSION_FLUX_DENSITY, NONE}, 1, NONE, "by its unit, column 1 is the pickup (flux density)"},
    {{NONE, DIMENSION_FLUX_DENSITY}, 0, NONE, "by its unit, column 2 is the pickup (flux density)"},
    {{DIMENSION_CURRENT, DIMENSION_FIELD_STRENGTH}, NONE, NONE, ""},
    {{DIMENSION_FLUX, DIMENSION_FLUX_DENSITY}, NONE, NONE, ""},
    {{DIMENSION_LENGTH, DIMENSION_CURRENT}, NONE, NONE, ""},
    {{DIMENSION_CURRENT, DIMENSION_LENGTH}, NONE, NONE, ""},
    {{DIMENSION_LENGTH, DIMENSION_LENGTH}, NONE, NONE, ""},
};

START_TEST(units_tell_what_a_channel_is)
{
    look.kind = CAPTURE_TABLE;
    for (size_t i = 0; i < 2; i++) {
        channels[i].has_unit = false;
        if (roles[_i].units[i] != NONE) {
            set_dimension(i, (enum dimension)roles[_i].units[i]);
        } else {
            channels[i].dimension = DIMENSION_NUMBER;
        }
    }
    look_find_pair(&look);
    ck_assert_int_eq(look.pair.is_found, roles[_i].excitation != NONE);
    if (look.pair.is_found) {
        ck_assert(is_pair((size_t)roles[_i].excitation, (size_t)(1 - roles[_i].excitation)));
        ck_assert_str_eq(look.pair.reason, roles[_i].reason);
        ck_assert(look.pair.has_lead);
    } else {
        ck_assert_str_eq(
            look.pair.reason, "no two channels that can belong together share one frequency");
    }
    look.timing = CAPTURE_TIMING_NONE;
    channels[0].is_periodic = channels[1].is_periodic = false;
    look_find_pair(&look);
    ck_assert_int_eq(look.pair.is_found, roles[_i].excitation_without_times != NONE);
    ck_assert(!look.pair.has_lead);
    if (look.pair.is_found) {
        ck_assert_uint_eq(look.pair.excitation, (size_t)roles[_i].excitation);
    } else {
        ck_assert_str_eq(
            look.pair.reason, "without a time column only units tell, and they do not");
    }
}
END_TEST

/* With times, a current and a voltage of two frequencies are no pair. */
START_TEST(units_alone_do_not_make_a_pair_of_two_frequencies)
{
    set_dimension(0, DIMENSION_CURRENT);
    set_dimension(1, DIMENSION_VOLTAGE);
    channels[1].frequency_Hz = 51;
    ck_assert(!is_pair(0, 1));
    look.timing = CAPTURE_TIMING_ROWS;
    ck_assert(!is_pair(0, 1));
    look.timing = CAPTURE_TIMING_NONE;
    ck_assert(is_pair(0, 1) && !look.pair.has_lead);
}
END_TEST

/* Units count more than a phase that decides, that more than a quiet channel; of equals the first.
 */
START_TEST(of_several_pairs_the_best_is_taken)
{
    look.channel_count = 4;
    channels[0].phase_deg = 10;
    channels[1].phase_deg = 100; /* beside the first it decides nothing */
    channels[2].phase_deg = 10.2;
    channels[3].phase_deg = 55;
    channels[3].signal_to_noise_dB = 5; /* noisy, but its phase tells */
    ck_assert(is_pair(0, 3));
    channels[0].signal_to_noise_dB = 4; /* noisier: second and fourth are as good as the last two */
    ck_assert(is_pair(3, 1));
    channels[1].signal_to_noise_dB = 4;
    ck_assert(is_pair(2, 3));
    channels[3].signal_to_noise_dB = 90; /* the quieter one of two does not count */
    ck_assert(is_pair(2, 3));
    channels[2].signal_to_noise_dB = 4; /* now all pairs are as noisy: the first that tells */
    ck_assert(is_pair(0, 3));
    channels[1].signal_to_noise_dB = 5;
    ck_assert(is_pair(3, 1));
    channels[3].phase_deg = 99; /* a degree is just enough, in a noisy pair */
    channels[3].signal_to_noise_dB = 3;
    ck_assert(is_pair(0, 3));
    channels[3].phase_deg = 55;
    set_dimension(1, DIMENSION_FLUX); /* with the first as before: one unit tells */
    channels[0].signal_to_noise_dB = 60;
    channels[3].is_periodic = false;
    ck_assert(is_pair(0, 1));
    channels[3].is_periodic = true;
    set_dimension(2, DIMENSION_CURRENT); /* two do, though near a right angle and noisy */
    channels[2].phase_deg = 10;
    ck_assert(is_pair(2, 1));
    ck_assert(!look.pair.is_reversed && !look.pair.is_contradicted);
}
END_TEST

/* What was found before does not stay. */
START_TEST(each_search_begins_anew)
{
    ck_assert(is_pair(0, 1));
    channels[1].is_periodic = false;
    look_find_pair(&look);
    ck_assert(!look.pair.is_found && !look.pair.has_lead);
    ck_assert_double_eq(look.pair.lead_deg, 0);
}
END_TEST

Suite *look_pair_suite(void)
{
    Suite *suite = suite_create("look_pair");
    TCase *tests = tcase_create("look_pair");
    tcase_add_checked_fixture(tests, set_up, NULL);
    tcase_add_test(tests, frequencies_are_one_within_their_limits);
    tcase_add_test(tests, both_must_be_periodic);
    tcase_add_test(tests, the_phase_decides_from_one_degree_beside_right_angles);
    tcase_add_test(tests, a_decision_by_phase_is_told_in_whole);
    tcase_add_test(tests, leads_are_taken_around_the_circle);
    tcase_add_test(tests, the_phase_speaks_for_or_against_units);
    tcase_add_loop_test(tests, units_tell_what_a_channel_is, 0, COUNT(roles));
    tcase_add_test(tests, units_alone_do_not_make_a_pair_of_two_frequencies);
    tcase_add_test(tests, of_several_pairs_the_best_is_taken);
    tcase_add_test(tests, each_search_begins_anew);
    suite_add_tcase(suite, tests);
    return suite;
}
