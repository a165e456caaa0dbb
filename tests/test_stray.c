// SPDX-License-Identifier: GPL-3.0-or-later
/* Tones added to known periodic waveforms are found with their frequency and amplitude, and nothing
 * is found where there is none. */
#include "num/stray.h"

#include <math.h>
#include <stdlib.h>

#include "suites.h"
#include "tone.h"
#include "tone_fit.h"

static const double PI = 3.14159265358979323846;

enum { LIMIT = 4 };

static struct stray list[2 * LIMIT];
static size_t count;

/* What is added to a channel of a waveform of `cycles` in `frames`. */
struct addition {
    size_t frames;
    double cycles;
    size_t harmonics;
    double noise;
    size_t channel;
    double place; /* of the tone, cycles over the record */
    double amplitude;
    double modulation; /* of the channel's amplitude, at that place */
    double drift;      /* of the mean of both channels over the record */
    size_t missing;    /* every so many samples; 0: none */
    uint64_t seed;
};

static double *make(const struct addition *addition)
{
    struct tone tone;
    double *values = malloc(2 * addition->frames * sizeof *values);
    tone_init(&tone, addition->harmonics, addition->cycles / (double)addition->frames);
    tone.noise[0] = tone.noise[1] = addition->noise;
    tone.seed = addition->seed;
    tone_fill(&tone, 0, addition->frames, values);
    for (size_t n = 0; n < addition->frames; n++) {
        const double t = ((double)n + 0.5) / (double)addition->frames;
        const double turn = 2.0 * PI * addition->place * t;
        values[2 * n + addition->channel] *= 1.0 + addition->modulation * cos(turn);
        values[2 * n + addition->channel] += addition->amplitude * cos(turn + 0.7);
        values[2 * n] += addition->drift * t;
        values[2 * n + 1] += addition->drift * t;
        if (addition->missing > 0 && n % addition->missing == 5) {
            values[2 * n] = NAN;
        }
    }
    return values;
}

static void search(const struct addition *addition)
{
    double *values = make(addition);
    struct periodic_fit fit;
    enum periodic_failure failure;
    struct error err = {0};
    const struct tone_record record = {
        .values = values, .frames = addition->frames, .channels = 2, .chunk = 4096};
    const size_t seen = addition->frames < STRAY_FRAMES ? addition->frames : STRAY_FRAMES;
    ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
    ck_assert(!stray_find(values, seen, TONE_RATE, &fit, LIMIT, list, &count, &err));
    periodic_fit_clear(&fit);
    free(values);
}

static const struct addition tone_list[] = {
    {300, 5.3, 3, 1e-3, 0, 2.6, 0.03, 0, 0, 0, 1},         /* few cycles, between two harmonics */
    {300, 5.3, 3, 1e-3, 1, 7.2, 0.05, 0, 0, 0, 2},         /* higher up */
    {4000, 5.2, 9, 1e-3, 1, 6.3, 0.02, 0, 0, 0, 3},        /* 1.1 / T from the fundamental */
    {12000, 40.3, 9, 1e-2, 0, 100.4, 0.005, 0, 0, 0, 4},   /* below the noise of a sample */
    {48000, 20.0, 9, 1e-3, 1, 50.0, 0.001, 0, 0, 0, 5},    /* as hum of 50 Hz beside 20 Hz */
    {48000, 20.0, 9, 1e-3, 1, 50.3, 0.001, 0, 0, 997, 6},  /* with holes */
    {300000, 80.7, 3, 1e-3, 0, 203.3, 0.003, 0, 0, 0, 7},  /* only a part is looked at */
    {200000, 31.7, 3, 1e-3, 0, 83.3, 0.003, 0, 0, 0, 8},   /* pairs are averaged */
    {1060000, 300.3, 2, 1e-2, 1, 761.2, 0.01, 0, 0, 0, 9}, /* streamed */
    {48000, 20.3, 9, 1e-6, 1, 9000.3, 1e-5, 0, 0, 0, 10},  /* far above */
};

