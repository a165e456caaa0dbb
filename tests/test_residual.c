// SPDX-License-Identifier: GPL-3.0-or-later
/* What a fit leaves over, of waveforms of whole cycles, whose least-squares fit is their spectrum.
 */
#include "num/residual.h"

#include <math.h>

#include "suites.h"

static const double PI = 3.14159265358979323846;
static const double RATE = 8000.0;

enum { FRAMES = 8000, CYCLES = 20, TOP = 5 };

static double values[2 * FRAMES];
static double complex coefficient[2][TOP + 1];
static struct periodic_fit fit;
static struct residual residual;

/* A tone in each channel: cycles over the record, Re(amplitude e^{i 2 pi f t}). */
static const struct {
    double cycles;
    double complex amplitude;
} tones[2] = {{21.4, 0.02}, {37.7, 0.03 * I}};

/* Both channels have harmonics of their own, and `share` of their tone; the fit is the best one. */
static void set_up_with(double share)
{
    struct error err = {0};
    fit = (struct periodic_fit){.channels = 2,
        .harmonics = TOP,
        .frequency_Hz = CYCLES * RATE / FRAMES,
        .frames = FRAMES,
        .duration_s = FRAMES / RATE,
        .cycles = CYCLES,
        .samples_per_cycle = FRAMES / CYCLES,
        .coefficient = {coefficient[0], coefficient[1]}};
    for (int m = 0; m < 2; m++) {
        for (int n = 0; n < FRAMES; n++) {
            const double t = (double)n / FRAMES;
            double value = 0.1 * (m + 1);
            for (int k = 1; k <= TOP; k++) {
                value += cos(2.0 * PI * k * CYCLES * t + k + m) / k;
            }
            values[2 * n + m] = value + share * creal(tones[m].amplitude *
                                                      cexp(2.0 * PI * I * tones[m].cycles * t));
        }
        for (int k = 0; k <= TOP; k++) {
            double complex sum = 0.0;
            for (int n = 0; n < FRAMES; n++) {
                sum += values[2 * n + m] * cexp(-2.0 * PI * I * k * CYCLES * n / FRAMES);
            }
            coefficient[m][k] = (k == 0 ? 1.0 : 2.0) / FRAMES * sum;
        }
    }
    ck_assert_msg(!residual_init(&residual, values, FRAMES, RATE, &fit, &err), "%s", err.message);
}

static void set_up(void)
{
    set_up_with(1.0);
}

static void tear_down(void)
{
    residual_clear(&residual);
}

START_TEST(a_fit_of_all_harmonics_leaves_nothing)
{
    tear_down();
    set_up_with(0.0);
    /* the table of a cycle loses 4e-5 of the highest harmonic at most */
    ck_assert_double_lt(residual_compute_square_sum(&residual, 0), 1e-9);
    ck_assert_double_lt(residual_compute_square_sum(&residual, 1), 1e-9);
    ck_assert(!residual.is_part);
    ck_assert_uint_eq(residual.count, FRAMES);
}
END_TEST

/* Between two harmonics the fit takes a part of the tone, near the fundamental a fifth of it. */
START_TEST(a_tone_is_taken_off_with_what_it_left_in_the_fit)
{
    struct error err = {0};
    for (size_t m = 0; m < 2; m++) {
        const double other = residual_compute_square_sum(&residual, 1 - m);
        const double before = residual_compute_square_sum(&residual, m);
        ck_assert_double_gt(before, 0.9 * FRAMES * 0.5 * pow(cabs(tones[m].amplitude), 2.0));
        ck_assert_double_lt(before, FRAMES * 0.5 * pow(cabs(tones[m].amplitude), 2.0));
        ck_assert(!residual_take_off(
            &residual, m, tones[m].cycles * RATE / FRAMES, tones[m].amplitude, &err));
        ck_assert_double_lt(residual_compute_square_sum(&residual, m), 1e-5 * before);
        ck_assert_double_eq(residual_compute_square_sum(&residual, 1 - m), other);
    }
}
END_TEST

