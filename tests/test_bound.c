// SPDX-License-Identifier: GPL-3.0-or-later
/* White noise: the scatter of the fit against the Cramér-Rao bound of a periodic waveform in two
 * channels (offsets, frequency, harmonics 1 ... K), as in P. Stoica, R. L. Moses, "Spectral
 * Analysis of Signals" (2005), appendix B, for many samples:
 *
 *     frequency: (2 pi)^2 var(nu) = 12 / (N^3 sum_m sum_k k^2 |c_mk|^2 / (2 sigma_m^2))
 *     |c_mk|:    2 sigma_m^2 / N;  phase: the same over |c_mk|^2, where the frequency has no part
 */
#include <math.h>
#include <stdlib.h>

#include "num/periodic.h"
#include "suites.h"
#include "tone_fit.h"

static const double TURN = 6.283185307179586476925286766559;

static const struct {
    double period, cycles;
    size_t harmonics;
    double noise;
    int seeds;
} case_list[] = {
    {27.3, 5.5, 4, 0.01, 60}, /* few cycles, fitted directly */
    {41.3, 3.05, 1, 0.02, 60}, {8.28, 60.3, 3, 0.02, 60}, {2.7, 200.3, 1, 0.05, 60},
    {61.8, 560.3, 8, 0.01, 60},   /* folded */
    {960.0, 36.5, 12, 0.003, 60}, /* a whole number of samples a cycle */
    {96.3, 11000.0, 12, 0.03, 4}, /* streamed */
};
enum { CASES = sizeof case_list / sizeof case_list[0] };

/* Squares of deviations over the bound's variance. */
struct pool {
    double sum;
    int count;
};

static void pool_add(struct pool *pool, double deviation, double variance)
{
    pool->sum += deviation * deviation / variance;
    pool->count++;
}

/* Root of the mean; the design's limit is 1.15, and what beats the bound by as much is a wrong
 * bound. With n draws the root scatters by 1/sqrt(2 n): three of it are allowed. */
static void pool_check(const struct pool *pool, const char *what, double period)
{
    const double ratio = sqrt(pool->sum / pool->count), slack = 3.0 / sqrt(2.0 * pool->count);
    ck_assert_msg(ratio < 1.05 + slack && ratio > 1.0 - slack,
        "%s, %g samples a cycle: %.3f of the bound (%d draws)", what, period, ratio, pool->count);
}

static double get_frequency_variance(const struct tone *tone, double frames)
{
    double information = 0.0;
    for (int m = 0; m < 2; m++) {
        for (size_t k = 1; k <= tone->harmonics; k++) {
            const double size = (double)k * cabs(tone->c[m][k]);
            information += size * size / (2.0 * tone->noise[m] * tone->noise[m]);
        }
    }
    return 12.0 / (frames * frames * frames * information) / (TURN * TURN);
}

static void add_harmonics(const struct tone *tone, const struct periodic_fit *fit, double frames,
    struct pool *sizes, struct pool *phases)
{
    for (size_t k = 1; k <= tone->harmonics && k <= fit->harmonics; k++) {
        double variance = 0.0;
        for (int m = 0; m < 2; m++) {
            const double one = 2.0 * tone->noise[m] * tone->noise[m] / frames;
            const double truth = cabs(tone->c[m][k]);
            if (truth * truth > 30.0 * one) { /* below, a modulus is biased by its noise */
                pool_add(sizes, cabs(fit->coefficient[m][k]) - truth, one);
            }
            variance += one / (truth * truth);
        }
        if (variance < 0.03) {
            double size, phase;
            tone_compare(tone, fit, k, &size, &phase);
            pool_add(phases, phase, variance);
        }
    }
}

START_TEST(the_fit_keeps_the_information_of_all_samples)
{
    const double period = case_list[_i].period;
    const size_t frames = (size_t)(period * case_list[_i].cycles);
    struct tone tone;
    struct pool frequency = {0}, sizes = {0}, phases = {0};
    double noise[2] = {0.0, 0.0}, stated = 0.0;
    tone_init(&tone, case_list[_i].harmonics, 1.0 / period);
    tone.noise[0] = case_list[_i].noise;
    tone.noise[1] = 2.0 * case_list[_i].noise;
    const double variance = get_frequency_variance(&tone, (double)frames);
    for (int seed = 1; seed <= case_list[_i].seeds; seed++) {
        struct periodic_fit fit;
        tone.seed = (uint64_t)seed;
        tone_fit(&tone, frames, &fit);
        pool_add(&frequency, fit.frequency_Hz / TONE_RATE - tone.nu, variance);
        add_harmonics(&tone, &fit, (double)frames, &sizes, &phases);
        stated += fit.u_frequency_Hz / TONE_RATE / sqrt(variance) / case_list[_i].seeds;
        for (int m = 0; m < 2; m++) {
            noise[m] += fit.noise_rms[m] / tone.noise[m] / case_list[_i].seeds;
        }
        ck_assert(!fit.is_unsteady);
        periodic_fit_clear(&fit);
    }
    pool_check(&frequency, "frequency", period);
    pool_check(&sizes, "sizes of harmonics", period);
    pool_check(&phases, "phases between channels", period);
    /* few cycles: the harmonics' phases take part in the frequency, up to a tenth */
    ck_assert_double_eq_tol(stated, 1.05, 0.1);
    ck_assert_double_eq_tol(noise[0], 1.0, 0.02);
    ck_assert_double_eq_tol(noise[1], 1.0, 0.02);
}
END_TEST

START_TEST(the_number_of_harmonics_is_right_in_nineteen_of_twenty)
{
    int right = 0, count = 0;
    for (int i = 0; i < CASES; i++) {
        const size_t frames = (size_t)(case_list[i].period * case_list[i].cycles);
        struct tone tone;
        tone_init(&tone, case_list[i].harmonics, 1.0 / case_list[i].period);
        tone.noise[0] = case_list[i].noise;
        tone.noise[1] = 2.0 * case_list[i].noise;
        const int seeds = frames < 5000 ? 100 : frames < 100000 ? 6 : 0;
        for (int seed = 101; seed <= 100 + seeds; seed++) {
            struct periodic_fit fit;
            tone.seed = (uint64_t)seed;
            tone_fit(&tone, frames, &fit);
            ck_assert_uint_ge(fit.harmonics, tone.harmonics); /* all of them stand out */
            right += fit.harmonics == tone.harmonics;
            count++;
            periodic_fit_clear(&fit);
        }
    }
    ck_assert_msg((double)right >= 0.95 * count, "%d of %d", right, count);
}
END_TEST

Suite *bound_suite(void)
{
    Suite *suite = suite_create("bound");
    TCase *tests = tcase_create("bound");
    tcase_set_timeout(tests, 120);
    tcase_add_loop_test(tests, the_fit_keeps_the_information_of_all_samples, 0, CASES);
    tcase_add_test(tests, the_number_of_harmonics_is_right_in_nineteen_of_twenty);
    suite_add_tcase(suite, tests);
    return suite;
}
