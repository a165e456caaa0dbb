// SPDX-License-Identifier: GPL-3.0-or-later
/* Records in memory: how many harmonics are looked for, and what is told of their blocks. */
#include "num/record.h"

#include <math.h>
#include <stdlib.h>

#include "num/pair.h"
#include "num/periodic_parts.h"
#include "num/random.h"
#include "suites.h"
#include "tone_fit.h"

static const double PI = 3.14159265358979323846;

/* ---- what the sampling carries ---- */

START_TEST(harmonics_lie_below_half_the_rate)
{
    static const struct {
        double period;
        size_t fixed, expected;
    } list[] = {{64.0, 0, 31}, {64.1, 0, 32}, {63.9, 0, 31}, {2.7, 0, 1}, {4.0, 0, 1}, {1.5, 0, 1},
        {4097.9, 0, 2048}, {4095.9, 0, 2047}, {9000.0, 0, 2048}, {64.0, 5, 5},
        {9000.0, 3000, 3000}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        ck_assert_uint_eq(record_get_limit(1.0 / list[i].period, list[i].fixed), list[i].expected);
    }
}
END_TEST

/* By a tenth of a turn over the record a harmonic must be off half the rate: of 1000 samples, by
 * 1e-4 of the rate. */
START_TEST(a_harmonic_beside_half_the_rate_must_drift_against_the_samples)
{
    ck_assert_uint_eq(record_get_safe_limit((0.5 - 0.9e-4) / 7.0, 1000.0, 0), 6);
    ck_assert_uint_eq(record_get_safe_limit((0.5 - 1.1e-4) / 7.0, 1000.0, 0), 7);
    ck_assert_uint_eq(record_get_safe_limit((0.5 - 0.9e-4) / 7.0, 1000.0, 9), 9);
}
END_TEST

/* ---- harmonics of folded records ---- */

/* Cosines of the listed harmonics, `size` each, in both channels, with noise. */
struct wave {
    double nu;
    size_t top, extra; /* 1 ... top, and one more */
    double size;       /* of all but the fundamental, which is 1 */
};

static void set_wave(const struct wave *wave, size_t frames, double noise, double complex *values)
{
    struct random random;
    random_init(&random, 5, 0);
    for (size_t n = 0; n < frames; n++) {
        const double turns = fmod(wave->nu * (double)n, 1.0);
        double a = 0.0, b = 0.0;
        for (size_t k = 1; k <= wave->top || k == wave->extra; k++) {
            const double size = k == 1 ? 1.0 : wave->size;
            a += size * cos(2.0 * PI * (double)k * turns + 0.7 * (double)(k * k));
            b += size * cos(2.0 * PI * (double)k * turns - 0.3 * (double)(k * k));
            k = k == wave->top && wave->extra > k ? wave->extra - 1 : k;
        }
        a += noise * random_get_normal(&random);
        values[n] = as_complex(a, b + noise * random_get_normal(&random));
    }
}

/* With 64 samples a cycle 31 harmonics fit, 24 of them leave a measure of the noise: more are
 * looked for when more than 22 of those are there. */
static const struct {
    size_t top, extra, expected;
} top_list[] = {{5, 0, 5}, {22, 0, 22}, {23, 0, 23}, {23, 28, 28}, {31, 0, 31}, {24, 31, 31}};

START_TEST(harmonics_up_to_the_last_are_found)
{
    enum { FRAMES = 40000 };
    const struct wave wave = {1.0 / 64.0, top_list[_i].top, top_list[_i].extra, 0.1};
    double complex *values = malloc(FRAMES * sizeof *values);
    set_wave(&wave, FRAMES, 1e-4, values);
    const struct record record = {.channels = 2, .count = FRAMES, .value = values};
    struct block_list blocks;
    struct error err = {0};
    double nu = wave.nu * (1.0 + 1e-6);
    ck_assert_msg(!record_fit_folded(&record, 1, &nu, &blocks, &err), "%s", err.message);
    ck_assert_uint_eq(blocks.harmonics, top_list[_i].expected);
    /* the noise of the frequency is far below */
    ck_assert_double_eq_tol(nu / wave.nu, 1.0, 1e-8);
    block_list_clear(&blocks);
    free(values);
}
END_TEST

/* ---- long records with uneven times ---- */

/* Every second sample of an even record is missing, so that 2^19 are there when its first 2^20 have
 * come: just as many as are taken to begin with. */
