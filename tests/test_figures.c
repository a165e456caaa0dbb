// SPDX-License-Identifier: GPL-3.0-or-later
/* Figures of periodic loops against closed forms, and against plain scanning and bisection. */
#include <math.h>

#include "loop/loop.h"
#include "quantity/figure.h"
#include "suites.h"

static const double PI = 3.14159265358979323846;
static const double TURN = 6.283185307179586476925286766559;
static const double MU0 = 4e-7 * 3.14159265358979323846; /* as the measuring standards have it */
static const double DEGREE = 57.295779513082320877;

/* A loop on the test's own arrays. */
enum { TOP = 401 };
struct waves {
    double complex field[TOP + 1], flux[TOP + 1];
    struct fourier_loop loop;
};

static void waves_init(struct waves *waves, size_t harmonics)
{
    *waves = (struct waves){.loop.harmonics = harmonics};
    waves->loop.field = waves->field;
    waves->loop.flux_density = waves->flux;
}

static double complex polar(double size, double angle)
{
    return size * (cos(angle) + I * sin(angle));
}

static void compute(const struct waves *waves, struct figures *figures)
{
    struct error err = {0};
    ck_assert_msg(
        !fourier_loop_compute_figures(&waves->loop, 0.0, 0.0, figures, &err), "%s", err.message);
}

static void check(const struct figures *figures, enum figure figure, double truth, double tolerance)
{
    const struct figure_value *value = &figures->list[figure];
    ck_assert_msg(value->is_present, "%s is absent", figure_table[figure].key);
    ck_assert_msg(fabs(value->value - truth) <= tolerance, "%s: %.17g instead of %.17g",
        figure_table[figure].key, value->value, truth);
}

/* Everything is found on the series by roots: 1e-13 leaves some rounding of coefficients. */
static const double exact = 1e-13;

/* ---- ellipses ---- */

static const struct {
    double field, flux, lag_deg;
} ellipses[] = {{8000.0, 1.2, 30.0}, {8000.0, 1.2, 1e-3}, {250.0, 0.0385, 89.999}, {1e5, 2.1, 90.0},
    {2385.0, 0.7, 120.0}, {2385.0, 0.7, 179.0}, {8000.0, 1.2, -30.0}, {8000.0, 1.2, -150.0}};

static void check_ellipse(double field, double flux, double lag, double start)
{
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 1);
    waves.field[1] = polar(field, start);
    waves.flux[1] = polar(flux, start - lag);
    compute(&waves, &figures);
    const double area = PI * field * flux * sin(lag);
    check(&figures, FIGURE_FIELD_PEAK, field, exact * field);
    check(&figures, FIGURE_FLUX_DENSITY_PEAK, flux, exact * flux);
    check(&figures, FIGURE_LOOP_AREA, area, exact * field * flux);
    check(&figures, FIGURE_LAG_ANGLE, lag * DEGREE, exact * 180.0);
    check(&figures, FIGURE_COERCIVITY, field * sin(lag), 10.0 * exact * field);
    check(&figures, FIGURE_COERCIVITY_FALLING, field * sin(lag), 10.0 * exact * field);
    check(&figures, FIGURE_COERCIVITY_RISING, field * sin(lag), 10.0 * exact * field);
    check(&figures, FIGURE_REMANENCE, flux * sin(lag), 10.0 * exact * flux);
    check(&figures, FIGURE_REMANENCE_FALLING, flux * sin(lag), 10.0 * exact * flux);
    check(&figures, FIGURE_REMANENCE_RISING, flux * sin(lag), 10.0 * exact * flux);
    check(&figures, FIGURE_COERCIVITY_ASYMMETRY, 0.0, 1e-7);
    check(&figures, FIGURE_SQUARENESS, sin(lag), 10.0 * exact);
    check(&figures, FIGURE_AMPLITUDE_PERMEABILITY, flux / (MU0 * field),
        10.0 * exact * flux / (MU0 * field));
    check(&figures, FIGURE_LOOP_FULLNESS, 0.25 * PI * sin(lag), exact);
    check(&figures, FIGURE_FORM_FACTOR, PI / (2.0 * sqrt(2.0)), exact);
    check(&figures, FIGURE_FLUX_DISTORTION, 0.0, exact);
    /* asin is steep near a right angle: rounding of its argument takes half the digits */
    check(&figures, FIGURE_LAG_ANGLE_AREA, asin(sin(lag)) * DEGREE,
        1e-11 + 1e-13 / fmax(fabs(cos(lag)), 1e-8) * DEGREE);
    /* J is an ellipse too */
    const double complex j = polar(flux, -lag) - MU0 * field;
    check(&figures, FIGURE_POLARIZATION_PEAK, cabs(j), 10.0 * exact * cabs(j));
    check(&figures, FIGURE_COERCIVITY_J, -field * sin(carg(j)), 100.0 * exact * field);
}

