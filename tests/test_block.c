// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/block.h"

#include <math.h>
#include <string.h>

#include "num/pair.h"
#include "num/random.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

enum { TOP = 4 };
static const double nu = 0.01;

/* The waveform of all blocks; phases against it are what the tests choose. */
static const double complex wave[2][TOP + 1] = {
    {0.5, 1.0, 0.2 * I, 0.1, 0.05}, {-0.25, 0.7 * I, 0.0, -0.3, 0.1 + 0.1 * I}};

static double complex turn(double angle)
{
    return as_complex(cos(angle), sin(angle));
}

static void list_init(struct block_list *list, double variance)
{
    ck_assert(!block_list_init(list, TOP, nu, 0.0, NULL));
    double complex reference[2][TOP + 1];
    double complex *pointers[2] = {reference[0], reference[1]};
    for (int m = 0; m < 2; m++) {
        for (int k = 0; k <= TOP; k++) {
            reference[m][k] = wave[m][k];
        }
    }
    const double variances[2] = {variance, 2.0 * variance};
    block_list_set_reference(list, pointers, TOP, variances);
}

/* Adds the waveform turned by `phase` against a nominal frequency; gives the phase that was found.
 */
static double add_at(
    struct block_list *list, double nominal, double centre, double frames, double phase)
{
    double complex value[2][TOP + 1];
    double complex *pointers[2] = {value[0], value[1]};
    for (int m = 0; m < 2; m++) {
        for (int k = 0; k <= TOP; k++) {
            value[m][k] = wave[m][k] * turn(k * phase);
        }
    }
    const double found = block_list_measure(list, pointers);
    ck_assert(!block_list_add(list, pointers, centre, frames, nominal, 0.0, found, NULL));
    return found;
}

static double add(struct block_list *list, double centre, double frames, double phase)
{
    return add_at(list, nu, centre, frames, phase);
}

/* The mean against the waveform, as of the fundamental's phase. */
static void check_mean(struct block_list *list, double tolerance)
{
    double complex mean[2][TOP + 1];
    double complex *pointers[2] = {mean[0], mean[1]};
    const struct block_line line = block_list_fit_line(list);
    block_list_compute_mean(list, &line, pointers);
    const double shift = carg(mean[0][1] * conj(wave[0][1]));
    for (int m = 0; m < 2; m++) {
        for (int k = 0; k <= TOP; k++) {
            mean[m][k] *= turn(-k * shift);
            ck_assert_msg(cabs(mean[m][k] - wave[m][k]) <= tolerance, "channel %d, k %d: off %.2g",
                m, k, cabs(mean[m][k] - wave[m][k]));
        }
    }
}

START_TEST(a_blocks_phase_is_that_by_which_it_is_turned)
{
    static const double phases[] = {0.0, 1e-9, 0.1, -0.4, 1.5, -3.0, 3.1};
    for (size_t i = 0; i < sizeof phases / sizeof phases[0]; i++) {
        struct block_list list;
        list_init(&list, 1.0);
        ck_assert_double_eq_tol(add(&list, 500.0, 1000.0, phases[i]), phases[i], 4e-15);
        for (int m = 0; m < 2; m++) {
            for (int k = 0; k <= TOP; k++) {
                ck_assert(cabs(list.list[0].value[m][k] - wave[m][k]) < 1e-14);
            }
        }
        block_list_clear(&list);
        block_list_clear(&list);
    }
}
END_TEST

START_TEST(phases_that_advance_evenly_lie_on_a_line)
{
    static const double slopes[] = {0.0, 1e-9, -2.385e-6, 3e-4, -2.5e-3};
    for (size_t i = 0; i < sizeof slopes / sizeof slopes[0]; i++) {
        struct block_list list;
        list_init(&list, 1e-6);
        for (int b = 0; b < 30; b++) { /* up to 2.5 rad a block: the turns are counted */
            const double centre = 500.0 + 1000.0 * b;
            add(&list, centre, 1000.0, remainder(0.3 + slopes[i] * centre, TURN));
        }
        const struct block_line line = block_list_fit_line(&list);
        ck_assert_double_eq_tol(line.slope, slopes[i], 1e-17 + 1e-13 * fabs(slopes[i]));
        ck_assert_double_eq_tol(line.offset, 0.3, 1e-12);
        ck_assert_double_lt(line.largest, 1e-12);
        ck_assert_double_lt(line.scatter, 1e-6);
        ck_assert(line.is_steady);
        block_list_clear(&list);
    }
}
END_TEST

