// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/propagate.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

/* The model with the place to try it at. */
struct probe {
    const struct budget_problem *problem;
    void *work;
    double *at;      /* inputs */
    double *outputs; /* three rows */
};

static enum status probe_init(
    struct probe *probe, const struct budget_problem *problem, struct error *err)
{
    const struct budget_model *model = &problem->model;
    *probe = (struct probe){.problem = problem};
    probe->at = memory_create(problem->inputs.count + 1, sizeof *probe->at);
    probe->outputs = memory_create(3 * model->outputs + 1, sizeof *probe->outputs);
    probe->work = model->create_work != NULL ? model->create_work(model->subject) : NULL;
    if (probe->at == NULL || probe->outputs == NULL ||
        (model->create_work != NULL && probe->work == NULL)) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < problem->inputs.count; i++) {
        probe->at[i] = problem->inputs.list[i].value;
    }
    return STATUS_OK;
}

static void probe_clear(struct probe *probe)
{
    if (probe->work != NULL) {
        probe->problem->model.destroy_work(probe->work);
    }
    memory_destroy(probe->at);
    memory_destroy(probe->outputs);
}

static void probe_compute(struct probe *probe, double *outputs)
{
    const struct budget_model *model = &probe->problem->model;
    model->compute(model->subject, probe->work, probe->at, outputs);
}

/* (y(x + step) - y(x - step)) / 2 step into `slope`. */
static void probe_slope(struct probe *probe, size_t input, double step, double *slope)
{
    const size_t outputs = probe->problem->model.outputs;
    double *above = probe->outputs, *below = above + outputs;
    const double value = probe->at[input];
    probe->at[input] = value + step;
    const double up = probe->at[input] - value; /* as it was rounded */
    probe_compute(probe, above);
    probe->at[input] = value - step;
    const double down = value - probe->at[input];
    probe_compute(probe, below);
    probe->at[input] = value;
    for (size_t j = 0; j < outputs; j++) {
        slope[j] = (above[j] - below[j]) / (up + down);
    }
}

static void set_sensitivities(struct propagation *result, struct probe *probe)
{
    double *wide = probe->outputs + 2 * result->outputs;
    double *narrow = result->scatter_share; /* free until the shares are taken */
    for (size_t i = 0; i < result->inputs; i++) {
        const double u = probe->problem->inputs.list[i].u;
        if (!(u > 0.0)) {
            continue;
        }
        probe_slope(probe, i, 0.5 * u, wide);
        probe_slope(probe, i, 0.25 * u, narrow);
        for (size_t j = 0; j < result->outputs; j++) {
            const size_t at = j * result->inputs + i;
            result->sensitivity[at] = (4.0 * narrow[j] - wide[j]) / 3.0;
            result->curvature[at] = fabs(narrow[j] - wide[j]) * u;
        }
    }
}

static double get_correlation(const struct budget_inputs *inputs, size_t a, size_t b)
{
    return inputs->correlation != NULL ? inputs->correlation[a * inputs->count + b]
           : a == b                    ? 1.0
                                       : 0.0;
}

static double get_term(const struct propagation *result, const struct budget_inputs *inputs,
    size_t output, size_t input)
{
    return result->sensitivity[output * result->inputs + input] * inputs->list[input].u;
}

/* sum_ik c_i u_i r_ik c_k u_k of two outputs; the row sums into `rows` where they are wanted. */
static double add_terms(const struct propagation *result, const struct budget_problem *problem,
    size_t a, size_t b, double *rows)
{
    const struct budget_inputs *inputs = &problem->inputs;
    double sum = 0.0;
    for (size_t i = 0; i < inputs->count; i++) {
        const double term = get_term(result, inputs, a, i);
        double with = get_term(result, inputs, b, i);
        for (size_t k = 0; inputs->correlation != NULL && k < inputs->count; k++) {
            with += k != i ? get_correlation(inputs, i, k) * get_term(result, inputs, b, k) : 0.0;
        }
        sum += term * with;
        if (rows != NULL) {
            rows[i] = term * with;
        }
    }
    return sum;
}

static double get_scatter(const struct budget_problem *problem, size_t a, size_t b)
{
    const struct budget_inputs *scatter = &problem->scatter;
    return scatter->count == 0
               ? 0.0
               : scatter->list[a].u * scatter->list[b].u * get_correlation(scatter, a, b);
}

/* nu = u^4 / sum (c_i u_i)^4 / nu_i */
static double compute_freedom(
    const struct propagation *result, const struct budget_problem *problem, size_t output)
{
    double sum = 0.0;
    for (size_t i = 0; i < result->inputs; i++) {
        const double square = pow(get_term(result, &problem->inputs, output, i), 2.0);
        sum += square * square / problem->inputs.list[i].freedom;
    }
    if (problem->scatter.count > 0) {
        sum += pow(problem->scatter.list[output].u, 4.0) / problem->scatter.list[output].freedom;
    }
    return sum > 0.0 ? pow(result->u[output], 4.0) / sum : INFINITY;
}

