// SPDX-License-Identifier: GPL-3.0-or-later
/* Even records without noise: whatever their length, the fit is the truth. Missing samples and
 * uneven times are in test_gaps.c, drifting frequencies in test_wander.c, noise in test_bound.c. */
#include "num/periodic.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "suites.h"
#include "tone_fit.h"

/* Conjugate gradients end at 1e-13 of the right side and the gridding is good to 3e-12; both
 * average out over harmonics. The frequency is rounding's alone. */
static const double exact = 1e-11, exact_frequency = 1e-13;

static const double period_list[] = {2.7, 8.28, 27.3, 255.9, 256.0, 960.0, 1919.5, 20000.5};
static const double cycles_list[] = {3.05, 5.5, 31.9, 33.1, 200.4};

/* As many as the sampling carries, up to 12. */
static size_t get_harmonics(double period)
{
    const double most = ceil(0.5 * period) - 1.0;
    return most > 12.0 ? 12 : (size_t)most;
}

START_TEST(records_of_any_length_and_rate_are_fitted_exactly)
{
    const double period = period_list[_i];
    for (size_t i = 0; i < sizeof cycles_list / sizeof cycles_list[0]; i++) {
        const size_t frames = (size_t)(period * cycles_list[i]);
        if (frames < 16) {
            continue; /* too few: see below */
        }
        struct tone tone;
        struct periodic_fit fit;
        tone_init(&tone, get_harmonics(period), 1.0 / period);
        tone_fit(&tone, frames, &fit);
        tone_check(&tone, &fit, 0.0, exact_frequency, exact);
        ck_assert_uint_eq(fit.harmonics, tone.harmonics);
        ck_assert_uint_eq(fit.channels, 2);
        ck_assert_double_eq(fit.frames, (double)frames);
        ck_assert_double_eq_tol(fit.duration_s, (double)frames / TONE_RATE, 1e-12 * (double)frames);
        ck_assert_double_eq_tol(fit.cycles, (double)frames / period, 1e-9);
        ck_assert_double_eq_tol(fit.samples_per_cycle, period, 1e-9);
        ck_assert(!fit.is_unsteady);
        ck_assert_uint_eq(
            fit.harmonics_limit, period > 4096.0 ? 2048 : (size_t)ceil(0.5 * period) - 1);
        /* folding knows what is left of the energy to a few parts in 1e16 of it */
        ck_assert_double_lt(fit.noise_rms[0], 2e-6);
        ck_assert_double_lt(fit.noise_rms[1], 2e-6);
        periodic_fit_clear(&fit);
    }
}
END_TEST

/* Blocks: each alone is the same waveform, their places follow one another, their weights are whole
 * cycles. */
START_TEST(blocks_are_runs_of_whole_cycles_in_order)
{
    static const struct {
        double period;
        size_t frames, least, most;
    } list[] = {{255.9, 5000, 15, 19}, {27.3, 60000, 16, 18}, {960.0, 200000, 15, 18},
        {96.3, 1500000, 20, 24}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct tone tone;
        struct periodic_fit fit;
        tone_init(&tone, 6, 1.0 / list[i].period);
        tone_fit(&tone, list[i].frames, &fit);
        ck_assert_uint_ge(fit.block_count, list[i].least);
        ck_assert_uint_le(fit.block_count, list[i].most);
        double before = 0.0, total = 0.0;
        for (size_t b = 0; b < fit.block_count; b++) {
            const struct periodic_block *block = &fit.blocks[b];
            ck_assert_double_gt(block->time_s, before);
            before = block->time_s;
            total += block->frames;
            const double cycles = block->frames / list[i].period;
            ck_assert_double_eq_tol(cycles, round(cycles), 1.0 / list[i].period * cycles);
            ck_assert_double_lt(fabs(block->phase), 1e-9);
            for (size_t m = 0; m < 2; m++) {
                for (size_t k = 1; k <= 6; k++) {
                    ck_assert(cabs(block->coefficient[m][k] - tone_get(&tone, m, k)) < 1e-9);
                }
            }
        }
        ck_assert_double_lt(before, fit.duration_s);
        ck_assert_double_gt(total, 0.9 * (double)list[i].frames);
        ck_assert_double_le(total, (double)list[i].frames);
        periodic_fit_clear(&fit);
    }
}
END_TEST