static void fit_with_holes(size_t frames, size_t hole_every, struct periodic_fit *fit)
{
    struct tone tone;
    struct error err = {0};
    double *values = malloc(2 * frames * sizeof *values);
    tone_init(&tone, 3, 1.0 / 96.3);
    tone.noise[0] = 1e-4;
    tone.noise[1] = 2e-4;
    tone_fill(&tone, 0, frames, values);
    for (size_t n = 1; n < frames; n += hole_every) {
        values[2 * n] = NAN;
    }
    enum periodic_failure failure;
    const struct tone_record record = {
        .values = values, .frames = frames, .channels = 2, .chunk = 1 << 16};
    ck_assert_msg(!tone_record_fit(&record, fit, &failure, &err), "%s", err.message);
    ck_assert_uint_eq(fit->harmonics, 3);
    /* noise over the root of half the samples; of the frequency, over the number of samples too */
    tone_check(&tone, fit, 0.0, 1e-10, 5e-6);
    for (int m = 0; m < 2; m++) {
        ck_assert_double_eq_tol(fit->noise_rms[m] / tone.noise[m], 1.0, 0.01);
    }
    free(values);
}

START_TEST(uneven_records_that_just_fill_the_head_lose_nothing)
{
    struct periodic_fit fit;
    fit_with_holes(HEAD_EVEN, 2, &fit);
    /* eight blocks of the first look, each an eighth of the record */
    ck_assert_uint_eq(fit.block_count, 8);
    for (size_t b = 0; b < 8; b++) {
        /* 65536 samples, 2 apart */
        const double middle = 131072.0 * (double)b + 65535.0;
        ck_assert_double_eq(fit.blocks[b].frames, HEAD_UNEVEN / 8.0);
        ck_assert_double_eq_tol(fit.blocks[b].time_s * TONE_RATE, middle, 1e-6);
        ck_assert_double_lt(fabs(fit.blocks[b].phase), 1e-5);
    }
    ck_assert_double_eq(fit.frames, (double)HEAD_EVEN);
    periodic_fit_clear(&fit);
}
END_TEST

/* ---- noise ---- */

enum path { PATH_DIRECT, PATH_FOLDED, PATH_UNEVEN };

static const struct {
    double period;
    size_t frames;
    enum path path;
    double scale; /* of the first channel: powers of two bring both near 1 */
} noise_list[] = {{27.3, 3000, PATH_DIRECT, 1.0}, {27.3, 3000, PATH_UNEVEN, 1.0},
    {20000.5, 100000, PATH_DIRECT, 1.0}, /* averaged by nines */
    {27.3, 3000, PATH_DIRECT, 1e-6}, {27.3, 60000, PATH_FOLDED, 1.0},
    {27.3, 60000, PATH_FOLDED, 1e6}, {96.3, 1100000, PATH_FOLDED, 1.0}, /* streamed */
    {20000.5, 1400000, PATH_FOLDED, 1.0}};                              /* averaged by pairs */

/* What one sample tells of the phase: sum over m and k of k^2 |c|^2 / (2 s^2). */
static double get_information(const struct tone *tone, size_t top)
{
    double sum = 0.0;
    for (size_t m = 0; m < 2; m++) {
        for (size_t k = 1; k <= top; k++) {
            sum += 0.5 * pow((double)k * cabs(tone->c[m][k]) / tone->noise[m], 2.0);
        }
    }
    return sum;
}

/* The bound of H. Cramer and C. R. Rao: phases with the information P of a sample are known over N
 * samples to a slope of sqrt(12 / (P N^3)). Folding loses up to 5 % of what the highest harmonic
 * tells; where the phases scatter more than the noise says, u is larger by as much. */
