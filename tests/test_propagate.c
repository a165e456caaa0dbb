// SPDX-License-Identifier: GPL-3.0-or-later
/* The worked examples of JCGM 100:2008 (GUM), annex H, through the project's own code. */
#include "budget/propagate.h"

#include <complex.h>
#include <math.h>

#include "budget/scatter.h"
#include "num/student.h"
#include "suites.h"

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- H.1: calibration of an end gauge, JCGM 100 H.1, table H.1; nanometre and kelvin ---- */

/* Standard's length; mean of five comparisons, random and systematic effect of the comparator;
 * expansion coefficient; difference of coefficients; mean and swing of the temperature; difference
 * of temperatures. */
static const struct budget_input gauge[] = {
    {"standard", 50000623, 25, 18, 0, BUDGET_T},
    {"comparisons", 215, 5.8, 24, 0, BUDGET_T},
    {"comparator, random", 0, 3.9, 5, 0, BUDGET_T},
    {"comparator, systematic", 0, 6.7, 8, 0, BUDGET_T},
    {"expansion", 11.5e-6, 1.2e-6, INFINITY, 0, BUDGET_RECTANGULAR},
    {"difference of expansions", 0, 0.58e-6, 50, 0, BUDGET_RECTANGULAR},
    {"mean temperature", -0.1, 0.2, INFINITY, 0, BUDGET_NORMAL},
    {"swing of temperature", 0, 0.35, INFINITY, 0, BUDGET_ARCSINE},
    {"difference of temperatures", 0, 0.029, 2, 0, BUDGET_RECTANGULAR},
};

/* Equation H.2 of JCGM 100: l = (ls (1 + as ts) + d) / (1 + a t) with a = as + da, ts = t - dt. */
static void compute_gauge(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    const double d = x[1] + x[2] + x[3], t = x[6] + x[7];
    y[0] = (x[0] * (1 + x[4] * (t - x[8])) + d) / (1 + (x[4] + x[5]) * t);
}

static const struct budget_problem gauge_problem = {
    .model = {.outputs = 1, .compute = compute_gauge}, .inputs = {gauge, COUNT(gauge), NULL}};

START_TEST(gives_the_end_gauge_of_h_1)
{
    struct propagation result;
    ck_assert_int_eq(propagation_create(&result, &gauge_problem, NULL), STATUS_OK);
    ck_assert_double_eq_tol(result.value[0], 50000838, 0.5);
    /* H.1.4: 32 nm; 31.71 from the inputs of table H.1 without rounding in between */
    ck_assert_double_eq_tol(result.u[0], 31.71, 0.005);
    /* H.1.6: 16.7 out of rounded terms, 16.645 from the table's inputs; both become 16, t99 2.92 */
    ck_assert_double_eq_tol(result.freedom[0], 16.7, 0.06);
    ck_assert_double_eq_tol(student_compute_coverage(0.99, floor(result.freedom[0])), 2.92, 0.005);
    ck_assert_double_eq_tol(
        result.u[0] * student_compute_coverage(0.99, floor(result.freedom[0])), 93, 0.5);
    /* table H.1: the contributions in nm */
    static const double contribution[] = {25, 5.8, 3.9, 6.7, 0, 2.9, 0, 0, 16.6};
    for (size_t i = 0; i < COUNT(gauge); i++) {
        ck_assert_double_eq_tol(
            fabs(result.sensitivity[i]) * gauge[i].u, contribution[i], i == 8 ? 0.08 : 0.05);
    }
    propagation_clear(&result);
}
END_TEST

