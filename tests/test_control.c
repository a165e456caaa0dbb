// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/control.h"

#include <math.h>

#include "suites.h"

static struct control chart(const double *values, size_t count)
{
    struct control_heat heats[40];
    struct control control;
    struct error err = {0};
    for (size_t i = 0; i < count; i++) {
        heats[i] = (struct control_heat){i, 1};
    }
    ck_assert_msg(
        control_compute(CONTROL_INDIVIDUALS, values, heats, count, &control, &err) == STATUS_OK,
        "%s", err.message);
    return control;
}

/* Moving ranges 2, 1, 3: mean 2; limits 3 · 2/1.128 from the mean, 2.66 · 2 in the handbooks; those
 * of the ranges 3.267 · 2. */
START_TEST(draws_limits_of_individuals_from_moving_ranges)
{
    const double values[] = {10, 12, 11, 14};
    struct control control = chart(values, 4);
    ck_assert_double_eq_tol(control.centre, 11.75, 1e-12);
    ck_assert_double_eq_tol(control.points[0].upper - control.centre, 2.66 * 2, 0.005);
    ck_assert_double_eq_tol(control.points[1].spread_upper, 3.267 * 2, 0.005);
    ck_assert_double_eq(control.points[1].spread_lower, 0);
    ck_assert(isnan(control.points[0].spread));
    ck_assert_double_eq(control.points[3].spread, 3);
    control_clear(&control);
    control_clear(&control);
}
END_TEST

/* Samples of five: A2 = 0.577, D4 = 2.114 (ranges), A3 = 1.427, B4 = 2.089 (deviations), as the
 * tables of ISO 7870-2 and the handbooks print them (from memory). */
START_TEST(draws_limits_of_means_as_the_tables_do)
{
    const double values[] = {1, 2, 3, 4, 5, 2, 3, 4, 5, 6};
    const struct control_heat heats[] = {{0, 5}, {5, 5}};
    struct control control;
    struct error err = {0};
    ck_assert(control_compute(CONTROL_RANGES, values, heats, 2, &control, &err) == STATUS_OK);
    ck_assert_double_eq_tol(control.centre, 3.5, 1e-12);
    ck_assert_double_eq_tol(control.points[0].upper, 3.5 + 0.577 * 4, 0.003);
    ck_assert_double_eq_tol(control.points[0].spread_upper, 2.114 * 4, 0.003);
    control_clear(&control);
    ck_assert(control_compute(CONTROL_DEVIATIONS, values, heats, 2, &control, &err) == STATUS_OK);
    const double deviation = sqrt(2.5);
    ck_assert_double_eq_tol(control.points[0].upper, 3.5 + 1.427 * deviation, 0.001);
    ck_assert_double_eq_tol(control.points[1].spread_upper, 2.089 * deviation, 0.001);
    control_clear(&control);
}
END_TEST

/* Patterns over a base that keeps the moving range at 1: values in units that make one standard
 * deviation 1/1.128. */
static const struct {
    enum control_rule rule;
    size_t count, last; /* the point that completes the pattern, from 0 */
    double values[20];
} pattern_list[] = {
    {CONTROL_BEYOND, 8, 4, {0, 0.3, -0.3, 0, 9, 0.2, -0.2, 0}},
    {CONTROL_RUN, 12, 11, {-3, -2, -3, .6, .5, .4, .5, .6, .5, .4, .5, .6}},
    {CONTROL_TREND, 8, 7, {1, 0, -2.5, -1.5, -0.5, .5, 1.5, 2.5}},
    {CONTROL_SAWTOOTH, 14, 13, {1, -1, 1.1, -1, 1.2, -.9, 1, -1, 1, -1.1, 1, -1, 1, -1}},
    {CONTROL_HUGGING, 17, 14,
        {.1, -.4, .1, .4, -.3, .1, .3, .3, -.3, .2, -.4, .2, .4, -.3, .1, 3, -3}},
};

START_TEST(tells_each_pattern_at_its_last_point)
{
    for (int sign = -1; sign <= 1; sign += 2) { /* and the same on the other side */
        double values[20];
        for (size_t i = 0; i < 20; i++) {
            values[i] = sign * pattern_list[_i].values[i];
        }
        struct control control = chart(values, pattern_list[_i].count);
        const unsigned bit = 1U << pattern_list[_i].rule;
        for (size_t i = 0; i < pattern_list[_i].last; i++) {
            ck_assert_msg(!(control.points[i].rules & bit), "too early, at %zu", i);
        }
        ck_assert(control.points[pattern_list[_i].last].rules & bit);
        control_clear(&control);
    }
}
END_TEST