START_TEST(noise_and_the_uncertainty_from_it_are_those_of_the_samples)
{
    const size_t frames = noise_list[_i].frames;
    const bool is_folded = noise_list[_i].path == PATH_FOLDED;
    double *values = malloc(2 * frames * sizeof *values), *times = NULL;
    struct tone tone;
    tone_init(&tone, 3, 1.0 / noise_list[_i].period);
    tone.noise[0] = 2e-3 * noise_list[_i].scale;
    tone.noise[1] = 1e-3;
    for (size_t k = 0; k <= 3; k++) {
        tone.c[0][k] *= noise_list[_i].scale;
    }
    tone_fill(&tone, 0, frames, values);
    if (noise_list[_i].path == PATH_UNEVEN) {
        times = malloc(frames * sizeof *times);
        for (size_t n = 0; n < frames; n++) {
            times[n] = (double)n + 0.2 * sin((double)n * (double)n);
        }
        tone_fill_at(&tone, times, frames, values);
        for (size_t n = 0; n < frames; n++) {
            times[n] /= TONE_RATE;
        }
    }
    struct periodic_fit fit;
    struct error err = {0};
    enum periodic_failure failure;
    const struct tone_record record = {
        .values = values, .times = times, .frames = frames, .channels = 2, .chunk = 10000};
    ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
    ck_assert_uint_eq(fit.harmonics, 3);
    for (int m = 0; m < 2; m++) {
        const double off = is_folded ? 0.05 : 4.0 / sqrt(2.0 * fmin((double)frames, 10000.0));
        ck_assert_double_eq_tol(fit.noise_rms[m] / tone.noise[m], 1.0, off);
    }
    const double information = get_information(&tone, 3), count = (double)frames;
    const double u = TONE_RATE * sqrt(12.0 / (information * pow(count, 3.0))) / (2.0 * PI);
    ck_assert_double_ge(fit.u_frequency_Hz / u, 0.95);
    ck_assert_double_le(fit.u_frequency_Hz / u, is_folded ? 1.5 : 1.05);
    ck_assert_double_le(fabs(fit.frequency_Hz - tone.nu * TONE_RATE), 4.0 * fit.u_frequency_Hz);
    /* a directly fitted block's phase is told by its fundamental */
    const double of_one = is_folded ? information : get_information(&tone, 1);
    const double block = count / (is_folded ? (double)fit.block_count : fit.cycles);
    ck_assert_double_eq_tol(fit.phase_drift_u_rad * sqrt(of_one * block), 1.0, 0.06);
    double largest = 0.0;
    for (size_t b = 0; b < fit.block_count; b++) {
        largest = fmax(largest, fabs(fit.blocks[b].phase));
    }
    ck_assert_double_eq_tol(fit.phase_drift_rad / largest, 1.0, 1e-9);
    ck_assert_double_le(largest, 5.0 * fit.phase_drift_u_rad);
    ck_assert_double_ge(largest, 0.5 * fit.phase_drift_u_rad);
    periodic_fit_clear(&fit);
    free(values);
    free(times);
}
END_TEST

/* ---- channels without a signal ---- */

START_TEST(a_channel_of_zeros_leaves_the_other)
{
    static const size_t lengths[] = {1000, 40000};
    for (size_t i = 0; i < 4; i++) {
        const size_t frames = lengths[i / 2], silent = i % 2;
        struct tone tone;
        struct periodic_fit fit;
        tone_init(&tone, 3, 1.0 / 27.3);
        for (size_t k = 0; k <= 3; k++) {
            tone.c[silent][k] = 0.0;
        }
        tone_fit(&tone, frames, &fit);
        ck_assert_double_eq_tol(fit.frequency_Hz / (TONE_RATE / 27.3), 1.0, 1e-12);
        for (size_t k = 0; k <= 3; k++) {
            ck_assert(cabs(fit.coefficient[silent][k]) < 1e-10);
            ck_assert(
                cabs(fit.coefficient[1 - silent][k] - tone_get(&tone, 1 - silent, k)) < 1e-10);
        }
        periodic_fit_clear(&fit);
    }
}
END_TEST

/* ---- what is exact without noise ---- */

/* Sums of both channels go through one complex transform; those of unlike size are scaled before,
 * also when the first sample is 0. Averages of neighbours are undone. */
static const struct {
    double period;
    size_t frames;
    double scale; /* of the first channel */
} exact_list[] = {{27.3, 1000, 1e6}, {27.3, 1000, 1e-6}, {27.3, 40000, 1e6}, {27.3, 40000, 1e-6},
    {5000.5, 20000, 1.0}, {20000.5, 100000, 1.0}, {20000.5, 100000, 1e6}};

