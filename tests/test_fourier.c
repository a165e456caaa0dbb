// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/fourier.h"

#include <math.h>
#include <stdlib.h>

#include "suites.h"

static const double PI = 3.14159265358979323846;
static const double TURN = 6.283185307179586476925286766559;

/* w(x) = 0.3 + 2 cos x - 1.5 sin 2x + 0.25 cos(7x + 0.4): c[k] of sin is -i. */
enum { FEW = 7 };
static void set_few(double complex c[FEW + 1])
{
    for (int k = 0; k <= FEW; k++) {
        c[k] = 0.0;
    }
    c[0] = 0.3;
    c[1] = 2.0;
    c[2] = 1.5 * I;
    c[7] = 0.25 * cexp(0.4 * I);
}

static double get_few(double x)
{
    return 0.3 + 2.0 * cos(x) - 1.5 * sin(2.0 * x) + 0.25 * cos(7.0 * x + 0.4);
}

START_TEST(values_and_slopes_of_few_sines_are_those_of_the_library)
{
    double complex c[FEW + 1];
    set_few(c);
    for (int i = -300; i <= 300; i++) {
        const double x = 0.02385 * i;
        double slope;
        /* a dozen roundings of numbers below 5, and of an argument below 50 */
        ck_assert_double_eq_tol(fourier_get(c, FEW, x, &slope), get_few(x), 1e-14);
        const double expected = -2.0 * sin(x) - 3.0 * cos(2.0 * x) - 1.75 * sin(7.0 * x + 0.4);
        ck_assert_double_eq_tol(slope, expected, 3e-14);
        ck_assert_double_eq(fourier_get(c, FEW, x, NULL), fourier_get(c, FEW, x, &slope));
    }
}
END_TEST

START_TEST(a_sampled_cycle_has_the_values_of_the_series)
{
    static const size_t counts[] = {1, 2, 7, 8, 9, 17, 256, 360, 1024};
    static const double starts[] = {0.0, 2.385, -11.25, 1e4};
    double complex c[FEW + 1];
    set_few(c);
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        for (size_t j = 0; j < sizeof starts / sizeof starts[0]; j++) {
            double values[1024];
            ck_assert(!fourier_sample(c, FEW, starts[j], counts[i], values, NULL));
            for (size_t n = 0; n < counts[i]; n++) {
                const double x = starts[j] + TURN * (double)n / (double)counts[i];
                /* 7 x 1e4 is known to 1.5e-11 */
                ck_assert_double_eq_tol(values[n], get_few(x), 1e-14 + 4e-16 * fabs(x) * 7.0);
            }
        }
    }
}
END_TEST

/* sum_{k>=0} r^k cos kx = (1 - r cos x) / (1 - 2 r cos x + r^2); 0.9^501 is 1e-23. */
enum { MANY = 500 };
static const double decay = 0.9;

START_TEST(five_hundred_decaying_harmonics_have_the_values_of_their_geometric_series)
{
    double complex c[MANY + 1];
    for (int k = 0; k <= MANY; k++) {
        c[k] = pow(decay, k);
    }
    for (int i = -100; i <= 100; i++) {
        const double x = 0.031 * i;
        const double norm = 1.0 - 2.0 * decay * cos(x) + decay * decay;
        double slope;
        /* errors of z^k grow with k, their weights fall: 1e-15 of the 100 that the slopes' terms
         * add up to, and a little more from the formula's own cancellation near x = 0 */
        ck_assert_double_eq_tol(
            fourier_get(c, MANY, x, &slope), (1.0 - decay * cos(x)) / norm, 1e-13);
        const double expected = decay * sin(x) * (decay * decay - 1.0) / (norm * norm);
        ck_assert_double_eq_tol(slope, expected, 5e-12);
    }
    struct fourier_extremes found;
    ck_assert(!fourier_find_extremes(c, MANY, &found, NULL));
    ck_assert_double_eq_tol(found.maximum, 1.0 / (1.0 - decay), 1e-13);
    ck_assert_double_eq_tol(found.minimum, 1.0 / (1.0 + decay), 1e-13);
    ck_assert_double_eq_tol(sin(found.maximum_phase), 0.0, 1e-12);
    ck_assert_double_eq_tol(found.minimum_phase, PI, 1e-12);
    /* once up, once down; what rounding adds at the flat minimum is far below */
    ck_assert_double_eq_tol(
        found.total_variation, 2.0 * (1.0 / (1.0 - decay) - 1.0 / (1.0 + decay)), 1e-12);
}
END_TEST