START_TEST(a_tone_is_found_with_its_frequency_and_amplitude)
{
    const struct addition *addition = &tone_list[_i];
    search(addition);
    ck_assert_uint_eq(count, 1);
    const double duration = (double)addition->frames / TONE_RATE;
    const double seen = 1.0 / list[0].width_Hz;
    ck_assert_uint_eq(list[0].channel, addition->channel);
    /* a line of signal to noise s is placed to a small part of its width, and strong ones well
     * within a twentieth; amplitudes to a tenth */
    ck_assert_double_eq_tol(
        list[0].frequency_Hz, addition->place / duration, fmax(0.05, 0.1 * (seen < 2.0)) / seen);
    ck_assert_double_eq_tol(
        cabs(list[0].amplitude), addition->amplitude, 0.1 * addition->amplitude);
}
END_TEST

START_TEST(the_phase_of_a_tone_is_that_at_the_first_sample)
{
    const struct addition addition = {20000, 40.3, 5, 1e-6, 1, 100.4, 0.01, 0, 0, 0, 1};
    search(&addition);
    ck_assert_uint_eq(count, 1);
    const double first = 2.0 * PI * 100.4 * 0.5 / 20000.0 + 0.7;
    ck_assert_double_eq_tol(creal(list[0].amplitude), 0.01 * cos(first), 3e-4);
    ck_assert_double_eq_tol(cimag(list[0].amplitude), 0.01 * sin(first), 3e-4);
}
END_TEST

/* Noise alone, unsteady amplitude, a drifting mean, and what sits on a harmonic. */
static const struct addition none_list[] = {
    {200, 5.3, 3, 1e-2, 0, 0, 0, 0, 0, 0, 0},
    {3000, 12.3, 9, 1e-3, 0, 0, 0, 0, 0, 0, 0},
    {20000, 80.3, 9, 1e-2, 0, 0, 0, 0, 0, 0, 0},
    {20000, 80.3, 9, 1e-3, 0, 3.3, 0, 0.01, 0, 0, 0},   /* sidebands to both sides */
    {20000, 80.3, 9, 1e-3, 1, 15.4, 0, 0.005, 0, 0, 0}, /* wider ones */
    {20000, 20.3, 9, 1e-3, 0, 0, 0, 0, 0.3, 0, 0},      /* a mean that drifts */
    {20000, 20.3, 9, 1e-3, 0, 0, 0, 0, 0, 7, 0},
    {20000, 20.3, 9, 1e-3, 0, 40.95, 0.05, 0, 0, 0, 0}, /* on the second harmonic */
    {300000, 80.7, 3, 1e-3, 0, 0, 0, 0, 0, 0, 0},
};

START_TEST(nothing_is_found_where_no_tone_can_be_told)
{
    for (uint64_t seed = 1; seed <= (_i < 2 ? 30 : 3); seed++) {
        struct addition addition = none_list[_i];
        addition.seed = seed;
        search(&addition);
        ck_assert_msg(count == 0, "seed %llu: %g cycles, amplitude %g", (unsigned long long)seed,
            list[0].frequency_Hz * (double)addition.frames / TONE_RATE, cabs(list[0].amplitude));
    }
}
END_TEST

/* Where noise explains so much once in 1e7 records: with q the share of a tone that the fit does
 * not take up, N q a^2 / 2 of the sum of squares N s^2 is explained, and
 *     (freedom / 2) ln(1 / (1 - share)) - ln N = 16
 * gives the amplitude a for noise of s. Noise moves a by s sqrt(2 / (N q)), a seventh of it: of
 * many records most have the tone a little above, few a little below. Beside a harmonic both lie
 * higher, for noise also moves the place, to where no tone can be told. */
static const struct {
    struct addition addition;
    double left; /* q: 1 - sum of sinc^2 of the distances to the harmonics, in closed form */
    double below, above; /* of the amplitude at the edge */
} edge_list[] = {
    {{1000, 10.3, 3, 1e-2, 0, 24.35, 0, 0, 0, 0, 0}, 1.0, 0.87, 1.13},
    {{1000, 10.3, 3, 1e-2, 1, 207.7, 0, 0, 0, 0, 0}, 1.0, 0.8, 1.13},
    {{300, 20.3, 3, 1e-2, 0, 21.05, 0, 0, 0, 0, 0}, 0.911, 0.95, 1.2}, /* sinc(0.75) = 0.300 */
};

enum { EDGE_SEEDS = 20 };