START_TEST(records_without_noise_are_fitted_exactly)
{
    struct tone tone;
    struct periodic_fit fit;
    tone_init(&tone, 3, 1.0 / exact_list[_i].period);
    double complex sum = 0.0;
    for (size_t k = 0; k <= 3; k++) {
        tone.c[0][k] *= exact_list[_i].scale;
        sum += k > 0 ? tone_get(&tone, 0, k) : 0.0;
    }
    tone.c[0][0] = -creal(sum); /* the first channel begins at 0 */
    tone_fit(&tone, exact_list[_i].frames, &fit);
    tone_check(&tone, &fit, 0.0, 1e-13, 2e-11);
    ck_assert_uint_eq(fit.harmonics, 3);
    double frames = 0.0;
    for (size_t b = 0; b < fit.block_count; b++) {
        frames += fit.blocks[b].frames;
        for (size_t m = 0; m < 2; m++) {
            for (size_t k = 1; k <= 3; k++) {
                const double complex truth = tone_get(&tone, m, k);
                ck_assert(cabs(fit.blocks[b].coefficient[m][k] / truth - 1.0) < 1e-7);
            }
        }
    }
    ck_assert_double_le(frames, fit.frames);
    ck_assert_double_ge(frames, 0.7 * fit.frames);
    periodic_fit_clear(&fit);
}
END_TEST

/* ---- a frequency that is given ---- */

static void fit_with(double frequency_Hz, double rate_Hz, const double *values, const double *times,
    size_t frames, struct periodic_fit *fit)
{
    const struct periodic_options options = {.channels = 2,
        .sample_rate_Hz = times == NULL ? rate_Hz : 0.0,
        .frequency_Hz = frequency_Hz};
    struct error err = {0};
    struct periodic *periodic = periodic_create(&options, &err);
    ck_assert(!periodic_add(periodic, values, times, frames, &err));
    ck_assert_msg(!periodic_finish(periodic, fit, &err), "%s", err.message);
    periodic_destroy(periodic);
}

/* Lines 4 and 6 alone could be 2 and 3: what is given decides. Also where it is below 1 Hz and off
 * by nearly half a cycle over the record, with one channel silent, and with times. */
START_TEST(a_frequency_that_is_given_is_the_one_that_is_fitted)
{
    enum { FRAMES = 600 };
    static const double offs[] = {-0.1, 0.0, 0.1};
    double values[2 * FRAMES], times[FRAMES];
    const double rate = 20.0, truth = 10.3 / FRAMES * rate;
    for (size_t silent = 0; silent < 3; silent++) {
        for (size_t n = 0; n < FRAMES; n++) {
            const double x = 2.0 * PI * truth / rate * (double)n;
            times[n] = 7.0 + (double)n / rate;
            const double value = cos(4.0 * x) + 0.6 * cos(6.0 * x + 1.0);
            values[2 * n] = silent == 0 ? 0.0 : value;
            values[2 * n + 1] = silent == 1 ? 0.0 : 0.5 * value;
        }
        for (size_t i = 0; i < sizeof offs / sizeof *offs; i++) {
            const double given = truth * (1.0 + offs[i] / 10.3);
            for (int is_timed = 0; is_timed < 2; is_timed++) {
                struct periodic_fit fit;
                fit_with(given, rate, values, is_timed ? times : NULL, FRAMES, &fit);
                ck_assert_double_eq_tol(fit.frequency_Hz / truth, 1.0, 1e-11);
                ck_assert_uint_ge(fit.harmonics, 6);
                for (size_t m = 0; m < 2; m++) {
                    const double size = silent == m ? 0.0 : m == 0 ? 1.0 : 0.5;
                    ck_assert_double_eq_tol(cabs(fit.coefficient[m][4]), size, 1e-9);
                    ck_assert_double_eq_tol(cabs(fit.coefficient[m][6]), 0.6 * size, 1e-9);
                }
                periodic_fit_clear(&fit);
            }
        }
    }
}
END_TEST

/* Frequencies are tried up to 0.6 cycles over the record to each side. */
START_TEST(a_frequency_that_is_off_by_half_a_cycle_is_found)
{
    static const double offs[] = {-0.5, -0.3, 0.3, 0.5};
    enum { FRAMES = 300 };
    double values[2 * FRAMES];
    for (size_t i = 0; i < 3 * sizeof offs / sizeof *offs; i++) {
        struct tone tone;
        struct periodic_fit fit;
        tone_init(&tone, 5, 1.0 / 27.3);
        for (size_t k = 0; k <= 5 && i % 3 < 2; k++) {
            tone.c[i % 3][k] = 0.0;
        }
        tone_fill(&tone, 0, FRAMES, values);
        const double truth = TONE_RATE / 27.3, cycles = FRAMES / 27.3;
        fit_with(truth * (1.0 + offs[i / 3] / cycles), TONE_RATE, values, NULL, FRAMES, &fit);
        ck_assert_double_eq_tol(fit.frequency_Hz / truth, 1.0, 1e-11);
        periodic_fit_clear(&fit);
    }
}
END_TEST

