// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/comparison.h"

#include <math.h>
#include <string.h>

#include "num/distribution.h"
#include "num/random.h"
#include "qualify/gauge.h"
#include "suites.h"

/* Welch's test in closed form: samples of two, deviations 1 and 3 over sqrt 2 of ... by hand: a =
 * {0, 2}: mean 1, variance 2; b = {5, 11}: mean 8, variance 18; u² = 1 + 9 = 10, freedom
 * 100/(1 + 81). */
START_TEST(agrees_with_welch_by_hand)
{
    const double a[] = {0, 2}, b[] = {5, 11};
    struct comparison comparison;
    struct error err = {0};
    ck_assert(comparison_compute((struct lot_sample){a, 2}, (struct lot_sample){b, 2}, 0, 0, 0.95,
                  &comparison, &err) == STATUS_OK);
    ck_assert_double_eq_tol(comparison.difference, 7, 1e-12);
    ck_assert_double_eq_tol(comparison.u, sqrt(10), 1e-12);
    ck_assert_double_eq_tol(comparison.freedom, 100.0 / 82, 1e-12);
    ck_assert_double_eq_tol(comparison.upper - comparison.difference,
        sqrt(10) * student_compute_quantile(0.975, 100.0 / 82), 1e-9);
    ck_assert(comparison.verdict == CANNOT_TELL);
}
END_TEST

static struct comparison compare(double shift, double margin)
{
    double a[12], b[12];
    struct random random;
    struct comparison comparison;
    random_init(&random, 5, 0);
    for (int i = 0; i < 12; i++) {
        a[i] = random_get_normal(&random);
        b[i] = random_get_normal(&random) + shift;
    }
    ck_assert(comparison_compute((struct lot_sample){a, 12}, (struct lot_sample){b, 12}, 0, margin,
                  0.95, &comparison, NULL) == STATUS_OK);
    return comparison;
}

START_TEST(tells_equivalent_from_different)
{
    ck_assert(compare(0, 2).verdict == EQUIVALENT);
    ck_assert(compare(6, 2).verdict == DIFFERENT);
    ck_assert(compare(0, 0.1).verdict == CANNOT_TELL);
    ck_assert(compare(6, 0).verdict == DIFFERENT);
    ck_assert_double_lt(compare(0, 2).significance_equivalence, 0.05);
    ck_assert_str_eq(equivalence_get_name(CANNOT_TELL), "cannot tell");
}
END_TEST

/* Sample variances 10 and 40 of five values each: F = 4 with 4 and 4 degrees of freedom; twice the
 * share above is 2 (1 - 3 x^2 + 2 x^3) at x = 4/5, that is 2 * 0.104 (the incomplete beta
 * function of whole orders, in closed form). */
START_TEST(tells_lots_of_different_scatter)
{
    static const double a[] = {-4, -2, 0, 2, 4}, b[] = {-8, -4, 0, 4, 8};
    struct comparison comparison;
    ck_assert(comparison_compute((struct lot_sample){a, 5}, (struct lot_sample){b, 5}, 0, 0, 0.95,
                  &comparison, NULL) == STATUS_OK);
    ck_assert_double_eq_tol(comparison.spread_ratio, 2, 1e-12);
    ck_assert_double_eq_tol(comparison.significance_spread, 0.208, 1e-12);
    ck_assert_double_lt(comparison.lower, comparison.inner_lower);
    ck_assert_double_lt(comparison.inner_upper, comparison.upper);
}
END_TEST

/* Two lots exactly the margin apart pass as equivalent in 5 % of cases. */
START_TEST(takes_for_equivalent_as_often_as_stated)
{
    struct random random;
    random_init(&random, 17, 0);
    const int trials = 20000;
    int equivalent = 0;
    for (int trial = 0; trial < trials; trial++) {
        double a[6], b[9];
        struct comparison comparison;
        for (int i = 0; i < 6; i++) {
            a[i] = random_get_normal(&random);
        }
        for (int i = 0; i < 9; i++) {
            b[i] = 3 + 1.5 * random_get_normal(&random);
        }
        ck_assert(comparison_compute((struct lot_sample){a, 6}, (struct lot_sample){b, 9}, 0, 3,
                      0.95, &comparison, NULL) == STATUS_OK);
        equivalent += comparison.verdict == EQUIVALENT;
    }
    /* Welch's approximation is good to a few tenths of a percent here */
    ck_assert_double_eq_tol((double)equivalent / trials, 0.05, 0.008);
}
END_TEST

