// SPDX-License-Identifier: GPL-3.0-or-later
/* Nonlinear least squares: gsl_multifit_nlinear's Levenberg-Marquardt in a trust region scaled
 * after J. J. More (Lecture Notes in Mathematics 630 (1978) 105), linear steps by QR. The search
 * runs over unbounded variables q:
 *
 *     no bound     p = q               lower       p = low + e^q
 *     upper        p = high - e^q      both        p = low + (high - low) / (1 + e^-q)
 *
 * A search that stalls is taken up again from where it stands with a new trust region, as long as
 * that helps: valleys as flat as Bennett5 and MGH09 of NIST's StRD need it. Two searches start:
 * plain steps, and steps with geodesic acceleration (M. K. Transtrum, J. P. Sethna,
 * arXiv:1201.5885); of NIST's starts each of the two misses one or two that the other finds (plain:
 * BoxBOD and MGH10 from the far start; accelerated: Rat43). */
#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <math.h>

#include "base/memory.h"
#include "num/guard.h"
#include "num/least_squares.h"

#define RESTARTS_MOST 20

static const double DIFFERENCE = 6e-6; /* cube root of the rounding unit */
static const double TOLERANCE = 1e-10;
static const size_t ITERATIONS = 500;
static const double GAIN = 1e-13; /* relative: less is rounding */

struct search {
    const struct nonlinear_problem *problem;
    double *parameters; /* of the last call */
    double *slope;      /* dp/dq */
    double *jacobian;   /* residual_count * parameter_count */
    double *plus, *minus;
};

static double get_low(const struct nonlinear_problem *problem, size_t p)
{
    return problem->lowest ? problem->lowest[p] : -INFINITY;
}

static double get_high(const struct nonlinear_problem *problem, size_t p)
{
    return problem->highest ? problem->highest[p] : INFINITY;
}

static double get_parameter(
    const struct nonlinear_problem *problem, size_t p, double q, double *slope)
{
    const double low = get_low(problem, p), high = get_high(problem, p);
    *slope = 1;
    if (isfinite(low) && isfinite(high)) {
        const double share = 1 / (1 + exp(-q));
        *slope = (high - low) * share / (1 + exp(q));
        return low + (high - low) * share;
    }
    if (isfinite(low)) {
        *slope = exp(q);
        return low + exp(q);
    }
    if (isfinite(high)) {
        *slope = -exp(q);
        return high - exp(q);
    }
    return q;
}

static double get_variable(const struct nonlinear_problem *problem, size_t p, double value)
{
    const double low = get_low(problem, p), high = get_high(problem, p);
    if (isfinite(low) && isfinite(high))
        return log((value - low) / (high - value));
    if (isfinite(low))
        return log(value - low);
    return isfinite(high) ? log(high - value) : value;
}

static bool set_parameters(struct search *search, const gsl_vector *q)
{
    bool is_finite = true;
    for (size_t p = 0; p < search->problem->parameter_count; p++) {
        search->parameters[p] =
            get_parameter(search->problem, p, gsl_vector_get(q, p), &search->slope[p]);
        is_finite = is_finite && isfinite(search->parameters[p]);
    }
    return is_finite;
}

static bool are_finite(const double *values, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!isfinite(values[i]))
            return false;
    return true;
}

static int compute_residuals(const gsl_vector *q, void *context, gsl_vector *f)
{
    struct search *search = context;
    const struct nonlinear_problem *problem = search->problem;
    const size_t count = problem->residual_count;
    /* residuals that nobody accepts: the step is shortened */
    bool is_good = set_parameters(search, q) &&
                   problem->compute_residuals(search->parameters, search->plus, problem->context) &&
                   are_finite(search->plus, count);
    for (size_t i = 0; i < count; i++)
        gsl_vector_set(f, i, is_good ? search->plus[i] : 1e150);
    return GSL_SUCCESS;
}