START_TEST(a_lines_uncertainty_is_that_of_the_noise)
{
    struct block_list list;
    const double variance = 1e-4;
    list_init(&list, variance);
    double information = 0.0;
    for (int k = 1; k <= TOP; k++) {
        information += k * k * pow(cabs(wave[0][k]), 2.0) / (2.0 * variance);
        information += k * k * pow(cabs(wave[1][k]), 2.0) / (4.0 * variance);
    }
    const double u = 1.0 / sqrt(1000.0 * information);
    ck_assert_double_eq_tol(block_list_get_phase_noise(&list, 1000.0), u, 1e-15);
    struct random random;
    random_init(&random, 3, 0);
    double squares = 0.0;
    for (int b = 0; b < 40; b++) {
        add(&list, 500.0 + 1000.0 * b, 1000.0, u * random_get_normal(&random));
    }
    const struct block_line line = block_list_fit_line(&list);
    for (int b = 0; b < 40; b++) {
        squares += pow(1000.0 * (b - 19.5), 2.0);
    }
    ck_assert_double_eq_tol(line.u_slope / (u / sqrt(squares)), 1.0, 1e-12);
    ck_assert_double_eq_tol(line.expected / u, 1.0, 1e-12);
    /* chi-square over 38 degrees of freedom, within three standard deviations */
    ck_assert_double_eq_tol(line.scatter, 1.0, 3.0 * sqrt(2.0 / 38.0));
    ck_assert(line.is_steady);
    block_list_clear(&list);
}
END_TEST

START_TEST(phases_that_bend_are_unsteady_and_blocks_are_turned_by_their_own)
{
    struct block_list list;
    list_init(&list, 1e-6);
    for (int b = 0; b < 30; b++) {
        const double x = (b - 14.5) / 15.0;
        add(&list, 500.0 + 1000.0 * b, 1000.0, 0.2 * x * x);
    }
    const struct block_line line = block_list_fit_line(&list);
    ck_assert(!line.is_steady);
    /* at the ends: x^2 less its mean over the 30 blocks */
    const double mean = (30.0 * 30.0 - 1.0) / 12.0 / 225.0;
    ck_assert_double_eq_tol(line.largest, 0.2 * (pow(14.5 / 15.0, 2.0) - mean), 1e-14);
    check_mean(&list, 1e-14);
    block_list_clear(&list);
}
END_TEST

START_TEST(phases_that_bend_within_rounding_are_steady)
{
    struct block_list list;
    list_init(&list, 1e-24);
    for (int b = 0; b < 10; b++) {
        add(&list, 500.0 + 1000.0 * b, 1000.0, b % 2 == 0 ? 1e-10 : -1e-10);
    }
    ck_assert(block_list_fit_line(&list).is_steady);
    block_list_clear(&list);
}
END_TEST

START_TEST(no_block_and_one_lie_on_a_level_line)
{
    struct block_list list;
    list_init(&list, 1e-6);
    struct block_line line = block_list_fit_line(&list);
    ck_assert(line.is_steady);
    ck_assert_double_eq(line.offset, 0.0);
    ck_assert_double_eq(line.slope, 0.0);
    ck_assert_double_eq(line.scatter, 1.0);
    add(&list, 500.0, 1000.0, 0.1);
    line = block_list_fit_line(&list);
    ck_assert(line.is_steady);
    ck_assert_double_eq_tol(line.offset, 0.1, 1e-14);
    ck_assert_double_eq(line.slope, 0.0);
    ck_assert_double_eq(line.u_slope, 0.0);
    ck_assert_double_eq(line.scatter, 1.0);
    block_list_clear(&list);
}
END_TEST

