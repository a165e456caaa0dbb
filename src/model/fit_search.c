// SPDX-License-Identifier: GPL-3.0-or-later
/* Bounded least squares from many starts. Guesses are even in the model's range of guesses (J. H.
 * Halton, Numer. Math. 2 (1960) 84: no random numbers, the same points every time) and are judged
 * at some points of three of the loops; from the best of them short searches set out on the same
 * points, and from where the best of those ended the last one, on all points of up to six of the
 * loops. Each loop counts alike: residuals are relative to its peak and to the root of its number
 * of points. */
#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "model/fit.h"
#include "num/least_squares.h"
#include "quantity/constant.h"

enum {
    GUESSES = 120,
    STARTS = 3,
    FINE_LOOPS = 6, /* at most, in the last search */
    COARSE_LOOPS = 3,
    COARSE_POINTS = 21,
    VARIABLES = MODEL_PARAMETERS,
};

struct search {
    const struct model *model;
    const struct fit_data *data;
    const struct branch *branches; /* what is compared: all of the data, or a part */
    size_t branch_count, residual_count;
    double tolerance; /* of the model's integration, relative */
    struct fit_range ranges[VARIABLES];
    size_t variables;
};

static size_t count_residuals(const struct branch *branches, size_t count)
{
    size_t sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += branches[i].count;
    return sum;
}

static bool compute_residuals(const double *variables, double *residuals, void *context)
{
    const struct search *search = context;
    double parameters[MODEL_PARAMETERS] = {0};
    struct error err;
    search->model->fit->set_parameters(search->data, variables, parameters);
    if (model_check(search->model, parameters, &err))
        return false;
    for (size_t k = 0; k < search->branch_count; k++) {
        const struct branch *branch = &search->branches[k];
        if (search->model->compute_branch(parameters, branch->peak, branch->field, branch->count,
                search->tolerance, residuals, &err))
            return false;
        double peak = branch->polarization[0] + MAGNETIC_CONSTANT * branch->peak;
        double weight = 1.0 / (peak * sqrt((double)branch->count));
        for (size_t i = 0; i < branch->count; i++) {
            double measured = branch->polarization[i] + MAGNETIC_CONSTANT * branch->field[i];
            residuals[i] = weight * (residuals[i] - measured);
        }
        residuals += branch->count;
    }
    return true;
}

static double compute_cost(const struct search *search, const double *variables, double *residuals)
{
    if (!compute_residuals(variables, residuals, (void *)search))
        return INFINITY;
    double sum = 0.0;
    for (size_t i = 0; i < search->residual_count; i++)
        sum += residuals[i] * residuals[i];
    return isfinite(sum) ? sum : INFINITY;
}

/* The digits of `index` in a prime base, mirrored at the point. */
static double get_halton(size_t index, size_t base)
{
    double value = 0.0, place = 1.0;
    for (; index > 0; index /= base) {
        place /= (double)base;
        value += place * (double)(index % base);
    }
    return value;
}

struct start {
    double cost;
    double variables[VARIABLES];
};

static void set_guess(const struct search *search, size_t index, double *variables)
{
    static const size_t bases[VARIABLES] = {2, 3, 5, 7, 11, 13, 17, 19};
    for (size_t v = 0; v < search->variables; v++) {
        const struct fit_range *range = &search->ranges[v];
        double share = get_halton(index + 1, bases[v]);
        variables[v] = range->is_logarithmic ? range->least * pow(range->most / range->least, share)
                                             : range->least + share * (range->most - range->least);
    }
}

/* The best guesses, best first. */
static void find_starts(const struct search *search, struct start *starts, double *residuals)
{
    for (size_t i = 0; i < STARTS; i++)
        starts[i].cost = INFINITY;
    for (size_t g = 0; g < GUESSES; g++) {
        struct start guess = {0};
        set_guess(search, g, guess.variables);
        guess.cost = compute_cost(search, guess.variables, residuals);
        for (size_t i = 0; i < STARTS; i++)
            if (guess.cost < starts[i].cost) {
                struct start other = starts[i];
                starts[i] = guess;
                guess = other;
            }
    }
}