/* Central differences in p, one-sided where the model ends. */
static bool difference(struct search *search, size_t p)
{
    const struct nonlinear_problem *problem = search->problem;
    const size_t count = problem->residual_count, width = problem->parameter_count;
    const double at = search->parameters[p],
                 share = problem->difference > 0 ? problem->difference : DIFFERENCE;
    double step = share * (at != 0 ? fabs(at) : 1);
    double high = at + step, low = at - step;
    high = high < get_high(problem, p) ? high : at;
    low = low > get_low(problem, p) ? low : at;
    search->parameters[p] = high;
    bool has_high =
        problem->compute_residuals(search->parameters, search->plus, problem->context) &&
        are_finite(search->plus, count);
    search->parameters[p] = has_high ? low : at;
    bool has_low =
        problem->compute_residuals(search->parameters, search->minus, problem->context) &&
        are_finite(search->minus, count);
    if (!has_high || !has_low) { /* from the point itself */
        double *other = has_high ? search->minus : search->plus;
        search->parameters[p] = has_high ? at : low;
        if (!problem->compute_residuals(search->parameters, other, problem->context) ||
            !are_finite(other, count))
            return false;
        if (has_high) {
            low = at;
        } else { /* minus holds the point, plus what is below it */
            high = low;
            low = at;
        }
    }
    search->parameters[p] = at;
    for (size_t i = 0; i < count; i++)
        search->jacobian[i * width + p] = (search->plus[i] - search->minus[i]) / (high - low);
    return high != low;
}

static int compute_jacobian(const gsl_vector *q, void *context, gsl_matrix *j)
{
    struct search *search = context;
    const struct nonlinear_problem *problem = search->problem;
    const size_t count = problem->residual_count, width = problem->parameter_count;
    bool is_good = set_parameters(search, q);
    if (is_good && problem->compute_jacobian)
        is_good = problem->compute_jacobian(search->parameters, search->jacobian, problem->context);
    for (size_t p = 0; is_good && !problem->compute_jacobian && p < width; p++)
        is_good = difference(search, p);
    if (!is_good || !are_finite(search->jacobian, count * width))
        return GSL_FAILURE;
    for (size_t i = 0; i < count; i++)
        for (size_t p = 0; p < width; p++)
            gsl_matrix_set(j, i, p, search->jacobian[i * width + p] * search->slope[p]);
    return GSL_SUCCESS;
}

static double get_sum(const gsl_multifit_nlinear_workspace *work)
{
    double sum = 0;
    gsl_blas_ddot(gsl_multifit_nlinear_residual(work), gsl_multifit_nlinear_residual(work), &sum);
    return sum;
}

/* One search from where `work` begins to its end; q becomes the best point. */
static bool run(
    gsl_vector *q, const struct search *search, gsl_multifit_nlinear_workspace *work, size_t *left)
{
    const double tolerance =
        search->problem->tolerance > 0 ? search->problem->tolerance : TOLERANCE;
    size_t done = 0;
    int reason = 0;
    int code = gsl_multifit_nlinear_driver(*left, tolerance, 0, 0, NULL, NULL, &reason, work);
    done = gsl_multifit_nlinear_niter(work);
    *left -= done < *left ? done : *left;
    gsl_vector_memcpy(q, gsl_multifit_nlinear_position(work));
    return code == GSL_SUCCESS;
}

/* `least` becomes the sum of squares; INFINITY: the model has no slopes at the start. */
static bool search_on(gsl_multifit_nlinear_fdf *fdf, gsl_vector *q, const struct search *search,
    gsl_multifit_nlinear_workspace *work, size_t *left, double *least)
{
    bool has_converged = false;
    double before = INFINITY;
    *least = INFINITY;
    for (int i = 0; i<RESTARTS_MOST && * left> 0; i++) {
        if (gsl_multifit_nlinear_init(q, fdf, work))
            break;
        has_converged = run(q, search, work, left) || i > 0;
        *least = get_sum(work);
        if (!(*least * (1 + GAIN) < before))
            break;
        before = *least;
    }
    return has_converged && *left > 0;
}

static enum status check(const struct nonlinear_problem *problem, const double *parameters,
    double *scratch, struct error *err)
{
    if (problem->residual_count < problem->parameter_count || problem->parameter_count == 0)
        return fail(err, STATUS_INPUT, "more points, or fewer parameters",
            "%zu points cannot tell %zu parameters", problem->residual_count,
            problem->parameter_count);
    for (size_t p = 0; p < problem->parameter_count; p++)
        if (!(parameters[p] > get_low(problem, p)) || !(parameters[p] < get_high(problem, p)))
            return fail(err, STATUS_INPUT, "start inside the bounds",
                "parameter %zu starts at %g, outside its bounds", p + 1, parameters[p]);
    if (!problem->compute_residuals(parameters, scratch, problem->context) ||
        !are_finite(scratch, problem->residual_count))
        return fail(err, STATUS_INPUT, "start elsewhere", "the start has no residuals");
    return STATUS_OK;
}

