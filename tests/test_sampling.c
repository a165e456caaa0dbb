// SPDX-License-Identifier: GPL-3.0-or-later
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "capture/grid.h"
#include "capture/sampling.h"
#include "suites.h"

#define ROWS_MOST 1000000

static double times[ROWS_MOST];

/* As printed with a given step: rounded to it, half away from zero. */
static double print_time(double time, double quantum)
{
    double decades = rint(-log10(quantum));
    char words[64];
    snprintf(words, sizeof words, "%.*f", (int)decades, time);
    return strtod(words, NULL);
}

static void fill(size_t count, double start, double rate, double quantum)
{
    for (size_t i = 0; i < count; i++) {
        times[i] = print_time(start + (double)i / rate, quantum);
    }
}

static struct sampling judge(size_t count, double quantum)
{
    struct sampling sampling;
    struct error err = {0};
    enum status status = sampling_judge(times, count, quantum, 0, &sampling, &err);
    ck_assert_msg(status == STATUS_OK, "%s", err.message);
    return sampling;
}

/* Rates with few digits are found exactly through the printed rounding: the interval is the double
 * nearest to 1/rate. Rates with many digits come from least squares; the error of the slope of n
 * times rounded to q is about q / (n * interval) / sqrt(n), and at most q / (n * interval). */
static const struct {
    double rate;
    double quantum;
    double start;
    size_t count;
    double tolerance; /* relative, of the interval */
} even_list[] = {
    {48000, 1e-6, 0, 1000, 0},
    {48000, 1e-6, 0.000007, 100, 0},
    {44100, 1e-6, 0, 5000, 0},
    {7, 1e-3, 0, 50, 0},
    {7, 1e-3, 0, 100000, 0},
    {10000, 1e-4, 0, 100, 0},     /* the interval is one printed step */
    {4000, 1e-4, 1, 1000, 0},     /* and here a quarter of none: 0, 0.0003, 0.0005 */
    {1000, 1e-3, 0, 3, 0},        /* three rows */
    {50, 0.01, 86399.97, 400, 0}, /* a clock of the day, past midnight */
    {48000, 1e-6, 43200.5, 20000, 0},
    {51200.0 / 31, 1e-6, 0, 20000, 1e-8},
    {12341.597, 1e-6, 0, 20000, 2e-8},
    {96000, 1e-9, 1.7e5, 100000, 0},
    {48000, 1e-6, 0, ROWS_MOST, 0},
    {250, 1e-12, 0, 1000, 0},
};

START_TEST(sees_an_even_clock_through_printed_rounding)
{
    double rate = even_list[_i].rate;
    double start = even_list[_i].start;
    double quantum = even_list[_i].quantum;
    fill(even_list[_i].count, start, rate, quantum);
    struct sampling sampling = judge(even_list[_i].count, quantum);
    ck_assert(sampling.is_grid);
    ck_assert(sampling.is_even);
    if (even_list[_i].tolerance == 0) {
        ck_assert_double_eq(sampling.interval_s, 1 / rate);
    } else {
        ck_assert_double_eq_tol(sampling.interval_s * rate, 1, even_list[_i].tolerance);
    }
    ck_assert_double_eq_tol(sampling.start_s, start, 0.5 * quantum * 1.001 + 1e-11);
    ck_assert_double_le(sampling.jitter_max_s, 0.5 * quantum * 1.001 + 1e-9 / rate + 1e-10);
    ck_assert_double_le(sampling.jitter_rms_s, sampling.jitter_max_s);
    ck_assert_uint_eq(sampling.gap_count, 0);
    ck_assert_double_eq(sampling.gap_longest_s, 0);
}
END_TEST

START_TEST(starts_at_the_printed_time_of_the_first_row)
{
    fill(1000, 0, 48000, 1e-6);
    struct sampling sampling = judge(1000, 1e-6);
    ck_assert_double_eq(sampling.start_s, 0);
    fill(1000, 2.5, 48000, 1e-6);
    sampling = judge(1000, 1e-6);
    ck_assert_double_eq(sampling.start_s, 2.5);
}
END_TEST