static void combine(struct propagation *result, const struct budget_problem *problem)
{
    const size_t m = result->outputs;
    for (size_t a = 0; a < m; a++) {
        for (size_t b = 0; b < m; b++) {
            result->covariance[a * m + b] =
                add_terms(result, problem, a, b, NULL) + get_scatter(problem, a, b);
        }
    }
    for (size_t j = 0; j < m; j++) {
        double *rows = result->share + j * result->inputs;
        const double variance = add_terms(result, problem, j, j, rows) + get_scatter(problem, j, j);
        result->u[j] = sqrt(fmax(variance, 0.0));
        for (size_t i = 0; i < result->inputs; i++) {
            rows[i] = variance > 0.0 ? rows[i] / variance : 0.0;
            double *curvature = &result->curvature[j * result->inputs + i];
            *curvature = result->u[j] > 0.0 ? *curvature / result->u[j] : 0.0;
        }
        result->scatter_share[j] = variance > 0.0 ? get_scatter(problem, j, j) / variance : 0.0;
        result->freedom[j] = compute_freedom(result, problem, j);
    }
}

enum status propagation_create(
    struct propagation *result, const struct budget_problem *problem, struct error *err)
{
    const size_t n = problem->inputs.count, m = problem->model.outputs;
    struct propagation fresh = {.inputs = n, .outputs = m};
    struct probe probe;
    double **const rows[] = {&fresh.value, &fresh.u, &fresh.freedom, &fresh.scatter_share};
    double **const tables[] = {&fresh.sensitivity, &fresh.share, &fresh.curvature};
    enum status status = probe_init(&probe, problem, err);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        *rows[i] = memory_create(m + 1, sizeof(double));
        status = *rows[i] == NULL ? fail_memory(err) : status;
    }
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        *tables[i] = memory_create(m * n + 1, sizeof(double));
        status = *tables[i] == NULL ? fail_memory(err) : status;
    }
    fresh.covariance = memory_create(m * m + 1, sizeof *fresh.covariance);
    status = fresh.covariance == NULL ? fail_memory(err) : status;
    if (status == STATUS_OK) {
        probe_compute(&probe, fresh.value);
        set_sensitivities(&fresh, &probe);
        combine(&fresh, problem);
        *result = fresh;
    } else {
        propagation_clear(&fresh);
    }
    probe_clear(&probe);
    return status;
}

void propagation_clear(struct propagation *result)
{
    memory_destroy(result->value);
    memory_destroy(result->u);
    memory_destroy(result->freedom);
    memory_destroy(result->sensitivity);
    memory_destroy(result->share);
    memory_destroy(result->scatter_share);
    memory_destroy(result->covariance);
    memory_destroy(result->curvature);
    *result = (struct propagation){0};
}

/* Of u, for the second-order terms: small beside what bends the model further, and rounding stays
 * below 1e-12 of the output. */
static const double STEP = 0.0625;

/* What inputs a and b together add. With y(p, q) the model at a moved by p and b by q steps of
 * their u: f_ab u_a u_b = (y(1,1) - y(1,-1) - y(-1,1) + y(-1,-1)) / 4 and f_abb u_a u_b^2 = (y(1,1)
 * - 2 y(1,0) + y(1,-1) - y(-1,1) + 2 y(-1,0) - y(-1,-1)) / 2, for a = b from y(+-1) and y(+-2). */
static void add_pair(struct probe *probe, size_t a, size_t b, const double *linear, double *added)
{
    const size_t m = probe->problem->model.outputs, n = probe->problem->inputs.count;
    const struct budget_input *list = probe->problem->inputs.list;
    double *y = probe->outputs, *mixed = y + m, *third = y + 2 * m;
    memset(mixed, 0, 2 * m * sizeof *mixed);
    for (int p = a == b ? -2 : -1; p <= (a == b ? 2 : 1); p++) {
        for (int q = a == b ? 0 : -1; q <= (a == b ? 0 : 1); q++) {
            probe->at[a] = list[a].value + p * STEP * list[a].u;
            if (a != b) {
                probe->at[b] = list[b].value + q * STEP * list[b].u;
            }
            probe_compute(probe, y);
            const double to_mixed = a != b ? 0.25 * p * q : p == 0 ? -2.0 : abs(p) == 1 ? 1.0 : 0.0;
            const double to_third = a != b        ? 0.5 * p * (q == 0 ? -2.0 : 1.0)
                                    : abs(p) == 2 ? 0.25 * p
                                                  : -1.0 * p;
            for (size_t j = 0; j < m; j++) {
                mixed[j] += to_mixed * y[j];
                third[j] += to_third * y[j];
            }
        }
    }
    probe->at[a] = list[a].value;
    probe->at[b] = list[b].value;
    for (size_t j = 0; j < m; j++) {
        const double second = mixed[j] / (STEP * STEP);
        added[j] +=
            0.5 * second * second + linear[j * n + a] * list[a].u * third[j] / (STEP * STEP * STEP);
    }
}

enum status propagation_compute_second_order(
    const struct budget_problem *problem, double *added, struct error *err)
{
    struct propagation linear = {0};
    struct probe probe;
    enum status status = probe_init(&probe, problem, err);
    if (status == STATUS_OK) {
        status = propagation_create(&linear, problem, err);
    }
    if (status == STATUS_OK) {
        memset(added, 0, problem->model.outputs * sizeof *added);
        for (size_t a = 0; a < problem->inputs.count; a++) {
            for (size_t b = 0; b < problem->inputs.count; b++) {
                add_pair(&probe, a, b, linear.sensitivity, added);
            }
        }
    }
    propagation_clear(&linear);
    probe_clear(&probe);
    return status;
}