START_TEST(refuses_lots_that_cannot_be_compared)
{
    const double a[] = {1, 1}, b[] = {1, 1};
    struct comparison comparison;
    struct error err = {0};
    const struct lot_sample one = {a, 1}, two = {a, 2}, other = {b, 2};
    ck_assert(comparison_compute(one, other, 0, 0, 0.95, &comparison, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no comparison of 1 with 2 specimens");
    ck_assert(comparison_compute(two, other, 0, 0, 0.95, &comparison, &err) == STATUS_INPUT);
    ck_assert(comparison_compute(two, other, 0, -1, 0.95, &comparison, &err) == STATUS_INPUT);
    ck_assert(comparison_compute(two, one, 0, 0, 0.95, &comparison, &err) == STATUS_INPUT);
    ck_assert(comparison_compute(two, other, 0, INFINITY, 0.95, &comparison, &err) == STATUS_INPUT);
    static const double rising[] = {1, 2};
    const struct lot_sample good = {rising, 2};
    const double confidences[] = {0.5, 1, NAN};
    for (size_t i = 0; i < 3; i++) {
        ck_assert(comparison_compute(good, good, 0, 0, confidences[i], &comparison, &err) ==
                  STATUS_INPUT);
        ck_assert_ptr_nonnull(strstr(err.message, "is not between 0.5 and 1"));
    }
}
END_TEST

/* A side without any scatter leaves the spreads uncompared, not the means. */
START_TEST(compares_means_where_one_side_does_not_scatter)
{
    static const double same[] = {5, 5, 5}, rising[] = {6, 7, 8};
    struct comparison made;
    struct error err = {0};
    ck_assert(comparison_compute((struct lot_sample){same, 3}, (struct lot_sample){rising, 3}, 0, 0,
                  0.95, &made, &err) == STATUS_OK);
    ck_assert_double_eq_tol(made.difference, 2, 1e-12);
    ck_assert_double_eq_tol(made.u, 1 / sqrt(3), 1e-12);
    ck_assert_double_eq_tol(made.freedom, 2, 1e-12); /* those of the side that scatters */
    ck_assert(isnan(made.spread_ratio) && isnan(made.significance_spread));
    ck_assert(comparison_compute((struct lot_sample){rising, 3}, (struct lot_sample){same, 3}, 0, 0,
                  0.95, &made, &err) == STATUS_OK);
    ck_assert_double_eq(made.spread_ratio, 0);
    ck_assert(isnan(made.significance_spread));
}
END_TEST

/* Further apart than any doubt, on either side of 0; -2 +- 2.78 sqrt(2/3) holds 0. */
START_TEST(tells_a_difference_downwards_as_well)
{
    static const double low[] = {6, 7, 8}, high[] = {16, 17, 18}, near[] = {8, 9, 10};
    struct comparison made;
    struct error err = {0};
    const struct lot_sample lower = {low, 3}, upper = {high, 3}, close = {near, 3};
    ck_assert(comparison_compute(upper, lower, 0, 0, 0.95, &made, &err) == STATUS_OK);
    ck_assert(made.verdict == DIFFERENT && made.upper < 0);
    ck_assert(comparison_compute(upper, lower, 0, 0.5, 0.95, &made, &err) == STATUS_OK);
    ck_assert(made.verdict == DIFFERENT);
    ck_assert(comparison_compute(close, lower, 0, 0, 0.95, &made, &err) == STATUS_OK);
    ck_assert(made.verdict == CANNOT_TELL);
    ck_assert_str_eq(equivalence_get_name(made.verdict), "cannot tell");
}
END_TEST

/* One condition: no reproducibility; no repeat that differs: the conditions are all there is, or
 * nothing. */
START_TEST(takes_a_gauge_study_on_one_bench_alone)
{
    static const struct gauge_value values[] = {{1, 1, 0}, {1, 1, 2}, {2, 1, 6}, {2, 1, 8}};
    static const struct gauge_value exact[] = {
        {1, 1, 0}, {1, 1, 0}, {2, 1, 6}, {2, 1, 6}, {1, 2, 0}, {1, 2, 0}, {2, 2, 6}, {2, 2, 6}};
    static const struct gauge_value apart[] = {
        {1, 1, 0}, {1, 1, 0}, {2, 1, 6}, {2, 1, 6}, {1, 2, 1}, {1, 2, 1}, {2, 2, 7}, {2, 2, 7}};
    const struct limit lower = {true, false, 40, INFINITY};
    struct gauge gauge;
    struct error err = {0};
    ck_assert(gauge_compute(values, 4, NULL, &lower, &gauge, &err) == STATUS_OK);
    ck_assert_double_eq_tol(gauge.repeatability, sqrt(2), 1e-12);
    ck_assert_double_eq(gauge.reproducibility, 0);
    ck_assert_double_eq_tol(gauge.specimen, sqrt((36 - 2) / 2.0), 1e-12);
    ck_assert(isnan(gauge.interaction_significance) && isnan(gauge.share_of_tolerance));
    ck_assert(gauge_compute(exact, 8, NULL, &lower, &gauge, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "no gauge study of a bench without scatter");
    ck_assert(gauge_compute(apart, 8, NULL, &lower, &gauge, &err) == STATUS_OK); /* two of them */
    ck_assert_double_eq(gauge.repeatability, 0);
    ck_assert_double_eq_tol(gauge.reproducibility, sqrt(0.5), 1e-12);
    ck_assert(isnan(gauge.interaction_significance));
}
END_TEST

/* Two specimens, two conditions, two repeats, by hand: cell means 1, 3 / 6, 12 with repeats -+1.
 * Specimens' means 2 and 9, conditions' 3.5 and 7.5, all 5.5. */
static const struct gauge_value cells[] = {
    {1, 1, 0}, {1, 1, 2}, {1, 2, 2}, {1, 2, 4}, {2, 1, 5}, {2, 1, 7}, {2, 2, 11}, {2, 2, 13}};

START_TEST(parts_a_gauge_study_as_by_hand)
{
    struct gauge gauge;
    struct error err = {0};
    const struct limit limit = {true, true, 40, 100}; /* 60 wide */
    ck_assert(gauge_compute(cells, 8, NULL, &limit, &gauge, &err) == STATUS_OK);
    ck_assert_double_eq_tol(gauge.by_specimen.squares, 4 * 2 * 3.5 * 3.5, 1e-12);
    ck_assert_double_eq_tol(gauge.by_condition.squares, 4 * 2 * 2 * 2, 1e-12);
    ck_assert_double_eq_tol(gauge.interaction.squares, 2 * 4 * 1, 1e-12);
    ck_assert_double_eq_tol(gauge.repeat.squares, 8, 1e-12);
    ck_assert_double_eq_tol(gauge.repeatability, sqrt(2), 1e-12);
    ck_assert_double_eq_tol(gauge.interaction_deviation, sqrt((8 - 2) / 2.0), 1e-12);
    ck_assert_double_eq_tol(gauge.reproducibility, sqrt((32 - 8) / 4.0 + 3), 1e-12);
    ck_assert_double_eq_tol(gauge.specimen, sqrt((98 - 8) / 4.0), 1e-12);
    ck_assert_double_eq_tol(gauge.share_of_tolerance, 6 * sqrt(11) / 60, 1e-12);
    ck_assert_double_eq_tol(
        gauge.interaction_significance, fisher_compute_share_above(4, 1, 4), 1e-12);
}
END_TEST

START_TEST(names_the_cell_that_a_gauge_study_lacks)
{
    struct gauge gauge;
    struct error err = {0};
    const struct limit limit = {false, false, 0, 0};
    ck_assert(gauge_compute(cells, 7, NULL, &limit, &gauge, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "in the gauge study specimen 2 has 1 value under condition 2, "
                                  "specimen 1 has 2 values under condition 1");
    static const char *const rings[] = {"", "R-16", "R-17"}, *const rigs[] = {"", "red", "blue"};
    const struct gauge_names names = {rings, rigs};
    ck_assert(gauge_compute(cells, 7, &names, &limit, &gauge, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message,
        "in the gauge study 'R-17' has 1 value under 'blue', 'R-16' has 2 values under 'red'");
    ck_assert(gauge_compute(cells, 1, &names, &limit, &gauge, &err) == STATUS_INPUT);
    ck_assert_str_eq(err.message, "in the gauge study 'R-16' has 1 value under 'red'");
    ck_assert(gauge_compute(cells, 4, NULL, &limit, &gauge, &err) == STATUS_INPUT);
    ck_assert(gauge_compute(cells, 0, NULL, &limit, &gauge, &err) == STATUS_INPUT);
}
END_TEST

/* Two values each and equal variances: 2 degrees of freedom, for which Student's distribution has a
 * closed form: F(t) = 1/2 + t / (2 sqrt(2 + t^2)), t(p) = (2 p - 1) sqrt(2 / (1 - (2 p - 1)^2)). */
static double get_share_of_two(double t)
{
    return 0.5 + t / (2 * sqrt(2 + t * t));
}

static double get_quantile_of_two(double p)
{
    return (2 * p - 1) * sqrt(2 / (1 - (2 * p - 1) * (2 * p - 1)));
}

START_TEST(agrees_with_students_distribution_in_closed_form)
{
    static const double shifts[] = {3, -3, 0.25, -12}, margins[] = {0, 2, 8, 30};
    static const double confidences[] = {0.9, 0.95, 0.6};
    for (size_t n = 0; n < 4 * 4 * 3; n++) {
        const double shift = shifts[n % 4], margin = margins[n / 4 % 4], c = confidences[n / 16];
        const double a[] = {10, 12}, b[] = {10 + shift, 12 + shift}, u = sqrt(2);
        struct comparison made;
        ck_assert(comparison_compute((struct lot_sample){a, 2}, (struct lot_sample){b, 2}, 0,
                      margin, c, &made, NULL) == STATUS_OK);
        ck_assert_double_eq_tol(made.freedom, 2, 1e-12);
        ck_assert_double_eq_tol(made.u, u, 1e-12);
        const double reach = u * get_quantile_of_two(0.5 * (1 + c)),
                     inner = u * get_quantile_of_two(c);
        ck_assert_double_eq_tol(made.lower, shift - reach, 1e-9);
        ck_assert_double_eq_tol(made.upper, shift + reach, 1e-9);
        ck_assert_double_eq_tol(made.inner_lower, shift - inner, 1e-9);
        ck_assert_double_eq_tol(made.inner_upper, shift + inner, 1e-9);
        ck_assert_double_eq_tol(made.significance, 2 * get_share_of_two(-fabs(shift) / u), 1e-12);
        ck_assert_double_eq(made.margin, margin);
        const bool is_apart = fabs(shift) > reach;
        if (margin == 0) {
            ck_assert(isnan(made.significance_equivalence));
            ck_assert_int_eq(made.verdict, is_apart ? DIFFERENT : CANNOT_TELL);
            continue;
        }
        ck_assert_double_eq_tol(
            made.significance_equivalence, get_share_of_two((fabs(shift) - margin) / u), 1e-12);
        ck_assert_int_eq(made.verdict, fabs(shift) + inner <= margin  ? EQUIVALENT
                                       : fabs(shift) - inner > margin ? DIFFERENT
                                                                      : CANNOT_TELL);
    }
}
END_TEST

/* What both have in common adds to u^2, and its freedom is without end: variances of the means 1
 * and 9 with one degree each, 6 of the benches: u^2 = 16, freedom 256 / (1 + 81). */
START_TEST(what_two_benches_are_apart_by_adds_to_u)
{
    const double a[] = {0, 2}, b[] = {5, 11};
    struct comparison made;
    ck_assert(comparison_compute((struct lot_sample){a, 2}, (struct lot_sample){b, 2}, sqrt(6), 0,
                  0.95, &made, NULL) == STATUS_OK);
    ck_assert_double_eq_tol(made.u, 4, 1e-12);
    ck_assert_double_eq_tol(made.freedom, 256.0 / 82, 1e-12);
    ck_assert_double_eq_tol(
        made.significance, 2 * student_compute_share(-7.0 / 4, 256.0 / 82), 1e-12);
}
END_TEST

/* Three values against two: variances 1 and 8, of the means 1/3 and 4, freedoms 2 and 1; F = 8 with
 * 1 over 2 degrees: t = sqrt(8) of 2 degrees, twice the share outside is 1 - t / sqrt(2 + t^2). */
START_TEST(each_side_has_its_own_number)
{
    const double a[] = {1, 2, 3}, b[] = {4, 8};
    struct comparison made, turned;
    ck_assert(comparison_compute((struct lot_sample){a, 3}, (struct lot_sample){b, 2}, 0, 0, 0.95,
                  &made, NULL) == STATUS_OK);
    const double va = 1.0 / 3, vb = 4;
    ck_assert_double_eq_tol(made.difference, 4, 1e-12);
    ck_assert_double_eq_tol(made.u, sqrt(va + vb), 1e-12);
    ck_assert_double_eq_tol(made.freedom, pow(va + vb, 2) / (va * va / 2 + vb * vb), 1e-12);
    ck_assert_double_eq_tol(made.spread_ratio, sqrt(8), 1e-12);
    const double above = 1 - sqrt(8) / sqrt(2 + 8.0);
    ck_assert_double_eq_tol(made.significance_spread, 2 * above, 1e-12);
    ck_assert(comparison_compute((struct lot_sample){b, 2}, (struct lot_sample){a, 3}, 0, 0, 0.95,
                  &turned, NULL) == STATUS_OK);
    ck_assert_double_eq_tol(turned.spread_ratio, 1 / sqrt(8), 1e-12);
    ck_assert_double_eq_tol(turned.significance_spread, 2 * above, 1e-12);
    ck_assert_double_eq_tol(turned.difference, -4, 1e-12);
    ck_assert_double_eq_tol(turned.freedom, made.freedom, 1e-12);
    ck_assert_str_eq(equivalence_get_name(EQUIVALENT), "equivalent");
    ck_assert_str_eq(equivalence_get_name(DIFFERENT), "different");
}
END_TEST

/* The analysis of variance anew, over a box of 3 specimens, 2 conditions and 4 repeats that lies
 * far from 0 and is given in an order of no meaning, against sums over all values. */
START_TEST(parts_a_gauge_study_of_unequal_sides)
{
    enum { S = 3, C = 2, R = 4, N = S * C * R };
    struct gauge_value list[N];
    double by_s[S] = {0}, by_c[C] = {0}, cell[S][C] = {{0}}, all = 0;
    for (size_t i = 0; i < N; i++) {
        const size_t at = i * 7 % N, s = at / (C * R), c = at / R % C, r = at % R;
        const double value = 1e4 + 30 * (double)s + 9 * (double)c + 2 * (double)(s * c) +
                             (double)(at * 5 % 11) + 0.5 * (double)r;
        list[i] = (struct gauge_value){10 + s, 70 - c, value};
        by_s[s] += value / (C * R);
        by_c[c] += value / (S * R);
        cell[s][c] += value / R;
        all += value / N;
    }
    double squares[4] = {0};
    for (size_t i = 0; i < N; i++) {
        const size_t s = list[i].specimen - 10, c = 70 - list[i].condition;
        squares[0] += pow(by_s[s] - all, 2);
        squares[1] += pow(by_c[c] - all, 2);
        squares[2] += pow(cell[s][c] - by_s[s] - by_c[c] + all, 2);
        squares[3] += pow(list[i].value - cell[s][c], 2);
    }
    const double freedoms[4] = {S - 1, C - 1, (S - 1) * (C - 1), S * C * (R - 1)};
    struct gauge gauge;
    const struct limit upper = {false, true, -INFINITY, 100};
    ck_assert(gauge_compute(list, N, NULL, &upper, &gauge, NULL) == STATUS_OK);
    const struct gauge_line *const lines[4] = {
        &gauge.by_specimen, &gauge.by_condition, &gauge.interaction, &gauge.repeat};
    double mean[4];
    for (int i = 0; i < 4; i++) {
        mean[i] = squares[i] / freedoms[i];
        ck_assert_double_eq_tol(lines[i]->squares, squares[i], 1e-7);
        ck_assert_double_eq(lines[i]->freedom, freedoms[i]);
        ck_assert_double_eq_tol(lines[i]->mean_square, mean[i], 1e-7);
    }
    ck_assert_uint_eq(gauge.specimens, S);
    ck_assert_uint_eq(gauge.conditions, C);
    ck_assert_uint_eq(gauge.repeats, R);
    const double interaction = fmax((mean[2] - mean[3]) / R, 0);
    const double condition = fmax((mean[1] - mean[2]) / (S * R), 0);
    const double bench = sqrt(mean[3] + condition + interaction);
    const double specimen = sqrt((mean[0] - mean[2]) / (C * R));
    ck_assert_double_gt(condition, 0);
    ck_assert_double_eq_tol(gauge.interaction_deviation, sqrt(interaction), 1e-6);
    ck_assert_double_eq_tol(gauge.reproducibility, sqrt(condition + interaction), 1e-6);
    ck_assert_double_eq_tol(gauge.bench, bench, 1e-6);
    ck_assert_double_eq_tol(gauge.specimen, specimen, 1e-6);
    ck_assert_double_eq_tol(gauge.share_of_total, bench / hypot(bench, specimen), 1e-9);
    ck_assert_double_eq_tol(gauge.categories, sqrt(2) * specimen / bench, 1e-6);
    ck_assert(isnan(gauge.share_of_tolerance));
    ck_assert_double_eq_tol(gauge.interaction_significance,
        fisher_compute_share_above(mean[2] / mean[3], freedoms[2], freedoms[3]), 1e-9);
}
END_TEST

/* Means that are alike while repeats are not: all variances but that of the repeats are negative by
 * their mean squares, and count as 0. */
START_TEST(a_variance_below_zero_counts_as_none)
{
    static const struct gauge_value list[] = {
        {1, 1, 0}, {1, 1, 4}, {1, 2, 1}, {1, 2, 3}, {2, 1, 1}, {2, 1, 3}, {2, 2, 0}, {2, 2, 4}};
    const struct limit both = {true, true, 0, 24};
    struct gauge gauge;
    ck_assert(gauge_compute(list, 8, NULL, &both, &gauge, NULL) == STATUS_OK);
    ck_assert_double_eq_tol(gauge.repeatability, sqrt(20.0 / 4), 1e-12);
    ck_assert_double_eq(gauge.interaction_deviation, 0);
    ck_assert_double_eq(gauge.reproducibility, 0);
    ck_assert_double_eq(gauge.specimen, 0);
    ck_assert_double_eq_tol(gauge.bench, sqrt(5), 1e-12);
    ck_assert_double_eq_tol(gauge.share_of_total, 1, 1e-12);
    ck_assert_double_eq_tol(gauge.share_of_tolerance, 6 * sqrt(5) / 24, 1e-12);
    ck_assert_double_eq(gauge.categories, 0);
}
END_TEST

/* Cells that have one value each, one more than the others, or none. */
START_TEST(refuses_cells_that_differ)
{
    static const struct gauge_value single[] = {{1, 1, 0}, {2, 1, 2}, {1, 2, 1}, {2, 2, 3}};
    static const struct gauge_value more[] = {
        {1, 1, 0}, {1, 1, 1}, {2, 1, 2}, {2, 1, 3}, {2, 1, 4}};
    static const struct gauge_value none[] = {{1, 1, 0}, {1, 1, 1}, {2, 2, 2}, {2, 2, 3}};
    static const struct gauge_value one[] = {{1, 1, 0}, {1, 1, 1}, {1, 2, 2}, {1, 2, 3}};
    static const struct {
        const struct gauge_value *list;
        size_t count;
        const char *message;
    } cases[] = {
        {single, 4, "in the gauge study specimen 1 has 1 value under condition 1"},
        {more, 5,
            "in the gauge study specimen 2 has 3 values under condition 1, "
            "specimen 1 has 2 values under condition 1"},
        {none, 4,
            "in the gauge study specimen 1 has 0 values under condition 2, "
            "specimen 1 has 2 values under condition 1"},
        {one, 4, "no gauge study of one specimen"},
        {NULL, 0, "a gauge study of nothing"},
    };
    const struct limit limit = {false, false, 0, 0};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct gauge gauge = {.bench = 7};
        struct error err = {0};
        ck_assert(gauge_compute(cases[i].list, cases[i].count, NULL, &limit, &gauge, &err) ==
                  STATUS_INPUT);
        ck_assert_str_eq(err.message, cases[i].message);
        ck_assert_double_eq(gauge.bench, 7);
    }
}
END_TEST

Suite *comparison_suite(void)
{
    Suite *suite = suite_create("comparison");
    TCase *tests = tcase_create("comparison");
    tcase_add_test(tests, agrees_with_welch_by_hand);
    tcase_add_test(tests, agrees_with_students_distribution_in_closed_form);
    tcase_add_test(tests, what_two_benches_are_apart_by_adds_to_u);
    tcase_add_test(tests, each_side_has_its_own_number);
    tcase_add_test(tests, parts_a_gauge_study_of_unequal_sides);
    tcase_add_test(tests, a_variance_below_zero_counts_as_none);
    tcase_add_test(tests, refuses_cells_that_differ);
    tcase_add_test(tests, tells_equivalent_from_different);
    tcase_add_test(tests, tells_lots_of_different_scatter);
    tcase_add_test(tests, takes_for_equivalent_as_often_as_stated);
    tcase_add_test(tests, refuses_lots_that_cannot_be_compared);
    tcase_add_test(tests, compares_means_where_one_side_does_not_scatter);
    tcase_add_test(tests, tells_a_difference_downwards_as_well);
    tcase_add_test(tests, parts_a_gauge_study_as_by_hand);
    tcase_add_test(tests, takes_a_gauge_study_on_one_bench_alone);
    tcase_add_test(tests, names_the_cell_that_a_gauge_study_lacks);
    suite_add_tcase(suite, tests);
    return suite;
}