START_TEST(takes_unknown_times_of_rows_that_are_there)
{
    fill(1000, 0, 48000, 1e-6);
    times[0] = NAN;
    times[500] = NAN;
    times[501] = NAN;
    times[999] = NAN;
    struct sampling sampling = judge(1000, 1e-6);
    ck_assert(sampling.is_even);
    ck_assert_double_eq(sampling.interval_s, 1.0 / 48000);
    ck_assert_double_eq_tol(sampling.start_s, 0, 0.5e-6);
    ck_assert_uint_eq(sampling.gap_count, 0);
}
END_TEST

START_TEST(works_when_every_other_time_is_unknown)
{
    fill(1000, 0, 48000, 1e-6);
    for (size_t i = 0; i < 1000; i += 2) {
        times[i] = NAN;
    }
    struct sampling sampling = judge(1000, 1e-6);
    ck_assert(sampling.is_even);
    ck_assert_double_eq(sampling.interval_s, 1.0 / 48000);
}
END_TEST

/* Leaves rows out of a 10 kHz record of `count` rows; the number that is left. */
static size_t drop(size_t count, size_t from, size_t rows)
{
    for (size_t i = from; i + rows < count; i++) {
        times[i] = times[i + rows];
    }
    return count - rows;
}

START_TEST(sees_missing_rows_on_a_grid)
{
    fill(2000, 0, 48000, 1e-6);
    size_t count = drop(2000, 1500, 3);
    count = drop(count, 1000, 100);
    count = drop(count, 20, 1);
    struct sampling sampling = judge(count, 1e-6);
    ck_assert(sampling.is_grid);
    ck_assert(!sampling.is_even);
    ck_assert_double_eq(sampling.interval_s, 1.0 / 48000);
    ck_assert_uint_eq(sampling.gap_count, 3);
    ck_assert_double_eq_tol(sampling.gap_longest_s, 101.0 / 48000, 1.1e-6);
    for (size_t i = 0; i < count; i++) {
        double place = rint((times[i] - sampling.start_s) / sampling.interval_s);
        double off = times[i] - sampling.start_s - place * sampling.interval_s;
        ck_assert_double_le(fabs(off), 0.51e-6);
    }
}
END_TEST

/* A long silence after few rows: how many rows are missing is not known. */
START_TEST(refuses_to_count_rows_over_a_gap_that_is_too_long)
{
    fill(20, 0, 48000, 1e-6);
    for (size_t i = 10; i < 20; i++) {
        times[i] = print_time(times[i] + 100, 1e-6);
    }
    struct sampling sampling = judge(20, 1e-6);
    ck_assert(!sampling.is_grid);
    ck_assert_uint_eq(sampling.gap_count, 1);
    ck_assert_double_eq_tol(sampling.gap_longest_s, 100, 1e-3);
}
END_TEST

/* A small linear congruential generator: the numbers need only be the same everywhere. */
static double get_random(unsigned long long *state)
{
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(*state >> 11) / 9007199254740992.0 - 0.5;
}

START_TEST(takes_jittered_times_as_they_are_printed)
{
    unsigned long long state = 7;
    double width = 20e-6; /* of a uniform jitter: its rms is width / sqrt(12) */
    for (size_t i = 0; i < 10000; i++) {
        times[i] = print_time((double)i / 10000 + width * get_random(&state), 1e-7);
    }
    struct sampling sampling = judge(10000, 1e-7);
    ck_assert(!sampling.is_grid);
    ck_assert(!sampling.is_even);
    ck_assert_double_eq_tol(sampling.interval_s, 1e-4, 1e-6);
    /* 5 standard deviations of an rms from 10000 values: 5 / sqrt(2 * 10000) = 3.5 % at most */
    ck_assert_double_eq_tol(sampling.jitter_rms_s / (width / sqrt(12)), 1, 0.035);
    ck_assert_double_eq_tol(sampling.jitter_max_s, 0.5 * width, 0.02 * width);
    ck_assert_uint_eq(sampling.gap_count, 0);
}
END_TEST