/* 25 cycles in 207 samples, and the like: one stretch repeated makes a record of any length. */
static const struct {
    size_t cycles, samples, harmonics;
    double frames;
} long_list[] = {
    {25, 207, 3, 1.3e6},    /* 8.28 samples a cycle */
    {10, 27, 1, 1.3e6},     /* 2.7 */
    {5, 4799, 12, 1.6e6},   /* 959.8 */
    {1, 960, 12, 1.3e6},    /* whole */
    {2, 40001, 12, 3.2e6},  /* 20000.5: averaged by pairs twice */
    {1, 100000, 10, 4.3e6}, /* 43 cycles: never enough to stream */
    {1, 300000, 5, 1.2e6},  /* 4 cycles */
    {25, 207, 3, 17.1e6},   /* 267 blocks: merged */
    {1, 960, 12, 34.2e6},   /* merged twice, larger ones among them */
};

START_TEST(long_records_are_streamed_exactly)
{
    const size_t samples = long_list[_i].samples;
    const double nu = (double)long_list[_i].cycles / (double)samples;
    struct tone tone;
    tone_init(&tone, long_list[_i].harmonics, nu);
    size_t repeats = 200000 / samples;
    repeats = repeats < 1 ? 1 : repeats;
    const size_t stretch = repeats * samples;
    double *values = malloc(2 * stretch * sizeof *values);
    tone_fill(&tone, 0, samples, values);
    for (size_t r = 1; r < repeats; r++) {
        memcpy(values + 2 * r * samples, values, 2 * samples * sizeof *values);
    }
    const struct periodic_options options = {.channels = 2, .sample_rate_Hz = TONE_RATE};
    struct periodic *periodic = periodic_create(&options, NULL);
    double frames = 0.0;
    for (; frames < long_list[_i].frames; frames += (double)stretch) {
        ck_assert(!periodic_add(periodic, values, NULL, stretch, NULL));
    }
    struct periodic_fit fit;
    struct error err = {0};
    ck_assert_msg(!periodic_finish(periodic, &fit, &err), "%s", err.message);
    tone_check(&tone, &fit, 0.0, exact_frequency, exact);
    ck_assert_uint_eq(fit.harmonics, tone.harmonics);
    ck_assert_double_eq(fit.frames, frames);
    ck_assert_uint_le(fit.block_count, 256);
    ck_assert_uint_ge(fit.block_count, frames * nu < 32.0 ? 3 : 16);
    ck_assert(!fit.is_unsteady);
    periodic_fit_clear(&fit);
    periodic_destroy(periodic);
    free(values);
}
END_TEST

/* A channel without any signal has no size that could be brought near 1. */
START_TEST(a_channel_of_zeros_stays_and_leaves_the_other)
{
    for (size_t silent = 0; silent < 2; silent++) {
        struct tone tone;
        tone_init(&tone, 3, 1.0 / 27.3);
        for (size_t k = 0; k <= 3; k++) {
            tone.c[silent][k] = 0.0;
        }
        struct periodic_fit fit;
        tone_fit(&tone, 2000, &fit);
        ck_assert_double_eq_tol(fit.frequency_Hz, TONE_RATE / 27.3, 1e-12 * TONE_RATE);
        for (size_t k = 0; k <= fit.harmonics; k++) {
            ck_assert_double_le(cabs(fit.coefficient[silent][k]), exact);
            const double complex wanted = k <= 3 ? tone_get(&tone, 1 - silent, k) : 0.0;
            ck_assert_double_le(cabs(fit.coefficient[1 - silent][k] - wanted), exact);
        }
        ck_assert_double_lt(fit.noise_rms[silent], 2e-6);
        periodic_fit_clear(&fit);
    }
}
END_TEST

static bool is_same_fit(const struct periodic_fit *a, const struct periodic_fit *b)
{
    const size_t bytes = (a->harmonics + 1) * sizeof(double complex);
    bool is_same = a->harmonics == b->harmonics && a->block_count == b->block_count &&
                   a->frequency_Hz == b->frequency_Hz && a->u_frequency_Hz == b->u_frequency_Hz &&
                   a->phase_drift_rad == b->phase_drift_rad;
    for (size_t m = 0; is_same && m < 2; m++) {
        is_same = memcmp(a->coefficient[m], b->coefficient[m], bytes) == 0 &&
                  a->noise_rms[m] == b->noise_rms[m];
        for (size_t i = 0; is_same && i < a->block_count; i++) {
            is_same = memcmp(a->blocks[i].coefficient[m], b->blocks[i].coefficient[m], bytes) == 0;
        }
    }
    return is_same;
}

