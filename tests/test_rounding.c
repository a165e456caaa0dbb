// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/rounding.h"

#include <math.h>
#include <string.h>

#include "num/pair.h"
#include "num/periodic.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

enum { FRAMES = 4800, TOP = 5 };

static double round_to(double value, double step)
{
    return step > 0.0 ? rint(value / step) * step : value;
}

START_TEST(finds_the_step_of_whole_numbers_and_none_elsewhere)
{
    const double steps[] = {0x1p-15, 0x1p-23, 0x1p-31};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        double complex value[FRAMES];
        for (int n = 0; n < FRAMES; n++) {
            value[n] = as_complex(
                round_to(0.7 * sin(0.0123 * n), steps[i]), n == 7 ? NAN : 0.7 * cos(0.0123 * n));
        }
        struct rounding rounding = {0};
        rounding_find_steps(&rounding, value, FRAMES);
        ck_assert_double_eq(rounding.step[0], steps[i]);
        ck_assert_double_eq(rounding.step[1], 0.0);
    }
}
END_TEST

/* Steps are told down to 2^-36 of the largest value: below, digits are those of the arithmetic. */
START_TEST(steps_are_told_down_to_36_bits_below_the_largest)
{
    static const struct {
        int bits;
        bool is_found;
    } list[] = {{34, true}, {35, true}, {36, false}, {37, false}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const double step = ldexp(1.0, -list[i].bits);
        const double complex value[] = {as_complex(1.0, -1.0), as_complex(-step, 3.0 * step),
            as_complex(INFINITY, NAN), as_complex(0.0, 0.0), as_complex(0.5, 5.0 * step)};
        struct rounding rounding = {0};
        rounding_find_steps(&rounding, value, 5);
        ck_assert_double_eq(rounding.step[0], list[i].is_found ? step : 0.0);
        ck_assert_double_eq(rounding.step[1], list[i].is_found ? step : 0.0);
    }
}
END_TEST

START_TEST(steps_are_told_from_the_first_8192_samples)
{
    enum { COUNT = 8193 };
    static double complex value[COUNT];
    for (size_t place = 8191; place <= 8192; place++) {
        for (size_t n = 0; n < COUNT; n++) {
            value[n] = n == place ? as_complex(0x1p-20, 0x1p-20) : as_complex(0.5, 1.0);
        }
        struct rounding rounding = {0};
        rounding_find_steps(&rounding, value, COUNT);
        ck_assert_double_eq(rounding.step[0], place == 8191 ? 0x1p-20 : 0.5);
        ck_assert_double_eq(rounding.step[1], place == 8191 ? 0x1p-20 : 1.0);
    }
    /* constants of 0 have none */
    struct rounding rounding = {.step = {7.0, 7.0}};
    memset(value, 0, sizeof value);
    rounding_find_steps(&rounding, value, COUNT);
    ck_assert(rounding.step[0] == 0.0 && rounding.step[1] == 0.0);
}
END_TEST

/* The variance after raising, over the rounding's own; 0.1 of it before. */
static double raise(double nu, double thinning, double variance_before)
{
    const double step = 0x1p-23, own = step * step / 12.0;
    const struct rounding rounding = {.step = {step, step}, .count = FRAMES, .thinning = thinning};
    double complex a[TOP + 1] = {0.0, 0.8}, b[TOP + 1] = {0.0, 0.7, 0.0, 0.1};
    double complex *value[2] = {a, b};
    double variance[2] = {variance_before * own, variance_before * own};
    rounding_raise_variance(&rounding, nu * thinning, value, TOP, FRAMES / thinning, variance);
    return variance[0] / own;
}

