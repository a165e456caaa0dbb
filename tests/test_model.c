// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/model.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/langevin.h"
#include "quantity/constant.h"
#include "suites.h"

#define MU0 MAGNETIC_CONSTANT

/* Figures of a loop from its points: crossings of the falling branch by interpolation through four
 * points, the area as the shoelace of the polygon. */
struct reading {
    double field_peak, flux_peak, remanence, coercivity_b, coercivity_j, area;
};

/* y where x = 0, by the cubic through four points. */
static double interpolate(const double *x, const double *y)
{
    double sum = 0.0;
    for (int i = 0; i < 4; i++) {
        double term = y[i];
        for (int j = 0; j < 4; j++)
            term *= j == i ? 1.0 : x[j] / (x[j] - x[i]);
        sum += term;
    }
    return sum;
}

static double read_crossing(const double *x, const double *y, size_t count)
{
    for (size_t i = 1; i + 2 < count / 2; i++)
        if (x[i] > 0.0 && x[i + 1] <= 0.0)
            return interpolate(x + i - 1, y + i - 1);
    ck_abort_msg("the falling branch does not cross zero");
}

static struct reading read_loop(const struct model *model, const double *parameters,
    enum model_drive drive, double peak, size_t count)
{
    double *h = calloc(count, sizeof *h);
    double *b = calloc(count, sizeof *b);
    double *j = calloc(count, sizeof *j);
    struct error err = {0};
    ck_assert_msg(
        !model_compute_cycle(model, parameters, drive, peak, count, h, b, &err), "%s", err.message);
    struct reading reading = {.field_peak = h[0], .flux_peak = b[0]};
    for (size_t i = 0; i < count; i++) {
        size_t next = (i + 1) % count;
        j[i] = b[i] - MU0 * h[i];
        reading.area += 0.5 * (h[i] + h[next]) * (b[next] - b[i]);
    }
    reading.remanence = read_crossing(h, b, count);
    reading.coercivity_b = -read_crossing(b, h, count);
    reading.coercivity_j = -read_crossing(j, h, count);
    free(h);
    free(b);
    free(j);
    return reading;
}

/* Loops of Jiles and Atherton's equations: parameters that public sources quote from the paper of
 * 1986, and an invented semi-hard set. The figures were computed apart from this program by an
 * explicit Runge-Kutta method of order 8 with step control (relative tolerance 1e-8, 1e-10 and
 * 1e-12 alike; the third form by tests/world/test_models.py), five cycles from the demagnetized
 * state. */
static const double soft[] = {1.6e6, 1100, 400, 0.2, 1.6e-3};
static const double semi_hard[] = {1.2e6, 9000, 8000, 0.1, 0.015};
static const struct {
    const struct model *model;
    const double *parameters;
    double peak, flux_peak, remanence, coercivity_b, coercivity_j, area;
} published_list[] = {
    {&model_jiles_atherton_1986, soft, 6000, 1.733313, 0.716904, 392.906235, 393.109135,
        2748.580185},
    {&model_jiles_atherton_1992, soft, 6000, 1.736782, 0.630241, 315.987749, 316.145420,
        2204.683402},
    {&model_jiles_atherton_1986, semi_hard, 40000, 1.248366, 0.71177, 7424.85204, 7499.87685,
        37417.856},
    {&model_jiles_atherton_1992, semi_hard, 40000, 1.258257, 0.67986, 6737.53936, 6803.00431,
        34089.954},
    {&model_jiles_atherton_field, soft, 6000, 1.736765286, 0.623882379, 314.029956007,
        314.189753999, 2204.600443},
    {&model_jiles_atherton_field, semi_hard, 40000, 1.257728223, 0.675617159, 6688.80038783,
        6754.90709996, 34059.800322},
};

START_TEST(jiles_atherton_forms_give_the_reference_loops)
{
    const size_t count = 16384;
    const double shoelace = 4e-8; /* relative error of a polygon of so many points */
    struct reading r = read_loop(published_list[_i].model, published_list[_i].parameters,
        MODEL_DRIVE_FIELD, published_list[_i].peak, count);
    ck_assert_double_eq(r.field_peak, published_list[_i].peak);
    ck_assert_double_eq_tol(r.flux_peak, published_list[_i].flux_peak, 6e-7);
    ck_assert_double_eq_tol(r.remanence, published_list[_i].remanence, 5.1e-6);
    ck_assert_double_eq_tol(
        r.coercivity_b, published_list[_i].coercivity_b, 1e-9 * published_list[_i].coercivity_b);
    ck_assert_double_eq_tol(
        r.coercivity_j, published_list[_i].coercivity_j, 1.5e-9 * published_list[_i].coercivity_j);
    ck_assert_double_eq_tol(
        r.area, published_list[_i].area, shoelace * published_list[_i].area + 5e-4);
}
END_TEST

