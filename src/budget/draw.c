// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/draw.h"

#include <math.h>

#include "base/memory.h"
#include "num/student.h"

static const double PI = 3.14159265358979323846264338327950;

/* Of a pivot that is 0 but for rounding: inputs that are correlated fully. */
static const double ROUNDING = 1e-10;

/* Cholesky, for matrices that may lack rank. */
static enum status find_root(struct draw *draw, struct error *err)
{
    const size_t n = draw->inputs->count;
    const double *r = draw->inputs->correlation;
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k <= i; k++) {
            double rest = r[i * n + k];
            for (size_t q = 0; q < k; q++) {
                rest -= draw->root[q * n + i] * draw->root[q * n + k];
            }
            const double pivot = draw->root[k * n + k];
            if (k < i) {
                draw->root[k * n + i] = pivot > 0.0 ? rest / pivot : 0.0;
            } else if (rest < -ROUNDING) {
                return fail(err, STATUS_INPUT, "coefficients must fit each other",
                    "the correlations of '%s' with the inputs before it contradict each other",
                    draw->inputs->list[i].name);
            } else {
                draw->root[i * n + i] = rest > ROUNDING ? sqrt(rest) : 0.0;
            }
        }
    }
    return STATUS_OK;
}

static void sort_inputs(struct draw *draw)
{
    const struct budget_inputs *inputs = draw->inputs;
    for (size_t i = 0; i < inputs->count; i++) {
        const struct budget_input *input = &inputs->list[i];
        for (size_t k = 0; inputs->correlation != NULL && k < inputs->count; k++) {
            const bool is_other = i != k && inputs->correlation[i * inputs->count + k] != 0.0;
            draw->is_correlated[i] = draw->is_correlated[i] || is_other;
        }
        if (draw->is_correlated[i]) {
            draw->correlated[draw->correlated_count++] = i;
        }
        if (input->distribution == BUDGET_T && isfinite(input->freedom) && input->u > 0.0) {
            const double shape = 0.5 * input->freedom, raised = shape < 1.0 ? shape + 1.0 : shape;
            draw->shape[draw->spread_count] = raised;
            draw->share[draw->spread_count] = 1.0 / sqrt(9.0 * raised - 3.0);
            draw->spread[draw->spread_count++] = i;
        }
    }
}

enum status draw_create(struct draw *draw, const struct budget_inputs *inputs, struct error *err)
{
    const size_t n = inputs->count;
    struct draw fresh = {.inputs = inputs};
    fresh.is_correlated = memory_create(n + 1, sizeof *fresh.is_correlated);
    fresh.correlated = memory_create(n + 1, sizeof *fresh.correlated);
    fresh.spread = memory_create(n + 1, sizeof *fresh.spread);
    fresh.shape = memory_create(n + 1, sizeof *fresh.shape);
    fresh.share = memory_create(n + 1, sizeof *fresh.share);
    const bool is_short = fresh.is_correlated == NULL || fresh.correlated == NULL ||
                          fresh.spread == NULL || fresh.shape == NULL || fresh.share == NULL;
    enum status status = is_short ? fail_memory(err) : STATUS_OK;
    if (status == STATUS_OK) {
        sort_inputs(&fresh);
    }
    if (status == STATUS_OK && fresh.correlated_count > 0) {
        fresh.root = memory_create(n * n, sizeof *fresh.root);
        status = fresh.root == NULL ? fail_memory(err) : find_root(&fresh, err);
    }
    if (status != STATUS_OK) {
        draw_clear(&fresh);
        return status;
    }
    *draw = fresh;
    return STATUS_OK;
}

void draw_clear(struct draw *draw)
{
    memory_destroy(draw->root);
    memory_destroy(draw->is_correlated);
    memory_destroy(draw->correlated);
    memory_destroy(draw->spread);
    memory_destroy(draw->shape);
    memory_destroy(draw->share);
    *draw = (struct draw){0};
}

/* Whether a try at a gamma deviate is taken, from a normal and a uniform one; gives the deviate: G.
 * Marsaglia and W. W. Tsang, ACM Trans. Math. Softw. 26 (2000) 363. The first test, which spares
 * the logarithms, implies the second. */