START_TEST(second_order_terms_of_h_1_7_widen_the_gauge_to_34_nm)
{
    struct propagation result;
    double added;
    ck_assert_int_eq(propagation_create(&result, &gauge_problem, NULL), STATUS_OK);
    ck_assert_int_eq(propagation_compute_second_order(&gauge_problem, &added, NULL), STATUS_OK);
    /* H.1.7: 11.7 nm and 1.7 nm beside the first order's; 34 nm in all */
    ck_assert_double_eq_tol(sqrt(added), sqrt(11.7 * 11.7 + 1.7 * 1.7), 0.1);
    ck_assert_double_eq_tol(sqrt(result.u[0] * result.u[0] + added), 34, 0.2);
    propagation_clear(&result);
}
END_TEST

/* y0 = a^3 and y1 = a b^2, whose terms of JCGM 100, note to 5.1.2, are found by hand: 1/2 f_aa^2 +
 * f_a f_aaa = 18 a^2 + 18 a^2; of y1 f_ab = 2 b, f_bb = 2 a, f_a f_abb = 2 b^2. */
static void compute_powers(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = x[0] * x[0] * x[0];
    y[1] = x[0] * x[1] * x[1];
}

START_TEST(second_order_terms_are_those_of_the_derivatives)
{
    static const struct budget_input list[] = {
        {"a", 1.5, 0.1, INFINITY, 0, BUDGET_NORMAL}, {"b", 0.7, 0.2, INFINITY, 0, BUDGET_NORMAL}};
    const struct budget_problem problem = {
        .model = {.outputs = 2, .compute = compute_powers}, .inputs = {list, 2, NULL}};
    double added[2];
    ck_assert_int_eq(propagation_compute_second_order(&problem, added, NULL), STATUS_OK);
    const double a = 1.5, b = 0.7, ua = 0.1 * 0.1, ub = 0.2 * 0.2;
    ck_assert_double_eq_tol(added[0], 36 * a * a * ua * ua, 1e-9);
    ck_assert_double_eq_tol(added[1], 6 * b * b * ua * ub + 2 * a * a * ub * ub, 1e-9);
}
END_TEST

/* ---- H.2: resistance and reactance from voltage, current and phase, JCGM 100 H.2 ---- */

/* Table H.2: volt, ampere, radian, five times observed together. */
static const double element[5][3] = {{5.007, 19.663e-3, 1.0456}, {4.994, 19.639e-3, 1.0438},
    {5.005, 19.640e-3, 1.0468}, {4.990, 19.685e-3, 1.0428}, {4.999, 19.678e-3, 1.0433}};

static void compute_element(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[2] = x[0] / x[1];
    y[0] = y[2] * cos(x[2]);
    y[1] = y[2] * sin(x[2]);
}

static struct budget_problem read_element(
    const struct scatter *means, struct budget_input inputs[3], bool is_correlated)
{
    static const char *const names[] = {"V", "I", "phi"};
    for (size_t i = 0; i < 3; i++) {
        inputs[i] = (struct budget_input){.name = names[i],
            .value = means->mean[i],
            .u = means->u[i],
            .freedom = means->freedom[i],
            .distribution = BUDGET_T};
    }
    return (struct budget_problem){.model = {.outputs = 3, .compute = compute_element},
        .inputs = {inputs, 3, is_correlated ? means->correlation : NULL}};
}

static void check_digits(const double *found, const double *wanted, size_t count, double relative)
{
    for (size_t i = 0; i < count; i++) {
        ck_assert_double_eq_tol(found[i], wanted[i], relative * fabs(wanted[i]));
    }
}

START_TEST(means_and_correlations_of_table_h_2)
{
    struct scatter means;
    ck_assert_int_eq(scatter_create(&means, *element, 5, 3, false, NULL), STATUS_OK);
    /* the table prints 4.9990(32), 19.6610(95) mA, 1.04446(75); r -0.36, 0.86, -0.65 */
    check_digits(means.mean, (double[]){4.9990, 19.6610e-3, 1.04446}, 3, 1e-12);
    check_digits(means.u, (double[]){3.20936131e-3, 9.47100839e-6, 7.52063827e-4}, 3, 1e-8);
    ck_assert_double_eq_tol(means.correlation[1], -0.355311, 1e-6);
    ck_assert_double_eq_tol(means.correlation[2], 0.857624, 1e-6);
    ck_assert_double_eq_tol(means.correlation[5], -0.645111, 1e-6);
    ck_assert_double_eq(means.freedom[0], 4);
    scatter_clear(&means);
}
END_TEST