START_TEST(jiles_atherton_tip_and_crossings_obey_the_relations_of_1992)
{
    /* k = Man(Hc)/(1-c) {alpha + 1/[chi/(1-c) - c/(1-c) dMan/dH]} is an identity of this form at
     * M = 0; the slopes come from differences along the loop. */
    enum { COUNT = 65536 };
    static double h[COUNT], b[COUNT];
    struct error err;
    ck_assert(!model_compute_cycle(
        &model_jiles_atherton_1992, soft, MODEL_DRIVE_FIELD, 6000, COUNT, h, b, &err));
    const double saturation = soft[0], a = soft[1], k = soft[2], c = soft[3], alpha = soft[4];
    size_t i = 0;
    while (b[i] / MU0 - h[i] > 0.0)
        i++;
    double m[2] = {b[i - 1] / MU0 - h[i - 1], b[i] / MU0 - h[i]};
    double share = m[0] / (m[0] - m[1]);
    double coercivity = h[i - 1] + share * (h[i] - h[i - 1]);
    double chi = (m[1] - m[0]) / (h[i] - h[i - 1]);
    double slope;
    double man = saturation * langevin_get(coercivity / a, &slope);
    slope *= saturation / a;                    /* dMan/dHe */
    double total = slope * (1.0 + alpha * chi); /* dMan/dH along the loop */
    double found = -man / (1 - c) * (alpha + 1 / (chi / (1 - c) - c / (1 - c) * total));
    ck_assert_double_eq_tol(found, k, 1e-4 * k);
}
END_TEST

START_TEST(sinusoidal_flux_passes_the_same_loop_at_other_times)
{
    static const struct model *const models[] = {
        &model_jiles_atherton_1986, &model_jiles_atherton_1992, &model_jiles_atherton_field};
    for (int i = 0; i < 3; i++) {
        struct reading h = read_loop(models[i], soft, MODEL_DRIVE_FIELD, 6000, 8192);
        struct reading b = read_loop(models[i], soft, MODEL_DRIVE_FLUX_DENSITY, h.flux_peak, 8192);
        ck_assert_double_eq_tol(b.field_peak, 6000, 1e-6);
        ck_assert_double_eq_tol(b.remanence, h.remanence, 1e-6);
        ck_assert_double_eq_tol(b.coercivity_b, h.coercivity_b, 1e-9 * h.coercivity_b);
        ck_assert_double_eq_tol(b.coercivity_j, h.coercivity_j, 1e-9 * h.coercivity_j);
        /* two polygons of the same curve, each inside it */
        ck_assert_double_eq_tol(b.area, h.area, 1e-6 * h.area);
    }
}
END_TEST

START_TEST(langevin_function_has_the_published_values)
{
    /* Anhysteretic magnetization of the soft set without coupling would be Ms L(H/a); with it the
     * values below satisfy M = Ms L((H + alpha M)/a). They were computed with 30 digits. */
    static const struct {
        double field, magnetization;
    } list[] = {
        {100, 206821.418825}, {500, 681164.066198}, {1000, 926455.335202}, {5000, 1354440.636383}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        double m = list[i].magnetization;
        double again = soft[0] * langevin_get((list[i].field + soft[4] * m) / soft[1], NULL);
        ck_assert_double_eq_tol(again, m, 2e-6);
    }
    double slope;
    ck_assert_double_eq(langevin_get(0.0, &slope), 0.0);
    ck_assert_double_eq(slope, 1.0 / 3);
    for (double x = 1e-6; x < 40.0; x *= 1.37) {
        double y = langevin_get(x, &slope);
        ck_assert_double_eq(langevin_get(-x, NULL), -y);
        ck_assert_double_eq_tol(langevin_get_inverse(y), x, 2e-15 * x / (1.0 - y));
        /* dL/dx = 1 - L^2 - 2 L/x, an identity; its terms cancel for small x */
        if (x > 0.1)
            ck_assert_double_eq_tol(slope, 1.0 - y * y - 2.0 * y / x, 2e-15);
    }
}
END_TEST

