// SPDX-License-Identifier: GPL-3.0-or-later
/* Certified values: NIST Statistical Reference Datasets, tests/data/nist. Lines 41 on hold the
 * starts and the certified values, data begin at line 61. */
#include "num/least_squares.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "suites.h"

#define DATA "tests/data/nist/"
#define ROWS 300
#define PARAMETERS 16
#define COLUMNS 8

static const double PI = 3.14159265358979323846;

struct nist {
    double start[2][PARAMETERS], certified[PARAMETERS], deviation[PARAMETERS];
    size_t parameters;
    double sum;                 /* residual sum of squares; linear sets: residual deviation */
    double data[ROWS][COLUMNS]; /* y, x... */
    size_t rows;
};

/* How many digits agree: the "log relative error" of the StRD. */
static double get_digits(double got, double certified)
{
    double error = fabs(got - certified) / fabs(certified);
    return error > 0 ? fmin(16, -log10(error)) : 16;
}

static size_t read_numbers(const char *at, double *list, size_t most)
{
    size_t count = 0;
    for (char *end; count < most; at = end) {
        list[count] = strtod(at, &end);
        if (end == at)
            break;
        count++;
    }
    return count;
}

/* "  b1 =  start 1  start 2  certified  deviation"; "  B0  certified  deviation" */
static void take_parameter(struct nist *set, const char *line)
{
    double list[4];
    const char *at = line + strspn(line, " ");
    size_t p = set->parameters;
    if ((*at != 'b' && *at != 'B') || at[1] < '0' || at[1] > '9')
        return;
    at += 1 + strspn(at + 1, "0123456789");
    at += strspn(at, " =");
    size_t count = read_numbers(at, list, 4);
    ck_assert(count == 4 || count == 2);
    if (count == 4) {
        set->start[0][p] = list[0];
        set->start[1][p] = list[1];
    }
    set->certified[p] = list[count - 2];
    set->deviation[p] = list[count - 1];
    set->parameters++;
}

static void read_set(const char *name, struct nist *set)
{
    char path[80], line[400];
    snprintf(path, sizeof path, DATA "%s.dat", name);
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "cannot read %s", path);
    *set = (struct nist){.rows = 0};
    for (size_t n = 1; fgets(line, sizeof line, file); n++) {
        const char *colon = strchr(line, ':');
        if (n < 61)
            take_parameter(set, line);
        if (n < 61 && colon && strstr(line, "Sum of Squares:"))
            set->sum = strtod(colon + 1, NULL);
        if (n < 61 && strstr(line, "Standard Deviation   0."))
            set->sum = strtod(strstr(line, "Deviation") + 9, NULL);
        if (n < 61 && strstr(line, "Standard Deviation   304."))
            set->sum = strtod(strstr(line, "Deviation") + 9, NULL);
        if (n >= 61 && read_numbers(line, set->data[set->rows], COLUMNS) >= 2)
            set->rows++;
    }
    fclose(file);
    ck_assert(set->rows > 5 && set->parameters > 1 && set->sum > 0);
}

/* --- the models ------------------------------------------------------------------------------- */

static double misra1a(const double *b, double x)
{
    return b[0] * (1 - exp(-b[1] * x));
}

static double lanczos3(const double *b, double x)
{
    return b[0] * exp(-b[1] * x) + b[2] * exp(-b[3] * x) + b[4] * exp(-b[5] * x);
}

static double mgh09(const double *b, double x)
{
    return b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]);
}

static double mgh10(const double *b, double x)
{
    return b[0] * exp(b[1] / (x + b[2]));
}

static double mgh17(const double *b, double x)
{
    return b[0] + b[1] * exp(-x * b[3]) + b[2] * exp(-x * b[4]);
}

static double rat42(const double *b, double x)
{
    return b[0] / (1 + exp(b[1] - b[2] * x));
}

static double rat43(const double *b, double x)
{
    return b[0] / pow(1 + exp(b[1] - b[2] * x), 1 / b[3]);
}

static double thurber(const double *b, double x)
{
    return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1 + x * (b[4] + x * (b[5] + x * b[6])));
}

static double bennett5(const double *b, double x)
{
    return b[0] * pow(b[1] + x, -1 / b[2]);
}