START_TEST(an_ellipse_has_the_figures_of_its_axes_and_angle)
{
    static const double starts[] = {0.0, 0.7, -2.0, 3.0, 100.0};
    for (size_t i = 0; i < sizeof ellipses / sizeof ellipses[0]; i++) {
        for (size_t j = 0; j < sizeof starts / sizeof starts[0]; j++) {
            check_ellipse(
                ellipses[i].field, ellipses[i].flux, ellipses[i].lag_deg / DEGREE, starts[j]);
        }
    }
}
END_TEST

START_TEST(the_known_ellipse_has_its_printed_numbers)
{
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 3); /* empty harmonics change nothing */
    waves.field[1] = 8000.0;
    waves.flux[1] = polar(1.2, -PI / 6.0);
    compute(&waves, &figures);
    check(&figures, FIGURE_LOOP_AREA, 15079.644737231, 5e-10);
    check(&figures, FIGURE_COERCIVITY, 4000.0, 1e-9);
    check(&figures, FIGURE_REMANENCE, 0.6, 1e-13);
    check(&figures, FIGURE_HARMONICS, 3.0, 0.0);
}
END_TEST

START_TEST(harmonics_of_both_waves_add_to_the_area)
{
    /* pi sum k Hk Bk sin(hk - bk) */
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 3);
    waves.field[1] = 8000.0;
    waves.field[3] = polar(900.0, 0.3);
    waves.flux[1] = polar(1.2, -0.5);
    waves.flux[3] = polar(0.05, -0.4);
    compute(&waves, &figures);
    check(&figures, FIGURE_LOOP_AREA, 14732.355989941721, 1e-10);
    check(&figures, FIGURE_LAG_ANGLE, 0.5 * DEGREE, 1e-12);
    check(&figures, FIGURE_FLUX_DISTORTION, 0.05 / 1.2, 1e-15);
}
END_TEST

/* Rayleigh's law (Phil. Mag. 23 (1887) 225): with H = Hm cos x
 *     B = (m + v Hm) H + (v/2) Hm^2 sin^2 x sgn(sin x),
 * whose series is sin^2 x sgn(sin x) = sum over odd k of -8 / (pi k (k^2 - 4)) sin kx. */
START_TEST(a_rayleigh_loop_has_its_closed_forms)
{
    const double m = 1e-3, v = 2e-6, hm = 80.0, q = m + v * hm;
    struct waves waves;
    struct figures figures;
    waves_init(&waves, TOP);
    waves.field[1] = hm;
    for (size_t k = 1; k <= TOP; k += 2) {
        const double x = (double)k;
        waves.flux[k] = 0.5 * v * hm * hm * -8.0 / (PI * x * (x * x - 4.0)) * -I;
    }
    waves.flux[1] += q * hm;
    compute(&waves, &figures);
    /* the area hangs on the fundamental alone */
    check(&figures, FIGURE_LOOP_AREA, 4.0 / 3.0 * v * hm * hm * hm, 1e-13);
    check(&figures, FIGURE_LOOP_AREA, 1.3653333333333333, 1e-13);
    check(&figures, FIGURE_LAG_ANGLE, atan(4.0 * v * hm / (3.0 * PI * q)) * DEGREE, 1e-12);
    ck_assert_double_eq_tol(
        tan(figures.list[FIGURE_LAG_ANGLE].value / DEGREE), 0.0585397492, 5e-11);
    ck_assert_double_eq_tol(cabs(waves.flux[3]), 1.08649774e-3, 5e-12);
    /* harmonics above 401 are worth less than 8 v Hm^2 / (4 pi 401^2) = 5e-8 T */
    check(&figures, FIGURE_FLUX_DENSITY_PEAK, 0.0928, 5e-8);
    check(&figures, FIGURE_REMANENCE, 0.0064, 5e-8);
    check(&figures, FIGURE_COERCIVITY, 5.491246732177921, 5e-8 / q);
}
END_TEST

