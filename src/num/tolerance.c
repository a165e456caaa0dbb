// SPDX-License-Identifier: GPL-3.0-or-later
/* Both probabilities are integrals over the error of the mean, z = (mean - mu) sqrt n / sigma,
 * which is normal: within them the share is reached when s is large enough, and (n - 1) s²/sigma²
 * is chi-square. The integrands are smooth, so that Gauss-Legendre panels reach rounding.
 * One-sided: the non-central t distribution in another writing, without its cancelling series. */
#include "num/tolerance.h"

#include <gsl/gsl_integration.h>
#include <gsl/gsl_roots.h>
#include <math.h>
#include <stdbool.h>

#include "num/distribution.h"
#include "num/guard.h"
#include "num/student.h"

#define PANELS 8
#define POINTS 20
#define COUNT_LIMIT 100000

static const double Z_LIMIT = 9; /* beyond lies 2e-19 of a normal distribution */
static const double ROOT_TWO_PI = 2.5066282746310005024;
static const double Z_LEAST = -38, Z_MOST = 8.2; /* beyond, a share is 0 or 1 */
static const double FACTOR_LEAST = 1e-6, FACTOR_MOST = 1e12;
static const double ROUNDING = 1e-12; /* of a confidence */

/* One question: the sample's size and the share of the population. */
struct question {
    double count;
    double share;
    double factor;
    bool is_two_sided;
    gsl_integration_glfixed_table *table; /* what question_init made for the computation */
    gsl_root_fsolver *solver;
};

/* False: no memory, and then all is given back. */
static bool question_init(struct question *question)
{
    guard_gsl();
    question->table = gsl_integration_glfixed_table_alloc(POINTS);
    question->solver =
        question->table == NULL ? NULL : gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (question->table != NULL && question->solver == NULL) {
        gsl_integration_glfixed_table_free(question->table); /* which does not take NULL */
    }
    return question->solver != NULL;
}

static void question_clear(struct question *question)
{
    gsl_integration_glfixed_table_free(question->table);
    gsl_root_fsolver_free(question->solver);
}

static double get_density(double z)
{
    return exp(-0.5 * z * z) / ROOT_TWO_PI;
}

/* Half the width, in sigma, of the interval around a point that is `off` from the mean which holds
 * the share. By Newton's steps on a function that is concave from its root on. */
static double find_reach(double off, double share)
{
    off = fabs(off);
    double reach = off + normal_compute_quantile(share);
    for (int i = 0; i < 60; i++) {
        const double held = normal_compute_share(reach - off) - normal_compute_share(-reach - off);
        const double slope = get_density(reach - off) + get_density(reach + off);
        const double step = (held - share) / slope;
        reach = fmax(reach - step, 0.5 * reach);
        if (fabs(step) <= 1e-15 * reach) {
            break;
        }
    }
    return reach;
}

/* Probability that s reaches the share, given the error of the mean. */
static double get_probability(const struct question *question, double z)
{
    const double freedom = question->count - 1;
    const double off = z / sqrt(question->count);
    if (question->is_two_sided) {
        const double needed = find_reach(off, question->share) / question->factor;
        return 1 - chi_square_compute_share(freedom * needed * needed, freedom);
    }
    /* off + k s/sigma >= quantile */
    const double needed = (normal_compute_quantile(question->share) - off) / question->factor;
    const double below =
        needed > 0 ? chi_square_compute_share(freedom * needed * needed, freedom) : 0;
    return question->factor > 0 ? 1 - below : below;
}

static double integrate(const struct question *question, double from, double to)
{
    double sum = 0;
    for (int panel = 0; panel < PANELS; panel++) {
        const double left = from + (to - from) * panel / PANELS;
        const double right = from + (to - from) * (panel + 1) / PANELS;
        for (size_t i = 0; i < POINTS; i++) {
            double z, weight;
            gsl_integration_glfixed_point(left, right, i, &z, &weight, question->table);
            sum += weight * get_density(z) * get_probability(question, z);
        }
    }
    return sum;
}

/* The confidence reached. One-sided, the chi-square share has a kink where the needed s is zero:
 * the panels end there. */
static double compute_confidence(const struct question *question)
{
    if (question->is_two_sided) {
        return 2 * integrate(question, 0, Z_LIMIT);
    }
    const double kink = normal_compute_quantile(question->share) * sqrt(question->count);
    if (fabs(kink) >= Z_LIMIT) {
        return integrate(question, -Z_LIMIT, Z_LIMIT);
    }
    return integrate(question, -Z_LIMIT, kink) + integrate(question, kink, Z_LIMIT);
}

/* Of any share and factor. */
static double find_confidence(const struct question *question)
{
    if (question->share <= 0 || question->share >= 1) {
        return question->share <= 0 ? 1 : 0;
    }
    if (question->factor == 0 && !question->is_two_sided) {
        /* the mean itself lies beyond the quantile */
        return 1 - normal_compute_share(
                       normal_compute_quantile(question->share) * sqrt(question->count));
    }
    return compute_confidence(question);
}

static double ask(struct question *question)
{
    if (!question_init(question)) {
        return NAN;
    }
    const double confidence = find_confidence(question);
    question_clear(question);
    return confidence;
}

double tolerance_compute_confidence(size_t count, double share, double factor)
{
    return ask(&(struct question){.count = (double)count, .share = share, .factor = factor});
}