static double enso(const double *b, double x)
{
    const double w = 2 * PI * x;
    return b[0] + b[1] * cos(w / 12) + b[2] * sin(w / 12) + b[4] * cos(w / b[3]) +
           b[5] * sin(w / b[3]) + b[7] * cos(w / b[6]) + b[8] * sin(w / b[6]);
}

static const struct nonlinear_case {
    const char *name;
    double (*model)(const double *b, double x);
} nonlinear_cases[] = {{"Misra1a", misra1a}, {"BoxBOD", misra1a}, {"Lanczos3", lanczos3},
    {"MGH09", mgh09}, {"MGH10", mgh10}, {"MGH17", mgh17}, {"Rat42", rat42}, {"Rat43", rat43},
    {"Thurber", thurber}, {"Hahn1", thurber}, {"Bennett5", bennett5}, {"ENSO", enso}};
#define NONLINEAR_CASES ((int)(sizeof nonlinear_cases / sizeof *nonlinear_cases))

struct context {
    const struct nist *set;
    double (*model)(const double *b, double x);
};

static bool compute_residuals(const double *b, double *residuals, void *user)
{
    const struct context *context = user;
    for (size_t i = 0; i < context->set->rows; i++)
        residuals[i] = context->model(b, context->set->data[i][1]) - context->set->data[i][0];
    return true;
}

static struct nist set; /* large */

START_TEST(finds_the_certified_values_from_both_starts)
{
    const struct nonlinear_case *it = &nonlinear_cases[_i / 2];
    double b[PARAMETERS], covariance[PARAMETERS * PARAMETERS];
    struct nonlinear_fit fit;
    struct error err;
    read_set(it->name, &set);
    memcpy(b, set.start[_i % 2], sizeof b);
    struct context context = {&set, it->model};
    struct nonlinear_problem problem = {.compute_residuals = compute_residuals,
        .context = &context,
        .residual_count = set.rows,
        .parameter_count = set.parameters,
        .iterations = 5000};
    ck_assert_int_eq(nonlinear_problem_solve(&problem, b, covariance, &fit, &err), STATUS_OK);
    for (size_t p = 0; p < set.parameters; p++) {
        const double variance = covariance[p * (set.parameters + 1)] * fit.sum_of_squares /
                                (double)(set.rows - set.parameters);
        ck_assert_msg(get_digits(b[p], set.certified[p]) >= 6,
            "%s, start %d, b%zu: %.12g not %.12g", it->name, _i % 2 + 1, p + 1, b[p],
            set.certified[p]);
        ck_assert_msg(get_digits(sqrt(variance), set.deviation[p]) >= 4,
            "%s, start %d, deviation of b%zu: %.12g not %.12g", it->name, _i % 2 + 1, p + 1,
            sqrt(variance), set.deviation[p]);
    }
    ck_assert_msg(get_digits(fit.sum_of_squares, set.sum) >= 10,
        "%s, start %d: sum %.12g not %.12g", it->name, _i % 2 + 1, fit.sum_of_squares, set.sum);
    ck_assert(fit.has_converged);
}
END_TEST

/* digits: what the condition of the set leaves of 16 */
static const struct linear_case {
    const char *name;
    size_t power; /* of x; 0: columns as they are */
    double digits;
} linear_cases[] = {{"Norris", 1, 12}, {"Longley", 0, 9}, {"Filip", 10, 6}};

START_TEST(solves_the_certified_linear_sets)
{
    const struct linear_case *it = &linear_cases[_i];
    double solution[PARAMETERS], covariance[PARAMETERS * PARAMETERS], values[ROWS], sum;
    static double matrix[ROWS * PARAMETERS];
    struct error err;
    read_set(it->name, &set);
    const size_t terms = set.parameters;
    for (size_t i = 0; i < set.rows; i++) {
        values[i] = set.data[i][0];
        for (size_t t = 0; t < terms; t++)
            matrix[i * terms + t] = it->power ? pow(set.data[i][1], (double)t)
                                    : t       ? set.data[i][t]
                                              : 1;
    }
    const struct linear_problem problem = {matrix, values, NULL, set.rows, terms};
    ck_assert_int_eq(linear_problem_solve(&problem, solution, covariance, &sum, &err), STATUS_OK);
    const double variance = sum / (double)(set.rows - terms);
    ck_assert(get_digits(sqrt(variance), set.sum) >= it->digits);
    for (size_t t = 0; t < terms; t++) {
        ck_assert_msg(get_digits(solution[t], set.certified[t]) >= it->digits, "%s B%zu: %.15g",
            it->name, t, solution[t]);
        ck_assert(get_digits(sqrt(variance * covariance[t * (terms + 1)]), set.deviation[t]) >=
                  it->digits);
    }
}
END_TEST