static int count_found(const struct addition *plain, double amplitude)
{
    int found = 0;
    struct addition addition = *plain;
    addition.amplitude = amplitude;
    for (addition.seed = 1; addition.seed <= EDGE_SEEDS; addition.seed++) {
        search(&addition);
        found += count == 1 && list[0].channel == addition.channel;
    }
    return found;
}

START_TEST(a_tone_counts_from_where_noise_has_it_once_in_ten_million_records)
{
    const struct addition *addition = &edge_list[_i].addition;
    const double frames = (double)addition->frames;
    const double freedom = frames - 2.0 * (double)addition->harmonics - 1.0;
    const double share = 1.0 - exp(-2.0 * (16.0 + log(frames)) / freedom);
    /* explained / (rest + explained) = share, and the rest is freedom s^2 */
    const double square = share / (1.0 - share) * 2.0 * freedom / (frames * edge_list[_i].left);
    const double edge = addition->noise * sqrt(square);
    ck_assert_int_lt(count_found(addition, edge_list[_i].below * edge), EDGE_SEEDS / 2);
    ck_assert_int_gt(count_found(addition, edge_list[_i].above * edge), EDGE_SEEDS / 2);
}
END_TEST

START_TEST(several_tones_come_strongest_first_and_no_more_than_asked_for)
{
    static const double place[] = {52.3, 91.4, 148.6, 171.1, 212.4};
    const struct addition plain = {20000, 40.3, 5, 1e-3, 0, 0, 0, 0, 0, 0, 1};
    double *values = make(&plain);
    for (size_t n = 0; n < plain.frames; n++) {
        for (size_t i = 0; i < 5; i++) {
            values[2 * n] +=
                0.05 / (double)(i + 1) * cos(2.0 * PI * place[i] * (double)n / 20000.0);
        }
    }
    struct periodic_fit fit;
    enum periodic_failure failure;
    struct error err = {0};
    const struct tone_record record = {
        .values = values, .frames = plain.frames, .channels = 2, .chunk = 4096};
    ck_assert(!tone_record_fit(&record, &fit, &failure, &err));
    ck_assert(!stray_find(values, plain.frames, TONE_RATE, &fit, LIMIT, list, &count, &err));
    ck_assert_uint_eq(count, LIMIT);
    for (size_t i = 0; i < LIMIT; i++) {
        ck_assert_double_eq_tol(list[i].frequency_Hz * 20000.0 / TONE_RATE, place[i], 0.05);
        ck_assert_double_eq_tol(cabs(list[i].amplitude), 0.05 / (double)(i + 1), 0.002);
    }
    periodic_fit_clear(&fit);
    free(values);
}
END_TEST

START_TEST(the_leak_bounds_what_a_tone_leaves_in_a_harmonic)
{
    /* the mean of e^{i 2 pi d t} over T, at any d */
    for (double d = -5.0; d < 5.0; d += 0.037) {
        const double x = PI * d * 2.0;
        const double mean = fabs(x) < 1e-9 ? 1.0 : fabs(sin(x) / x);
        ck_assert_double_ge(stray_get_leak(d, 2.0), mean - 1e-12);
    }
    ck_assert_double_eq_tol(stray_get_leak(0.25, 2.0), 2.0 / PI, 1e-12); /* where |sin| is 1 */
    ck_assert_double_eq(stray_get_leak(0.0, 2.0), 1.0);
}
END_TEST

Suite *stray_suite(void)
{
    Suite *suite = suite_create("stray");
    TCase *tests = tcase_create("stray");
    tcase_set_timeout(tests, 120); /* the sanitizers take their time */
    tcase_add_loop_test(tests, a_tone_is_found_with_its_frequency_and_amplitude, 0,
        sizeof tone_list / sizeof tone_list[0]);
    tcase_add_test(tests, the_phase_of_a_tone_is_that_at_the_first_sample);
    tcase_add_loop_test(tests, nothing_is_found_where_no_tone_can_be_told, 0,
        sizeof none_list / sizeof none_list[0]);
    tcase_add_loop_test(tests, a_tone_counts_from_where_noise_has_it_once_in_ten_million_records, 0,
        sizeof edge_list / sizeof edge_list[0]);
    tcase_add_test(tests, several_tones_come_strongest_first_and_no_more_than_asked_for);
    tcase_add_test(tests, the_leak_bounds_what_a_tone_leaves_in_a_harmonic);
    suite_add_tcase(suite, tests);
    return suite;
}
