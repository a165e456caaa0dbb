// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/rough.h"

#include <math.h>
#include <stdlib.h>

#include "num/pair.h"
#include "num/random.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

/* Two channels with few lines at multiples of nu. */
struct lines {
    double a[8], b[8]; /* amplitudes of harmonics 0 ... 7 */
    double slope;      /* of the first channel over the record */
    double noise, missing;
};

static double complex *create(const struct lines *lines, double nu, size_t count)
{
    double complex *values = malloc(count * sizeof *values);
    struct random random;
    random_init(&random, 11, 0);
    for (size_t n = 0; n < count; n++) {
        const double x = TURN * fmod(nu * (double)n, 1.0);
        double a = lines->slope * (double)n / (double)count, b = 0.0;
        for (int k = 0; k < 8; k++) {
            a += lines->a[k] * cos(k * x + 0.3 * k);
            b += lines->b[k] * cos(k * x - 0.9 * k);
        }
        a += lines->noise * random_get_normal(&random);
        b += lines->noise * random_get_normal(&random);
        values[n] =
            random_get_uniform(&random) < lines->missing ? as_complex(NAN, b) : as_complex(a, b);
    }
    return values;
}

static const struct {
    const char *name;
    struct lines lines;
} wave_list[] = {
    {"a sine and its cosine", {.a = {0, 1}, .b = {0, 1}}},
    {"one silent channel", {.a = {0, 1}}},
    {"unlike sizes", {.a = {0, 1e6}, .b = {0, 1e-6}}},
    {"offset and slope", {.a = {40, 1}, .b = {-7, 1}, .slope = 5}},
    {"a third harmonic above the fundamental", {.a = {0, 0.6, 0, 1}, .b = {0, 0.5, 0, 1}}},
    {"a fifth harmonic above the fundamental",
        {.a = {0, 0.5, 0, 0.7, 0, 1}, .b = {0, 0.4, 0, 0.5, 0, 1}}},
    {"even harmonics", {.a = {0, 0.9, 0.8, 0.2}, .b = {0, 0.6, 0.5, 0.5}}},
    {"noise as large as the sine", {.a = {0, 1}, .b = {0, 1}, .noise = 0.7}},
    {"a third is missing", {.a = {0, 1}, .b = {0, 1, 0, 0.3}, .missing = 0.3}},
};

static const struct {
    double cycles;
    size_t count;
} extent_list[] = {{3.05, 100}, {3.5, 3000}, {7.3, 300}, {33.1, 2000}, {200.4, 8000},
    {12.6, 100000}, {9000.7, 100000}};

START_TEST(the_frequency_is_found_to_a_tenth_of_a_cycle_over_the_record)
{
    for (size_t w = 0; w < sizeof wave_list / sizeof wave_list[0]; w++) {
        const double nu = extent_list[_i].cycles / (double)extent_list[_i].count;
        /* beyond the first 65536 samples nothing need be looked at */
        const double seen = fmin((double)extent_list[_i].count, 65536.0);
        double complex *values = create(&wave_list[w].lines, nu, extent_list[_i].count);
        struct error err = {0};
        double found = -1.0;
        const enum status status =
            rough_find_frequency(values, extent_list[_i].count, &found, &err);
        ck_assert_msg(!status, "%s: %s", wave_list[w].name, err.message);
        /* a quarter of a cycle is what the fit can start from; the slope and few cycles take more
         * than the tenth that plain waves need */
        const double limit = extent_list[_i].cycles < 8.0 ? 0.25 : 0.1;
        ck_assert_msg(fabs(found - nu) * seen < limit, "%s, %g cycles: off by %.3f cycles",
            wave_list[w].name, extent_list[_i].cycles, (found - nu) * seen);
        free(values);
    }
}
END_TEST

START_TEST(noise_constants_and_nothing_have_no_frequency)
{
    static const struct {
        const char *name;
        struct lines lines;
    } list[] = {{"noise", {.noise = 1.0}}, {"constants", {.a = {3.3}, .b = {-0.1}}},
        {"silence", {.slope = 0.0}}, {"a slope", {.slope = 2.0}},
        {"all missing", {.missing = 2.0}}};
    static const size_t counts[] = {64, 1000, 30000, 100000};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        for (size_t j = 0; j < sizeof counts / sizeof counts[0]; j++) {
            double complex *values = create(&list[i].lines, 0.01, counts[j]);
            struct error err = {0};
            double found = -1.0;
            const enum status status = rough_find_frequency(values, counts[j], &found, &err);
            ck_assert_msg(status == STATUS_CAPTURE, "%s, %zu samples", list[i].name, counts[j]);
            ck_assert_str_eq(err.message, "no periodic waveform was found");
            ck_assert_double_eq(found, -1.0);
            free(values);
        }
    }
}
END_TEST