START_TEST(weights_are_inverse_variances)
{
    /* two points 1 and 4 with u 1 and 2: mean (1 + 4/4) / (1 + 1/4) = 1.6, u² 1 / 1.25 */
    const double ones[] = {1, 1}, values[] = {1, 4}, weights[] = {1, 0.25};
    const struct linear_problem problem = {ones, values, weights, 2, 1};
    double mean, variance, sum;
    struct error err;
    ck_assert_int_eq(linear_problem_solve(&problem, &mean, &variance, &sum, &err), STATUS_OK);
    ck_assert_double_eq_tol(mean, 1.6, 1e-14);
    ck_assert_double_eq_tol(variance, 0.8, 1e-14);
    ck_assert_double_eq_tol(sum, 0.6 * 0.6 + 0.25 * 2.4 * 2.4, 1e-14);
}
END_TEST

/* A column is scaled by its greatest entry, wherever that is: terms of tiny size are told. */
START_TEST(a_term_of_any_size_is_told_from_one_point)
{
    for (size_t place = 0; place < 3; place++) {
        double *matrix = calloc(6, sizeof *matrix), *values = malloc(3 * sizeof *values);
        for (size_t i = 0; i < 3; i++) {
            matrix[2 * i] = 1e20;
            matrix[2 * i + 1] = i == place ? -1e-20 : 0;
            values[i] = i == place ? 5 : 2;
        }
        const struct linear_problem problem = {matrix, values, NULL, 3, 2};
        double solution[2], sum;
        struct error err;
        ck_assert_int_eq(linear_problem_solve(&problem, solution, NULL, &sum, &err), STATUS_OK);
        ck_assert_double_eq_tol(solution[0] / 2e-20, 1.0, 1e-12);
        ck_assert_double_eq_tol(solution[1] / -3e20, 1.0, 1e-12);
        ck_assert_double_eq_tol(sum, 0.0, 1e-20);
        free(matrix);
        free(values);
    }
}
END_TEST