/* ---- the lag angle ---- */

START_TEST(a_lag_angle_lies_above_minus_180_and_up_to_180_degree)
{
    static const struct {
        double field_deg, flux_deg, lag_deg;
    } list[] = {{0, 0, 0}, {10, -20, 30}, {-10, 20, -30}, {180, 0, 180}, {0, 180, 180},
        {90, -90, 180}, {-90, 90, 180}, {170, -170, -20}, {-170, 170, 20}, {179, -2, -179},
        {-179, 2, 179}, {0, -179.99999, 179.99999}, {0, 179.99999, -179.99999}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        struct waves waves;
        struct figures figures;
        waves_init(&waves, 1);
        waves.field[1] = polar(100.0, list[i].field_deg / DEGREE);
        waves.flux[1] = polar(1.0, list[i].flux_deg / DEGREE);
        compute(&waves, &figures);
        const double lag = figures.list[FIGURE_LAG_ANGLE].value;
        ck_assert_double_gt(lag, -180.0);
        ck_assert_double_le(lag, 180.0);
        /* 180 itself may round to either side of the seam */
        ck_assert_double_eq_tol(remainder(lag - list[i].lag_deg, 360.0), 0.0, 1e-12);
    }
}
END_TEST

/* ---- sides, by scanning ---- */

static double get_value(const double complex *c, size_t harmonics, double x)
{
    double sum = 0.0;
    for (size_t k = 0; k <= harmonics; k++) {
        sum += creal(c[k]) * cos((double)k * x) - cimag(c[k]) * sin((double)k * x);
    }
    return sum;
}

/* Greatest or (sign -1) least value near a scan's best point, by golden section. */
static double find_extreme(const double complex *c, size_t harmonics, double sign, double *phase)
{
    enum { SCAN = 3000 };
    double best = -INFINITY, place = 0.0;
    for (int i = 0; i < SCAN; i++) {
        const double x = TURN * i / SCAN, value = sign * get_value(c, harmonics, x);
        place = value > best ? x : place;
        best = value > best ? value : best;
    }
    double a = place - TURN / SCAN, b = place + TURN / SCAN;
    const double golden = 0.61803398874989484820;
    while (b - a > 1e-9) {
        const double low = b - golden * (b - a), high = a + golden * (b - a);
        if (sign * get_value(c, harmonics, low) > sign * get_value(c, harmonics, high)) {
            b = high;
        } else {
            a = low;
        }
    }
    *phase = 0.5 * (a + b);
    return get_value(c, harmonics, *phase);
}

/* The one zero between two phases, from sign `sign` to the other, by bisection. */
static double find_zero(
    const double complex *c, size_t harmonics, double from, double to, double sign)
{
    double a = from, b = to < from ? to + TURN : to;
    for (int i = 0; i < 60; i++) {
        const double x = 0.5 * (a + b);
        if (sign * get_value(c, harmonics, x) > 0.0) {
            a = x;
        } else {
            b = x;
        }
    }
    return 0.5 * (a + b);
}

struct scan {
    double peak;            /* half the excursion */
    double falling, rising; /* of the other wave, where this one is zero */
};

static struct scan scan_wave(
    const double complex *c, bool is_centred, const double complex *other, size_t harmonics)
{
    double complex own[TOP + 1];
    double top, bottom;
    const double high = find_extreme(c, harmonics, 1.0, &top);
    const double low = find_extreme(c, harmonics, -1.0, &bottom);
    for (size_t k = 0; k <= harmonics; k++) {
        own[k] = c[k];
    }
    own[0] -= is_centred ? 0.5 * (high + low) : 0.0;
    return (struct scan){.peak = 0.5 * (high - low),
        .falling = get_value(other, harmonics, find_zero(own, harmonics, top, bottom, 1.0)),
        .rising = get_value(other, harmonics, find_zero(own, harmonics, bottom, top, -1.0))};
}