static const struct {
    double period;
    size_t frames;
    size_t hole_every; /* 0: none missing */
    double jitter;     /* of the times, samples; 0: even */
} cut_list[] = {{27.3, 2000, 0, 0.0}, {27.3, 60000, 0, 0.0}, {96.3, 1200000, 0, 0.0},
    {96.3, 1200000, 300000, 0.0}, {27.3, 2000, 17, 0.0}, {40000.5, 1100000, 0, 0.0},
    {96.3, 1060000, 50, 0.0}, {96.3, 530000, 0, 0.2}};
enum { CUT_QUICK = 5 }; /* the others take longer */

START_TEST(a_record_in_pieces_of_any_size_gives_the_same_bits)
{
    static const size_t chunks[] = {7, 1000, 1, 65536};
    const size_t frames = cut_list[_i].frames, count = _i < CUT_QUICK ? 4 : 1;
    double *values = malloc(2 * frames * sizeof *values), *times = NULL;
    struct tone tone;
    struct periodic_fit whole, fit;
    struct error err = {0};
    enum periodic_failure failure;
    tone_init(&tone, 5, 1.0 / cut_list[_i].period);
    tone_fill(&tone, 0, frames, values);
    for (size_t n = 0; cut_list[_i].hole_every > 0 && n < frames; n += cut_list[_i].hole_every) {
        values[2 * n] = NAN;
    }
    if (cut_list[_i].jitter > 0.0) {
        times = malloc(frames * sizeof *times);
        for (size_t n = 0; n < frames; n++) {
            const double x = (double)n;
            times[n] = (x + cut_list[_i].jitter * sin(x * x)) / TONE_RATE;
        }
    }
    struct tone_record record = {
        .values = values, .times = times, .frames = frames, .channels = 2, .chunk = frames};
    ck_assert_msg(!tone_record_fit(&record, &whole, &failure, &err), "%s", err.message);
    for (size_t i = 0; i < count; i++) {
        record.chunk = chunks[i];
        ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
        ck_assert_msg(is_same_fit(&whole, &fit), "pieces of %zu", chunks[i]);
        periodic_fit_clear(&fit);
    }
    periodic_fit_clear(&whole);
    free(values);
    free(times);
}
END_TEST

static const struct {
    double period;
    size_t frames;
} path_list[] = {{27.3, 200}, {27.3, 40000}, {96.3, 1200000}};

START_TEST(one_channel_alone_is_fitted_like_two)
{
    const size_t frames = path_list[_i].frames;
    double *values = malloc(2 * frames * sizeof *values);
    struct tone tone;
    struct periodic_fit fit;
    enum periodic_failure failure;
    tone_init(&tone, 12, 1.0 / path_list[_i].period);
    tone_fill(&tone, 0, frames, values);
    for (size_t n = 0; n < frames; n++) {
        values[n] = values[2 * n];
    }
    const struct tone_record record = {
        .values = values, .frames = frames, .channels = 1, .chunk = 10000};
    ck_assert(!tone_record_fit(&record, &fit, &failure, NULL));
    ck_assert_uint_eq(fit.channels, 1);
    tone_check(&tone, &fit, 0.0, exact_frequency, exact);
    ck_assert_uint_eq(fit.harmonics, 12);
    for (size_t k = 0; k <= 12; k++) {
        ck_assert(cabs(fit.coefficient[1][k]) < 1e-15);
    }
    periodic_fit_clear(&fit);
    free(values);
}
END_TEST

/* Sums of both channels go through one complex transform: without powers of two ahead of it the
 * smaller one would lose six digits. */