START_TEST(any_number_of_blocks_becomes_at_most_256_of_equal_size)
{
    static const int counts[] = {255, 256, 257, 300, 511, 512, 513, 1000, 2049, 5003};
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        struct block_list list;
        list_init(&list, 1e-6);
        const double slope = 2.385e-5;
        for (int b = 0; b < counts[i]; b++) {
            add_at(&list, nu + slope / TURN, 500.0 + 1000.0 * b, 1000.0, 0.3);
        }
        ck_assert_uint_le(list.count, 256);
        ck_assert_int_gt((int)list.count, counts[i] < 256 ? counts[i] - 1 : 127);
        double frames = 0.0;
        for (size_t b = 0; b < list.count; b++) {
            frames += list.list[b].frames;
            if (b + 1 < list.count) {
                ck_assert_double_eq(list.list[b].frames, list.list[0].frames);
            }
        }
        ck_assert_double_eq(frames, 1000.0 * counts[i]);
        const struct block_line line = block_list_fit_line(&list);
        ck_assert_double_eq_tol(line.slope / slope, 1.0, 1e-11);
        ck_assert_double_eq_tol(line.offset, 0.3, 1e-10);
        check_mean(&list, 1e-12);
        block_list_clear(&list);
    }
}
END_TEST

/* The phase of a block is where the weighted sum of squares against the reference is least:
 *     sum over m and k of k Im(conj(r_mk) c_mk e^{-ik phase}) / variance_m = 0,
 * not that of the fundamental alone. */
START_TEST(a_blocks_phase_is_that_of_all_harmonics)
{
    struct block_list list;
    list_init(&list, 1e-2);
    double complex value[2][TOP + 1];
    double complex *pointers[2] = {value[0], value[1]};
    for (int m = 0; m < 2; m++) {
        for (int k = 0; k <= TOP; k++) { /* each turned by a little of its own */
            value[m][k] = wave[m][k] * turn(k * 0.7 + 0.1 * (k - 2) * (m + 1)) * (1.0 + 0.1 * k);
        }
    }
    double gradient = 0.0, curvature = 0.0, fundamental = 0.0;
    const double phase = block_list_measure(&list, pointers);
    ck_assert(!block_list_add(&list, pointers, 500.0, 1000.0, nu, 0.0, phase, NULL));
    for (int m = 0; m < 2; m++) {
        for (int k = 1; k <= TOP; k++) {
            const double complex cross = conj(wave[m][k]) * value[m][k] / (1.0 + m);
            gradient += k * cimag(cross * turn(-k * phase));
            curvature += k * k * creal(cross * turn(-k * phase));
            fundamental += k == 1 ? cimag(cross * turn(-phase)) : 0.0;
        }
    }
    ck_assert_double_gt(fabs(fundamental), 0.01); /* which alone would end elsewhere */
    ck_assert_double_eq_tol(gradient / curvature, 0.0, 1e-12);
    block_list_clear(&list);
}
END_TEST

/* Of the nominal phases of the block and of the list: nu (t - origin) and nu0 (t - origin0). */
START_TEST(a_blocks_phase_counts_from_the_nominal_one)
{
    struct block_list list;
    ck_assert(!block_list_init(&list, TOP, nu, 30.0, NULL));
    double complex value[2][TOP + 1];
    double complex *pointers[2] = {value[0], value[1]};
    static const double origins[] = {30.0, 40.0, 35.0}, centres[] = {500.0, 1510.0, 2480.0};
    for (size_t b = 0; b < 3; b++) {
        const double own = 0.1 * (double)b, other = nu * (1.0 + 0.01 * (double)b);
        for (int m = 0; m < 2; m++) {
            for (int k = 0; k <= TOP; k++) {
                value[m][k] = wave[m][k] * turn(k * own);
            }
        }
        const double phase = block_list_measure(&list, pointers);
        ck_assert(
            !block_list_add(&list, pointers, centres[b], 1000.0, other, origins[b], phase, NULL));
        ck_assert_double_eq_tol(phase, own, 1e-14);
        const double wanted =
            own + TURN * (other * (centres[b] - origins[b]) - nu * (centres[b] - 30.0));
        const double before = b == 0 ? 0.0 : list.list[b - 1].phase;
        ck_assert_double_eq_tol(remainder(list.list[b].phase - wanted, TURN), 0.0, 1e-12);
        ck_assert_double_le(fabs(list.list[b].phase - before), 0.5 * TURN + 1e-12);
        ck_assert_double_eq(list.list[b].centre, centres[b]);
    }
    block_list_clear(&list);
}
END_TEST