START_TEST(approach_1_of_h_2_carries_correlations_through)
{
    struct scatter means;
    struct budget_input inputs[3];
    struct propagation result;
    ck_assert_int_eq(scatter_create(&means, *element, 5, 3, false, NULL), STATUS_OK);
    struct budget_problem problem = read_element(&means, inputs, true);
    ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
    /* table H.3: 127.732(71), 219.847(295), 254.260(236), r -0.588, -0.485, 0.993; more digits from
     * the same formulae in other software */
    check_digits(result.value,
        (double[]){127.73216992810204, 219.84651191263842, 254.25970194801894}, 3, 1e-14);
    check_digits(result.u, (double[]){0.07107141, 0.29558168, 0.23633613}, 3, 1e-7);
    const double *c = result.covariance;
    ck_assert_double_eq_tol(c[1] / (result.u[0] * result.u[1]), -0.58843, 5e-6);
    ck_assert_double_eq_tol(c[2] / (result.u[0] * result.u[2]), -0.48526, 5e-6);
    ck_assert_double_eq_tol(c[5] / (result.u[1] * result.u[2]), 0.99251, 5e-6);
    for (size_t j = 0; j < 3; j++) {
        double sum = 0;
        for (size_t i = 0; i < 3; i++) {
            sum += result.share[3 * j + i];
        }
        ck_assert_double_eq_tol(sum, 1, 1e-12);
    }
    propagation_clear(&result);
    scatter_clear(&means);
}
END_TEST

START_TEST(without_correlations_h_2_goes_wrong_as_table_h_5_shows)
{
    struct scatter means;
    struct budget_input inputs[3];
    struct propagation result;
    ck_assert_int_eq(scatter_create(&means, *element, 5, 3, false, NULL), STATUS_OK);
    struct budget_problem problem = read_element(&means, inputs, false);
    ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
    check_digits(result.u, (double[]){0.1945, 0.2009, 0.2041}, 3, 5e-4);
    propagation_clear(&result);
    scatter_clear(&means);
}
END_TEST

START_TEST(approach_2_of_h_2_takes_the_scatter_of_results)
{
    double results[5][3];
    struct scatter means;
    for (size_t i = 0; i < 5; i++) {
        compute_element(NULL, NULL, element[i], results[i]);
    }
    ck_assert_int_eq(scatter_create(&means, *results, 5, 3, false, NULL), STATUS_OK);
    check_digits(means.mean, (double[]){127.73163048, 219.8468946, 254.26004959}, 3, 1e-9);
    check_digits(means.u, (double[]){0.07127354, 0.29548909, 0.2362475}, 3, 1e-7);
    scatter_clear(&means);
}
END_TEST

/* ---- H.3: calibration of a thermometer by a straight line, JCGM 100 H.3, table H.6 ---- */

enum { READINGS = 11 };
static const double temperature[READINGS] = {
    21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511};
static const double correction[READINGS] = {
    -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160};

/* Intercept at 20 degC, slope, and the correction at 30 degC, from the observed corrections. */
static void compute_line(const void *subject, void *work, const double *b, double *y)
{
    (void)subject;
    (void)work;
    double t = 0, tt = 0, s = 0, st = 0;
    for (size_t i = 0; i < READINGS; i++) {
        const double x = temperature[i] - 20;
        t += x;
        tt += x * x;
        s += b[i];
        st += x * b[i];
    }
    const double d = READINGS * tt - t * t;
    y[0] = (s * tt - st * t) / d;
    y[1] = (READINGS * st - s * t) / d;
    y[2] = y[0] + y[1] * 10;
}