/* Loops with harmonics, odd and even: the two sides differ. Flux is centred on its peaks. */
static const struct {
    const char *name;
    double field[6], field_deg[6], flux[6], flux_deg[6]; /* harmonics 0 ... 5 */
} shapes[] = {
    {"a little of all", {0, 1000, 30, 100, 10, 5}, {0, 0, 40, 10, 7, 0},
        {0, 1, 0.03, 0.1, 0.02, 0.01}, {0, -40, 3, -100, 5, 70}},
    {"a strong second harmonic", {0, 1000}, {0, 17}, {0, 1, 0.2}, {0, -30, 60}},
    {"a bias", {200, 1000, 0, 50}, {0, 0, 0, 20}, {0, 1, 0.05, 0.1}, {0, -25, 100, -60}},
    {"narrow", {0, 80, 0, 1}, {0, 100}, {0, 0.4, 0.001, 0.02}, {0, 99, 30, 290}},
};

static void check_sides(const struct figures *figures, enum figure mean, double falling,
    double rising, double tolerance)
{
    check(figures, mean, 0.5 * (falling + rising), tolerance);
    const enum figure first = mean == FIGURE_REMANENCE    ? FIGURE_REMANENCE_FALLING
                              : mean == FIGURE_COERCIVITY ? FIGURE_COERCIVITY_FALLING
                                                          : FIGURE_COERCIVITY_J_FALLING;
    check(figures, first, falling, tolerance);
    check(figures, (enum figure)(first + 1), rising, tolerance);
    const double sum = fabs(falling) + fabs(rising);
    check(figures, (enum figure)(first + 2), (fabs(falling) - fabs(rising)) / sum,
        2.0 * tolerance / sum);
}

START_TEST(sides_and_their_asymmetry_are_those_that_scanning_finds)
{
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++) {
        struct waves waves;
        struct figures figures;
        double complex flux[6], polarization[6];
        double at;
        waves_init(&waves, 5);
        for (size_t k = 0; k <= 5; k++) {
            waves.field[k] = polar(shapes[i].field[k], shapes[i].field_deg[k] / DEGREE);
            waves.flux[k] = polar(shapes[i].flux[k], shapes[i].flux_deg[k] / DEGREE);
            flux[k] = waves.flux[k];
            polarization[k] = waves.flux[k] - MU0 * waves.field[k];
        }
        flux[0] -= 0.5 * (find_extreme(flux, 5, 1.0, &at) + find_extreme(flux, 5, -1.0, &at));
        compute(&waves, &figures);
        const struct scan h = scan_wave(waves.field, false, flux, 5);
        const struct scan b = scan_wave(flux, true, waves.field, 5);
        const struct scan j = scan_wave(polarization, true, waves.field, 5);
        /* golden section stops at the root of rounding: 1e-9 in phase, 1e-16 in height */
        const double hm = h.peak;
        check(&figures, FIGURE_FIELD_PEAK, h.peak, 1e-13 * hm);
        check(&figures, FIGURE_FLUX_DENSITY_PEAK, b.peak, 1e-13);
        check(&figures, FIGURE_POLARIZATION_PEAK, j.peak, 1e-13);
        check_sides(&figures, FIGURE_REMANENCE, h.falling, -h.rising, 1e-12);
        check_sides(&figures, FIGURE_COERCIVITY, -b.falling, b.rising, 1e-11 * hm);
        check_sides(&figures, FIGURE_COERCIVITY_J, -j.falling, j.rising, 1e-11 * hm);
    }
}
END_TEST