START_TEST(extremes_of_few_sines_are_where_the_slope_vanishes)
{
    /* a cos(x - p) + b: extremes at p and p + pi */
    static const double phases[] = {0.0, 0.5, 3.0, 3.14159265358979323846, 6.2, -1.0, 100.0};
    for (size_t i = 0; i < sizeof phases / sizeof phases[0]; i++) {
        const double complex c[2] = {0.7, 2.385 * cexp(-I * phases[i])};
        struct fourier_extremes found;
        ck_assert(!fourier_find_extremes(c, 1, &found, NULL));
        ck_assert_double_eq_tol(found.maximum, 3.085, 1e-15);
        ck_assert_double_eq_tol(found.minimum, -1.685, 1e-15);
        ck_assert_double_eq_tol(found.total_variation, 4.0 * 2.385, 4e-15);
        ck_assert_double_eq_tol(remainder(found.maximum_phase - phases[i], TURN), 0.0, 4e-14);
        ck_assert_double_eq_tol(remainder(found.minimum_phase - phases[i] - PI, TURN), 0.0, 4e-14);
        ck_assert_double_ge(found.maximum_phase, 0.0);
        ck_assert_double_lt(found.maximum_phase, TURN);
        ck_assert_double_ge(found.minimum_phase, 0.0);
        ck_assert_double_lt(found.minimum_phase, TURN);
    }
}
END_TEST

/* dB/dt = sin x + a sin 3x, B = -cos x - a/3 cos 3x. While a >= -1/3 dB/dt changes its sign only at
 * 0 and pi: integral |dB/dt| = 4 (1 + a/3); below, also at 30 degree and so on for a = -1/2. Form
 * factor rms / mean of the absolute value = pi sqrt((1 + a^2)/2) / (2 (1 + a/3)). */
static const struct {
    double share;
    double variation;
    double form_factor;
} distorted[] = {
    {0.0, 4.0, 1.1107207345},
    {0.05, 4.0 * (1.0 + 0.05 / 3.0), 1.0938769857},
    {-0.05, 4.0 * (1.0 - 0.05 / 3.0), 1.1309575615},
    {0.1, 4.0 * (1.0 + 0.1 / 3.0), 1.0802521},
    {-0.1, 4.0 * (1.0 - 0.1 / 3.0), 1.1547523},
    /* per half cycle 5/6 -> sqrt(3)/2 twice, and sqrt(3) across */
    {-0.5, 2.0 * (1.7320508075688772 + 2.0 * (0.8660254037844386 - 5.0 / 6.0)), NAN},
};

START_TEST(total_variation_gives_the_form_factors_of_sines_with_a_third_harmonic)
{
    for (size_t i = 0; i < sizeof distorted / sizeof distorted[0]; i++) {
        const double a = distorted[i].share;
        const double complex c[4] = {0.0, -1.0, 0.0, -a / 3.0};
        struct fourier_extremes found;
        ck_assert(!fourier_find_extremes(c, 3, &found, NULL));
        ck_assert_double_eq_tol(found.total_variation, distorted[i].variation, 4e-15);
        if (!isnan(distorted[i].form_factor)) {
            const double factor = TURN * sqrt(0.5 * (1.0 + a * a)) / found.total_variation;
            /* as many digits as are printed */
            ck_assert_double_eq_tol(factor, distorted[i].form_factor, 5.1e-8);
        }
    }
}
END_TEST