START_TEST(gives_the_thermometer_of_h_3)
{
    struct budget_input inputs[READINGS];
    double line[3], squares = 0;
    compute_line(NULL, NULL, correction, line);
    for (size_t i = 0; i < READINGS; i++) {
        const double rest = correction[i] - line[0] - line[1] * (temperature[i] - 20);
        squares += rest * rest;
    }
    const double s = sqrt(squares / (READINGS - 2));
    ck_assert_double_eq_tol(s, 0.00349756, 5e-9);
    for (size_t i = 0; i < READINGS; i++) {
        inputs[i] = (struct budget_input){.name = "reading",
            .value = correction[i],
            .u = s,
            .freedom = INFINITY,
            .distribution = BUDGET_NORMAL};
    }
    const struct budget_problem problem = {
        .model = {.outputs = 3, .compute = compute_line}, .inputs = {inputs, READINGS, NULL}};
    struct propagation result;
    ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
    /* H.3.3 and H.3.4: -0.1712(29), 0.00218(67), r -0.930, b(30) = -0.1494, u = 0.0041 */
    check_digits(result.value, (double[]){-0.17120379, 0.0021827, -0.14937681}, 3, 1e-5);
    check_digits(result.u, (double[]){0.00287760, 6.6794e-4, 0.00413860}, 3, 1e-5);
    ck_assert_double_eq_tol(result.covariance[1] / (result.u[0] * result.u[1]), -0.93043, 5e-6);
    propagation_clear(&result);
}
END_TEST

/* ---- what the examples do not show ---- */

START_TEST(inputs_that_move_together_add_before_they_are_squared)
{
    const struct budget_input inputs[] = {{"a", 3, 0.03, INFINITY, 0, BUDGET_NORMAL},
        {"b", 5, 0.04, INFINITY, 0, BUDGET_NORMAL}, {"c", 1, 0.02, INFINITY, 0, BUDGET_NORMAL}};
    const double together[] = {1, 1, 0, 1, 1, 0, 0, 0, 1};
    /* y = V cos phi / I has three inputs: a and b of one sign, then of opposite ones */
    const struct budget_problem problem = {
        .model = {.outputs = 3, .compute = compute_element}, .inputs = {inputs, 3, together}};
    struct propagation result;
    ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
    ck_assert_double_eq_tol(result.u[2], 0.6 * (0.03 / 3 - 0.04 / 5), 1e-6);
    propagation_clear(&result);
}
END_TEST

START_TEST(scatter_is_added_with_its_own_freedom)
{
    const struct budget_input inputs[] = {{"a", 3, 0.3, INFINITY, 0, BUDGET_NORMAL},
        {"b", 5, 0, INFINITY, 0, BUDGET_NORMAL}, {"c", 0, 0, INFINITY, 0, BUDGET_NORMAL}};
    const struct budget_input scatter[] = {
        {"", 0, 0.08, 4, 0, BUDGET_T}, {"", 0, 0, 4, 0, BUDGET_T}, {"", 0, 0.01, 4, 0, BUDGET_T}};
    const struct budget_problem problem = {.model = {.outputs = 3, .compute = compute_element},
        .inputs = {inputs, 3, NULL},
        .scatter = {scatter, 3, NULL}};
    struct propagation result;
    ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
    ck_assert_double_eq_tol(result.u[0], 0.1, 1e-12);
    ck_assert_double_eq_tol(result.scatter_share[0], 0.64, 1e-12);
    ck_assert_double_eq_tol(result.share[0], 0.36, 1e-12);
    /* 0.1^4 / (0.08^4 / 4) */
    ck_assert_double_eq_tol(result.freedom[0], 4 / (0.8 * 0.8 * 0.8 * 0.8), 1e-9);
    propagation_clear(&result);
}
END_TEST

