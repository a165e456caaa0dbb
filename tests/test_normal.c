// SPDX-License-Identifier: GPL-3.0-or-later
/* Conjugate gradients against dense elimination by GSL. */
#include "num/normal.h"

#include <gsl/gsl_complex_math.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>

#include "num/pair.h"
#include "num/random.h"
#include "suites.h"

static const double TURN = 6.283185307179586476925286766559;

enum { CLASS_LIMIT = 8, TOP_LIMIT = 40, UNKNOWN_LIMIT = 2 * TOP_LIMIT + 1 };

/* The normal equations of samples at random phases, a few times as many as there are unknowns. */
struct problem {
    size_t top, classes;
    double complex toeplitz[2 * UNKNOWN_LIMIT];
    double complex multiplier[CLASS_LIMIT][TOP_LIMIT + 1];
    double complex *multipliers[CLASS_LIMIT];
    double weights[CLASS_LIMIT];
    double complex right[UNKNOWN_LIMIT];
};

static void set_toeplitz(struct problem *problem, struct random *random, size_t samples)
{
    for (size_t n = 0; n < samples; n++) {
        const double phase = random_get_uniform(random);
        for (size_t q = 0; q <= 2 * problem->top; q++) {
            problem->toeplitz[q] += cexp(-I * TURN * (double)q * phase);
        }
    }
}

/* Each class: a few rows whose phases lie near to each other, as folding makes them. */
static void set_class(struct problem *problem, struct random *random, size_t c)
{
    const double middle = ((double)c - 3.5) / 8.0 / (double)(2 * problem->top + 1);
    problem->multipliers[c] = problem->multiplier[c];
    problem->weights[c] = 1.0 / (3.0 + (double)c);
    for (size_t r = 0; r < 3 + c; r++) {
        const double phase = middle + 0.01 * random_get_uniform(random);
        for (size_t k = 0; k <= problem->top; k++) {
            problem->multiplier[c][k] += cexp(I * TURN * (double)k * phase);
        }
    }
}

static void problem_init(struct problem *problem, size_t top, size_t classes, size_t samples)
{
    struct random random;
    random_init(&random, 1000 * top + classes, 0);
    *problem = (struct problem){.top = top, .classes = classes};
    set_toeplitz(problem, &random, samples);
    for (size_t c = 0; c < classes; c++) {
        set_class(problem, &random, c);
    }
    for (size_t i = 0; i <= 2 * top; i++) {
        const double re = random_get_normal(&random);
        problem->right[i] = as_complex(re, random_get_normal(&random));
    }
}

static double complex get_multiplier(const struct problem *problem, size_t c, size_t i)
{
    const double complex *e = problem->multiplier[c];
    return i >= problem->top ? e[i - problem->top] : conj(e[problem->top - i]);
}

/* Element (i, j) as the header writes it. */
static double complex get_element(const struct problem *problem, size_t i, size_t j)
{
    const double complex t = i >= j ? problem->toeplitz[i - j] : conj(problem->toeplitz[j - i]);
    double complex sum = problem->classes == 0 ? 1.0 : 0.0;
    for (size_t c = 0; c < problem->classes; c++) {
        sum += problem->weights[c] * conj(get_multiplier(problem, c, i)) *
               get_multiplier(problem, c, j);
    }
    return sum * t;
}

static void solve_dense(const struct problem *problem, double complex *solution)
{
    const size_t n = 2 * problem->top + 1;
    gsl_matrix_complex *matrix = gsl_matrix_complex_alloc(n, n);
    gsl_vector_complex *right = gsl_vector_complex_alloc(n), *x = gsl_vector_complex_alloc(n);
    gsl_permutation *order = gsl_permutation_alloc(n);
    int sign;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < n; j++) {
            const double complex a = get_element(problem, i, j);
            gsl_matrix_complex_set(matrix, i, j, gsl_complex_rect(creal(a), cimag(a)));
        }
        gsl_vector_complex_set(
            right, i, gsl_complex_rect(creal(problem->right[i]), cimag(problem->right[i])));
    }
    ck_assert_int_eq(gsl_linalg_complex_LU_decomp(matrix, order, &sign), 0);
    ck_assert_int_eq(gsl_linalg_complex_LU_solve(matrix, order, right, x), 0);
    for (size_t i = 0; i < n; i++) {
        const gsl_complex value = gsl_vector_complex_get(x, i);
        solution[i] = as_complex(GSL_REAL(value), GSL_IMAG(value));
    }
    gsl_permutation_free(order);
    gsl_vector_complex_free(right);
    gsl_vector_complex_free(x);
    gsl_matrix_complex_free(matrix);
}

