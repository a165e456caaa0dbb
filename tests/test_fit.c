// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "model/history.h"
#include "model/preisach.h"
#include "num/random.h"
#include "quantity/constant.h"
#include "suites.h"

#define MU0 MAGNETIC_CONSTANT
#define PI 3.14159265358979323846

static const double semi_hard[] = {1.2e6, 9000, 8000, 0.1, 0.015};
static const double tanh_set[] = {1.3, 19200, 19800};

enum { POINTS = 200, LOOPS_MOST = 12 };
static double h[LOOPS_MOST][POINTS], b[LOOPS_MOST][POINTS];
static struct fit_loop loops[LOOPS_MOST];

/* Loops of a model with peaks evenly up to `most`, from the minimum of H, with noise in B. */
static void make_loops(
    const struct model *model, const double *parameters, double most, int count, double noise)
{
    struct error err = {0};
    struct random random;
    random_init(&random, 11, 0);
    for (int k = 0; k < count; k++) {
        double field[POINTS], flux[POINTS];
        ck_assert_msg(!model_compute_cycle(model, parameters, MODEL_DRIVE_FIELD,
                          most * (k + 1) / count, POINTS, field, flux, &err),
            "%s", err.message);
        for (int i = 0; i < POINTS; i++) {
            h[k][i] = field[(i + POINTS / 2) % POINTS];
            b[k][i] = flux[(i + POINTS / 2) % POINTS] + noise * random_get_normal(&random);
        }
        loops[k] = (struct fit_loop){h[k], b[k], POINTS};
    }
}

static struct model_fit fit_loops(const struct model *model, size_t count)
{
    struct model_fit fit = {0};
    struct error err = {0};
    ck_assert_msg(!model_fit_create(model, loops, count, &fit, &err), "%s", err.message);
    return fit;
}

static const struct model *const forms[] = {
    &model_jiles_atherton_1986, &model_jiles_atherton_1992, &model_jiles_atherton_field};

START_TEST(jiles_atherton_parameters_come_back_from_their_own_loop)
{
    make_loops(forms[_i], semi_hard, 40000, 1, 0);
    struct model_fit fit = fit_loops(forms[_i], 1);
    for (int p = 0; p < 5; p++)
        ck_assert_double_eq_tol(fit.material.parameters[p], semi_hard[p], 1e-7 * semi_hard[p]);
    ck_assert_double_le(fit.residual_relative, 1e-9);
    model_fit_clear(&fit);
}
END_TEST

START_TEST(with_noise_parameters_come_back_within_their_uncertainty)
{
    make_loops(forms[2 * _i], semi_hard, 40000, 1, 2e-3);
    struct model_fit fit = fit_loops(forms[2 * _i], 1);
    for (int p = 0; p < 5; p++) {
        ck_assert_double_gt(fit.u[p], 0);
        ck_assert_double_le(fabs(fit.material.parameters[p] - semi_hard[p]), 3.5 * fit.u[p]);
        ck_assert_double_le(fit.u[p], 0.2 * semi_hard[p]);
    }
    /* the scatter is that of the mean of two branches */
    ck_assert_double_eq_tol(fit.residuals[0].rms, 2e-3 / sqrt(2), 3e-4);
    model_fit_clear(&fit);
}
END_TEST

START_TEST(forms_of_1986_and_1992_are_one_in_other_numbers)
{
    /* c' = c/(1+c), k' = k (1+c): then the loops are the same; the third form's are not */
    const double other[] = {1.2e6, 9000, 8800, 0.1 / 1.1, 0.015};
    double x[2][64], y[2][64];
    struct error err;
    ck_assert(!model_compute_cycle(
        &model_jiles_atherton_1986, semi_hard, MODEL_DRIVE_FIELD, 40000, 64, x[0], y[0], &err));
    ck_assert(!model_compute_cycle(
        &model_jiles_atherton_1992, other, MODEL_DRIVE_FIELD, 40000, 64, x[1], y[1], &err));
    for (int i = 0; i < 64; i++)
        ck_assert_double_eq_tol(y[0][i], y[1][i], 1e-11);
    make_loops(&model_jiles_atherton_1986, semi_hard, 40000, 1, 0);
    struct model_fit fit = fit_loops(&model_jiles_atherton_field, 1);
    ck_assert_double_gt(fit.residual_relative, 1e-4);
    ck_assert_double_lt(fit.residual_relative, 1e-3);
    model_fit_clear(&fit);
}
END_TEST