static bool try_gamma(double shape, double share, double x, double uniform, double *gamma)
{
    const double d = shape - 1.0 / 3.0, root = 1.0 + x * share, v = root * root * root;
    *gamma = d * v;
    return root > 0.0 && (uniform < 1.0 - 0.0331 * (x * x) * (x * x) ||
                             log(uniform) < 0.5 * x * x + d - d * v + d * log(v));
}

/* What spreads normal deviates to those of t: the root of nu / chi^2, with chi^2 twice a gamma
 * deviate of shape nu / 2. The first try of all inputs is drawn in one go. */
static void take_spreads(
    const struct draw *draw, struct random *random, double *room, double *factors)
{
    const size_t count = draw->spread_count;
    double *normal = room, *uniform = room + count;
    random_fill_normal(random, normal, count);
    random_fill_uniform(random, uniform, count);
    for (size_t j = 0; j < count; j++) {
        const double freedom = draw->inputs->list[draw->spread[j]].freedom;
        const double shape = 0.5 * freedom;
        double x = normal[j], y = uniform[j], gamma;
        while (!try_gamma(draw->shape[j], draw->share[j], x, y, &gamma)) {
            x = random_get_normal(random);
            y = random_get_uniform(random);
        }
        if (shape < 1.0) {
            gamma *= pow(random_get_uniform(random), 1.0 / shape);
        }
        factors[draw->spread[j]] = sqrt(shape / gamma);
    }
}

/* At a share p of a rectangular, triangular or arcsine distribution of mean 0 and u = 1. */
static double get_quantile(enum budget_distribution distribution, double p)
{
    if (distribution == BUDGET_RECTANGULAR) {
        return sqrt(3.0) * (2.0 * p - 1.0);
    }
    if (distribution == BUDGET_TRIANGULAR) {
        return sqrt(6.0) * (p < 0.5 ? sqrt(2.0 * p) - 1.0 : 1.0 - sqrt(2.0 * (1.0 - p)));
    }
    return -sqrt(2.0) * cos(PI * p);
}

/* JCGM 101, 6.4.3.4: the lower limit is drawn first, the upper one mirrors it. */
static double take_blurred(struct random *random, const struct budget_input *input, double p)
{
    const double half =
        sqrt(fmax(3.0 * (input->u * input->u - input->blur * input->blur / 9.0), 0.0));
    const double limit = half + input->blur * (2.0 * random_get_uniform(random) - 1.0);
    return limit * (2.0 * p - 1.0);
}

/* `z` is a normal deviate of a correlated input, `factor` what spreads it to t. */
static double take_one(const struct budget_input *input, struct random *random, bool is_correlated,
    double z, double factor)
{
    if (input->distribution == BUDGET_NORMAL || input->distribution == BUDGET_T) {
        return input->u * factor * (is_correlated ? z : random_get_normal(random));
    }
    const double p = is_correlated ? normal_compute_share(z) : random_get_uniform(random);
    return input->distribution == BUDGET_BLURRED ? take_blurred(random, input, p)
                                                 : input->u * get_quantile(input->distribution, p);
}

/* Normal deviates with the inputs' correlations; z is 0. */
static void take_correlated(
    const struct draw *draw, struct random *random, double *normal, double *z)
{
    const size_t n = draw->inputs->count;
    random_fill_normal(random, normal, draw->correlated_count);
    for (size_t j = 0; j < draw->correlated_count; j++) {
        const size_t k = draw->correlated[j];
        for (size_t i = k; i < n; i++) {
            z[i] += draw->root[k * n + i] * normal[j];
        }
    }
}

void draw_take(const struct draw *draw, struct random *random, double *room, double *values)
{
    const size_t n = draw->inputs->count;
    double *z = room, *factors = room + n, *scratch = room + 2 * n;
    for (size_t i = 0; i < n; i++) {
        z[i] = 0.0;
        factors[i] = 1.0;
    }
    take_correlated(draw, random, scratch, z);
    take_spreads(draw, random, scratch, factors);
    for (size_t i = 0; i < n; i++) {
        const struct budget_input *input = &draw->inputs->list[i];
        values[i] = input->value + (input->u > 0.0 ? take_one(input, random, draw->is_correlated[i],
                                                         z[i], factors[i])
                                                   : 0.0);
    }
}