START_TEST(what_stays_the_same_neither_rises_nor_falls)
{
    const double values[] = {1, 0, -1, 2, 2, 2, 2, 2, 2, 2, 0};
    struct control control = chart(values, 11);
    for (size_t i = 0; i < 11; i++) {
        ck_assert(!(control.points[i].rules & (1U << CONTROL_TREND)));
    }
    control_clear(&control);
}
END_TEST

/* With limits held by hand: the tests that count standard deviations. */
START_TEST(counts_points_beyond_one_and_two_deviations)
{
    /* moving ranges alternate so that the deviation is near 1 and the centre near 0 */
    const double values[] = {0, .6, -.4, .4, 2.9, 1.5, 2.9, .5, -.2, .3, -.4, -.7, -.9, -.5};
    struct control control = chart(values, 14);
    const double two = 2 * control.deviation;
    ck_assert(values[4] - control.centre > two && values[6] - control.centre > two);
    ck_assert(control.points[6].rules & (1U << CONTROL_OUTER));
    ck_assert(!(control.points[5].rules & (1U << CONTROL_OUTER)));
    control_clear(&control);
}
END_TEST

/* Whole numbers whose mean is one of them: a point on the centre is on neither side, two equal ones
 * neither rise nor fall. The pattern lacks but that. */
static const struct {
    enum control_rule rule;
    bool is_found;
    size_t count;
    double values[18];
} tie_list[] = {
    {CONTROL_RUN, false, 12, {-4, -4, -1, 1, 1, 1, 1, 0, 1, 1, 1, 2}},
    {CONTROL_RUN, true, 12, {-4, -4, -2, 1, 1, 1, 1, 1, 1, 1, 1, 2}},
    {CONTROL_RUN, false, 12, {-4, -3, -1, 1, 1, 1, 1, 1, 1, 1, 1, 0}},
    {CONTROL_RUN, false, 12, {-4, -4, -1, 0, 1, 1, 1, 1, 1, 1, 1, 2}},
    {CONTROL_TREND, false, 7, {0, -3, -2, 0, 0, 2, 3}},
    {CONTROL_TREND, true, 7, {0, -3, -2, -1, 0, 2, 4}},
    {CONTROL_SAWTOOTH, false, 14, {1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1, 1}},
    {CONTROL_SAWTOOTH, false, 14, {1, 1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1}},
    {CONTROL_SAWTOOTH, true, 14, {1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1, -1}},
    {CONTROL_SAWTOOTH, false, 13, {1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1, -1, 1}},
};

START_TEST(what_is_level_with_the_centre_or_the_last_breaks_a_pattern)
{
    for (int sign = -1; sign <= 1; sign += 2) {
        double values[18];
        for (size_t i = 0; i < tie_list[_i].count; i++) {
            values[i] = sign * tie_list[_i].values[i];
        }
        struct control control = chart(values, tie_list[_i].count);
        const unsigned rules = control.points[tie_list[_i].count - 1].rules;
        ck_assert_int_eq((rules & (1U << tie_list[_i].rule)) != 0, tie_list[_i].is_found);
        control_clear(&control);
    }
}
END_TEST

/* Deviations of means from the centre, in their own standard deviations. Each pattern with one
 * point less than it takes, or with that point on the other side, is none. */