/* Times with a gap: where less than a quarter is missing the clock's steps tell how many harmonics
 * are carried, 13 at 27.3 samples a cycle; else how many samples there are. */
START_TEST(a_gap_in_the_times_costs_no_harmonics)
{
    enum { FRAMES = 900 };
    double values[2 * FRAMES], times[FRAMES];
    struct tone tone;
    tone_init(&tone, 13, 1.0 / 27.3);
    for (size_t i = 0; i < 2; i++) {
        const size_t gap = i == 0 ? 200 : 400;
        for (size_t n = 0; n < FRAMES; n++) {
            times[n] = (double)(n < 300 ? n : n + gap);
        }
        tone_fill_at(&tone, times, FRAMES, values);
        for (size_t n = 0; n < FRAMES; n++) {
            times[n] /= TONE_RATE;
        }
        struct periodic_fit fit;
        struct error err = {0};
        enum periodic_failure failure;
        const struct tone_record record = {
            .values = values, .times = times, .frames = FRAMES, .channels = 2, .chunk = 100};
        ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
        const double carried = 0.5 * 27.3 * FRAMES / (FRAMES + (double)gap);
        ck_assert_uint_eq(fit.harmonics, i == 0 ? 13 : (size_t)carried);
        periodic_fit_clear(&fit);
    }
}
END_TEST

/* ---- blocks of short records ---- */

/* Runs of so many cycles that they hold twice the unknowns; the last is whole when it lacks less
 * than a thousandth of a cycle, and one is left out that lacks more than a tenth of its samples. */
static const struct {
    size_t period, frames, harmonics;
    size_t hole_begin, hole_end;
    size_t expected;
} run_list[] = {
    {2000, 8000, 3, 0, 0, 4}, {2000, 7990, 3, 0, 0, 3}, {2000, 8000, 3, 4100, 4290, 4},
    {2000, 8000, 3, 4100, 4310, 3},
    {20, 130, 9, 0, 0, 3}, /* of two cycles each: 38 samples are needed */
    {20, 110, 9, 0, 0, 0}, /* two of them are too few to tell a scatter */
    {20, 130, 4, 0, 0, 6}, /* 18 are needed */
    {20, 130, 5, 0, 0, 3}, /* 22 */
};

START_TEST(blocks_of_short_records_are_runs_of_whole_cycles)
{
    const size_t frames = run_list[_i].frames, top = run_list[_i].harmonics;
    const double period = (double)run_list[_i].period;
    double *values = malloc(2 * frames * sizeof *values);
    struct tone tone;
    tone_init(&tone, top, 1.0 / period);
    tone_fill(&tone, 0, frames, values);
    for (size_t n = run_list[_i].hole_begin; n < run_list[_i].hole_end; n++) {
        values[2 * n] = NAN;
    }
    struct periodic_fit fit;
    struct error err = {0};
    enum periodic_failure failure;
    const struct tone_record record = {
        .values = values, .frames = frames, .channels = 2, .harmonics = top, .chunk = 10000};
    ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
    ck_assert_uint_eq(fit.block_count, run_list[_i].expected);
    ck_assert(isfinite(fit.phase_drift_u_rad));
    ck_assert((fit.phase_drift_u_rad > 0.0) == (fit.block_count > 0));
    for (size_t b = 0; b < fit.block_count; b++) {
        ck_assert_double_lt(fabs(fit.blocks[b].phase), 1e-9);
        for (size_t m = 0; m < 2; m++) {
            for (size_t k = 0; k <= top; k++) {
                const double complex truth = tone_get(&tone, m, k);
                ck_assert(cabs(fit.blocks[b].coefficient[m][k] - truth) < 1e-8);
            }
        }
    }
    periodic_fit_clear(&fit);
    free(values);
}
END_TEST

/* Phases of blocks where the frequency rises by 1e-3 over 36 cycles: a parabola that reaches 0.02
 * radian; each block's coefficients have theirs taken out, to a fifth of it at most.
 */
START_TEST(blocks_of_short_records_have_their_own_phase_taken_out)
{
    enum { FRAMES = 1000 };
    struct tone tone;
    struct periodic_fit fit;
    tone_init(&tone, 3, 1.0 / 27.3);
    tone.drift = 1e-3;
    tone.length = FRAMES;
    tone_fit(&tone, FRAMES, &fit);
    ck_assert_uint_ge(fit.block_count, 30);
    double largest = 0.0;
    for (size_t b = 0; b < fit.block_count; b++) {
        largest = fmax(largest, fabs(fit.blocks[b].phase));
        for (size_t m = 0; m < 2; m++) {
            const double complex ratio = fit.blocks[b].coefficient[m][1] / fit.coefficient[m][1];
            ck_assert_double_lt(cabs(ratio - 1.0), 4e-3);
        }
    }
    /* pi / 4 times the cycles times the drift, less its mean, a third of it */
    ck_assert_double_eq_tol(largest, 2.0 / 3.0 * 0.25 * PI * 36.6 * 1e-3, 2e-3);
    periodic_fit_clear(&fit);
}
END_TEST