START_TEST(a_reference_of_fewer_harmonics_has_none_above)
{
    struct block_list list;
    list_init(&list, 1.0);
    double complex few[2][3] = {{9.0, 0.5, 0.25}, {9.0, 0.0, 0.125}};
    double complex *pointers[2] = {few[0], few[1]};
    const double variance[2] = {0.25, 0.5};
    block_list_set_reference(&list, pointers, 2, variance);
    const double information = (0.25 + 4.0 * 0.0625) / 0.5 + 4.0 * 0.015625 / 1.0;
    ck_assert_double_eq_tol(
        block_list_get_phase_noise(&list, 50.0), 1.0 / sqrt(50.0 * information), 1e-15);
    /* noise that is not known weighs as 1 */
    const double unknown[2] = {0.0, -1.0};
    block_list_set_reference(&list, pointers, 2, unknown);
    ck_assert_double_eq_tol(block_list_get_phase_noise(&list, 50.0),
        1.0 / sqrt(50.0 * (0.5 + 4.0 * 0.015625) / 2.0), 1e-15);
    block_list_clear(&list);
}
END_TEST

/* Weights 1000, 3000, 2000, 1000 at 500, 2500, 5000, 6500: their mean is 26000 / 7, the weighted
 * line in closed form. */
START_TEST(the_line_weighs_blocks_by_their_frames)
{
    static const double frames[] = {1000, 3000, 2000, 1000}, centres[] = {500, 2500, 5000, 6500};
    static const double phases[] = {0.02, -0.01, 0.03, 0.01};
    struct block_list list;
    list_init(&list, 1e-2);
    double time = 0.0, phase = 0.0, spread = 0.0, product = 0.0, squares = 0.0, largest = 0.0;
    for (size_t b = 0; b < 4; b++) {
        add(&list, centres[b], frames[b], phases[b]);
        time += frames[b] * centres[b] / 7000.0;
        phase += frames[b] * phases[b] / 7000.0;
    }
    for (size_t b = 0; b < 4; b++) {
        spread += frames[b] * pow(centres[b] - time, 2.0);
        product += frames[b] * (centres[b] - time) * (phases[b] - phase);
    }
    const double slope = product / spread;
    const double information = pow(block_list_get_phase_noise(&list, 1.0), -2.0);
    for (size_t b = 0; b < 4; b++) {
        const double rest = phases[b] - phase - slope * (centres[b] - time);
        squares += frames[b] * rest * rest;
        largest = fmax(largest, fabs(rest));
    }
    const struct block_line line = block_list_fit_line(&list);
    ck_assert_double_eq_tol(line.slope / slope, 1.0, 1e-11);
    ck_assert_double_eq_tol(line.offset, phase - slope * time, 1e-13);
    ck_assert_double_eq_tol(line.largest, largest, 1e-13);
    ck_assert_double_eq_tol(line.scatter / (information * squares / 2.0), 1.0, 1e-10);
    ck_assert_double_eq_tol(line.u_slope * sqrt(spread * information), 1.0, 1e-12);
    ck_assert_double_eq_tol(line.expected * sqrt(7000.0 / 4.0 * information), 1.0, 1e-12);
    block_list_clear(&list);
}
END_TEST

/* To and fro about a level line: the mean of a and -a turned by their phases is that of cosines. */
START_TEST(blocks_are_added_as_their_line_has_them)
{
    static const double phases[] = {0.05, -0.05, -0.05, 0.05};
    struct block_list list;
    list_init(&list, 1.0);
    for (int b = 0; b < 4; b++) {
        add(&list, 500.0 + 1000.0 * b, 1000.0, 0.3 + phases[b]);
    }
    double complex mean[2][TOP + 1];
    double complex *pointers[2] = {mean[0], mean[1]};
    const struct block_line line = block_list_fit_line(&list);
    ck_assert(line.is_steady);
    ck_assert_double_eq_tol(line.offset, 0.3, 1e-14);
    block_list_compute_mean(&list, &line, pointers);
    for (int m = 0; m < 2; m++) {
        for (int k = 0; k <= TOP; k++) {
            ck_assert(cabs(mean[m][k] - cos(0.05 * k) * wave[m][k]) < 1e-14);
        }
    }
    block_list_clear(&list);
}
END_TEST