START_TEST(of_two_maxima_that_hardly_differ_the_higher_is_taken)
{
    static const double differences[] = {1e-3, 1e-6, 1e-9, 1e-12, -1e-12, -1e-9, -1e-6};
    for (size_t i = 0; i < sizeof differences / sizeof differences[0]; i++) {
        /* cos 2x + e cos x: 1 + e at 0, 1 - e at pi, least -1 - e^2/8 where cos x = -e/4 */
        const double e = differences[i];
        const double complex c[3] = {0.0, e, 1.0};
        struct fourier_extremes found;
        ck_assert(!fourier_find_extremes(c, 2, &found, NULL));
        ck_assert_double_eq_tol(found.maximum, 1.0 + fabs(e), 4e-16);
        ck_assert_double_eq_tol(
            remainder(found.maximum_phase - (e > 0.0 ? 0.0 : PI), TURN), 0.0, 1e-14);
        ck_assert_double_eq_tol(found.minimum, -1.0 - e * e / 8.0, 4e-16);
        ck_assert_double_eq_tol(cos(found.minimum_phase), -e / 4.0, 1e-14);
        ck_assert_double_eq_tol(found.total_variation, 8.0, 1e-14 + e * e);
    }
}
END_TEST

/* With u = x - p the slope (cos u - cos d)(1 + 2 cos d cos u) vanishes at u = +-d and where
 * cos u = -1/(2 cos d): w = -cos 2d sin u + cos d / 2 sin 2u. */
START_TEST(a_dimple_narrower_than_the_search_grid_is_found)
{
    static const double widths[] = {0.1, 0.01, 4e-3, 1e-3};
    static const double places[] = {1.0, 2.003, 3.3, 5.551};
    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
        for (size_t j = 0; j < sizeof places / sizeof places[0]; j++) {
            const double d = widths[i], p = places[j];
            const double complex c[3] = {
                0.0, I * cos(2.0 * d) * cexp(-I * p), -0.5 * I * cos(d) * cexp(-2.0 * I * p)};
            struct fourier_extremes found;
            ck_assert(!fourier_find_extremes(c, 2, &found, NULL));
            const double far = acos(-0.5 / cos(d));
            const double at_far = -cos(2.0 * d) * sin(far) + 0.5 * cos(d) * sin(2.0 * far);
            /* w(d) = sin d (cos^2 d - cos 2d) = sin^3 d, written without its cancellation */
            const double at_near = pow(sin(d), 3.0);
            const double expected = 4.0 * (fabs(at_far) + at_near);
            ck_assert_double_eq_tol(found.total_variation, expected, 1e-14);
            ck_assert_double_eq_tol(found.maximum, -at_far, 1e-15);
        }
    }
}
END_TEST

START_TEST(a_constant_has_one_value_and_no_crossing)
{
    double complex c[41] = {-2.385};
    for (size_t harmonics = 0; harmonics <= 40; harmonics += 20) {
        struct fourier_extremes found;
        struct fourier_crossing list[4];
        size_t count = 99;
        ck_assert(!fourier_find_extremes(c, harmonics, &found, NULL));
        ck_assert_double_eq(found.maximum, -2.385);
        ck_assert_double_eq(found.minimum, -2.385);
        ck_assert_double_eq(found.total_variation, 0.0);
        ck_assert(!fourier_find_crossings(c, harmonics, 0.0, list, 4, &count, NULL));
        ck_assert_uint_eq(count, 0);
    }
}
END_TEST

START_TEST(crossings_of_a_sine_are_at_its_arc_cosines)
{
    static const double levels[] = {0.0, 0.5, -0.5, 0.999, -0.9995, 1e-9};
    static const double phases[] = {0.0, 1.0, 1.57079632679489661923, 3.14159265358979323846, 6.0};
    for (size_t i = 0; i < sizeof levels / sizeof levels[0]; i++) {
        for (size_t j = 0; j < sizeof phases / sizeof phases[0]; j++) {
            const double complex c[2] = {0.25, cexp(-I * phases[j])};
            struct fourier_crossing list[4];
            size_t count;
            ck_assert(!fourier_find_crossings(c, 1, 0.25 + levels[i], list, 4, &count, NULL));
            ck_assert_uint_eq(count, 2);
            const double half = acos(levels[i]);
            for (size_t n = 0; n < count; n++) {
                const double place = phases[j] + (list[n].is_rising ? -half : half);
                /* rounding of w over its slope, which is sin(half) */
                ck_assert_double_eq_tol(
                    remainder(list[n].phase - place, TURN), 0.0, 3e-15 / sin(half));
                ck_assert_double_ge(list[n].phase, 0.0);
                ck_assert_double_lt(list[n].phase, TURN);
            }
            ck_assert_double_lt(list[0].phase, list[1].phase);
            ck_assert_int_ne(list[0].is_rising, list[1].is_rising);
        }
    }
}
END_TEST