START_TEST(ellipse_has_its_closed_form)
{
    /* W = pi Hm Bm sin d, HcB = Hm sin d, Br = Bm sin d at Hm 8000 A/m, Bm 1.2 T, d = 30 degree */
    const double parameters[] = {1.2 / (MU0 * 8000), 3.14159265358979323846 / 6};
    static const enum model_drive drives[] = {MODEL_DRIVE_FIELD, MODEL_DRIVE_FLUX_DENSITY};
    static const double peaks[] = {8000, 1.2};
    enum { COUNT = 4096 };
    /* points of an ellipse, evenly in phase, span the area times sinc(2 pi / COUNT) */
    const double inside =
        sin(2 * 3.14159265358979323846 / COUNT) * COUNT / (2 * 3.14159265358979323846);
    for (int i = 0; i < 2; i++) {
        struct reading r = read_loop(&model_ellipse, parameters, drives[i], peaks[i], COUNT);
        ck_assert_double_eq_tol(r.area, 15079.644737231007 * inside, 1e-8);
        ck_assert_double_eq_tol(r.coercivity_b, 4000, 1e-6);
        ck_assert_double_eq_tol(r.remanence, 0.6, 1e-10);
        if (drives[i] == MODEL_DRIVE_FIELD)
            ck_assert_double_eq_tol(r.flux_peak, 1.0392304845413265, 1e-14);
    }
}
END_TEST

START_TEST(rayleigh_loop_has_its_closed_form)
{
    /* m = 1e-3 H/m, v = 2e-6 T/(A/m)^2, Hm = 80 A/m: W = 4/3 v Hm^3, Br = v Hm^2/2,
     * Hc = [sqrt(q^2 + v^2 Hm^2) - q] / v with q = m + v Hm */
    const double parameters[] = {1e-3 / MU0, 500};
    static const enum model_drive drives[] = {MODEL_DRIVE_FIELD, MODEL_DRIVE_FLUX_DENSITY};
    static const double peaks[] = {80, 0.0928};
    for (int i = 0; i < 2; i++) {
        struct reading r = read_loop(&model_rayleigh, parameters, drives[i], peaks[i], 8192);
        ck_assert_double_eq_tol(r.field_peak, 80, 1e-12 * 80);
        ck_assert_double_eq_tol(r.flux_peak, 0.0928, 1e-15);
        ck_assert_double_eq_tol(r.area, 4.0 / 3 * 2e-6 * 80 * 80 * 80, 1.4e-7);
        ck_assert_double_eq_tol(r.remanence, 0.0064, 1e-12);
        ck_assert_double_eq_tol(r.coercivity_b, 5.491246732177921, 1e-9);
    }
}
END_TEST

START_TEST(rayleigh_third_harmonic_has_its_closed_form)
{
    /* B3 = 4 v Hm^2 / (15 pi) */
    enum { COUNT = 1024 };
    static double h[COUNT], b[COUNT];
    const double parameters[] = {1e-3 / MU0, 500};
    struct error err;
    ck_assert(!model_compute_cycle(
        &model_rayleigh, parameters, MODEL_DRIVE_FIELD, 80, COUNT, h, b, &err));
    double re = 0, im = 0;
    for (int i = 0; i < COUNT; i++) {
        re += b[i] * cos(6 * 3.14159265358979323846 * i / COUNT) * 2 / COUNT;
        im += b[i] * sin(6 * 3.14159265358979323846 * i / COUNT) * 2 / COUNT;
    }
    ck_assert_double_eq_tol(hypot(re, im), 4 * 2e-6 * 6400 / (15 * 3.14159265358979323846), 1e-11);
}
END_TEST

START_TEST(tanh_branches_have_their_closed_form)
{
    const double parameters[] = {1.4, 18500, 22000};
    const double js = 1.4, hs = 18500, w = 22000, hm = 60000;
    struct reading r = read_loop(&model_tanh, parameters, MODEL_DRIVE_FIELD, hm, 16384);
    double closing = js / 2 * (tanh((hm + hs) / w) - tanh((hm - hs) / w));
    double area = 2 * js * w * log(cosh((hm + hs) / w) / cosh((hm - hs) / w)) - 4 * closing * hm;
    ck_assert_double_eq_tol(r.area, area, 5e-8 * area);
    ck_assert_double_eq_tol(r.remanence, js * tanh(hs / w) - closing, 1e-12);
    ck_assert_double_eq_tol(r.coercivity_j, hs - w * atanh(closing / js), 1e-6);
    ck_assert_double_eq_tol(r.flux_peak, MU0 * hm + js * tanh((hm + hs) / w) - closing, 1e-14);
    struct reading s =
        read_loop(&model_tanh, parameters, MODEL_DRIVE_FLUX_DENSITY, r.flux_peak, 16384);
    ck_assert_double_eq_tol(s.field_peak, hm, 1e-8);
    ck_assert_double_eq_tol(s.remanence, r.remanence, 1e-11);
    ck_assert_double_eq_tol(s.coercivity_b, r.coercivity_b, 1e-6);
}
END_TEST