START_TEST(two_blocks_always_lie_on_a_line)
{
    struct block_list list;
    list_init(&list, 1e-6);
    add(&list, 500.0, 1000.0, 0.1);
    add(&list, 1500.0, 1000.0, 0.4);
    const struct block_line line = block_list_fit_line(&list);
    ck_assert(line.is_steady);
    ck_assert_double_eq(line.scatter, 1.0);
    ck_assert_double_eq_tol(line.slope, 0.3e-3, 1e-15);
    block_list_clear(&list);
}
END_TEST

/* Phases to and fro: their chi-square over its freedom goes with their square. With 10 degrees of
 * freedom 1 + 6 sqrt(2 / 10) is what noise hardly reaches. */
START_TEST(phases_are_steady_up_to_what_noise_makes_of_them)
{
    enum { BLOCKS = 12 };
    static const struct {
        double share;
        bool is_steady;
    } cases[] = {{0.98, true}, {1.02, false}};
    for (size_t i = 0; i < 2; i++) {
        double size = 1e-3;
        struct block_line line = {0};
        for (int round = 0; round < 2; round++) {
            struct block_list list;
            list_init(&list, 1e-3);
            for (int b = 0; b < BLOCKS; b++) {
                add(&list, 500.0 + 1000.0 * b, 1000.0, b % 2 == 0 ? size : -size);
            }
            line = block_list_fit_line(&list);
            block_list_clear(&list);
            size *= round == 0 ? sqrt(cases[i].share * (1.0 + 6.0 * sqrt(0.2)) / line.scatter) : 1;
        }
        ck_assert_double_eq_tol(line.scatter, cases[i].share * (1.0 + 6.0 * sqrt(0.2)), 1e-9);
        ck_assert(line.is_steady == cases[i].is_steady);
    }
    /* and where there is hardly any noise, up to 1e-9 */
    for (size_t i = 0; i < 2; i++) {
        struct block_list list;
        list_init(&list, 1e-26);
        /* the second block is farthest off its line, whose slope is 6 / 143 of them a block */
        const double size = (i == 0 ? 0.95e-9 : 1.05e-9) / (1.0 + 4.5 * 6.0 / 143.0);
        for (int b = 0; b < BLOCKS; b++) {
            add(&list, 500.0 + 1000.0 * b, 1000.0, b % 2 == 0 ? size : -size);
        }
        ck_assert(block_list_fit_line(&list).is_steady == (i == 0));
        block_list_clear(&list);
    }
}
END_TEST

START_TEST(no_blocks_have_no_mean)
{
    struct block_list list;
    list_init(&list, 1e-6);
    double complex mean[2][TOP + 1];
    double complex *pointers[2] = {mean[0], mean[1]};
    memset(mean, 1, sizeof mean);
    const struct block_line line = block_list_fit_line(&list);
    block_list_compute_mean(&list, &line, pointers);
    for (int k = 0; k <= TOP; k++) {
        ck_assert(mean[0][k] == 0.0 && mean[1][k] == 0.0);
    }
    block_list_clear(&list);
}
END_TEST

/* Merged by pairs, twice, also when the frequency drifts: each keeps the waveform, the mean of the
 * phases and of the places. */