/* Least squares from a start; what cannot be improved stays. */
static enum status improve(struct search *search, struct start *start, size_t iterations,
    double tolerance, double *covariance, struct error *err)
{
    double lowest[VARIABLES], highest[VARIABLES];
    for (size_t v = 0; v < search->variables; v++) {
        lowest[v] = search->ranges[v].lowest;
        highest[v] = search->ranges[v].highest;
        double margin = 1e-9 * (highest[v] - lowest[v]); /* a search may end on a bound */
        start->variables[v] =
            fmax(fmin(start->variables[v], highest[v] - margin), lowest[v] + margin);
    }
    struct nonlinear_problem problem = {
        .compute_residuals = compute_residuals,
        .context = search,
        .residual_count = search->residual_count,
        .parameter_count = search->variables,
        .lowest = lowest,
        .highest = highest,
        .difference =
            search->tolerance > 1e-5 ? 1e-3 : 2e-4, /* far above the integration's error */
        .tolerance = tolerance,
        .iterations = iterations,
    };
    struct nonlinear_fit fit;
    enum status status = nonlinear_problem_solve(&problem, start->variables, covariance, &fit, err);
    if (!status)
        start->cost = fit.sum_of_squares;
    return status;
}

/* Some points of some loops: the largest, the one in the middle, the smallest. Borrows nothing but
 * the points' numbers. */
struct coarse {
    struct branch branches[COARSE_LOOPS];
    double field[COARSE_LOOPS][COARSE_POINTS], polarization[COARSE_LOOPS][COARSE_POINTS];
    size_t count;
};

static void coarse_init(struct coarse *coarse, const struct fit_data *data)
{
    const size_t wanted[COARSE_LOOPS] = {data->count - 1, (data->count - 1) / 2, 0};
    coarse->count = 0;
    for (size_t k = 0; k < COARSE_LOOPS && k < data->count; k++) {
        const struct branch *from = &data->branches[wanted[k]];
        struct branch *to = &coarse->branches[coarse->count];
        to->peak = from->peak;
        to->count = from->count < COARSE_POINTS ? from->count : COARSE_POINTS;
        to->field = coarse->field[coarse->count];
        to->polarization = coarse->polarization[coarse->count];
        for (size_t i = 0; i < to->count; i++) {
            size_t at = i * (from->count - 1) / (to->count - 1);
            to->field[i] = from->field[at];
            to->polarization[i] = from->polarization[at];
        }
        coarse->count++;
    }
}

static enum status find_best(
    struct search *search, struct start *best, double *residuals, struct error *err)
{
    struct coarse coarse;
    struct start starts[STARTS] = {0};
    struct search rough = *search;
    rough.tolerance = 1e-4;
    coarse_init(&coarse, search->data);
    rough.branches = coarse.branches;
    rough.branch_count = coarse.count;
    rough.residual_count = count_residuals(coarse.branches, coarse.count);
    find_starts(&rough, starts, residuals);
    best->cost = INFINITY;
    for (size_t i = 0; i < STARTS && isfinite(starts[i].cost); i++) {
        struct error ignored;
        if (improve(&rough, &starts[i], 12, 1e-2, NULL, &ignored))
            continue;
        if (starts[i].cost < best->cost)
            *best = starts[i];
    }
    if (isfinite(best->cost))
        return STATUS_OK;
    return fail(err, STATUS_INPUT, "choose another model",
        "model '%s' draws none of these loops, whatever its parameters", search->model->name);
}

/* Covariance of the parameters from that of the variables, through the derivatives; u and
 * correlations from it. */