static const struct {
    enum control_rule rule;
    bool is_found;
    size_t count;
    double scores[20]; /* what comes before has no pattern */
} score_list[] = {
    {CONTROL_BEYOND, true, 1, {3.1}},
    {CONTROL_BEYOND, false, 1, {2.9}},
    {CONTROL_OUTER, true, 3, {2.1, 0, 2.1}},
    {CONTROL_OUTER, true, 3, {0, 2.1, 2.1}},
    {CONTROL_OUTER, false, 3, {2.1, 0, 1.9}},
    {CONTROL_OUTER, false, 3, {2.1, 0, -2.1}},
    {CONTROL_OUTER, false, 3, {2.1, 2.1, 0}}, /* an old finding */
    {CONTROL_OUTER, false, 4, {2.1, 0, 0, 2.1}},
    {CONTROL_MIDDLE, true, 5, {1.1, 1.1, 0, 1.1, 1.1}},
    {CONTROL_MIDDLE, true, 5, {0, 1.1, 1.1, 1.1, 1.1}},
    {CONTROL_MIDDLE, false, 5, {1.1, 1.1, 0, 0.9, 1.1}},
    {CONTROL_MIDDLE, false, 5, {1.1, 1.1, 0, -1.1, 1.1}},
    {CONTROL_MIDDLE, false, 6, {1.1, 1.1, 0, 0, 1.1, 1.1}},
    {CONTROL_AVOIDING, true, 8, {1.1, -1.1, 1.1, -1.1, 1.1, -1.1, 1.1, 1.1}},
    {CONTROL_AVOIDING, true, 8, {-1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1}},
    {CONTROL_AVOIDING, false, 8, {1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1}},
    {CONTROL_AVOIDING, false, 8, {1.1, -1.1, 1.1, -1.1, 0.9, -1.1, 1.1, 1.1}},
    {CONTROL_AVOIDING, false, 7, {-1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1}},
    {CONTROL_HUGGING, true, 15, {.9, -.9, .9, .8, -.9, .9, -.8, .9, .9, -.9, .9, -.9, .9, -.9, .9}},
    {CONTROL_HUGGING, false, 15,
        {1.1, -.9, .9, .8, -.9, .9, -.8, .9, .9, -.9, .9, -.9, .9, -.9, .9}},
};

/* Heats of four with a range of 2.0588, the d2 of four that the tables of control charts print: the
 * deviation is 1, that of a mean 0.5. Twenty heats at the head take up the sum of the pattern, so
 * that the centre is 0. */
START_TEST(a_pattern_begins_at_its_last_point_and_its_own_deviations)
{
    enum { HEATS = 41, LEAD = 20 };
    const size_t count = score_list[_i].count, total = LEAD + 1 + count;
    for (int sign = -1; sign <= 1; sign += 2) {
        double values[4 * HEATS], sum = 0;
        struct control_heat heats[HEATS];
        struct control control;
        struct error err = {0};
        for (size_t i = 0; i < count; i++) {
            sum += score_list[_i].scores[i];
        }
        for (size_t i = 0; i < total; i++) {
            const double score = i < LEAD    ? -sum / LEAD
                                 : i == LEAD ? 0
                                             : score_list[_i].scores[i - LEAD - 1];
            heats[i] = (struct control_heat){4 * i, 4};
            for (size_t n = 0; n < 4; n++) {
                values[4 * i + n] = sign * score * 0.5 + 2.0588 * (n == 0      ? 0.5
                                                                      : n == 1 ? -0.5
                                                                               : 0);
            }
        }
        ck_assert_msg(!control_compute(CONTROL_RANGES, values, heats, total, &control, &err), "%s",
            err.message);
        ck_assert_double_eq_tol(control.centre, 0, 1e-12);
        ck_assert_double_eq_tol(control.deviation, 1, 1e-4);
        const unsigned rules = control.points[total - 1].rules;
        ck_assert_int_eq((rules & (1U << score_list[_i].rule)) != 0, score_list[_i].is_found);
        control_clear(&control);
    }
}
END_TEST