START_TEST(the_spectrum_at_a_place_is_that_of_its_frequency)
{
    const ptrdiff_t size = (ptrdiff_t)residual.size;
    const ptrdiff_t places[] = {0, 1, 43, 75, 300, size - 43, size / 2, -43, size + 75, -size};
    residual_transform(&residual);
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        for (size_t m = 0; m < 2; m++) {
            const double frequency = (double)places[i] / ((double)size * residual.step);
            const double complex line = residual_compute_line(&residual, m, frequency);
            const double power = creal(line) * creal(line) + cimag(line) * cimag(line);
            ck_assert_double_eq_tol(
                residual_get_power(&residual, m, places[i]), power, 1e-9 * (power + 1.0));
        }
    }
    /* a tone of amplitude a has a line of n a / 2 */
    const double height =
        cabs(residual_compute_line(&residual, 1, tones[1].cycles * RATE / FRAMES));
    ck_assert_double_eq_tol(height, 0.5 * FRAMES * 0.03, 0.02 * 0.5 * FRAMES * 0.03);
}
END_TEST

/* Averages over runs of 4: sin(4x)/(4 sin x) in discrete samples, sinc(4x)/sinc(x) in time. */
START_TEST(long_slow_records_are_averaged)
{
    enum { LONG = 300000, THIN = 4 };
    static double slow[2 * LONG];
    static double complex none[2][1];
    struct periodic_fit plain = {.channels = 2,
        .frequency_Hz = RATE / 20000.0,
        .frames = LONG,
        .duration_s = LONG / RATE,
        .coefficient = {none[0], none[1]}};
    const double frequency = 700.0;
    struct error err = {0};
    for (int n = 0; n < LONG; n++) {
        slow[2 * n] = cos(2.0 * PI * frequency * n / RATE);
        slow[2 * n + 1] = n == 41 ? NAN : 1.0;
    }
    tear_down();
    ck_assert(!residual_init(&residual, slow, LONG, RATE, &plain, &err));
    ck_assert_uint_ge(residual.thinning, 2);
    const double run = (double)residual.thinning;
    ck_assert_double_eq(residual.step, run / RATE);
    ck_assert_double_eq(residual.first, 0.5 * (run - 1.0) / RATE);
    ck_assert_double_eq(residual.duration, (double)residual.count * run / RATE);
    const double x = PI * frequency / RATE;
    ck_assert_double_eq_tol(
        residual_get_thinned(&residual, frequency), sin(run * x) / (run * x) / (sin(x) / x), 1e-12);
    /* the averages are the tone at the middle of each run, as much smaller */
    for (size_t n = 0; n < 50; n++) {
        const double t = residual.first + (double)n * residual.step;
        ck_assert_double_eq_tol(creal(residual.value[n]),
            sin(run * x) / (run * sin(x)) * cos(2.0 * PI * frequency * t), 1e-9);
        ck_assert_double_eq(cimag(residual.value[n]), n == 41 / residual.thinning ? 0.0 : 1.0);
    }
}
END_TEST

START_TEST(the_sine_over_its_angle_is_1_at_0)
{
    ck_assert_double_eq(residual_get_sinc(0.0), 1.0);
    ck_assert_double_eq_tol(residual_get_sinc(1e-9), 1.0, 1e-15);
    ck_assert_double_eq_tol(residual_get_sinc(0.5), 2.0 / PI, 1e-15);
    ck_assert_double_eq_tol(residual_get_sinc(-1.5), -2.0 / (3.0 * PI), 1e-15);
    ck_assert_double_eq_tol(residual_get_sinc(3.0), 0.0, 1e-15);
}
END_TEST

Suite *residual_suite(void)
{
    Suite *suite = suite_create("residual");
    TCase *tests = tcase_create("residual");
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, a_fit_of_all_harmonics_leaves_nothing);
    tcase_add_test(tests, a_tone_is_taken_off_with_what_it_left_in_the_fit);
    tcase_add_test(tests, the_spectrum_at_a_place_is_that_of_its_frequency);
    tcase_add_test(tests, long_slow_records_are_averaged);
    tcase_add_test(tests, the_sine_over_its_angle_is_1_at_0);
    suite_add_tcase(suite, tests);
    return suite;
}
