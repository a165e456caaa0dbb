// SPDX-License-Identifier: GPL-3.0-or-later
/* Benches whose frequency wanders while the waveform keeps its shape in phase: sizes and phases of
 * the two channels against each other must stay what they are. (The pickup voltage of a coil also
 * grows with the frequency: that is a matter of the conversion.) */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "num/periodic.h"
#include "suites.h"
#include "tone_fit.h"

static const double PI = 3.14159265358979323846;

enum { TOP = 12 };

/* pi sum k Im(a conj b): what the area of a loop is made of. */
static double compute_area(double complex *const c[2], size_t harmonics)
{
    double sum = 0.0;
    for (size_t k = 1; k <= harmonics; k++) {
        sum += PI * (double)k * cimag(c[0][k] * conj(c[1][k]));
    }
    return sum;
}

/* Errors of the fundamental and, relative to its channel's fundamental, of all harmonics. */
struct errors {
    double size, phase; /* of the fundamental */
    double others;
    double area;
};

static struct errors find_errors(const struct tone *tone, const struct periodic_fit *fit)
{
    struct errors errors = {0};
    tone_compare(tone, fit, 1, &errors.size, &errors.phase);
    for (size_t k = 2; k <= TOP; k++) {
        double size, phase;
        tone_compare(tone, fit, k, &size, &phase);
        for (int m = 0; m < 2; m++) {
            const double share = cabs(tone->c[m][k]) / cabs(tone->c[m][1]);
            errors.others = fmax(errors.others, fmax(size, phase) * share);
        }
    }
    double complex truth[2][TOP + 1];
    double complex *const pointers[2] = {truth[0], truth[1]};
    for (size_t m = 0; m < 2; m++) {
        for (size_t k = 0; k <= TOP; k++) {
            truth[m][k] = tone->c[m][k];
        }
    }
    errors.area = fabs(compute_area(fit->coefficient, TOP) / compute_area(pointers, TOP) - 1.0);
    return errors;
}

static const struct {
    double period;
    size_t frames;
    double drift;  /* relative change of the frequency over the record */
    double limit;  /* of the fundamental's size (relative) and phase (radian) */
    double others; /* of the other harmonics, relative to the fundamental */
    double area;
} drift_list[] = {
    /* Folded, the phase followed from block to block. What is left: the frequency's curve within a
     * block, and rows that begin up to half a sample off, which matters with few samples a cycle.
     */
    {960.0, 200000, 1e-5, 1e-6, 1e-6, 1e-7},
    {960.0, 200000, 1e-4, 1e-6, 3e-6, 1e-7},
    {255.9, 300000, 1e-5, 1e-6, 1e-5, 1e-6},
    {255.9, 300000, 1e-4, 1e-6, 2e-5, 1e-6},
    {27.3, 60000, 1e-5, 3e-6, 1e-4, 1e-6},
    {27.3, 60000, 1e-4, 5e-6, 1e-4, 1e-6},
    {960.0, 200000, 1e-3, 3e-6, 3e-5, 1e-6},
    /* So much that whole turns lie between blocks, and that the rows must change their length.
     * Blocks are a few cycles long, in which the phase runs away by some 1e-3 turns. */
    {960.0, 200000, 0.02, 1e-4, 1e-3, 1e-4},
    {960.0, 200000, -0.02, 1e-4, 1e-3, 1e-4},
    {960.0, 400000, -0.05, 1e-4, 3e-3, 1e-4},
    {255.9, 300000, 0.1, 1e-4, 1e-3, 1e-4},
    {27.3, 60000, -0.02, 1e-3, 2e-2, 5e-4},
    /* streamed: the nominal frequency lags by a block and a half */
    {960.0, 1200000, 1e-5, 1e-6, 1e-6, 1e-7},
    {960.0, 1200000, 1e-4, 1e-6, 1e-5, 3e-6},
    {960.0, 1500000, 0.02, 1e-4, 1e-3, 1e-4},
    {960.0, 1500000, -0.1, 1e-4, 1e-3, 1e-4},
    /* Fitted directly at one frequency: errors of the drift's own size, but loops do not change
     * when time is stretched, so the area is better by far. */
    {960.0, 20000, 1e-5, 1e-5, 1e-4, 1e-6},
    {960.0, 20000, 1e-4, 1e-4, 1e-3, 1e-6},
    {27.3, 2000, 1e-5, 1e-5, 1e-4, 1e-6},
    {27.3, 2000, 1e-4, 1e-4, 1e-3, 1e-5},
};