START_TEST(coercivity_of_polarization_is_above_that_of_flux_density)
{
    /* where B = 0, J = -mu0 H: the J loop is crossed later */
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 1);
    waves.field[1] = 4e5;
    waves.flux[1] = polar(1.0, -1.2);
    compute(&waves, &figures);
    const double b = figures.list[FIGURE_COERCIVITY].value;
    const double j = figures.list[FIGURE_COERCIVITY_J].value;
    const double complex polarization = polar(1.0, -1.2) - MU0 * 4e5;
    ck_assert_double_gt(j, b);
    ck_assert_double_lt(MU0 * b, figures.list[FIGURE_REMANENCE].value);
    ck_assert_double_eq_tol(j, -4e5 * sin(carg(polarization)), 1e-7);
    /* and both have the same area and remanence (H = 0) */
    check(&figures, FIGURE_REMANENCE, sin(1.2), 1e-12);
}
END_TEST

START_TEST(of_several_passages_in_a_row_the_middle_one_counts)
{
    /* cos x + cos 3x / 2 passes zero three times around 90 degree, the second time there */
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 3);
    waves.field[1] = 1000.0;
    waves.field[3] = 500.0;
    waves.flux[1] = polar(1.0, -0.6);
    compute(&waves, &figures);
    check(&figures, FIGURE_REMANENCE_FALLING, sin(0.6), 1e-12);
    check(&figures, FIGURE_REMANENCE_RISING, sin(0.6), 1e-12);
}
END_TEST

/* ---- what there is, and what not ---- */

START_TEST(loss_needs_a_frequency_and_specific_loss_a_density)
{
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 1);
    waves.field[1] = 8000.0;
    waves.flux[1] = polar(1.2, -0.5);
    const double area = PI * 8000.0 * 1.2 * sin(0.5);
    ck_assert(!fourier_loop_compute_figures(&waves.loop, 0.0, 7650.0, &figures, NULL));
    ck_assert(!figures.list[FIGURE_FREQUENCY].is_present);
    ck_assert(!figures.list[FIGURE_LOSS].is_present);
    ck_assert(!figures.list[FIGURE_SPECIFIC_LOSS].is_present);
    ck_assert(!fourier_loop_compute_figures(&waves.loop, 49.7, 0.0, &figures, NULL));
    check(&figures, FIGURE_FREQUENCY, 49.7, 0.0);
    check(&figures, FIGURE_LOSS, area * 49.7, 1e-8);
    ck_assert(!figures.list[FIGURE_SPECIFIC_LOSS].is_present);
    ck_assert(!fourier_loop_compute_figures(&waves.loop, 49.7, 7650.0, &figures, NULL));
    check(&figures, FIGURE_SPECIFIC_LOSS, area * 49.7 / 7650.0, 1e-11);
    for (enum figure f = 0; f < FIGURE_COUNT; f++) {
        ck_assert(!figures.list[f].has_u);
        ck_assert(!figures.list[f].is_present || isfinite(figures.list[f].value));
    }
    ck_assert(!figures.list[FIGURE_CYCLES].is_present);
    ck_assert(!figures.list[FIGURE_CLOSURE_GAP].is_present);
}
END_TEST

START_TEST(a_loop_fuller_than_any_ellipse_has_no_lag_angle_from_area)
{
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 3);
    waves.field[1] = 1000.0;
    waves.field[3] = -150.0; /* flattened: peak below 1000 */
    waves.flux[1] = -I;
    waves.flux[3] = -0.15 * I;
    compute(&waves, &figures);
    ck_assert_double_gt(figures.list[FIGURE_LOOP_FULLNESS].value, 0.25 * PI);
    ck_assert(!figures.list[FIGURE_LAG_ANGLE_AREA].is_present);
    check(&figures, FIGURE_LAG_ANGLE, 90.0, 1e-12);
}
END_TEST