static void set_uncertainty(const struct search *search, const struct start *best,
    const double *covariance, struct model_fit *fit)
{
    size_t n = search->variables, count = search->model->parameter_count;
    double slopes[MODEL_PARAMETERS][VARIABLES] = {0}, product[MODEL_PARAMETERS][MODEL_PARAMETERS];
    for (size_t v = 0; v < n; v++) {
        double above[VARIABLES], below[VARIABLES];
        double high[MODEL_PARAMETERS] = {0}, low[MODEL_PARAMETERS] = {0};
        memcpy(above, best->variables, sizeof above);
        memcpy(below, best->variables, sizeof below);
        double step = 1e-6 * fabs(best->variables[v]);
        above[v] += step;
        below[v] -= step;
        search->model->fit->set_parameters(search->data, above, high);
        search->model->fit->set_parameters(search->data, below, low);
        for (size_t p = 0; step > 0.0 && p < count; p++)
            slopes[p][v] = (high[p] - low[p]) / (2.0 * step);
    }
    size_t rows = search->residual_count;
    double variance = rows > n ? best->cost / (double)(rows - n) : 0.0;
    for (size_t p = 0; p < count; p++)
        for (size_t q = 0; q < count; q++) {
            product[p][q] = 0.0;
            for (size_t v = 0; v < n; v++)
                for (size_t w = 0; w < n; w++)
                    product[p][q] += slopes[p][v] * covariance[v * n + w] * slopes[q][w];
        }
    for (size_t p = 0; p < count; p++) {
        fit->u[p] = sqrt(fmax(variance * product[p][p], 0.0));
        for (size_t q = 0; q < count; q++) {
            double size = sqrt(product[p][p] * product[q][q]);
            fit->correlation[p][q] = size > 0.0 ? product[p][q] / size : 0.0;
        }
    }
}

/* The variables and the parameters of the rules stand in the same order from the end. */
static void set_limits(const struct search *search, const struct start *best, struct model_fit *fit)
{
    size_t shift = search->model->parameter_count - search->variables;
    for (size_t v = 0; v < search->variables; v++) {
        const struct fit_range *range = &search->ranges[v];
        double margin = 1e-4 * (range->highest - range->lowest), x = best->variables[v];
        if (range->is_logarithmic && range->lowest > 0.0)
            fit->is_at_limit[v + shift] = x < 1.01 * range->lowest || x > 0.99 * range->highest;
        else
            fit->is_at_limit[v + shift] = x < range->lowest + margin || x > range->highest - margin;
    }
}

enum status fit_search(const struct fit_data *data, struct model_fit *fit, struct error *err)
{
    const struct model *model = fit->material.model;
    struct search search = {.model = model,
        .data = data,
        .branches = data->branches,
        .branch_count = data->count,
        .residual_count = count_residuals(data->branches, data->count),
        .tolerance = 1e-7,
        .variables = model->fit->variable_count};
    model->fit->set_ranges(data, search.ranges);
    double *residuals =
        memory_create(search.residual_count + COARSE_LOOPS * COARSE_POINTS, sizeof *residuals);
    if (!residuals)
        return fail_memory(err);
    struct branch fine[FINE_LOOPS]; /* borrowed: evenly by rank, the largest among them */
    if (data->count > FINE_LOOPS) {
        for (size_t i = 0; i < FINE_LOOPS; i++)
            fine[i] = data->branches[(i + 1) * data->count / FINE_LOOPS - 1];
        search.branches = fine;
        search.branch_count = FINE_LOOPS;
        search.residual_count = count_residuals(fine, FINE_LOOPS);
    }
    struct start best = {0};
    double covariance[VARIABLES * VARIABLES];
    enum status status = find_best(&search, &best, residuals, err);
    if (!status)
        status = improve(&search, &best, 40, 1e-7, covariance, err);
    memory_destroy(residuals);
    if (status)
        return status;
    model->fit->set_parameters(data, best.variables, fit->material.parameters);
    set_uncertainty(&search, &best, covariance, fit);
    set_limits(&search, &best, fit);
    return STATUS_OK;
}