START_TEST(channels_of_unlike_size_keep_all_their_digits)
{
    static const double scales[] = {1e6, 1e-6, 1e9, 3e-12};
    const size_t frames = path_list[_i].frames;
    double *values = malloc(2 * frames * sizeof *values);
    const size_t count = frames > 1000000 ? 1 : sizeof scales / sizeof scales[0];
    for (size_t i = 0; i < count; i++) {
        struct tone tone;
        struct periodic_fit fit;
        enum periodic_failure failure;
        tone_init(&tone, 12, 1.0 / path_list[_i].period);
        for (size_t k = 0; k <= 12; k++) {
            tone.c[0][k] *= scales[i];
        }
        tone_fill(&tone, 0, frames, values);
        const struct tone_record record = {
            .values = values, .frames = frames, .channels = 2, .chunk = 10000};
        ck_assert(!tone_record_fit(&record, &fit, &failure, NULL));
        tone_check(&tone, &fit, 0.0, exact_frequency, exact);
        ck_assert_double_lt(fit.noise_rms[0], 2e-6 * scales[i]);
        for (size_t b = 0; b < 2 * fit.block_count; b++) {
            for (size_t k = 1; k <= 12; k++) {
                const double whole = cabs(tone.c[b % 2][k]);
                const double alone = cabs(fit.blocks[b / 2].coefficient[b % 2][k]);
                ck_assert_double_eq_tol(alone / whole, 1.0, 1e-4);
            }
        }
        periodic_fit_clear(&fit);
    }
    free(values);
}
END_TEST

START_TEST(as_many_harmonics_are_fitted_as_were_asked_for)
{
    static const size_t counts[] = {1, 5, 12, 13};
    const size_t frames = path_list[_i].frames;
    double *values = malloc(2 * frames * sizeof *values);
    struct tone tone;
    tone_init(&tone, 5, 1.0 / path_list[_i].period);
    tone_fill(&tone, 0, frames, values);
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        struct periodic_fit fit;
        struct error err = {0};
        enum periodic_failure failure;
        const struct tone_record record = {.values = values,
            .frames = frames,
            .channels = 2,
            .harmonics = counts[i],
            .chunk = 10000};
        ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
        ck_assert_uint_eq(fit.harmonics, counts[i]);
        if (counts[i] >= 5) {
            tone_check(&tone, &fit, 0.0, exact_frequency, exact);
        }
        periodic_fit_clear(&fit);
    }
    free(values);
}
END_TEST

static const struct {
    const char *name;
    double period, cycles;
    size_t harmonics; /* asked for */
    double amplitude, offset, noise;
    enum periodic_failure failure;
    const char *message, *hint;
} refusal_list[] = {
    {"no samples", 10.0, 0.0, 0, 1.0, 0.0, 0.0, PERIODIC_SHORT,
        "the capture holds only 0 usable samples", "record at least 3 whole cycles, better 50"},
    {"a dozen samples", 4.0, 3.0, 0, 1.0, 0.0, 0.0, PERIODIC_SHORT,
        "the capture holds only 12 usable samples", "record at least 3 whole cycles, better 50"},
    {"two cycles and a half", 1000.0, 2.5, 0, 1.0, 0.0, 0.0, PERIODIC_SHORT,
        "the capture holds only 2.50 cycles, 3 are needed",
        "record at least 3 whole cycles, better 50"},
    {"not quite three cycles", 1000.0, 2.9, 0, 1.0, 0.0, 0.0, PERIODIC_SHORT,
        "the capture holds only 2.90 cycles, 3 are needed",
        "record at least 3 whole cycles, better 50"},
    {"noise only", 100.0, 100.0, 0, 0.0, 0.0, 1.0, PERIODIC_ABSENT,
        "no periodic waveform was found", "check that the excitation runs"},
    {"a constant", 100.0, 100.0, 0, 0.0, 2.385, 0.0, PERIODIC_ABSENT,
        "no periodic waveform was found", "check that the excitation runs"},
    {"a long constant", 100.0, 11000.0, 0, 0.0, 2.385, 0.0, PERIODIC_ABSENT,
        "no periodic waveform was found", "check that the excitation runs"},
    {"silence", 100.0, 100.0, 0, 0.0, 0.0, 0.0, PERIODIC_ABSENT, "no periodic waveform was found",
        "check that the excitation runs"},
    {"nothing but missing samples", 100.0, 100.0, 0, NAN, 0.0, 0.0, PERIODIC_SHORT,
        "the capture holds only 0 usable samples", "record at least 3 whole cycles, better 50"},
    {"missing samples without end", 100.0, 11000.0, 0, NAN, 0.0, 0.0, PERIODIC_SHORT,
        "the capture holds only 0 usable samples", "record at least 3 whole cycles, better 50"},
    {"too many harmonics, few samples", 27.3, 10.0, 14, 1.0, 0.0, 0.0, PERIODIC_UNFIT,
        "14 harmonics were asked for, but the sampling carries only 13",
        "ask for fewer harmonics or sample faster"},
    {"too many harmonics, many samples", 27.3, 3000.0, 2000, 1.0, 0.0, 0.0, PERIODIC_UNFIT,
        "2000 harmonics were asked for, but the sampling carries only 13",
        "ask for fewer harmonics or sample faster"},
    {"too many harmonics, a stream", 27.3, 40000.0, 14, 1.0, 0.0, 0.0, PERIODIC_UNFIT,
        "14 harmonics were asked for, but the sampling carries only 13",
        "ask for fewer harmonics or sample faster"},
};