/* Of 3000 samples with 120.3 cycles. */
static double find(const struct lines *lines)
{
    double complex *values = create(lines, 120.3 / 3000.0, 3000);
    struct error err = {0};
    double found = -1.0;
    const enum status status = rough_find_frequency(values, 3000, &found, &err);
    ck_assert_msg(!status, "%s", err.message);
    free(values);
    return found * 3000.0 / 120.3;
}

/* Both channels are alike, so that powers go with the squares of the amplitudes. */
START_TEST(the_highest_line_is_the_fundamental_unless_a_part_of_it_has_a_line)
{
    static const struct {
        struct lines lines;
        double expected;
    } list[] = {
        {{.a = {0, 0, 0, 0.5, 0, 0, 0, 1}, .b = {0, 0, 0, 0.5, 0, 0, 0, 1}}, 7}, /* 3 of 7 */
        {{.a = {0, 0, 0.5, 0, 0, 1}, .b = {0, 0, 0.5, 0, 0, 1}}, 5},             /* 2 of 5 */
        {{.a = {0, 0, 0, 0, 0.6, 1}, .b = {0, 0, 0, 0, 0.6, 1}}, 5},             /* 4 of 5 */
        {{.a = {0, 0.5, 0, 0, 0, 0, 0, 1}, .b = {0, 0.5, 0, 0, 0, 0, 0, 1}}, 1}, /* a seventh */
        {{.a = {0, 0.5, 0, 0, 0, 0, 1}, .b = {0, 0.5, 0, 0, 0, 0, 1}}, 1},       /* a sixth */
        {{.a = {0, 0.5, 1}, .b = {0, 0.5, 1}}, 1},                               /* half */
        {{.a = {0, 0.155, 0, 1}, .b = {0, 0.155, 0, 1}}, 1}, /* 0.024 of the power */
        {{.a = {0, 0.127, 0, 1}, .b = {0, 0.127, 0, 1}}, 3}, /* 0.016 */
        {{.a = {0, 0.3, 0, 0.6, 0, 0, 1}, .b = {0, 0.3, 0, 0.6, 0, 0, 1}}, 1}, /* the lowest part */
        {{.a = {0, 0, 0, 1}, .b = {0, 0.4}}, 1}, /* each channel counts with unit variance */
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        ck_assert_msg(fabs(find(&list[i].lines) / list[i].expected - 1.0) < 1e-3,
            "%zu: %g instead of %g", i, find(&list[i].lines), list[i].expected);
    }
}
END_TEST

/* With the Hann window 1 - cos, a sine of amplitude a in N samples has a line of (a N / 2)^2, noise
 * of s a mean of 1.5 N s^2: sixty times as much is a = s sqrt(360 / N). */
START_TEST(a_line_stands_out_from_sixty_times_the_mean)
{
    for (size_t count = 3000; count < 60000; count *= 4) {
        for (int side = 0; side < 2; side++) {
            const double a = (side == 0 ? 0.75 : 1.3) * sqrt(360.0 / (double)count);
            const struct lines lines = {.a = {0, a}, .b = {0, a}, .noise = 1.0};
            double complex *values = create(&lines, 0.0713, count);
            struct error err = {0};
            double found = -1.0;
            const enum status status = rough_find_frequency(values, count, &found, &err);
            ck_assert_msg(status == (side == 0 ? STATUS_CAPTURE : STATUS_OK), "%zu, %g", count, a);
            ck_assert((found > 0.0) == (side == 1));
            free(values);
        }
    }
}
END_TEST

/* A Hann window's main lobe is told from three places a quarter of a cycle apart to a hundredth of
 * a cycle, wherever between two places the frequency lies. */
START_TEST(a_sine_alone_is_found_to_a_hundredth_of_a_cycle)
{
    static const size_t counts[] = {300, 3000, 65536};
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        for (int step = 0; step < 10; step++) {
            const double cycles = 40.0 + 0.0937 * step;
            const struct lines lines = {.a = {0, 1}, .b = {0.5, step % 2}};
            double complex *values = create(&lines, cycles / (double)counts[i], counts[i]);
            double found = -1.0;
            struct error err = {0};
            ck_assert(!rough_find_frequency(values, counts[i], &found, &err));
            ck_assert_double_eq_tol(found * (double)counts[i], cycles, 0.01);
            /* to a whole number of grains of 2^-20 cycles */
            ck_assert_double_eq_tol(remainder(found * (double)counts[i], 0x1p-20), 0.0, 1e-12);
            free(values);
        }
    }
}
END_TEST