START_TEST(crossings_come_in_order_and_are_counted_beyond_the_limit)
{
    /* cos(9x - 1): 18 crossings of 0, falling at (pi/2 + 1 + 2 pi n) / 9 */
    double complex c[10] = {0.0};
    c[9] = cexp(-I);
    struct fourier_crossing list[18];
    size_t count;
    ck_assert(!fourier_find_crossings(c, 9, 0.0, list, 18, &count, NULL));
    ck_assert_uint_eq(count, 18);
    const double first = (1.0 - 0.5 * PI) / 9.0 + PI / 9.0; /* the one before is below 0 */
    for (size_t n = 0; n < count; n++) {
        ck_assert_double_eq_tol(list[n].phase, first + (double)n * PI / 9.0, 4e-15);
        ck_assert_int_eq(list[n].is_rising != 0, n % 2 == 1);
    }
    struct fourier_crossing few[5] = {{0}};
    few[4].phase = -7.0;
    ck_assert(!fourier_find_crossings(c, 9, 0.0, few, 4, &count, NULL));
    ck_assert_uint_eq(count, 18);
    ck_assert_double_eq(few[3].phase, list[3].phase);
    ck_assert_double_eq(few[4].phase, -7.0);
    ck_assert(!fourier_find_crossings(c, 9, 1.0001, list, 18, &count, NULL));
    ck_assert_uint_eq(count, 0);
}
END_TEST

START_TEST(steep_and_flat_crossings_are_exact_alike)
{
    /* sin x + a sin 3x near a = -1/3 has slope 1 + 3a at 0, and no other zero on (0, pi) */
    static const double shares[] = {2.0, -0.33, -0.3333333};
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        const double p = 0.7, a = shares[i];
        const double complex c[4] = {0.0, -I * cexp(-I * p), 0.0, -I * a * cexp(-3.0 * I * p)};
        struct fourier_crossing list[8];
        size_t count;
        ck_assert(!fourier_find_crossings(c, 3, 0.0, list, 8, &count, NULL));
        ck_assert_uint_eq(count, a > 0.0 ? 6 : 2); /* a = 2: sin x (7 - 8 sin^2 x) */
        /* rounding of w over its slope */
        const double flat = fmax(fabs(1.0 + 3.0 * a), 1e-7);
        ck_assert_double_eq_tol(list[0].phase, p, 2e-15 + 4e-16 / flat);
        ck_assert(list[0].is_rising);
        const struct fourier_crossing back = list[count / 2];
        ck_assert_double_eq_tol(back.phase, p + PI, 2e-15 + 2e-15 / flat);
    }
}
END_TEST

Suite *fourier_suite(void)
{
    Suite *suite = suite_create("fourier");
    TCase *tests = tcase_create("fourier");
    tcase_add_test(tests, values_and_slopes_of_few_sines_are_those_of_the_library);
    tcase_add_test(tests, a_sampled_cycle_has_the_values_of_the_series);
    tcase_add_test(
        tests, five_hundred_decaying_harmonics_have_the_values_of_their_geometric_series);
    tcase_add_test(tests, extremes_of_few_sines_are_where_the_slope_vanishes);
    tcase_add_test(tests, total_variation_gives_the_form_factors_of_sines_with_a_third_harmonic);
    tcase_add_test(tests, of_two_maxima_that_hardly_differ_the_higher_is_taken);
    tcase_add_test(tests, a_dimple_narrower_than_the_search_grid_is_found);
    tcase_add_test(tests, a_constant_has_one_value_and_no_crossing);
    tcase_add_test(tests, crossings_of_a_sine_are_at_its_arc_cosines);
    tcase_add_test(tests, crossings_come_in_order_and_are_counted_beyond_the_limit);
    tcase_add_test(tests, steep_and_flat_crossings_are_exact_alike);
    suite_add_tcase(suite, tests);
    return suite;
}