START_TEST(keeps_terms_from_going_below_zero)
{
    /* y = 1 - x wants a falling line: with a slope of 0 the mean is best */
    const double matrix[] = {1, 0, 1, 1, 1, 2}, values[] = {1.5, 0, -0.5};
    const struct linear_problem problem = {matrix, values, NULL, 3, 2};
    double solution[2], covariance[4];
    bool is_bounded[2];
    struct error err;
    ck_assert_int_eq(
        linear_problem_solve_positive(&problem, solution, covariance, NULL, is_bounded, &err),
        STATUS_OK);
    ck_assert_double_eq_tol(solution[0], 1.0 / 3, 1e-14);
    ck_assert_double_eq(solution[1], 0);
    ck_assert(!is_bounded[0] && is_bounded[1]);
    ck_assert_double_eq_tol(covariance[0], 1.0 / 3, 1e-14);
    ck_assert_double_eq(covariance[3], 0);
    const double below[] = {-1, -2, -3};
    const struct linear_problem hopeless = {matrix, below, NULL, 3, 2};
    ck_assert_int_eq(
        linear_problem_solve_positive(&hopeless, solution, NULL, NULL, NULL, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "no terms above 0 fit the points");
}
END_TEST

START_TEST(refuses_what_the_points_cannot_tell)
{
    const double matrix[] = {1, 2, 2, 4, 3, 6}, values[] = {1, 2, 3};
    const struct linear_problem same = {matrix, values, NULL, 3, 2},
                                few = {matrix, values, NULL, 1, 2};
    double solution[2] = {7, 7};
    struct error err;
    ck_assert_int_eq(linear_problem_solve(&same, solution, NULL, NULL, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "the points cannot tell 2 terms apart");
    ck_assert_int_eq(linear_problem_solve(&few, solution, NULL, NULL, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "1 points cannot tell 2 terms");
    ck_assert_double_eq(solution[0], 7);
}
END_TEST

/* A parabola whose lowest point lies beyond the bound. */
static bool compute_line(const double *b, double *residuals, void *user)
{
    (void)user;
    for (int i = 0; i < 4; i++)
        residuals[i] = b[0] + b[1] * i - (3 - 2 * i);
    return b[0] < 100;
}

START_TEST(keeps_within_the_bounds)
{
    static const struct {
        double low, high, slope;
    } cases[] = {{-INFINITY, INFINITY, -2}, {-5, INFINITY, -2}, {-INFINITY, 5, -2}, {-5, 5, -2},
        {-1, 5, -1}, {-1, INFINITY, -1}, {-9, -4, -4}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        const double low[] = {-INFINITY, cases[c].low}, high[] = {INFINITY, cases[c].high};
        double b[] = {1, isfinite(cases[c].low) ? cases[c].low + 0.5 : 0.1};
        struct nonlinear_problem problem = {.compute_residuals = compute_line,
            .residual_count = 4,
            .parameter_count = 2,
            .lowest = low,
            .highest = high};
        struct nonlinear_fit fit;
        struct error err;
        ck_assert_int_eq(nonlinear_problem_solve(&problem, b, NULL, &fit, &err), STATUS_OK);
        ck_assert_double_eq_tol(b[1], cases[c].slope, 1e-4); /* a bound is only neared */
        ck_assert(b[1] >= cases[c].low && b[1] <= cases[c].high);
    }
}
END_TEST

START_TEST(refuses_a_start_that_is_none)
{
    const double low[] = {-INFINITY, 0}, high[] = {INFINITY, 1};
    double outside[] = {0, 2}, nowhere[] = {200, 0.5};
    struct nonlinear_problem problem = {.compute_residuals = compute_line,
        .residual_count = 4,
        .parameter_count = 2,
        .lowest = low,
        .highest = high};
    struct nonlinear_fit fit;
    struct error err;
    ck_assert_int_eq(nonlinear_problem_solve(&problem, outside, NULL, &fit, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "parameter 2 starts at 2, outside its bounds");
    ck_assert_int_eq(nonlinear_problem_solve(&problem, nowhere, NULL, &fit, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "the start has no residuals");
    problem.residual_count = 1;
    ck_assert_int_eq(nonlinear_problem_solve(&problem, outside, NULL, &fit, &err), STATUS_INPUT);
}
END_TEST

/* A straight line whose model exists only where its first parameter is in `from` ... `to`. */
struct island {
    double from, to;
    bool has_slopes;
};

static bool compute_island(const double *b, double *residuals, void *user)
{
    const struct island *island = user;
    (void)compute_line(b, residuals, NULL);
    return b[0] >= island->from && b[0] <= island->to;
}

static bool compute_slopes(const double *b, double *jacobian, void *user)
{
    const struct island *island = user;
    (void)b;
    for (int i = 0; i < 4; i++) {
        jacobian[2 * i] = 1;
        jacobian[2 * i + 1] = i;
    }
    return island->has_slopes;
}

/* b = 3, -2 is the line itself; the covariance of both is 1/20 [14 -6; -6 4]. */
static void check_line(const double *b, const double *covariance)
{
    ck_assert_double_eq_tol(b[0], 3, 1e-8);
    ck_assert_double_eq_tol(b[1], -2, 1e-8);
    ck_assert_double_eq_tol(covariance[0], 0.7, 1e-8);
    ck_assert_double_eq_tol(covariance[1], -0.3, 1e-8);
    ck_assert_double_eq_tol(covariance[3], 0.2, 1e-8);
}

START_TEST(a_start_on_the_edge_of_the_model_is_left_inwards)
{
    static const struct {
        struct island island;
        double start;
    } cases[] = {{{1, INFINITY, true}, 1}, {{-INFINITY, 7, true}, 7}, {{-9, 9, true}, 0}};
    for (size_t c = 0; c < sizeof cases / sizeof *cases; c++) {
        struct island island = cases[c].island;
        struct nonlinear_problem problem = {.compute_residuals = compute_island,
            .context = &island,
            .residual_count = 4,
            .parameter_count = 2};
        for (int has_jacobian = 0; has_jacobian < 2; has_jacobian++) {
            double b[] = {cases[c].start, 0}, covariance[4];
            struct nonlinear_fit fit;
            struct error err;
            problem.compute_jacobian = has_jacobian ? compute_slopes : NULL;
            ck_assert_int_eq(
                nonlinear_problem_solve(&problem, b, covariance, &fit, &err), STATUS_OK);
            check_line(b, covariance);
            ck_assert(fit.has_converged);
            ck_assert_double_lt(fit.sum_of_squares, 1e-16);
        }
    }
}
END_TEST

START_TEST(a_start_without_slopes_is_refused_and_stays)
{
    struct island point = {1, 1, false}, slopeless = {-9, 9, false};
    struct nonlinear_problem problem = {
        .compute_residuals = compute_island, .residual_count = 4, .parameter_count = 2};
    struct nonlinear_fit fit = {.iterations = 7};
    for (int i = 0; i < 2; i++) {
        double b[] = {1, 0}, covariance[] = {5, 5, 5, 5};
        struct error err = {0};
        problem.context = i == 0 ? &point : &slopeless;
        problem.compute_jacobian = i == 0 ? NULL : compute_slopes;
        ck_assert_int_eq(
            nonlinear_problem_solve(&problem, b, covariance, &fit, &err), STATUS_INPUT);
        ck_assert_str_eq(err.message, "the start has no slopes");
        ck_assert(b[0] == 1 && b[1] == 0 && covariance[0] == 5 && fit.iterations == 7);
    }
    double none;
    struct error err = {0};
    problem.parameter_count = 0;
    ck_assert_int_eq(nonlinear_problem_solve(&problem, &none, NULL, &fit, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "4 points cannot tell 0 parameters");
}
END_TEST

START_TEST(refuses_more_terms_than_it_can_choose_from)
{
    const double matrix[2 * (LINEAR_TERMS_MOST + 1)] = {1}, values[] = {1, 2};
    const struct linear_problem many = {matrix, values, NULL, 2, LINEAR_TERMS_MOST + 1},
                                few = {matrix, values, NULL, 2, 3},
                                none = {matrix, values, NULL, 2, 0};
    double solution[LINEAR_TERMS_MOST + 1] = {7};
    struct error err;
    ck_assert_int_eq(
        linear_problem_solve_positive(&many, solution, NULL, NULL, NULL, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "2 points cannot tell 9 terms");
    ck_assert_int_eq(
        linear_problem_solve_positive(&few, solution, NULL, NULL, NULL, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "2 points cannot tell 3 terms");
    ck_assert_int_eq(linear_problem_solve(&none, solution, NULL, NULL, &err), STATUS_INPUT);
    ck_assert_str_eq(err.message, "2 points cannot tell 0 terms");
    ck_assert_double_eq(solution[0], 7);
}
END_TEST

START_TEST(a_term_that_is_always_zero_cannot_be_told)
{
    const double matrix[] = {1, 0, 1, 0, 1, 0}, values[] = {1, 2, 3};
    const struct linear_problem problem = {matrix, values, NULL, 3, 2};
    double solution[2], sum;
    struct error err;
    ck_assert_int_eq(linear_problem_solve(&problem, solution, NULL, &sum, &err), STATUS_INPUT);
    /* left out it does no harm: the other is the mean, with 1 + 0 + 1 left */
    ck_assert_int_eq(
        linear_problem_solve_positive(&problem, solution, NULL, &sum, NULL, &err), STATUS_OK);
    ck_assert_double_eq_tol(solution[0], 2, 1e-14);
    ck_assert_double_eq(solution[1], 0);
    ck_assert_double_eq_tol(sum, 2, 1e-13);
}
END_TEST

Suite *least_squares_suite(void)
{
    Suite *suite = suite_create("least_squares");
    TCase *tests = tcase_create("least_squares");
    tcase_add_loop_test(tests, finds_the_certified_values_from_both_starts, 0, 2 * NONLINEAR_CASES);
    tcase_add_loop_test(tests, solves_the_certified_linear_sets, 0, 3);
    tcase_add_test(tests, weights_are_inverse_variances);
    tcase_add_test(tests, a_term_of_any_size_is_told_from_one_point);
    tcase_add_test(tests, keeps_terms_from_going_below_zero);
    tcase_add_test(tests, refuses_what_the_points_cannot_tell);
    tcase_add_test(tests, keeps_within_the_bounds);
    tcase_add_test(tests, refuses_a_start_that_is_none);
    tcase_add_test(tests, a_start_on_the_edge_of_the_model_is_left_inwards);
    tcase_add_test(tests, a_start_without_slopes_is_refused_and_stays);
    tcase_add_test(tests, refuses_more_terms_than_it_can_choose_from);
    tcase_add_test(tests, a_term_that_is_always_zero_cannot_be_told);
    suite_add_tcase(suite, tests);
    return suite;
}