START_TEST(every_model_closes_and_turns_clockwise_in_time)
{
    static const double tanh_set[] = {1.4, 18500, 22000};
    static const double ellipse_set[] = {119.36620731892151, 0.52};
    static const double rayleigh_set[] = {795.7747154594768, 500};
    static const double *const sets[] = {
        tanh_set, semi_hard, semi_hard, semi_hard, ellipse_set, rayleigh_set};
    for (size_t i = 0; model_list[i] && model_list[i]->compute_cycle; i++) {
        enum { COUNT = 256 };
        double h[COUNT], b[COUNT];
        struct error err;
        ck_assert(!model_compute_cycle(
            model_list[i], sets[i], MODEL_DRIVE_FIELD, 300, COUNT, h, b, &err));
        double area = 0;
        for (int n = 0; n < COUNT; n++) {
            ck_assert_double_eq(h[n], -h[(n + COUNT / 2) % COUNT]);
            ck_assert_double_eq(b[n], -b[(n + COUNT / 2) % COUNT]);
            area += 0.5 * (h[n] + h[(n + 1) % COUNT]) * (b[(n + 1) % COUNT] - b[n]);
        }
        ck_assert_msg(area > 0, "%s", model_list[i]->name);
    }
}
END_TEST

START_TEST(refuses_impossible_parameters_and_names_them)
{
    static const struct {
        const struct model *model;
        double parameters[5];
        double peak;
        const char *message;
    } list[] = {
        {&model_tanh, {-1.4, 18500, 22000}, 60000,
            "'saturation' of model 'tanh' is -1.4 T, it must lie in 1e-06 ... 10"},
        {&model_tanh, {1.4, 18500, 22000}, -60000,
            "model 'tanh' cannot be driven to a peak of -60000"},
        {&model_ellipse, {100, 2.0}, 100,
            "'lag_angle' of model 'ellipse' is 2 rad, it must lie in 0 ... 1.5708"},
        {&model_jiles_atherton_1992, {1.6e6, 100, 400, 0.2, 1.6e-3}, 100,
            "coupling * saturation / (3 * shape) is 8.53333, it must be below 1"},
        {&model_jiles_atherton_1992, {1.2e6, 9000, 1, 0.1, 0.015}, 40000,
            "the Jiles-Atherton loop is not found: 'pinning' (1 A/m) is too small for a peak of "
            "40000 A/m"},
    };
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++) {
        double h[64] = {0}, b[64] = {0};
        struct error err = {0};
        ck_assert_int_eq(model_compute_cycle(list[i].model, list[i].parameters, MODEL_DRIVE_FIELD,
                             list[i].peak, 64, h, b, &err),
            STATUS_INPUT);
        ck_assert_str_eq(err.message, list[i].message);
        ck_assert_str_ne(err.hint, "");
    }
}
END_TEST

START_TEST(unknown_model_is_refused_with_the_nearest_name)
{
    struct error err = {0};
    ck_assert_ptr_eq(model_find("rayleigh", &err), &model_rayleigh);
    ck_assert_ptr_null(model_find("jiles-atherton-1983", &err));
    ck_assert_ptr_nonnull(strstr(err.message, "there is no model 'jiles-atherton-1983'"));
    ck_assert_ptr_nonnull(strstr(err.message, "did you mean 'jiles-atherton-19"));
    ck_assert_ptr_nonnull(strstr(err.hint, "tanh, jiles-atherton-1986"));
}
END_TEST

Suite *model_suite(void)
{
    Suite *suite = suite_create("model");
    TCase *tests = tcase_create("model");
    tcase_set_timeout(tests, 60); /* the sanitizers are slow */
    tcase_add_loop_test(tests, jiles_atherton_forms_give_the_reference_loops, 0,
        sizeof published_list / sizeof published_list[0]);
    tcase_add_test(tests, jiles_atherton_tip_and_crossings_obey_the_relations_of_1992);
    tcase_add_test(tests, sinusoidal_flux_passes_the_same_loop_at_other_times);
    tcase_add_test(tests, langevin_function_has_the_published_values);
    tcase_add_test(tests, ellipse_has_its_closed_form);
    tcase_add_test(tests, rayleigh_loop_has_its_closed_form);
    tcase_add_test(tests, rayleigh_third_harmonic_has_its_closed_form);
    tcase_add_test(tests, tanh_branches_have_their_closed_form);
    tcase_add_test(tests, every_model_closes_and_turns_clockwise_in_time);
    tcase_add_test(tests, refuses_impossible_parameters_and_names_them);
    tcase_add_test(tests, unknown_model_is_refused_with_the_nearest_name);
    suite_add_tcase(suite, tests);
    return suite;
}