/* One clock that runs away: no grid, although every single step is near the median. */
START_TEST(refuses_a_clock_that_drifts)
{
    for (size_t i = 0; i < 10000; i++) {
        double even = (double)i / 10000;
        times[i] = print_time(even + 1e-5 * even * even, 1e-6);
    }
    struct sampling sampling = judge(10000, 1e-6);
    ck_assert(!sampling.is_grid);
    ck_assert_double_gt(sampling.jitter_max_s, 1e-6);
}
END_TEST

START_TEST(sees_a_missing_row_of_three)
{
    times[0] = 0;
    times[1] = 0.1;
    times[2] = 0.2;
    times[3] = 0.4;
    struct sampling sampling = judge(4, 0.001);
    ck_assert(sampling.is_grid);
    ck_assert(!sampling.is_even);
    ck_assert_double_eq(sampling.interval_s, 0.1);
    ck_assert_uint_eq(sampling.gap_count, 1);
    ck_assert_double_eq_tol(sampling.gap_longest_s, 0.2, 1e-12);
}
END_TEST

/* Times of full precision, as programs write them. */
START_TEST(accepts_times_without_printed_rounding)
{
    for (size_t i = 0; i < 10000; i++) {
        times[i] = (double)i / 48000;
    }
    struct sampling sampling = judge(10000, 0);
    ck_assert(sampling.is_even);
    ck_assert_double_eq_tol(sampling.interval_s * 48000, 1, 1e-15);
}
END_TEST

static const struct {
    double times[5];
    size_t count;
    size_t first_row;
    const char *message;
} bad_list[] = {
    {{0, 0.1, 0.1, 0.2}, 4, 0, "row 2 has the time of row 1 before it, 0.1 s"},
    {{0, 0.1, 0.2, 0.15, 0.3}, 5, 1000,
        "row 1003 is earlier than row 1002 before it: 0.15 s after 0.2 s"},
    {{0, NAN, 0.2, NAN, 0.1}, 5, 0, "row 4 is earlier than row 2 before it: 0.1 s after 0.2 s"},
    {{0, NAN, 0.2}, 3, 5, "only 2 of 3 times are known from row 5 on"},
    {{0}, 0, 0, "only 0 of 0 times are known from row 0 on"},
};

START_TEST(refuses_times_that_do_not_increase)
{
    struct error err = {0};
    struct sampling sampling = {.interval_s = -1};
    enum status status = sampling_judge(
        bad_list[_i].times, bad_list[_i].count, 1e-3, bad_list[_i].first_row, &sampling, &err);
    ck_assert_int_eq(status, STATUS_INPUT);
    ck_assert_str_eq(err.message, bad_list[_i].message);
    ck_assert_str_ne(err.hint, "");
    ck_assert_double_eq(sampling.interval_s, -1);
}
END_TEST

/* The band of intervals against what follows by hand from three points: 0, 1, 2 at 0, 1, 2 s,
 * each ± 0.1 s, allow slopes of 1 ± 0.1 (the outer two differ by 2 ± 0.2 over two steps). */
START_TEST(finds_the_band_of_lines_that_pass)
{
    double index[] = {0, 1, 2};
    double time[] = {0, 1, 2};
    struct grid_points points = {index, time, 3};
    struct grid_band band;
    struct error err = {0};
    ck_assert_int_eq(grid_find_band(&points, 0.1, &band, &err), STATUS_OK);
    ck_assert(band.is_possible);
    ck_assert_double_eq_tol(band.least, 0.9, 1e-12);
    ck_assert_double_eq_tol(band.most, 1.1, 1e-12);
    time[1] = 1.25; /* the best line misses by 0.125 */
    ck_assert_int_eq(grid_find_band(&points, 0.126, &band, &err), STATUS_OK);
    ck_assert(band.is_possible);
    ck_assert_int_eq(grid_find_band(&points, 0.124, &band, &err), STATUS_OK);
    ck_assert(!band.is_possible);
}
END_TEST