START_TEST(blocks_that_drift_are_merged_with_their_phases)
{
    enum { BLOCKS = 512 };
    struct block_list list;
    list_init(&list, 1e-6);
    double phases[BLOCKS];
    for (int b = 0; b < BLOCKS; b++) {
        const double x = (b - 255.5) / 256.0;
        phases[b] = 0.4 * x * x;
        add(&list, 500.0 + 1000.0 * b, 1000.0, phases[b]);
    }
    ck_assert_uint_eq(list.count, 256);
    for (int b = 0; b < 256; b++) {
        const struct block *block = &list.list[b];
        ck_assert_double_eq_tol(block->phase, 0.5 * (phases[2 * b] + phases[2 * b + 1]), 1e-12);
        ck_assert_double_eq_tol(block->centre, 1000.0 * (2 * b + 1), 1e-8);
        ck_assert_double_eq(block->frames, 2000.0);
        for (int k = 0; k <= TOP; k++) {
            ck_assert(cabs(block->value[0][k] - wave[0][k]) < 1e-12);
            ck_assert(cabs(block->value[1][k] - wave[1][k]) < 1e-12);
        }
    }
    check_mean(&list, 1e-12);
    block_list_clear(&list);
}
END_TEST

/* Two phases a and -a about a level line are turned onto it: half of each, by the cosine. Offsets
 * that differ are averaged. */
START_TEST(blocks_that_scatter_are_turned_onto_the_line_they_are_merged_on)
{
    enum { BLOCKS = 512 };
    const double a = 0.05;
    struct block_list list;
    list_init(&list, 1e3);
    for (int b = 0; b < BLOCKS; b++) {
        double complex value[2][TOP + 1];
        double complex *pointers[2] = {value[0], value[1]};
        const double phase = b % 2 == 0 ? a : -a;
        for (int m = 0; m < 2; m++) {
            for (int k = 0; k <= TOP; k++) {
                value[m][k] = k == 0 ? b + m : wave[m][k] * turn(k * phase);
            }
        }
        const double found = block_list_measure(&list, pointers);
        ck_assert(
            !block_list_add(&list, pointers, 500.0 + 1000.0 * b, 1000.0, nu, 0.0, found, NULL));
    }
    ck_assert_uint_eq(list.count, 256);
    for (int b = 0; b < 256; b++) {
        for (int m = 0; m < 2; m++) {
            ck_assert(cabs(list.list[b].value[m][0] - (2 * b + 0.5 + m)) < 1e-9);
            for (int k = 1; k <= TOP; k++) {
                /* the line's own slope over 256 such blocks is 1e-4 of a each */
                const double complex wanted = wave[m][k] * cos(k * a);
                ck_assert(cabs(list.list[b].value[m][k] - wanted) < 1e-3 * k * a * a);
            }
        }
        ck_assert_double_lt(fabs(list.list[b].phase), 1e-4 * a);
    }
    block_list_clear(&list);
}
END_TEST

/* Rows of one cycle at nu whose harmonics turn at nu (1 + e), each row begun anew: fitted by sums
 * over the row. */
static void set_slipped(double slip, double complex *const value[2])
{
    enum { SAMPLES = 4000 };
    for (int m = 0; m < 2; m++) {
        for (int k = 0; k <= TOP; k++) {
            double complex sum = 0.0;
            for (int n = 0; n < SAMPLES; n++) {
                const double x = TURN * (n + 0.5) / SAMPLES, y = slip * (x - 0.5 * TURN);
                double w = 0.0;
                for (int l = 0; l <= TOP; l++) {
                    w += creal(wave[m][l] * turn(l * (x + y)));
                }
                sum += w * turn(-k * x);
            }
            value[m][k] = (k == 0 ? 1.0 : 2.0) * sum / SAMPLES;
        }
    }
}

START_TEST(what_slipping_rows_leak_is_taken_off_the_mean)
{
    const double slip = 1e-4;
    double complex value[2][TOP + 1];
    double complex *pointers[2] = {value[0], value[1]};
    set_slipped(slip, pointers);
    struct block_list list;
    list_init(&list, 1e-6);
    for (int b = 0; b < 20; b++) {
        const double centre = 500.0 + 1000.0 * b;
        double complex turned[2][TOP + 1];
        double complex *const those[2] = {turned[0], turned[1]};
        for (int m = 0; m < 2; m++) {
            for (int k = 0; k <= TOP; k++) {
                turned[m][k] = pointers[m][k] * turn(k * TURN * slip * nu * centre);
            }
        }
        const double phase = block_list_measure(&list, those);
        ck_assert(!block_list_add(&list, those, centre, 1000.0, nu, 0.0, phase, NULL));
    }
    ck_assert_double_gt(cabs(value[0][1] - wave[0][1]), 2e-5);
    /* what is left is of second order: slip squared, times squared harmonics */
    check_mean(&list, 2e-7);
    block_list_clear(&list);
}
END_TEST