START_TEST(refuses_heats_that_a_chart_cannot_take)
{
    const double values[] = {1, 2, 3, 3, 3};
    const struct control_heat heats[] = {{0, 1}, {1, 2}}, same[] = {{2, 1}, {3, 1}};
    struct control control;
    struct error err = {0};
    ck_assert(control_compute(CONTROL_RANGES, values, heats, 2, &control, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "heat 1 has 1 values, which this control chart cannot take");
    ck_assert(
        control_compute(CONTROL_INDIVIDUALS, values, heats, 1, &control, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no control chart of 1 heat");
    ck_assert(
        control_compute(CONTROL_INDIVIDUALS, values, same, 2, &control, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no control chart of values without scatter");
    /* two values a heat are enough, for either spread */
    const struct control_heat pairs[] = {{0, 2}, {1, 2}};
    ck_assert(control_compute(CONTROL_RANGES, values, pairs, 2, &control, &err) == STATUS_OK);
    control_clear(&control);
    ck_assert(control_compute(CONTROL_DEVIATIONS, values, pairs, 2, &control, &err) == STATUS_OK);
    control_clear(&control);
}
END_TEST

/* More values than a chart is made for, or fewer; and means that a drift parts while all heats
 * scatter alike. */
START_TEST(refuses_more_values_than_a_chart_is_made_for)
{
    static double values[300];
    struct control control;
    struct error err = {0};
    for (int i = 0; i < 300; i++) {
        values[i] = i % 7;
    }
    static const struct {
        enum control_kind kind;
        size_t count;
        enum status status;
    } cases[] = {{CONTROL_RANGES, 10, STATUS_OK}, {CONTROL_RANGES, 11, STATUS_INPUT},
        {CONTROL_DEVIATIONS, 100, STATUS_OK}, {CONTROL_DEVIATIONS, 101, STATUS_INPUT},
        {CONTROL_DEVIATIONS, 1, STATUS_INPUT}, {CONTROL_INDIVIDUALS, 2, STATUS_INPUT}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct control_heat heats[] = {{0, cases[i].count}, {150, cases[i].count}};
        ck_assert_int_eq(
            control_compute(cases[i].kind, values, heats, 2, &control, &err), cases[i].status);
        if (cases[i].status == STATUS_OK) {
            control_clear(&control);
        }
    }
}
END_TEST

/* d2, d3 and c4 as tables of control charts print them (ASTM MNL 7, table 16; ISO 7870-2). */
static const struct {
    size_t n;
    double d2, d3, c4;
} table_list[] = {{2, 1.128, 0.853, 0.7979}, {4, 2.059, 0.880, 0.9213}, {8, 2.847, 0.820, 0.9650},
    {10, 3.078, 0.797, 0.9727}};

/* Heats of two, eight and four values: each has the limits of its own number; the centre is the
 * mean of all values, the deviation that of the heats' own estimates. */
START_TEST(each_heat_has_the_limits_of_its_own_number)
{
    static const size_t counts[] = {2, 8, 4};
    for (int by_range = 0; by_range < 2; by_range++) {
        double values[14], sum = 0, deviation = 0, means[3], spreads[3];
        struct control_heat heats[3];
        struct control control;
        size_t at = 0;
        for (size_t h = 0; h < 3; h++) {
            double mean = 0, squares = 0;
            heats[h] = (struct control_heat){at, counts[h]};
            for (size_t i = 0; i < counts[h]; i++) {
                values[at] = 100 + 3 * (double)h + (double)(at * 5 % 14);
                mean += values[at] / (double)counts[h];
                sum += values[at++] / 14;
            }
            double least = INFINITY, most = -INFINITY;
            for (size_t i = heats[h].first; i < at; i++) {
                squares += pow(values[i] - mean, 2);
                least = fmin(least, values[i]);
                most = fmax(most, values[i]);
            }
            const size_t row = h == 0 ? 0 : h == 1 ? 2 : 1;
            means[h] = mean;
            spreads[h] = by_range ? most - least : sqrt(squares / (double)(counts[h] - 1));
            deviation += spreads[h] / (by_range ? table_list[row].d2 : table_list[row].c4) / 3;
        }
        ck_assert(control_compute(by_range ? CONTROL_RANGES : CONTROL_DEVIATIONS, values, heats, 3,
                      &control, NULL) == STATUS_OK);
        ck_assert_double_eq_tol(control.centre, sum, 1e-9);
        ck_assert_double_eq_tol(control.deviation, deviation, 5e-4 * deviation);
        for (size_t h = 0; h < 3; h++) {
            const size_t row = h == 0 ? 0 : h == 1 ? 2 : 1;
            const double c4 = table_list[row].c4, mean = by_range ? table_list[row].d2 : c4;
            const double width = by_range ? table_list[row].d3 : sqrt(1 - c4 * c4);
            const double reach = 3 * deviation / sqrt((double)counts[h]);
            const struct control_point *point = &control.points[h];
            ck_assert_double_eq_tol(point->value, means[h], 1e-9);
            ck_assert_double_eq_tol(point->spread, spreads[h], 1e-9);
            ck_assert_double_eq_tol(point->lower, sum - reach, 1e-3 * reach);
            ck_assert_double_eq_tol(point->upper, sum + reach, 1e-3 * reach);
            ck_assert_double_eq_tol(
                point->spread_upper, deviation * (mean + 3 * width), 2e-3 * deviation);
            /* above 0 from seven values on for ranges, six for deviations (D3, B3) */
            ck_assert_double_eq_tol(
                point->spread_lower, deviation * fmax(mean - 3 * width, 0), 2e-3 * deviation);
            ck_assert_int_eq(point->spread_lower > 0, h == 1);
        }
        control_clear(&control);
    }
}
END_TEST

/* Individuals: the mean moving range over 1.128, of the points behind the first alone. */
START_TEST(the_first_individual_has_no_moving_range)
{
    const double values[] = {50, 10, 14, 11, 12};
    struct control control = chart(values, 5);
    const double deviation = (40 + 4 + 3 + 1) / 4.0 / 1.1283791670955126; /* 2 / sqrt(pi) */
    ck_assert_double_eq_tol(control.deviation, deviation, 1e-9);
    ck_assert_double_eq_tol(control.centre, 97.0 / 5, 1e-12);
    for (size_t i = 0; i < 5; i++) {
        ck_assert_double_eq_tol(control.points[i].upper, control.centre + 3 * deviation, 1e-9);
        ck_assert_double_eq_tol(control.points[i].lower, control.centre - 3 * deviation, 1e-9);
        ck_assert_double_eq_tol(control.points[i].spread_upper,
            deviation * (1.1283791670955126 + 3 * 0.8525024664), 1e-6); /* sqrt(2 - 4/pi) */
        /* 40 against an upper limit of 39.2 */
        ck_assert_int_eq(control.points[i].is_spread_beyond, i == 1);
    }
    ck_assert_double_eq(control.points[1].spread, 40);
    ck_assert_double_eq(control.points[4].spread, 1);
    control_clear(&control);
}
END_TEST

/* Nine heats of eight values with a spread of 1 and a tenth with another: beyond the upper limit of
 * the ranges (D4 = 1.864), of the lower one (D3 = 0.136), and within either. */
START_TEST(a_spread_beyond_its_limits_is_told)
{
    enum { HEATS = 10, N = 8 };
    static const struct {
        double spread;
        bool is_beyond;
    } cases[] = {{1, false}, {1.8, false}, {2.2, true}, {0.2, false}, {0.08, true}};
    for (int by_range = 0; by_range < 2; by_range++) {
        for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
            double values[HEATS * N];
            struct control_heat heats[HEATS];
            struct control control;
            for (size_t i = 0; i < HEATS * N; i++) {
                const double scale = i / N == 4 ? cases[c].spread : 1;
                values[i] = 30 + scale * ((double)(i % N) - 3.5) / 7;
                heats[i / N] = (struct control_heat){i / N * N, N};
            }
            ck_assert(control_compute(by_range ? CONTROL_RANGES : CONTROL_DEVIATIONS, values, heats,
                          HEATS, &control, NULL) == STATUS_OK);
            for (size_t h = 0; h < HEATS; h++) {
                ck_assert_int_eq(control.points[h].is_spread_beyond, h == 4 && cases[c].is_beyond);
            }
            control_clear(&control);
        }
    }
}
END_TEST

START_TEST(each_rule_has_its_name)
{
    static const char *const names[CONTROL_RULE_COUNT] = {"one beyond three standard deviations",
        "nine in a row on one side of the centre", "six in a row rising or falling",
        "fourteen in a row alternating", "two of three beyond two standard deviations",
        "four of five beyond one standard deviation",
        "fifteen in a row within one standard deviation",
        "eight in a row beyond one standard deviation"};
    for (int rule = 0; rule < CONTROL_RULE_COUNT; rule++) {
        ck_assert_str_eq(control_rule_get_name((enum control_rule)rule), names[rule]);
    }
}
END_TEST

Suite *control_suite(void)
{
    Suite *suite = suite_create("control");
    TCase *tests = tcase_create("control");
    tcase_add_test(tests, draws_limits_of_individuals_from_moving_ranges);
    tcase_add_test(tests, draws_limits_of_means_as_the_tables_do);
    tcase_add_loop_test(
        tests, tells_each_pattern_at_its_last_point, 0, sizeof pattern_list / sizeof *pattern_list);
    tcase_add_test(tests, what_stays_the_same_neither_rises_nor_falls);
    tcase_add_test(tests, counts_points_beyond_one_and_two_deviations);
    tcase_add_loop_test(tests, what_is_level_with_the_centre_or_the_last_breaks_a_pattern, 0,
        sizeof tie_list / sizeof *tie_list);
    tcase_add_loop_test(tests, a_pattern_begins_at_its_last_point_and_its_own_deviations, 0,
        sizeof score_list / sizeof *score_list);
    tcase_add_test(tests, each_heat_has_the_limits_of_its_own_number);
    tcase_add_test(tests, the_first_individual_has_no_moving_range);
    tcase_add_test(tests, a_spread_beyond_its_limits_is_told);
    tcase_add_test(tests, each_rule_has_its_name);
    tcase_add_test(tests, refuses_heats_that_a_chart_cannot_take);
    tcase_add_test(tests, refuses_more_values_than_a_chart_is_made_for);
    suite_add_tcase(suite, tests);
    return suite;
}