START_TEST(a_locked_clock_repeats_its_rounding_and_only_that)
{
    /* 48 samples to a cycle, a hundred cycles: what one cycle tells, a hundred times */
    ck_assert_double_eq_tol(raise(1.0 / 48.0, 1.0, 0.1), 100.0, 1e-9);
    /* the pattern comes back after two cycles */
    ck_assert_double_eq_tol(raise(1.0 / 48.5, 1.0, 0.1), 4800.0 / 97.0, 1e-9);
    /* averaged by fours before the fit: the same pattern, fewer samples */
    ck_assert_double_eq_tol(raise(1.0 / 48.0, 4.0, 0.1), 25.0, 1e-9);
    /* a clock that drifts by a thousandth of a sample meets other steps each time */
    ck_assert_double_eq_tol(raise(1.0 / 48.001, 1.0, 0.1), 1.0, 1e-9);
    /* over the 4800 samples, 100 cycles, the pattern slips by 100 times what a cycle is off a whole
     * number of samples; the slope of the waveform, 2 pi nu sqrt(sum k^2 |c|^2 / 2) with 0.8, makes
     * of that more than a step or less */
    const double slope = TURN / 48.0 * 0.8 / sqrt(2.0), edge = 0x1p-23 / slope / 100.0;
    ck_assert_double_eq_tol(raise(1.0 / (48.0 + 0.98 * edge), 1.0, 0.1), 100.0, 1e-4);
    ck_assert_double_eq_tol(raise(1.0 / (48.0 + 1.02 * edge), 1.0, 0.1), 1.0, 1e-9);
    /* after 50 cycles, half of the record; not after 51 */
    ck_assert_double_eq_tol(raise(1.0 / (48.0 + 1.0 / 50.0), 1.0, 0.1), 1.0, 1e-9);
    ck_assert_double_eq_tol(raise(1.0 / (48.0 - 1.0 / 49.0), 1.0, 0.1), 4800.0 / 2351.0, 1e-9);
    /* up to 64 of them: 24 samples a cycle make 200 */
    ck_assert_double_eq_tol(raise(1.0 / (24.0 + 1.0 / 64.0), 1.0, 0.1), 4800.0 / 1537.0, 1e-9);
    ck_assert_double_eq_tol(raise(1.0 / (24.0 + 1.0 / 65.0), 1.0, 0.1), 1.0, 1e-9);
    /* one and a half of the rounding's own variance is still quiet, and 3e-13 of the energy */
    const double own = 0x1p-46 / 12.0, quiet = 1.5 + 3e-13 * 0.5 * 0.8 * 0.8 / own;
    ck_assert_double_eq_tol(raise(1.0 / 48.0, 1.0, 0.999 * quiet), 100.0, 1e-9);
    ck_assert_double_eq_tol(raise(1.0 / 48.0, 1.0, 1.001 * quiet), 1.001 * quiet, 1e-9);
    ck_assert_double_eq_tol(raise(1.0 / 48.0, 4.0, 0.999 * quiet / 4.0), 25.0, 1e-9);
    ck_assert_double_eq_tol(raise(1.0 / 48.0, 4.0, 1.001 * quiet / 4.0), 1.001 * quiet / 4.0, 1e-9);
    /* noise wider than the steps dithers them */
    ck_assert_double_eq_tol(raise(1.0 / 48.0, 1.0, 1000.0), 1000.0, 1e-9);
}
END_TEST

START_TEST(a_locked_capture_has_no_more_harmonics_than_its_waveform)
{
    const double periods[] = {48.0, 96.0, 240.0, 960.0};
    for (size_t i = 0; i < sizeof periods / sizeof periods[0]; i++) {
        const struct periodic_options options = {.channels = 2, .sample_rate_Hz = periods[i]};
        struct periodic *periodic = periodic_create(&options, NULL);
        ck_assert_ptr_nonnull(periodic);
        for (int n = 0; n < 20 * (int)periods[i]; n++) {
            const double x = TURN * n / periods[i];
            const double pair[2] = {round_to(0.8 * cos(x), 0x1p-23),
                round_to(0.5 * sin(x) + 0.01 * cos(5.0 * x + 1.0), 0x1p-23)};
            ck_assert(!periodic_add(periodic, pair, NULL, 1, NULL));
        }
        struct periodic_fit fit;
        ck_assert(!periodic_finish(periodic, &fit, NULL));
        ck_assert_uint_eq(fit.harmonics, 5);
        periodic_fit_clear(&fit);
        periodic_destroy(periodic);
    }
}
END_TEST

Suite *rounding_suite(void)
{
    Suite *suite = suite_create("rounding");
    TCase *tests = tcase_create("rounding");
    tcase_add_test(tests, finds_the_step_of_whole_numbers_and_none_elsewhere);
    tcase_add_test(tests, steps_are_told_down_to_36_bits_below_the_largest);
    tcase_add_test(tests, steps_are_told_from_the_first_8192_samples);
    tcase_add_test(tests, a_locked_clock_repeats_its_rounding_and_only_that);
    tcase_add_test(tests, a_locked_capture_has_no_more_harmonics_than_its_waveform);
    suite_add_tcase(suite, tests);
    return suite;
}