START_TEST(tanh_parameters_come_back_from_their_family)
{
    make_loops(&model_tanh, tanh_set, 60000, 5, 0);
    struct model_fit fit = fit_loops(&model_tanh, 5);
    for (int p = 0; p < 3; p++)
        ck_assert_double_eq_tol(fit.material.parameters[p], tanh_set[p], 1e-8 * tanh_set[p]);
    ck_assert_uint_eq(fit.count, 5);
    ck_assert_double_eq_tol(fit.residuals[4].field_peak, 60000, 1e-9);
    model_fit_clear(&fit);
}
END_TEST

START_TEST(ellipse_has_the_loops_peaks_and_area)
{
    const double set[] = {119.36620731892151, 0.5};
    make_loops(&model_ellipse, set, 8000, 1, 0);
    for (int i = 0; i < POINTS; i++) /* a loop that is no ellipse */
        b[0][i] += 0.05 * pow(h[0][i] / 8000, 3);
    struct model_fit fit = fit_loops(&model_ellipse, 1);
    double area = 0, flux_peak = 0;
    for (int i = 0; i < POINTS; i++) {
        int next = (i + 1) % POINTS;
        area += 0.5 * (h[0][i] + h[0][next]) * (b[0][next] - b[0][i]);
        flux_peak = fmax(flux_peak, fabs(b[0][i]));
    }
    double found = 3.14159265358979323846 * 8000 * MU0 * fit.material.parameters[0] * 8000 *
                   sin(fit.material.parameters[1]);
    ck_assert_double_eq_tol(found, area, 2e-3 * area);
    model_fit_clear(&fit);
}
END_TEST

START_TEST(rayleigh_constants_come_back_from_weak_loops)
{
    /* weak loops of the law, and a large one of the same steel, from elsewhere, that is not */
    const double set[] = {100, 6000};
    make_loops(&model_rayleigh, set, 1500, 3, 0);
    double field[POINTS], flux[POINTS];
    struct error err = {0};
    ck_assert(!model_compute_cycle(
        &model_tanh, tanh_set, MODEL_DRIVE_FIELD, 60000, POINTS, field, flux, &err));
    loops[3] = (struct fit_loop){field, flux, POINTS};
    struct model_fit fit = fit_loops(&model_rayleigh, 4);
    ck_assert_double_eq_tol(fit.material.parameters[0], 100, 1e-6);
    ck_assert_double_eq_tol(fit.material.parameters[1], 6000, 1e-4);
    ck_assert_double_lt(fit.residuals[0].rms_relative, 1e-10);
    ck_assert_double_gt(fit.residuals[3].rms_relative, 1); /* far beyond the law */
    model_fit_clear(&fit);
    loops[0] = loops[3];
    struct model_fit none = {0};
    ck_assert_int_eq(model_fit_create(&model_rayleigh, loops, 1, &none, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "needs a loop up to a third of the coercivity"));
}
END_TEST

START_TEST(tellinen_returns_the_loop_it_was_made_from)
{
    make_loops(&model_tanh, tanh_set, 60000, 1, 0);
    struct model_fit fit = fit_loops(&model_tellinen, 1);
    ck_assert_double_lt(fit.residual_relative, 1e-14);
    ck_assert_double_lt(fit.repair_relative, 1e-14);
    model_fit_clear(&fit);
    make_loops(&model_tanh, tanh_set, 60000, 1, 5e-3); /* noise lets the branch fall: repaired */
    fit = fit_loops(&model_tellinen, 1);
    ck_assert_double_gt(fit.repair_relative, 1e-4);
    ck_assert_double_lt(fit.repair_relative, 0.02);
    model_fit_clear(&fit);
}
END_TEST