/* ---- why there is no fit ---- */

static void check_failure(const struct periodic_options *options, const struct tone *tone,
    size_t frames, enum periodic_failure reason, const char *key, double value, double limit)
{
    double values[2 * 2000], found = -1.0, most = -1.0;
    struct error err = {0};
    struct periodic_fit fit;
    struct periodic *periodic = periodic_create(options, &err);
    ck_assert_ptr_null(periodic_get_failure_count(periodic, &found, &most));
    ck_assert(found == -1.0 && most == -1.0);
    tone_fill(tone, 0, frames, values);
    ck_assert(!periodic_add(periodic, values, NULL, frames, &err));
    ck_assert_int_eq(periodic_finish(periodic, &fit, &err), STATUS_CAPTURE);
    ck_assert_int_eq(periodic_get_failure(periodic), reason);
    const char *name = periodic_get_failure_count(periodic, &found, &most);
    if (key == NULL) {
        ck_assert_ptr_null(name);
    } else {
        ck_assert_str_eq(name, key);
    }
    ck_assert_double_eq_tol(found, value, 0.02);
    ck_assert_double_eq(most, limit);
    periodic_destroy(periodic);
}

START_TEST(a_failure_tells_what_was_too_few_or_too_many)
{
    struct tone tone;
    tone_init(&tone, 3, 1.0 / 100.0);
    struct periodic_options options = {.channels = 2, .sample_rate_Hz = TONE_RATE};
    check_failure(&options, &tone, 15, PERIODIC_SHORT, "samples", 15.0, 16.0);
    options.frequency_Hz = TONE_RATE / 100.0;
    check_failure(&options, &tone, 260, PERIODIC_SHORT, "cycles", 2.6, 3.0);
    options.harmonics = 50;
    check_failure(&options, &tone, 2000, PERIODIC_UNFIT, "harmonics", 50.0, 49.0);
    options = (struct periodic_options){.channels = 2, .sample_rate_Hz = TONE_RATE};
    for (size_t k = 0; k <= 3; k++) {
        tone.c[0][k] = tone.c[1][k] = 0.0;
    }
    check_failure(&options, &tone, 2000, PERIODIC_ABSENT, NULL, -1.0, -1.0);
}
END_TEST

Suite *record_suite(void)
{
    Suite *suite = suite_create("record");
    TCase *tests = tcase_create("record");
    tcase_set_timeout(tests, 60);
    tcase_add_test(tests, harmonics_lie_below_half_the_rate);
    tcase_add_test(tests, a_harmonic_beside_half_the_rate_must_drift_against_the_samples);
    tcase_add_loop_test(
        tests, harmonics_up_to_the_last_are_found, 0, (int)(sizeof top_list / sizeof *top_list));
    tcase_add_test(tests, uneven_records_that_just_fill_the_head_lose_nothing);
    tcase_add_loop_test(tests, noise_and_the_uncertainty_from_it_are_those_of_the_samples, 0,
        (int)(sizeof noise_list / sizeof *noise_list));
    tcase_add_loop_test(tests, records_without_noise_are_fitted_exactly, 0,
        (int)(sizeof exact_list / sizeof *exact_list));
    tcase_add_test(tests, a_frequency_that_is_given_is_the_one_that_is_fitted);
    tcase_add_test(tests, a_frequency_that_is_off_by_half_a_cycle_is_found);
    tcase_add_test(tests, a_gap_in_the_times_costs_no_harmonics);
    tcase_add_test(tests, a_channel_of_zeros_leaves_the_other);
    tcase_add_loop_test(tests, blocks_of_short_records_are_runs_of_whole_cycles, 0,
        (int)(sizeof run_list / sizeof *run_list));
    tcase_add_test(tests, blocks_of_short_records_have_their_own_phase_taken_out);
    tcase_add_test(tests, a_failure_tells_what_was_too_few_or_too_many);
    suite_add_tcase(suite, tests);
    return suite;
}