static double solve(const struct problem *problem, double complex *solution)
{
    struct normal *normal = normal_create(problem->top);
    normal_set_toeplitz(normal, problem->toeplitz);
    const double residual = normal_solve(
        normal, problem->classes, problem->multipliers, problem->weights, problem->right, solution);
    normal_destroy(normal);
    return residual;
}

static const struct {
    size_t top, classes;
} cases[] = {{0, 0}, {0, 3}, {1, 0}, {1, 1}, {3, 2}, {5, 0}, {17, 0}, {17, 8}, {40, 0}, {40, 5}};

START_TEST(the_solution_is_that_of_dense_elimination)
{
    struct problem problem;
    double complex dense[UNKNOWN_LIMIT], found[UNKNOWN_LIMIT];
    const size_t unknowns = 2 * cases[_i].top + 1;
    problem_init(&problem, cases[_i].top, cases[_i].classes, 6 * unknowns);
    solve_dense(&problem, dense);
    /* the iteration goes to 1e-13 of the right side; six samples an unknown leave a condition of
     * a few tens */
    ck_assert_double_le(solve(&problem, found), 1e-13);
    double size = 0.0, error = 0.0;
    for (size_t i = 0; i < unknowns; i++) {
        size += pow(cabs(dense[i]), 2.0);
        error += pow(cabs(found[i] - dense[i]), 2.0);
    }
    ck_assert_msg(error < 1e-23 * size, "off by %.2g", sqrt(error / size));
}
END_TEST

START_TEST(one_class_of_ones_is_no_class)
{
    struct problem problem;
    double complex plain[UNKNOWN_LIMIT], same[UNKNOWN_LIMIT];
    problem_init(&problem, 12, 0, 100);
    solve(&problem, plain);
    problem.classes = 1;
    problem.weights[0] = 1.0;
    problem.multipliers[0] = problem.multiplier[0];
    for (size_t k = 0; k <= 12; k++) {
        problem.multiplier[0][k] = 1.0;
    }
    solve(&problem, same);
    for (size_t i = 0; i < 25; i++) {
        ck_assert(plain[i] == same[i]);
    }
}
END_TEST

START_TEST(nothing_on_the_right_gives_nothing)
{
    struct problem problem;
    double complex found[UNKNOWN_LIMIT];
    problem_init(&problem, 6, 2, 60);
    for (size_t i = 0; i < 13; i++) {
        problem.right[i] = 0.0;
    }
    ck_assert_double_eq(solve(&problem, found), 0.0);
    for (size_t i = 0; i < 13; i++) {
        ck_assert(found[i] == 0.0);
    }
}
END_TEST

/* Samples on a grid of 2K to the cycle: harmonic K shows its cosine only, -K and K are one. */
START_TEST(what_the_samples_do_not_tell_stays_small)
{
    struct problem problem = {.top = 8};
    double complex found[UNKNOWN_LIMIT];
    for (size_t n = 0; n < 64; n++) {
        for (size_t q = 0; q <= 16; q++) {
            problem.toeplitz[q] += cexp(-I * TURN * (double)(q * n % 16) / 16.0);
        }
        /* right: of the waveform 1 + cos(2 pi 3 n/16) + cos(pi n) */
        const double wave =
            1.0 + cos(TURN * (double)(3 * n % 16) / 16.0) + (n % 2 == 0 ? 1.0 : -1.0);
        for (size_t i = 0; i <= 16; i++) {
            problem.right[i] +=
                wave * cexp(-I * TURN * ((double)i - 8.0) * (double)(n % 16) / 16.0);
        }
    }
    ck_assert_double_le(solve(&problem, found), 1e-12);
    for (size_t i = 0; i <= 16; i++) {
        /* the least solution shares the undecided one out evenly */
        const double expected = i == 8 ? 1.0 : i == 5 || i == 11 || i == 0 || i == 16 ? 0.5 : 0.0;
        ck_assert_double_le(cabs(found[i] - expected), 1e-13);
    }
}
END_TEST

Suite *normal_suite(void)
{
    Suite *suite = suite_create("normal");
    TCase *tests = tcase_create("normal");
    tcase_add_loop_test(
        tests, the_solution_is_that_of_dense_elimination, 0, (int)(sizeof cases / sizeof cases[0]));
    tcase_add_test(tests, one_class_of_ones_is_no_class);
    tcase_add_test(tests, nothing_on_the_right_gives_nothing);
    tcase_add_test(tests, what_the_samples_do_not_tell_stays_small);
    suite_add_tcase(suite, tests);
    return suite;
}