START_TEST(a_drifting_frequency_leaves_the_waveforms_alone)
{
    const size_t frames = drift_list[_i].frames;
    struct tone tone;
    struct periodic_fit fit;
    tone_init(&tone, TOP, 1.0 / drift_list[_i].period);
    tone.drift = drift_list[_i].drift;
    tone.length = (double)frames;
    tone_fit(&tone, frames, &fit);
    const struct errors errors = find_errors(&tone, &fit);
    ck_assert_msg(errors.size < drift_list[_i].limit && errors.phase < drift_list[_i].limit &&
                      errors.others < drift_list[_i].others && errors.area < drift_list[_i].area,
        "size %.2g, phase %.2g, other harmonics %.2g, area %.2g", errors.size, errors.phase,
        errors.others, errors.area);
    /* the mean frequency, to a hundredth of its drift */
    const double off = fit.frequency_Hz / (tone.nu * TONE_RATE) - 1.0;
    ck_assert_double_le(fabs(off), 0.01 * fabs(tone.drift));
    /* the parabola's ends are off its line by 2/3 of 2 pi drift cycles / 8; the outermost blocks
     * end before them */
    const double ends = 2.0 / 3.0 * 2.0 * PI * fabs(tone.drift) * fit.cycles / 8.0;
    ck_assert_double_le(fit.phase_drift_rad, 1.1 * ends);
    ck_assert_double_ge(fit.phase_drift_rad, 0.8 * ends);
    ck_assert(fit.is_unsteady || frames < (1 << 15));
    periodic_fit_clear(&fit);
}
END_TEST

static const struct {
    double period;
    size_t frames;
    double step; /* relative change of the frequency in the middle */
    double limit, others, area;
} step_list[] = {
    {960.0, 200000, 1e-5, 1e-6, 1e-6, 1e-7},
    {960.0, 200000, 1e-4, 1e-6, 3e-6, 1e-6},
    {255.9, 300000, 1e-4, 1e-6, 2e-5, 1e-6},
    /* one block of a stream may hold both frequencies, its harmonics smeared */
    {960.0, 1200000, 1e-5, 1e-6, 1e-5, 1e-6},
    {960.0, 1200000, 1e-4, 3e-5, 1e-4, 1e-4},
    /* the block that holds both is left out */
    {960.0, 200000, 0.02, 3e-4, 2e-3, 1e-4},
    {960.0, 1200000, -0.02, 3e-4, 2e-3, 1e-4},
    {960.0, 1200000, -0.06, 3e-4, 2e-3, 1e-4},
};

START_TEST(a_step_of_the_frequency_leaves_the_waveforms_alone)
{
    const size_t frames = step_list[_i].frames, half = frames / 2;
    struct tone tone;
    tone_init(&tone, TOP, 1.0 / step_list[_i].period);
    double *values = malloc(2 * frames * sizeof *values);
    tone_fill(&tone, 0, half, values);
    struct tone later = tone; /* goes on in phase */
    later.nu = tone.nu * (1.0 + step_list[_i].step);
    later.start = tone.start + fmod(tone.nu * (double)half, 1.0);
    tone_fill(&later, 0, frames - half, values + 2 * half);
    const struct tone_record record = {
        .values = values, .frames = frames, .channels = 2, .chunk = 10000};
    struct periodic_fit fit;
    struct error err = {0};
    enum periodic_failure failure;
    ck_assert_msg(!tone_record_fit(&record, &fit, &failure, &err), "%s", err.message);
    const struct errors errors = find_errors(&tone, &fit);
    ck_assert_msg(errors.size < step_list[_i].limit && errors.phase < step_list[_i].limit &&
                      errors.others < step_list[_i].others && errors.area < step_list[_i].area,
        "size %.2g, phase %.2g, other harmonics %.2g, area %.2g", errors.size, errors.phase,
        errors.others, errors.area);
    const double off = fit.frequency_Hz / (tone.nu * TONE_RATE) - 1.0;
    ck_assert_double_eq_tol(off / step_list[_i].step, 0.5, 0.01);
    ck_assert(fit.is_unsteady);
    periodic_fit_clear(&fit);
    free(values);
}
END_TEST