/* Half of what the points spread about lines of one slope, from all of them. */
static double get_spread(const struct grid_points *points, double slope)
{
    double least = INFINITY;
    double most = -INFINITY;
    for (size_t i = 0; i < points->count; i++) {
        double rest = points->time[i] - slope * points->index[i];
        least = fmin(least, rest);
        most = fmax(most, rest);
    }
    return 0.5 * (most - least);
}

START_TEST(ends_the_band_where_the_lines_no_longer_pass)
{
    unsigned long long state = 1000 + (unsigned long long)_i;
    double index[200];
    double time[200];
    struct grid_points points = {index, time, 2 + (size_t)_i};
    for (size_t i = 0; i < points.count; i++) {
        index[i] = (double)i + (i > 0 ? index[i - 1] - (double)(i - 1) : 0);
        index[i] += floor(3 * (get_random(&state) + 0.5));
        time[i] = 5 + 0.01 * index[i] + 0.002 * get_random(&state);
    }
    struct grid_band band;
    struct error err = {0};
    ck_assert_int_eq(grid_find_band(&points, 0.00101, &band, &err), STATUS_OK);
    ck_assert_msg(band.is_possible, "seed %d", 1000 + _i);
    double beyond = 1e-9;
    ck_assert_double_le(get_spread(&points, band.least + 1e-12), 0.00101 * (1 + 1e-9));
    ck_assert_double_le(get_spread(&points, band.most - 1e-12), 0.00101 * (1 + 1e-9));
    ck_assert_double_gt(get_spread(&points, band.least - beyond), 0.00101);
    ck_assert_double_gt(get_spread(&points, band.most + beyond), 0.00101);
}
END_TEST

static const struct {
    double least;
    double most;
    double simple; /* 0: none */
} simple_list[] = {
    {2.0833e-5, 2.0834e-5, 1.0 / 48000},
    {0.99999e-3, 1.00001e-3, 1e-3},
    {0.142856, 0.142858, 1.0 / 7},
    {2.2675e-5, 2.2676e-5, 1.0 / 44100},
    {0.0099, 0.0101, 0.01},
    {0.12344, 0.12346, 1.0 / 8.1},
    {0.31830988, 0.31830990, 0}, /* 1/pi: nothing simple */
    {9.9999999e-5, 1.00000001e-4, 1e-4},
};

START_TEST(prefers_simple_numbers)
{
    double found = grid_find_simple_interval(simple_list[_i].least, simple_list[_i].most);
    ck_assert_double_eq(found, simple_list[_i].simple);
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *sampling_suite(void)
{
    Suite *suite = suite_create("sampling");
    TCase *tests = tcase_create("sampling");
    tcase_set_timeout(tests, 60); /* a million rows under the sanitizers */
    tcase_add_loop_test(tests, sees_an_even_clock_through_printed_rounding, 0, COUNT(even_list));
    tcase_add_test(tests, starts_at_the_printed_time_of_the_first_row);
    tcase_add_test(tests, takes_unknown_times_of_rows_that_are_there);
    tcase_add_test(tests, works_when_every_other_time_is_unknown);
    tcase_add_test(tests, sees_missing_rows_on_a_grid);
    tcase_add_test(tests, refuses_to_count_rows_over_a_gap_that_is_too_long);
    tcase_add_test(tests, takes_jittered_times_as_they_are_printed);
    tcase_add_test(tests, refuses_a_clock_that_drifts);
    tcase_add_test(tests, sees_a_missing_row_of_three);
    tcase_add_test(tests, accepts_times_without_printed_rounding);
    tcase_add_loop_test(tests, refuses_times_that_do_not_increase, 0, COUNT(bad_list));
    tcase_add_test(tests, finds_the_band_of_lines_that_pass);
    tcase_add_loop_test(tests, ends_the_band_where_the_lines_no_longer_pass, 0, 150);
    tcase_add_loop_test(tests, prefers_simple_numbers, 0, COUNT(simple_list));
    suite_add_tcase(suite, tests);
    return suite;
}