double tolerance_compute_confidence_two_sided(size_t count, double share, double factor)
{
    return ask(&(struct question){
        .count = (double)count, .share = share, .factor = factor, .is_two_sided = true});
}

/* For GSL's root finder: the confidence missed, over the logarithm of the factor. */
struct target {
    struct question question;
    double confidence;
};

static double get_miss(double logarithm, void *data)
{
    struct target *target = data;
    target->question.factor = exp(logarithm);
    return compute_confidence(&target->question) - target->confidence;
}

/* Doublings of `low`, which is too small. */
static bool find_bracket(struct target *target, double *low, double *high)
{
    *high = 2 * *low;
    while (get_miss(log(*high), target) < 0) {
        *low = *high;
        *high *= 2;
        if (*high > FACTOR_MOST) {
            return false;
        }
    }
    return true;
}

/* Brent's method from a bracket, down to a width of 1e-13; NaN: it is none. */
static double find_root(gsl_root_fsolver *solver, gsl_function *function, double low, double high)
{
    if (gsl_root_fsolver_set(solver, function, low, high) != 0) {
        return NAN;
    }
    for (int i = 0; i < 200 && gsl_root_fsolver_iterate(solver) == 0; i++) {
        if (gsl_root_fsolver_x_upper(solver) - gsl_root_fsolver_x_lower(solver) < 1e-13) {
            break;
        }
    }
    return gsl_root_fsolver_root(solver);
}

static double solve(struct target *target)
{
    gsl_function function = {get_miss, target};
    /* no factor of a confidence of 0.5 or more falls below half the normal quantile */
    double low = fmax(0.5 * normal_compute_quantile(target->question.share), FACTOR_LEAST), high;
    if (get_miss(log(low), target) > -ROUNDING) {
        return 0; /* half of the population with even odds: the mean itself */
    }
    return find_bracket(target, &low, &high)
               ? exp(find_root(target->question.solver, &function, log(low), log(high)))
               : NAN;
}

/* The same over the share, on the normal scale: near 1 the share itself has no digits. */
static double get_miss_of_share(double z, void *data)
{
    struct target *target = data;
    target->question.share = normal_compute_share(z);
    return find_confidence(&target->question) - target->confidence;
}

static double solve_for_share(struct target *target)
{
    gsl_function function = {get_miss_of_share, target};
    double low = fmin(fmax(target->question.factor, Z_LEAST), Z_MOST), high = low;
    /* outwards from the factor itself until the confidence lies between; rounding decides at the
     * ends */
    double step = 1;
    while (low > Z_LEAST && get_miss_of_share(low, target) <= 0) {
        low = fmax(low - step, Z_LEAST);
        step *= 2;
    }
    while (high < Z_MOST && get_miss_of_share(high, target) > 0) {
        high = fmin(high + 1, Z_MOST);
    }
    if (get_miss_of_share(low, target) <= 0 || get_miss_of_share(high, target) > 0) {
        return normal_compute_share(get_miss_of_share(low, target) <= 0 ? low : high);
    }
    return normal_compute_share(find_root(target->question.solver, &function, low, high));
}

double tolerance_compute_share(size_t count, double confidence, double factor)
{
    struct target target = {{.count = (double)count, .factor = factor}, confidence};
    if (!question_init(&target.question)) {
        return NAN;
    }
    const double share = solve_for_share(&target);
    question_clear(&target.question);
    return share;
}

static enum status check(size_t count, double share, double confidence, struct error *err)
{
    if (count < 2 || count > COUNT_LIMIT) {
        return fail(err, STATUS_INPUT, "a tolerance limit needs 2 to 100000 specimens",
            "no tolerance limit from a sample of %zu", count);
    }
    if (!(share >= 0.5 && share < 1)) {
        return fail(err, STATUS_INPUT, "a share such as 0.95",
            "the share of %g is not in 0.5 ... 1", share);
    }
    if (!(confidence >= 0.5 && confidence < 1)) {
        return fail(err, STATUS_INPUT, "a confidence such as 0.95",
            "the confidence of %g is not in 0.5 ... 1", confidence);
    }
    return STATUS_OK;
}

static enum status compute(struct target *target, double *factor, struct error *err)
{
    if (!question_init(&target->question)) {
        return fail_memory(err);
    }
    const double found = solve(target);
    question_clear(&target->question);
    if (!isfinite(found)) {
        return fail(err, STATUS_INPUT, "take a lower share or confidence, or more specimens",
            "no factor below %g shows a share of %.17g with a confidence of %.17g", FACTOR_MOST,
            target->question.share, target->confidence);
    }
    *factor = found;
    return STATUS_OK;
}

enum status tolerance_compute_one_sided(
    size_t count, double share, double confidence, double *factor, struct error *err)
{
    enum status status = check(count, share, confidence, err);
    struct target target = {{.count = (double)count, .share = share}, confidence};
    return status != STATUS_OK ? status : compute(&target, factor, err);
}

enum status tolerance_compute_two_sided(
    size_t count, double share, double confidence, double *factor, struct error *err)
{
    enum status status = check(count, share, confidence, err);
    struct target target = {
        {.count = (double)count, .share = share, .is_two_sided = true}, confidence};
    return status != STATUS_OK ? status : compute(&target, factor, err);
}