/* Whole cycles again and again, frames of them in all. */
static void add_often(
    struct periodic *periodic, const struct tone *tone, size_t samples, size_t frames)
{
    double *values = malloc(2 * samples * sizeof *values);
    tone_fill(tone, 0, samples, values);
    for (size_t done = 0; done < frames; done += samples) {
        ck_assert(!periodic_add(periodic, values, NULL, samples, NULL));
    }
    free(values);
}

/* Steady for 317 blocks, so that those that follow are twice as large; in one of them the frequency
 * changes by a ten-thousandth, and from then on it is followed from small block to small block. */
START_TEST(a_late_step_of_the_frequency_leaves_the_waveforms_alone)
{
    const double early = 317 * 65536.0, late = 40 * 65536.0;
    const struct periodic_options options = {.channels = 2, .sample_rate_Hz = TONE_RATE};
    struct periodic *periodic = periodic_create(&options, NULL);
    struct periodic_fit fit;
    struct tone tone, later;
    tone_init(&tone, TOP, 1.0 / 960.0);
    tone_init(&later, TOP, 10.0 / 9599.0);
    add_often(periodic, &tone, 9600, (size_t)early);
    add_often(periodic, &later, 9599, (size_t)late);
    ck_assert(!periodic_finish(periodic, &fit, NULL));
    const struct errors errors = find_errors(&tone, &fit);
    ck_assert_msg(
        errors.size < 3e-6 && errors.phase < 3e-6 && errors.others < 3e-5 && errors.area < 1.5e-5,
        "size %.2g, phase %.2g, other harmonics %.2g, area %.2g", errors.size, errors.phase,
        errors.others, errors.area);
    /* the line through the phases: its slope is s^2 (3 - 2 s) of the step, s the share behind it */
    const double step = 9600.0 / 9599.0 - 1.0, share = late / (early + late);
    const double off = fit.frequency_Hz / (tone.nu * TONE_RATE) - 1.0;
    ck_assert_double_eq_tol(off / step, share * share * (3.0 - 2.0 * share), 0.01 * share);
    ck_assert(fit.is_unsteady);
    periodic_fit_clear(&fit);
    periodic_destroy(periodic);
}
END_TEST

START_TEST(a_drift_in_noise_is_followed_without_following_the_noise)
{
    struct tone tone;
    struct periodic_fit fit;
    tone_init(&tone, 6, 1.0 / 255.9);
    tone.noise[0] = tone.noise[1] = 1e-2;
    tone.length = 300000.0;
    for (int i = 0; i < 6; i++) {
        tone.drift = i == 0 ? 0.0 : i < 3 ? 1e-5 : 1e-4;
        tone.seed = (uint64_t)(1 + i);
        tone_fit(&tone, 300000, &fit);
        ck_assert(fit.is_unsteady == (i > 0));
        ck_assert_uint_ge(fit.harmonics, 6);
        for (size_t k = 1; k <= 6; k++) {
            double size, phase;
            tone_compare(&tone, &fit, k, &size, &phase);
            const double least = fmin(cabs(tone.c[0][k]), cabs(tone.c[1][k]));
            /* four standard deviations of the fainter channel */
            const double limit = 4.0 * 1e-2 * sqrt(2.0 / 300000.0) / least;
            ck_assert_msg(size < limit && phase < 1.5 * limit, "k %zu: %.2g, %.2g of %.2g", k, size,
                phase, limit);
        }
        ck_assert_double_eq_tol(fit.noise_rms[0], 1e-2, 1e-4);
        periodic_fit_clear(&fit);
    }
}
END_TEST