/* Largest difference of two materials over a drive with many reversals. */
static double compare(const struct material *a, const struct material *c, double most)
{
    struct history *first, *second;
    struct random random;
    struct error err;
    double worst = 0;
    random_init(&random, 3, 0);
    ck_assert(!history_create(a, &first, &err) && !history_create(c, &second, &err));
    for (int i = 0; i < 500; i++) {
        double x = most * (2 * random_get_uniform(&random) - 1), p, q;
        ck_assert(!history_advance(first, MODEL_DRIVE_FIELD, &x, 1, &p, &err));
        ck_assert(!history_advance(second, MODEL_DRIVE_FIELD, &x, 1, &q, &err));
        worst = fmax(worst, fabs(p - q));
    }
    history_destroy(first);
    history_destroy(second);
    return worst;
}

START_TEST(preisach_from_a_family_knows_minor_loops_it_never_saw)
{
    const double set[] = {60000, 0.8, 0.3, 20000, 4000, 30000, 15000};
    struct material truth = {.model = &model_preisach_factorised};
    memcpy(truth.parameters, set, sizeof set);
    struct history *history;
    struct error err = {0};
    ck_assert(!history_create(&truth, &history, &err));
    for (int k = 0; k < LOOPS_MOST; k++) {
        for (int i = 0; i < POINTS; i++)
            h[k][i] = -60000.0 * (k + 1) / LOOPS_MOST * cos(2 * PI * i / POINTS);
        history_reset(history);
        ck_assert(!history_compute_cycle(history, MODEL_DRIVE_FIELD, h[k], POINTS, b[k], &err));
        loops[k] = (struct fit_loop){h[k], b[k], POINTS};
    }
    history_destroy(history);
    struct model_fit fit = fit_loops(&model_preisach, LOOPS_MOST);
    ck_assert_double_lt(fit.residual_relative, 1.5e-2); /* the smallest loops count alike */
    ck_assert_double_lt(fit.residuals[LOOPS_MOST - 1].rms_relative, 5e-3);
    ck_assert_double_lt(fit.repair_relative, 5e-3);
    ck_assert_double_lt(compare(&fit.material, &truth, 60000), 0.02); /* of 1.2 T */
    model_fit_clear(&fit);
    ck_assert_int_eq(model_fit_create(&model_preisach, loops, 2, &fit, &err), STATUS_INPUT);
    ck_assert_str_eq(
        err.message, "model 'preisach' needs loops of at least 3 amplitudes, and there are 2");
}
END_TEST

START_TEST(preisach_from_reversal_curves_is_the_one_from_loops)
{
    /* of a factorised Everett function: curves J(a) - E(a, b) that set out from any level */
    enum { CURVES = 15, COUNT = 101 };
    const double set[] = {60000, 0.8, 0.3, 20000, 4000, 30000, 15000};
    struct material truth = {.model = &model_preisach_factorised}, found = {0};
    memcpy(truth.parameters, set, sizeof set);
    static double field[CURVES][COUNT], polarization[CURVES][COUNT];
    struct branch curves[CURVES];
    struct history *history;
    struct error err = {0};
    double repair;
    ck_assert(!history_create(&truth, &history, &err));
    for (int k = 0; k < CURVES; k++) {
        double peak = 60000.0 * (k + 1) / CURVES, low = -60000, bottom;
        ck_assert(!history_advance(history, MODEL_DRIVE_FIELD, &low, 1, &bottom, &err));
        for (int i = 0; i < COUNT; i++) {
            field[k][i] = peak * (1 - 2.0 * i / (COUNT - 1));
            ck_assert(!history_advance(
                history, MODEL_DRIVE_FIELD, &field[k][i], 1, &polarization[k][i], &err));
            polarization[k][i] -= MU0 * field[k][i];
        }
        curves[k] = (struct branch){peak, COUNT, field[k], polarization[k]};
    }
    ck_assert(!preisach_identify(curves, CURVES, &found, &repair, &err));
    ck_assert_double_lt(repair, 1e-2);
    ck_assert_double_lt(compare(&found, &truth, 60000), 0.04); /* of 1.2 T */
    history_destroy(history);
    material_clear(&found);
}
END_TEST

