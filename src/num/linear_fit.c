// SPDX-License-Identifier: GPL-3.0-or-later
/* Linear least squares by gsl_multifit_wlinear_tsvd: singular values of the weighted matrix with
 * its columns scaled to length 1 (G. H. Golub, C. Reinsch, Numer. Math. 14 (1970) 403). The normal
 * equations would be faster and lose half of the digits: Filip's polynomial then has none. */
#include <gsl/gsl_multifit.h>
#include <math.h>

#include "base/memory.h"
#include "num/guard.h"
#include "num/least_squares.h"

/* Singular values below this part of the largest one are noise of rounding. */
static const double RANK_LIMIT = 1e-14;

struct workspace {
    gsl_matrix *matrix, *covariance;
    gsl_vector *values, *weights, *solution, *scale;
    gsl_multifit_linear_workspace *fit;
};

static void clear(struct workspace *work)
{
    if (work->matrix)
        gsl_matrix_free(work->matrix);
    if (work->covariance)
        gsl_matrix_free(work->covariance);
    if (work->values)
        gsl_vector_free(work->values);
    if (work->weights)
        gsl_vector_free(work->weights);
    if (work->solution)
        gsl_vector_free(work->solution);
    if (work->scale)
        gsl_vector_free(work->scale);
    if (work->fit)
        gsl_multifit_linear_free(work->fit);
}

static enum status create(struct workspace *work, size_t rows, size_t terms, struct error *err)
{
    *work = (struct workspace){.matrix = gsl_matrix_alloc(rows, terms),
        .covariance = gsl_matrix_alloc(terms, terms),
        .values = gsl_vector_alloc(rows),
        .weights = gsl_vector_alloc(rows),
        .solution = gsl_vector_alloc(terms),
        .scale = gsl_vector_alloc(terms),
        .fit = gsl_multifit_linear_alloc(rows, terms)};
    if (work->matrix && work->covariance && work->values && work->weights && work->solution &&
        work->scale && work->fit)
        return STATUS_OK;
    return fail_memory(err);
}

/* Each column by its greatest entry: terms of very different size are then told apart alike. */
static void fill(struct workspace *work, const struct linear_problem *problem)
{
    for (size_t t = 0; t < problem->terms; t++) {
        double most = 0;
        for (size_t i = 0; i < problem->rows; i++)
            most = fmax(most, fabs(problem->matrix[i * problem->terms + t]));
        gsl_vector_set(work->scale, t, most > 0 ? most : 1);
        for (size_t i = 0; i < problem->rows; i++)
            gsl_matrix_set(work->matrix, i, t,
                problem->matrix[i * problem->terms + t] / gsl_vector_get(work->scale, t));
    }
    for (size_t i = 0; i < problem->rows; i++) {
        gsl_vector_set(work->values, i, problem->values[i]);
        gsl_vector_set(work->weights, i, problem->weights ? problem->weights[i] : 1);
    }
}

enum status linear_problem_solve(const struct linear_problem *problem, double *solution,
    double *covariance, double *sum_of_squares, struct error *err)
{
    const size_t terms = problem->terms;
    size_t rank = 0;
    double sum = 0;
    struct workspace work = {0};
    if (problem->rows < terms || terms == 0)
        return fail(err, STATUS_INPUT, "more points, or fewer terms",
            "%zu points cannot tell %zu terms", problem->rows, terms);
    guard_gsl();
    enum status status = create(&work, problem->rows, terms, err);
    if (!status) {
        fill(&work, problem);
        int code = gsl_multifit_wlinear_tsvd(work.matrix, work.weights, work.values, RANK_LIMIT,
            work.solution, work.covariance, &sum, &rank, work.fit);
        if (code || rank < terms)
            status = fail(err, STATUS_INPUT, "spread the points wider, or take fewer terms",
                "the points cannot tell %zu terms apart", terms);
    }
    for (size_t t = 0; !status && t < terms; t++)
        solution[t] = gsl_vector_get(work.solution, t) / gsl_vector_get(work.scale, t);
    for (size_t i = 0; !status && covariance && i < terms * terms; i++)
        covariance[i] = gsl_matrix_get(work.covariance, i / terms, i % terms) /
                        gsl_vector_get(work.scale, i / terms) /
                        gsl_vector_get(work.scale, i % terms);
    if (!status && sum_of_squares)
        *sum_of_squares = sum;
    clear(&work);
    return status;
}