/* What a search works with. */
struct rooms {
    gsl_multifit_nlinear_workspace *work;
    gsl_vector *q;
    gsl_matrix *variance;
};

static void clear(struct rooms *rooms)
{
    if (rooms->work)
        gsl_multifit_nlinear_free(rooms->work);
    if (rooms->q)
        gsl_vector_free(rooms->q);
    if (rooms->variance)
        gsl_matrix_free(rooms->variance);
    *rooms = (struct rooms){0};
}

static enum status create(struct rooms *rooms, const struct nonlinear_problem *problem,
    const gsl_multifit_nlinear_trs *method, struct error *err)
{
    const size_t width = problem->parameter_count;
    gsl_multifit_nlinear_parameters settings = gsl_multifit_nlinear_default_parameters();
    settings.trs = method;
    settings.solver = gsl_multifit_nlinear_solver_qr;
    *rooms = (struct rooms){.work = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust,
                                &settings, problem->residual_count, width),
        .q = gsl_vector_alloc(width),
        .variance = gsl_matrix_alloc(width, width)};
    return rooms->work && rooms->q && rooms->variance ? STATUS_OK : fail_memory(err);
}

/* Searches by one method; keeps what it finds if that is better than what `fit` has. */
static enum status try_method(struct search *search, const gsl_multifit_nlinear_trs *method,
    const double *start, double *parameters, double *covariance, struct nonlinear_fit *fit,
    struct error *err)
{
    const struct nonlinear_problem *problem = search->problem;
    const size_t width = problem->parameter_count;
    const size_t most = problem->iterations ? problem->iterations : ITERATIONS;
    size_t left = most;
    struct rooms rooms;
    gsl_multifit_nlinear_fdf fdf = {.f = compute_residuals,
        .df = compute_jacobian,
        .n = problem->residual_count,
        .p = width,
        .params = search};
    enum status status = create(&rooms, problem, method, err);
    for (size_t p = 0; !status && p < width; p++)
        gsl_vector_set(rooms.q, p, get_variable(problem, p, start[p]));
    double sum = INFINITY;
    bool has_converged = !status && search_on(&fdf, rooms.q, search, rooms.work, &left, &sum);
    fit->iterations += most - left;
    if (sum < fit->sum_of_squares) {
        fit->has_converged = has_converged;
        fit->sum_of_squares = sum;
        (void)set_parameters(search, rooms.q);
        gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(rooms.work), 0, rooms.variance);
        for (size_t p = 0; p < width; p++)
            parameters[p] = search->parameters[p];
        for (size_t i = 0; covariance && i < width * width; i++)
            covariance[i] = gsl_matrix_get(rooms.variance, i / width, i % width) *
                            search->slope[i / width] * search->slope[i % width];
    }
    clear(&rooms);
    return status;
}

enum status nonlinear_problem_solve(const struct nonlinear_problem *problem, double *parameters,
    double *covariance, struct nonlinear_fit *fit, struct error *err)
{
    const size_t count = problem->residual_count, width = problem->parameter_count;
    struct nonlinear_fit found = {.sum_of_squares = INFINITY};
    double *room = memory_create(3 * width + count * width + 2 * count, sizeof *room);
    if (!room)
        return fail_memory(err);
    guard_gsl();
    double *start = room;
    struct search search = {.problem = problem,
        .parameters = room + width,
        .slope = room + 2 * width,
        .jacobian = room + 3 * width,
        .plus = room + 3 * width + count * width,
        .minus = room + 3 * width + count * width + count};
    enum status status = check(problem, parameters, search.plus, err);
    for (size_t p = 0; !status && p < width; p++)
        start[p] = parameters[p];
    if (!status)
        status = try_method(
            &search, gsl_multifit_nlinear_trs_lm, start, parameters, covariance, &found, err);
    if (!status && !problem->is_quick)
        status = try_method(
            &search, gsl_multifit_nlinear_trs_lmaccel, start, parameters, covariance, &found, err);
    if (!status && !isfinite(found.sum_of_squares))
        status = fail(err, STATUS_INPUT, "start elsewhere", "the start has no slopes");
    if (!status)
        *fit = found;
    memory_destroy(room);
    return status;
}