/* A record of `frames` whose frequency changes as told must not be fitted. */
static void check_refused(const double *values, size_t frames, size_t harmonics, const char *words)
{
    const struct tone_record record = {
        .values = values, .frames = frames, .channels = 2, .harmonics = harmonics, .chunk = 10000};
    struct periodic_fit fit = {0};
    struct error err = {0};
    enum periodic_failure failure;
    ck_assert_int_eq(tone_record_fit(&record, &fit, &failure, &err), STATUS_CAPTURE);
    ck_assert_msg(strstr(err.message, words), "%s", err.message);
    ck_assert_int_eq(failure, PERIODIC_ABSENT);
    ck_assert_ptr_null(fit.coefficient[0]);
}

/* Every four cycles (the shortest block) the phase jumps by a third of a turn. */
START_TEST(a_phase_that_jumps_all_the_time_is_refused)
{
    enum { PIECE = 4 * 960, PIECES = 60 };
    struct tone tone;
    tone_init(&tone, 3, 1.0 / 960.0);
    double *values = malloc(2 * PIECE * PIECES * sizeof *values);
    for (size_t i = 0; i < PIECES; i++) {
        tone.start = (double)(i * i % 3) / 3.0;
        tone_fill(&tone, 0, PIECE, values + 2 * PIECE * i);
    }
    check_refused(values, PIECE * PIECES, 0, "faster than can be followed");
    free(values);
}
END_TEST

/* Of 32 samples a cycle 15 harmonics can be told; of 28, fourteen are at half the rate. */
START_TEST(a_frequency_that_rises_beyond_the_sampling_of_its_harmonics_is_refused)
{
    enum { FRAMES = 200000 };
    struct tone tone;
    tone_init(&tone, 6, 1.0 / 30.0);
    tone.drift = 0.14;
    tone.length = FRAMES;
    double *values = malloc(2 * FRAMES * sizeof *values);
    tone_fill(&tone, 0, FRAMES, values);
    check_refused(values, FRAMES, 15, "does not carry 15 harmonics");
    free(values);
    struct periodic_fit fit; /* with as many as it carries it is fitted */
    tone_fit(&tone, FRAMES, &fit);
    ck_assert_uint_le(fit.harmonics, 13);
    const struct errors errors = find_errors(&tone, &fit);
    ck_assert_msg(
        errors.size < 1e-3 && errors.area < 1e-3, "size %.2g, area %.2g", errors.size, errors.area);
    periodic_fit_clear(&fit);
}
END_TEST

#define LENGTH(list) (int)(sizeof(list) / sizeof *(list))

Suite *wander_suite(void)
{
    Suite *suite = suite_create("wander");
    TCase *tests = tcase_create("wander");
    tcase_set_timeout(tests, 60);
    tcase_add_loop_test(
        tests, a_drifting_frequency_leaves_the_waveforms_alone, 0, LENGTH(drift_list));
    tcase_add_loop_test(
        tests, a_step_of_the_frequency_leaves_the_waveforms_alone, 0, LENGTH(step_list));
    tcase_add_test(tests, a_late_step_of_the_frequency_leaves_the_waveforms_alone);
    tcase_add_test(tests, a_drift_in_noise_is_followed_without_following_the_noise);
    tcase_add_test(tests, a_phase_that_jumps_all_the_time_is_refused);
    tcase_add_test(tests, a_frequency_that_rises_beyond_the_sampling_of_its_harmonics_is_refused);
    suite_add_tcase(suite, tests);
    return suite;
}