START_TEST(noise_in_a_family_is_repaired_and_told)
{
    make_loops(&model_tanh, tanh_set, 60000, 12, 5e-3);
    struct model_fit fit = fit_loops(&model_preisach, 12);
    struct error err;
    ck_assert(!material_check(&fit.material, &err)); /* no negative density is left */
    ck_assert_double_gt(fit.repair_relative, 1e-3);
    ck_assert_double_lt(fit.residual_relative, 3e-2);
    model_fit_clear(&fit);
}
END_TEST

START_TEST(fit_reads_back_as_a_material)
{
    make_loops(&model_tanh, tanh_set, 60000, 4, 0);
    static const struct model *const models[] = {&model_tanh, &model_tellinen, &model_preisach};
    for (int m = 0; m < 3; m++) {
        struct model_fit fit = fit_loops(models[m], 4);
        struct text out = {0};
        struct json json;
        struct tree *tree;
        struct material again = {0};
        struct error err = {0};
        json_init(&json, &out, 0);
        model_fit_write_json(&json, &fit);
        json_finish(&json);
        ck_assert(!tree_read_bytes("fit", out.bytes, out.length, &tree, &err));
        ck_assert_msg(!material_read(tree, tree_get_root(tree), &again, &err), "%s", err.message);
        ck_assert_double_eq(compare(&fit.material, &again, 60000), 0);
        tree_destroy(tree);
        material_clear(&again);
        text_clear(&out);
        model_fit_clear(&fit);
    }
}
END_TEST

START_TEST(refuses_what_is_no_loop)
{
    struct model_fit fit = {0};
    struct error err = {0};
    ck_assert_int_eq(model_fit_create(&model_tanh, loops, 0, &fit, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "there is no loop to fit");
    make_loops(&model_tanh, tanh_set, 60000, 1, 0);
    for (int i = 0; i < POINTS; i++)
        b[0][i] = -b[0][i];
    ck_assert_int_eq(model_fit_create(&model_tanh, loops, 1, &fit, &err), STATUS_INPUT);
    ck_assert_ptr_nonnull(strstr(err.message, "encloses no area in the right sense"));
    loops[0].count = 5;
    ck_assert_int_eq(model_fit_create(&model_tanh, loops, 1, &fit, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "a model cannot be fitted to a loop of 5 points");
}
END_TEST

Suite *fit_suite(void)
{
    Suite *suite = suite_create("fit");
    TCase *tests = tcase_create("fit");
    tcase_set_timeout(tests, 200); /* the sanitizers are slow */
    tcase_add_loop_test(tests, jiles_atherton_parameters_come_back_from_their_own_loop, 0, 3);
    tcase_add_loop_test(tests, with_noise_parameters_come_back_within_their_uncertainty, 0, 2);
    tcase_add_test(tests, forms_of_1986_and_1992_are_one_in_other_numbers);
    tcase_add_test(tests, tanh_parameters_come_back_from_their_family);
    tcase_add_test(tests, ellipse_has_the_loops_peaks_and_area);
    tcase_add_test(tests, rayleigh_constants_come_back_from_weak_loops);
    tcase_add_test(tests, tellinen_returns_the_loop_it_was_made_from);
    tcase_add_test(tests, preisach_from_a_family_knows_minor_loops_it_never_saw);
    tcase_add_test(tests, preisach_from_reversal_curves_is_the_one_from_loops);
    tcase_add_test(tests, noise_in_a_family_is_repaired_and_told);
    tcase_add_test(tests, fit_reads_back_as_a_material);
    tcase_add_test(tests, refuses_what_is_no_loop);
    suite_add_tcase(suite, tests);
    return suite;
}