START_TEST(repeats_that_resemble_their_neighbours_count_for_less)
{
    /* each value three times in a row: a third of the repeats are worth anything */
    enum { GROUPS = 40 };
    double values[3 * GROUPS];
    for (size_t i = 0; i < 3 * GROUPS; i++) {
        values[i] = sin(12.9898 * (double)(i / 3 + 1) * (double)(i / 3 + 1));
    }
    struct scatter plain, series;
    ck_assert_int_eq(scatter_create(&plain, values, 3 * GROUPS, 1, false, NULL), STATUS_OK);
    ck_assert_int_eq(scatter_create(&series, values, 3 * GROUPS, 1, true, NULL), STATUS_OK);
    /* r = 2/3 of such a series: (1 + r)/(1 - r) = 5 as an autoregression sees it, 3 is the truth */
    ck_assert_double_gt(series.u[0], sqrt(3.0) * plain.u[0]);
    ck_assert_double_lt(series.u[0], sqrt(8.0) * plain.u[0]);
    ck_assert_double_lt(series.freedom[0], plain.freedom[0] / 3);
    scatter_clear(&plain);
    scatter_clear(&series);
}
END_TEST

/* Sums of powers: y0 = a^4 + b, y1 = a^3, y2 = b, y3 = 7. Richardson's differences are exact up to
 * the fourth degree; at half a step h the plain one of a^3 is 3 a^2 + h^2: at u/2 and u/4 they are
 * 3/16 u^2 apart. */
static void compute_quartic(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = pow(x[0], 4) + x[1];
    y[1] = pow(x[0], 3);
    y[2] = x[1];
    y[3] = 7;
}

START_TEST(slopes_are_exact_up_to_the_fourth_degree)
{
    const double a = 1.25, ua = 0.5, ub = 0.25;
    const struct budget_input inputs[] = {{"a", a, ua, INFINITY, 0, BUDGET_NORMAL},
        {"b", -3, ub, INFINITY, 0, BUDGET_NORMAL}, {"c", 2, 0, INFINITY, 0, BUDGET_NORMAL}};
    const struct budget_problem problem = {
        .model = {.outputs = 4, .compute = compute_quartic}, .inputs = {inputs, 3, NULL}};
    struct propagation result;
    ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
    ck_assert_uint_eq(result.inputs, 3);
    ck_assert_uint_eq(result.outputs, 4);
    const double slopes[4][3] = {{4 * a * a * a, 1, 0}, {3 * a * a, 0, 0}, {0, 1, 0}, {0, 0, 0}};
    const double us[2] = {ua, ub};
    for (size_t j = 0; j < 4; j++) {
        double variance = 0;
        for (size_t i = 0; i < 3; i++) {
            ck_assert_double_eq_tol(result.sensitivity[3 * j + i], slopes[j][i], 1e-12);
            variance += i < 2 ? pow(slopes[j][i] * us[i], 2) : 0;
        }
        ck_assert_double_eq_tol(result.u[j], sqrt(variance), 1e-12);
        for (size_t i = 0; i < 3; i++) {
            const double part = i < 2 ? pow(slopes[j][i] * us[i], 2) : 0;
            ck_assert_double_eq_tol(
                result.share[3 * j + i], variance > 0 ? part / variance : 0, 1e-12);
        }
        for (size_t k = 0; k < 4; k++) {
            const double both =
                slopes[j][0] * slopes[k][0] * ua * ua + slopes[j][1] * slopes[k][1] * ub * ub;
            ck_assert_double_eq_tol(result.covariance[4 * j + k], both, 1e-12);
        }
        ck_assert_double_eq(result.freedom[j], INFINITY);
        ck_assert_double_eq(result.scatter_share[j], 0);
    }
    ck_assert_double_eq_tol(result.curvature[3], 3.0 / 16 * ua * ua * ua / (3 * a * a * ua), 1e-12);
    ck_assert_double_eq_tol(result.curvature[1], 0, 1e-12);
    ck_assert_double_eq(result.curvature[3 * 3], 0);
    ck_assert_double_eq_tol(result.value[0], a * a * a * a - 3, 1e-12);
    propagation_clear(&result);
}
END_TEST