/* A frequency that drifts evenly: the slip goes up from block to block of unlike lengths, and the
 * phases, whose slope it is, on a parabola. */
START_TEST(what_slipping_rows_leak_is_taken_off_when_the_frequency_drifts)
{
    static const double frames[] = {1000, 3000, 2000, 1500}, centres[] = {500, 2500, 5000, 6750};
    struct block_list list;
    list_init(&list, 1e-12);
    const double begin = 2e-5, rise = 1.2e-8; /* of the slip, by sample */
    for (int b = 0; b < 4; b++) {
        double complex value[2][TOP + 1];
        double complex *pointers[2] = {value[0], value[1]};
        const double t = centres[b];
        set_slipped(begin + rise * t, pointers);
        const double phase = TURN * nu * (begin * t + 0.5 * rise * t * t);
        for (int m = 0; m < 2; m++) {
            for (int k = 0; k <= TOP; k++) {
                value[m][k] *= turn(k * phase);
            }
        }
        const double found = block_list_measure(&list, pointers);
        ck_assert(!block_list_add(&list, pointers, t, frames[b], nu, 0.0, found, NULL));
    }
    ck_assert(!block_list_fit_line(&list).is_steady);
    /* as above: of second order in the slip, which is 1e-4 at the end */
    check_mean(&list, 2e-7);
    block_list_clear(&list);
}
END_TEST

/* Scores: |c|^2 frames / (2 variance) - 6 a channel; frames 1000 and variance 1 make it 500 |c|^2.
 */
static const struct {
    const char *name;
    double a[9], b[9]; /* harmonics 0 ... 8 */
    size_t channels, expected;
} choice_list[] = {
    {"the fundamental alone", {0, 1}, {0, 1}, 2, 1},
    {"nothing at all", {0}, {0}, 2, 1},
    {"just below the penalty", {0, 1, 0, 0.1090}, {0, 1}, 1, 1},
    {"just above two penalties", {0, 1, 0, 0.1560}, {0, 1}, 1, 3},
    {"weak ones below a strong one", {0, 1, 0, 0.01, 0, 0.02, 0, 1}, {0, 1}, 2, 7},
    {"a strong one in the second channel", {0, 1}, {0, 1, 0, 0, 0, 0, 0, 0, 1}, 2, 8},
    {"a second channel that is none", {0, 1}, {0, 1, 0, 0, 0, 0, 0, 0, 1}, 1, 1},
    {"an offset is no harmonic", {1e6, 1}, {1e6, 1}, 2, 1},
};

START_TEST(harmonics_are_kept_that_tell_more_than_their_noise)
{
    for (size_t i = 0; i < sizeof choice_list / sizeof choice_list[0]; i++) {
        double complex a[9], b[9];
        double complex *value[2] = {a, b};
        for (int k = 0; k <= 8; k++) {
            a[k] = choice_list[i].a[k] * turn(1.1 * k);
            b[k] = choice_list[i].b[k] * turn(-0.3 * k);
        }
        const double variance[2] = {1.0, 1.0};
        const size_t found = choose_harmonics(value, choice_list[i].channels, 8, 1000.0, variance);
        ck_assert_msg(found == choice_list[i].expected, "%s: %zu", choice_list[i].name, found);
    }
}
END_TEST

START_TEST(harmonics_that_are_rounding_are_not_kept)
{
    static const struct {
        double share;
        size_t expected;
    } list[] = {{1e-12, 1}, {1e-11, 1}, {3e-11, 5}, {1e-9, 5}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        double complex a[6] = {0.0, 1e5, 0.0, 0.0, 0.0, 1e5 * list[i].share}, b[6] = {0.0, 1.0};
        double complex *value[2] = {a, b}, *turned[2] = {b, a};
        const double variance[2] = {1e-20, 1e-30}, other[2] = {1e-30, 1e-20};
        ck_assert_uint_eq(choose_harmonics(value, 2, 5, 1e4, variance), list[i].expected);
        ck_assert_uint_eq(choose_harmonics(turned, 2, 5, 1e4, other), list[i].expected);
    }
}
END_TEST