/* Few cycles in the first 65536 samples: the whole record is looked at, thinned. */
START_TEST(slow_waveforms_are_found_over_the_whole_record)
{
    static const struct {
        double cycles;
        size_t count;
    } list[] = {{3.6, 131073}, {5.3, 200000}, {17.3, 200003}, {160.4, 1048576}, {4.4, 65537}};
    for (size_t i = 0; i < sizeof list / sizeof *list; i++) {
        const struct lines lines = {.a = {1, 1}, .b = {0, 1, 0, 0.3}};
        const double nu = list[i].cycles / (double)list[i].count;
        double complex *values = create(&lines, nu, list[i].count);
        double found = -1.0;
        struct error err = {0};
        ck_assert_msg(
            !rough_find_frequency(values, list[i].count, &found, &err), "%s", err.message);
        ck_assert_msg(fabs(found / nu - 1.0) * list[i].cycles < 0.1, "%zu: off by %.3f cycles", i,
            (found / nu - 1.0) * list[i].cycles);
        free(values);
    }
}
END_TEST

/* The place of a part lies on the slope of another line's main lobe, a cycle and a half to each
 * side of it: that is no line. */
START_TEST(the_slope_of_a_line_beside_a_part_is_no_part)
{
    enum { COUNT = 3000 };
    static const double others[] = {18.2, 21.8};
    for (size_t i = 0; i < 2; i++) {
        double complex *values = malloc(COUNT * sizeof *values);
        for (size_t n = 0; n < COUNT; n++) {
            const double t = (double)n / COUNT;
            const double value = cos(TURN * 40.0 * t) + 0.6 * cos(TURN * others[i] * t + 0.5);
            values[n] = as_complex(value, value);
        }
        double found = -1.0;
        struct error err = {0};
        ck_assert(!rough_find_frequency(values, COUNT, &found, &err));
        ck_assert_double_eq_tol(found * COUNT, 40.0, 0.05);
        free(values);
    }
}
END_TEST

/* A channel counts when more is left of it than rounding makes, 1e-26 of its energy: beside an
 * offset of 1 a sine of 2e-13 has 2e-26, one of 1e-13 has 5e-27. */
START_TEST(what_is_left_of_an_offset_counts_above_its_rounding)
{
    static const double sizes[] = {1e-10, 1e-14};
    for (size_t i = 0; i < 2; i++) {
        const struct lines lines = {.a = {0, sizes[i]}, .b = {0}};
        double complex *values = create(&lines, 0.02, 2000);
        for (size_t n = 0; n < 2000; n++) {
            values[n] = as_complex(1.0 + creal(values[n]), 0.0);
        }
        double found = -1.0;
        struct error err = {0};
        const enum status status = rough_find_frequency(values, 2000, &found, &err);
        ck_assert_int_eq(status, i == 0 ? STATUS_OK : STATUS_CAPTURE);
        free(values);
    }
}
END_TEST

/* A short record has few lines, of which one cannot stand out by much: an eighth of their number
 * is asked for. Of 40 samples with 8 cycles, beside noise. */
START_TEST(in_a_short_record_a_line_stands_out_from_fewer)
{
    const struct lines lines = {.a = {0, 1}, .b = {0, 1}, .noise = 0.3};
    double complex *values = create(&lines, 0.2, 40);
    double found = -1.0;
    struct error err = {0};
    ck_assert_msg(!rough_find_frequency(values, 40, &found, &err), "%s", err.message);
    ck_assert_double_eq_tol(found * 40.0, 8.0, 0.25);
    free(values);
}
END_TEST

Suite *rough_suite(void)
{
    Suite *suite = suite_create("rough");
    TCase *tests = tcase_create("rough");
    tcase_add_loop_test(tests, the_frequency_is_found_to_a_tenth_of_a_cycle_over_the_record, 0,
        (int)(sizeof extent_list / sizeof extent_list[0]));
    tcase_add_test(tests, noise_constants_and_nothing_have_no_frequency);
    tcase_add_test(tests, the_highest_line_is_the_fundamental_unless_a_part_of_it_has_a_line);
    tcase_add_test(tests, a_sine_alone_is_found_to_a_hundredth_of_a_cycle);
    tcase_add_test(tests, slow_waveforms_are_found_over_the_whole_record);
    tcase_add_test(tests, the_slope_of_a_line_beside_a_part_is_no_part);
    tcase_add_test(tests, what_is_left_of_an_offset_counts_above_its_rounding);
    tcase_add_test(tests, in_a_short_record_a_line_stands_out_from_fewer);
    tcase_add_test(tests, a_line_stands_out_from_sixty_times_the_mean);
    suite_add_tcase(suite, tests);
    return suite;
}