static void pass_on(const void *subject, void *work, const double *x, double *y)
{
    (void)subject;
    (void)work;
    y[0] = x[0];
    y[1] = exp(x[0]);
}

/* Steps as they were rounded: 1e10 and 1e-5 leave a few units of the last place. */
START_TEST(a_step_counts_as_it_was_rounded)
{
    const struct budget_input input = {"x", 1e10 + 1, 1e-5, INFINITY, 0, BUDGET_NORMAL};
    const struct budget_problem problem = {
        .model = {.outputs = 2, .compute = pass_on}, .inputs = {&input, 1, NULL}};
    struct propagation result;
    ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
    ck_assert_double_eq_tol(result.sensitivity[0], 1, 1e-12);
    propagation_clear(&result);
}
END_TEST

/* exp x at 0 with u = 1: half the square of the second derivative and first times third, 3/2; steps
 * of u / 16 leave h^2 / 12 of the second and h^2 / 4 of the third, h^2 = 1/256. */
START_TEST(second_order_terms_take_small_steps)
{
    const struct budget_input input = {"x", 0, 1, INFINITY, 0, BUDGET_NORMAL};
    const struct budget_problem problem = {
        .model = {.outputs = 2, .compute = pass_on}, .inputs = {&input, 1, NULL}};
    double added[2] = {5, 5};
    ck_assert_int_eq(propagation_compute_second_order(&problem, added, NULL), STATUS_OK);
    ck_assert_double_eq_tol(added[0], 0, 1e-12);
    /* and the slope is off by 1/480 of it at most: (u/2)^2 (u/4)^2 / 120 */
    ck_assert_double_eq_tol(added[1], 1.5, (0.5 * 2 / 12 + 0.25) / 256 * 1.02 + 1.0 / 480 / 4);
}
END_TEST

/* Two inputs of 4 and 9 degrees and a scatter of 5, with a correlation between two outputs. */
START_TEST(freedoms_and_covariances_have_all_terms)
{
    const struct budget_input inputs[] = {
        {"a", 1, 0.3, 4, 0, BUDGET_T}, {"b", 2, 0.4, 9, 0, BUDGET_T}};
    const struct budget_input scatter[] = {{"", 0, 0.12, 5, 0, BUDGET_T},
        {"", 0, 0.2, 5, 0, BUDGET_T}, {"", 0, 0.1, 7, 0, BUDGET_T}, {"", 0, 0, 5, 0, BUDGET_T}};
    const double r[] = {1, 0.25, 0, 0, 0.25, 1, -0.5, 0, 0, -0.5, 1, 0, 0, 0, 0, 1};
    const double joint[] = {1, 0.6, 0.6, 1};
    for (int n = 0; n < 4; n++) {
        const bool is_joint = n % 2, has_r = n / 2;
        const struct budget_problem problem = {.model = {.outputs = 4, .compute = compute_quartic},
            .inputs = {inputs, 2, is_joint ? joint : NULL},
            .scatter = {scatter, 4, has_r ? r : NULL}};
        struct propagation result;
        ck_assert_int_eq(propagation_create(&result, &problem, NULL), STATUS_OK);
        const double c[4][2] = {{4, 1}, {3, 0}, {0, 1}, {0, 0}};
        for (size_t j = 0; j < 4; j++) {
            for (size_t k = 0; k < 4; k++) {
                const double pair = is_joint ? 0.6 * 0.12 : 0;
                const double by_scatter = scatter[j].u * scatter[k].u;
                double wanted = c[j][0] * c[k][0] * 0.09 + c[j][1] * c[k][1] * 0.16 +
                                (c[j][0] * c[k][1] + c[j][1] * c[k][0]) * pair;
                wanted += by_scatter * (has_r ? r[4 * j + k] : j == k ? 1 : 0);
                ck_assert_double_eq_tol(result.covariance[4 * j + k], wanted, 1e-12);
            }
            const double variance = result.covariance[5 * j];
            ck_assert_double_eq_tol(result.u[j], sqrt(variance), 1e-12);
            const double sum = pow(c[j][0] * 0.3, 4) / 4 + pow(c[j][1] * 0.4, 4) / 9 +
                               pow(scatter[j].u, 4) / scatter[j].freedom;
            if (sum > 0) {
                ck_assert_double_eq_tol(
                    result.freedom[j], variance * variance / sum, 1e-9 * result.freedom[j]);
                ck_assert_double_eq_tol(
                    result.scatter_share[j], scatter[j].u * scatter[j].u / variance, 1e-12);
                ck_assert_double_eq_tol(
                    result.share[2 * j] + result.share[2 * j + 1] + result.scatter_share[j], 1,
                    1e-12);
                const double first = c[j][0] * 0.3, with = is_joint ? 0.6 * c[j][1] * 0.4 : 0;
                ck_assert_double_eq_tol(
                    result.share[2 * j], first * (first + with) / variance, 1e-12);
            } else {
                ck_assert_double_eq(result.freedom[j], INFINITY);
                ck_assert_double_eq(result.scatter_share[j], 0);
            }
        }
        propagation_clear(&result);
    }
}
END_TEST