START_TEST(what_cannot_be_fitted_is_refused_with_a_reason)
{
    const size_t frames = (size_t)(refusal_list[_i].period * refusal_list[_i].cycles + 0.5);
    double *values = malloc((2 * frames + 1) * sizeof *values);
    struct tone tone = {.harmonics = 1, .nu = 1.0 / refusal_list[_i].period, .seed = 5};
    for (int m = 0; m < 2; m++) {
        tone.c[m][0] = refusal_list[_i].offset;
        tone.c[m][1] = refusal_list[_i].amplitude;
        tone.noise[m] = refusal_list[_i].noise;
    }
    tone_fill(&tone, 0, frames, values);
    const struct tone_record record = {.values = values,
        .frames = frames,
        .channels = 2,
        .harmonics = refusal_list[_i].harmonics,
        .chunk = 4000};
    struct periodic_fit fit = {.harmonics = 77};
    struct error err = {0};
    enum periodic_failure failure;
    ck_assert_int_eq(tone_record_fit(&record, &fit, &failure, &err), STATUS_CAPTURE);
    ck_assert_str_eq(err.message, refusal_list[_i].message);
    ck_assert_int_eq(strncmp(err.hint, refusal_list[_i].hint, strlen(refusal_list[_i].hint)), 0);
    ck_assert_int_eq(failure, refusal_list[_i].failure);
    ck_assert_uint_eq(fit.harmonics, 77);
    free(values);
}
END_TEST

START_TEST(nothing_need_be_fitted_and_clearing_twice_is_safe)
{
    const struct periodic_options options = {.channels = 2, .sample_rate_Hz = TONE_RATE};
    struct periodic_fit fit = {0};
    periodic_destroy(periodic_create(&options, NULL));
    periodic_destroy(NULL);
    periodic_fit_clear(&fit);
    struct tone tone;
    tone_init(&tone, 3, 0.05);
    tone_fit(&tone, 500, &fit);
    periodic_fit_clear(&fit);
    periodic_fit_clear(&fit);
    ck_assert_ptr_null(fit.blocks);
}
END_TEST

#define LENGTH(list) (int)(sizeof(list) / sizeof *(list))

Suite *periodic_suite(void)
{
    Suite *suite = suite_create("periodic");
    TCase *tests = tcase_create("periodic");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(
        tests, records_of_any_length_and_rate_are_fitted_exactly, 0, LENGTH(period_list));
    tcase_add_test(tests, blocks_are_runs_of_whole_cycles_in_order);
    tcase_add_loop_test(tests, long_records_are_streamed_exactly, 0, LENGTH(long_list));
    tcase_add_loop_test(
        tests, a_record_in_pieces_of_any_size_gives_the_same_bits, 0, LENGTH(cut_list));
    tcase_add_test(tests, a_channel_of_zeros_stays_and_leaves_the_other);
    tcase_add_loop_test(tests, one_channel_alone_is_fitted_like_two, 0, LENGTH(path_list));
    tcase_add_loop_test(tests, channels_of_unlike_size_keep_all_their_digits, 0, LENGTH(path_list));
    tcase_add_loop_test(
        tests, as_many_harmonics_are_fitted_as_were_asked_for, 0, LENGTH(path_list));
    tcase_add_loop_test(
        tests, what_cannot_be_fitted_is_refused_with_a_reason, 0, LENGTH(refusal_list));
    tcase_add_test(tests, nothing_need_be_fitted_and_clearing_twice_is_safe);
    suite_add_tcase(suite, tests);
    return suite;
}