/* What is rounding is told by the largest harmonic, whichever that is. */
START_TEST(rounding_is_measured_by_the_largest_harmonic)
{
    double complex a[6] = {0.0, 1.0, 1e5, 0.0, 0.0, 1e-7}, b[6] = {0.0, 1.0};
    double complex *value[2] = {a, b};
    const double variance[2] = {1e-20, 1e-30};
    ck_assert_uint_eq(choose_harmonics(value, 2, 5, 1e4, variance), 2);
}
END_TEST

/* Beside a sum of 1e21 a score of 100 would be lost in rounding: no harmonic counts so much. */
START_TEST(an_overwhelming_harmonic_hides_no_weak_one)
{
    double complex a[6] = {0.0, 1e6, 0.0, 2e-4}, b[6] = {0.0};
    double complex *value[2] = {a, b};
    const double variance[2] = {2e-10, 1.0};
    ck_assert_uint_eq(choose_harmonics(value, 1, 5, 1.0, variance), 3);
}
END_TEST

START_TEST(a_channel_whose_noise_is_not_known_tells_nothing)
{
    double complex a[6] = {0.0, 1.0, 1.0}, b[6] = {0.0, 1.0, 1.0, 1.0, 1.0, 1.0};
    double complex *value[2] = {a, b};
    const double variance[2] = {1.0, 0.0};
    ck_assert_uint_eq(choose_harmonics(value, 2, 5, 1e4, variance), 2);
}
END_TEST

Suite *block_suite(void)
{
    Suite *suite = suite_create("block");
    TCase *tests = tcase_create("block");
    tcase_add_test(tests, a_blocks_phase_is_that_by_which_it_is_turned);
    tcase_add_test(tests, a_blocks_phase_is_that_of_all_harmonics);
    tcase_add_test(tests, a_blocks_phase_counts_from_the_nominal_one);
    tcase_add_test(tests, a_reference_of_fewer_harmonics_has_none_above);
    tcase_add_test(tests, the_line_weighs_blocks_by_their_frames);
    tcase_add_test(tests, blocks_are_added_as_their_line_has_them);
    tcase_add_test(tests, two_blocks_always_lie_on_a_line);
    tcase_add_test(tests, phases_are_steady_up_to_what_noise_makes_of_them);
    tcase_add_test(tests, no_blocks_have_no_mean);
    tcase_add_test(tests, blocks_that_drift_are_merged_with_their_phases);
    tcase_add_test(tests, blocks_that_scatter_are_turned_onto_the_line_they_are_merged_on);
    tcase_add_test(tests, what_slipping_rows_leak_is_taken_off_when_the_frequency_drifts);
    tcase_add_test(tests, an_overwhelming_harmonic_hides_no_weak_one);
    tcase_add_test(tests, a_channel_whose_noise_is_not_known_tells_nothing);
    tcase_add_test(tests, phases_that_advance_evenly_lie_on_a_line);
    tcase_add_test(tests, a_lines_uncertainty_is_that_of_the_noise);
    tcase_add_test(tests, phases_that_bend_are_unsteady_and_blocks_are_turned_by_their_own);
    tcase_add_test(tests, phases_that_bend_within_rounding_are_steady);
    tcase_add_test(tests, no_block_and_one_lie_on_a_level_line);
    tcase_add_test(tests, any_number_of_blocks_becomes_at_most_256_of_equal_size);
    tcase_add_test(tests, what_slipping_rows_leak_is_taken_off_the_mean);
    tcase_add_test(tests, harmonics_are_kept_that_tell_more_than_their_noise);
    tcase_add_test(tests, harmonics_that_are_rounding_are_not_kept);
    tcase_add_test(tests, rounding_is_measured_by_the_largest_harmonic);
    suite_add_tcase(suite, tests);
    return suite;
}