START_TEST(what_does_not_exist_is_absent)
{
    struct waves waves;
    struct figures figures;
    waves_init(&waves, 2);
    waves.field[1] = 1000.0;
    compute(&waves, &figures); /* no flux density at all */
    check(&figures, FIGURE_FLUX_DENSITY_PEAK, 0.0, 0.0);
    check(&figures, FIGURE_LOOP_AREA, 0.0, 0.0);
    ck_assert(!figures.list[FIGURE_COERCIVITY].is_present);
    ck_assert(!figures.list[FIGURE_SQUARENESS].is_present);
    ck_assert(!figures.list[FIGURE_FORM_FACTOR].is_present);
    ck_assert(!figures.list[FIGURE_FLUX_DISTORTION].is_present);
    ck_assert(!figures.list[FIGURE_LAG_ANGLE_AREA].is_present);
    waves_init(&waves, 2);
    waves.flux[1] = 1.0; /* no field at all */
    compute(&waves, &figures);
    check(&figures, FIGURE_FIELD_PEAK, 0.0, 0.0);
    ck_assert(!figures.list[FIGURE_REMANENCE].is_present);
    ck_assert(!figures.list[FIGURE_AMPLITUDE_PERMEABILITY].is_present);
    waves_init(&waves, 1);
    waves.field[0] = 1500.0; /* a bias that keeps the field from passing zero */
    waves.field[1] = 1000.0;
    waves.flux[1] = polar(1.0, -0.5);
    compute(&waves, &figures);
    ck_assert(!figures.list[FIGURE_REMANENCE].is_present);
    ck_assert(!figures.list[FIGURE_REMANENCE_FALLING].is_present);
    ck_assert(!figures.list[FIGURE_REMANENCE_ASYMMETRY].is_present);
    ck_assert(!figures.list[FIGURE_SQUARENESS].is_present);
    check(&figures, FIGURE_COERCIVITY_FALLING, 1000.0 * sin(0.5) - 1500.0, 1e-9);
    check(&figures, FIGURE_COERCIVITY_RISING, 1000.0 * sin(0.5) + 1500.0, 1e-9);
}
END_TEST

/* ---- points ---- */

START_TEST(points_run_uniformly_in_phase_from_the_least_field)
{
    static const size_t counts[] = {1, 2, 5, 6, 17, 360, 1000};
    struct waves waves;
    double field[1000], flux[1000], at, low;
    waves_init(&waves, 5);
    double complex centred[6];
    for (size_t k = 0; k <= 5; k++) {
        waves.field[k] = polar(shapes[0].field[k], shapes[0].field_deg[k] / DEGREE);
        waves.flux[k] = polar(shapes[0].flux[k], shapes[0].flux_deg[k] / DEGREE);
        centred[k] = waves.flux[k];
    }
    centred[0] -= 0.5 * (find_extreme(centred, 5, 1.0, &at) + find_extreme(centred, 5, -1.0, &at));
    const double least = find_extreme(waves.field, 5, -1.0, &low);
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        const size_t count = counts[i];
        ck_assert(!fourier_loop_compute_points(&waves.loop, count, field, flux, NULL));
        ck_assert_double_eq_tol(field[0], least, 1e-10);
        for (size_t n = 0; n < count; n++) {
            const double x = low + TURN * (double)n / (double)count;
            /* the phase of a minimum by golden section: 1e-8 */
            ck_assert_double_eq_tol(field[n], get_value(waves.field, 5, x), 3e-5);
            ck_assert_double_eq_tol(flux[n], get_value(centred, 5, x), 3e-8);
        }
    }
}
END_TEST

Suite *figures_suite(void)
{
    Suite *suite = suite_create("figures");
    TCase *tests = tcase_create("figures");
    tcase_add_test(tests, an_ellipse_has_the_figures_of_its_axes_and_angle);
    tcase_add_test(tests, the_known_ellipse_has_its_printed_numbers);
    tcase_add_test(tests, harmonics_of_both_waves_add_to_the_area);
    tcase_add_test(tests, a_rayleigh_loop_has_its_closed_forms);
    tcase_add_test(tests, a_lag_angle_lies_above_minus_180_and_up_to_180_degree);
    tcase_add_test(tests, sides_and_their_asymmetry_are_those_that_scanning_finds);
    tcase_add_test(tests, coercivity_of_polarization_is_above_that_of_flux_density);
    tcase_add_test(tests, of_several_passages_in_a_row_the_middle_one_counts);
    tcase_add_test(tests, loss_needs_a_frequency_and_specific_loss_a_density);
    tcase_add_test(tests, a_loop_fuller_than_any_ellipse_has_no_lag_angle_from_area);
    tcase_add_test(tests, what_does_not_exist_is_absent);
    tcase_add_test(tests, points_run_uniformly_in_phase_from_the_least_field);
    suite_add_tcase(suite, tests);
    return suite;
}