START_TEST(coverage_factors_are_those_of_table_g_2)
{
    /* JCGM 100, table G.2: degrees of freedom, 95 %, 99 % */
    static const double table[][3] = {{1, 12.71, 63.66}, {2, 4.30, 9.92}, {5, 2.57, 4.03},
        {10, 2.23, 3.17}, {16, 2.12, 2.92}, {50, 2.01, 2.68}, {INFINITY, 1.960, 2.576}};
    for (size_t i = 0; i < COUNT(table); i++) {
        ck_assert_double_eq_tol(student_compute_coverage(0.95, table[i][0]), table[i][1], 0.005);
        ck_assert_double_eq_tol(student_compute_coverage(0.99, table[i][0]), table[i][2], 0.006);
    }
}
END_TEST

Suite *propagate_suite(void)
{
    Suite *suite = suite_create("propagate");
    TCase *gum = tcase_create("JCGM 100, annex H");
    tcase_add_test(gum, gives_the_end_gauge_of_h_1);
    tcase_add_test(gum, second_order_terms_are_those_of_the_derivatives);
    tcase_add_test(gum, second_order_terms_of_h_1_7_widen_the_gauge_to_34_nm);
    tcase_add_test(gum, means_and_correlations_of_table_h_2);
    tcase_add_test(gum, approach_1_of_h_2_carries_correlations_through);
    tcase_add_test(gum, without_correlations_h_2_goes_wrong_as_table_h_5_shows);
    tcase_add_test(gum, approach_2_of_h_2_takes_the_scatter_of_results);
    tcase_add_test(gum, gives_the_thermometer_of_h_3);
    suite_add_tcase(suite, gum);
    TCase *rules = tcase_create("rules");
    tcase_add_test(rules, inputs_that_move_together_add_before_they_are_squared);
    tcase_add_test(rules, scatter_is_added_with_its_own_freedom);
    tcase_add_test(rules, slopes_are_exact_up_to_the_fourth_degree);
    tcase_add_test(rules, a_step_counts_as_it_was_rounded);
    tcase_add_test(rules, second_order_terms_take_small_steps);
    tcase_add_test(rules, freedoms_and_covariances_have_all_terms);
    tcase_add_test(rules, repeats_that_resemble_their_neighbours_count_for_less);
    tcase_add_test(rules, coverage_factors_are_those_of_table_g_2);
    suite_add_tcase(suite, rules);
    return suite;
}