/* The terms of a choice: bit t of `chosen`. */
struct choice {
    double solution[LINEAR_TERMS_MOST];
    double covariance[LINEAR_TERMS_MOST * LINEAR_TERMS_MOST];
    double sum;
    unsigned chosen;
};

static void spread(struct choice *choice, const double *solution, const double *covariance,
    size_t count, const size_t *place, size_t terms)
{
    for (size_t i = 0; i < count; i++) {
        choice->solution[place[i]] = solution[i];
        for (size_t j = 0; j < count; j++)
            choice->covariance[place[i] * terms + place[j]] = covariance[i * count + j];
    }
}

/* STATUS_INPUT: not admissible. `scratch` has room for the matrix. */
static enum status try_choice(const struct linear_problem *problem, unsigned chosen,
    double *scratch, struct choice *choice, struct error *err)
{
    double solution[LINEAR_TERMS_MOST], covariance[LINEAR_TERMS_MOST * LINEAR_TERMS_MOST];
    size_t place[LINEAR_TERMS_MOST], count = 0;
    for (size_t t = 0; t < problem->terms; t++)
        if (chosen >> t & 1)
            place[count++] = t;
    for (size_t i = 0; i < problem->rows; i++)
        for (size_t j = 0; j < count; j++)
            scratch[i * count + j] = problem->matrix[i * problem->terms + place[j]];
    struct linear_problem part = *problem;
    part.matrix = scratch;
    part.terms = count;
    *choice = (struct choice){.chosen = chosen};
    enum status status = linear_problem_solve(&part, solution, covariance, &choice->sum, err);
    for (size_t i = 0; !status && i < count; i++)
        if (!(solution[i] >= 0))
            status = STATUS_INPUT;
    if (!status)
        spread(choice, solution, covariance, count, place, problem->terms);
    return status;
}

enum status linear_problem_solve_positive(const struct linear_problem *problem, double *solution,
    double *covariance, double *sum_of_squares, bool *is_bounded, struct error *err)
{
    const size_t terms = problem->terms;
    struct choice best = {.sum = INFINITY}, choice;
    if (terms > LINEAR_TERMS_MOST || problem->rows < terms)
        return fail(err, STATUS_INPUT, "more points, or fewer terms",
            "%zu points cannot tell %zu terms", problem->rows, terms);
    double *scratch = memory_create(problem->rows * terms, sizeof *scratch);
    if (!scratch)
        return fail_memory(err);
    enum status status = STATUS_OK;
    for (unsigned chosen = (1u << terms) - 1; status != STATUS_FAULT && chosen > 0; chosen--) {
        status = try_choice(problem, chosen, scratch, &choice, err);
        if (!status && choice.sum < best.sum)
            best = choice;
    }
    memory_destroy(scratch);
    if (status == STATUS_FAULT)
        return status;
    if (!isfinite(best.sum))
        return fail(err, STATUS_INPUT, "look at the data", "no terms above 0 fit the points");
    for (size_t t = 0; t < terms; t++) {
        solution[t] = best.solution[t];
        if (is_bounded)
            is_bounded[t] = !(best.chosen >> t & 1);
    }
    for (size_t i = 0; covariance && i < terms * terms; i++)
        covariance[i] = best.covariance[i];
    if (sum_of_squares)
        *sum_of_squares = best.sum;
    return STATUS_OK;
}
