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
                rest -= draw->root[i * n + q] * draw->root[k * n + q];
            }
            const double pivot = draw->root[k * n + k];
            if (k < i) {
                draw->root[i * n + k] = pivot > 0.0 ? rest / pivot : 0.0;
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

enum status draw_create(struct draw *draw, const struct budget_inputs *inputs, struct error *err)
{
    const size_t n = inputs->count;
    struct draw fresh = {.inputs = inputs};
    fresh.is_correlated = memory_create(n + 1, sizeof *fresh.is_correlated);
    enum status status = fresh.is_correlated == NULL ? fail_memory(err) : STATUS_OK;
    bool is_any = false;
    for (size_t i = 0; status == STATUS_OK && inputs->correlation != NULL && i < n * n; i++) {
        if (i / n != i % n && inputs->correlation[i] != 0.0) {
            fresh.is_correlated[i / n] = is_any = true;
        }
    }
    if (status == STATUS_OK && is_any) {
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
    *draw = (struct draw){0};
}

/* A gamma deviate of this shape and scale 1: G. Marsaglia and W. W. Tsang, ACM Trans. Math. Softw.
 * 26 (2000) 363. */
static double take_gamma(struct random *random, double shape)
{
    const double raised = shape < 1.0 ? shape + 1.0 : shape;
    const double d = raised - 1.0 / 3.0, c = 1.0 / sqrt(9.0 * d);
    double v, x;
    do {
        do {
            x = random_get_normal(random);
            v = 1.0 + c * x;
        } while (v <= 0.0);
        v = v * v * v;
    } while (log(random_get_uniform(random)) >= 0.5 * x * x + d - d * v + d * log(v));
    return shape < 1.0 ? d * v * pow(random_get_uniform(random), 1.0 / shape) : d * v;
}

/* From a normal deviate to one of t. */
static double spread_by_t(struct random *random, double z, double freedom)
{
    return isfinite(freedom) ? z * sqrt(0.5 * freedom / take_gamma(random, 0.5 * freedom)) : z;
}

/* At a share p of the distribution, for mean 0 and u = 1. */
static double get_quantile(enum budget_distribution distribution, double p)
{
    switch (distribution) {
    case BUDGET_RECTANGULAR:
        return sqrt(3.0) * (2.0 * p - 1.0);
    case BUDGET_TRIANGULAR:
        return sqrt(6.0) * (p < 0.5 ? sqrt(2.0 * p) - 1.0 : 1.0 - sqrt(2.0 * (1.0 - p)));
    case BUDGET_ARCSINE:
        return -sqrt(2.0) * cos(PI * p);
    case BUDGET_NORMAL:
    case BUDGET_T:
    case BUDGET_BLURRED:
        break;
    }
    return random_compute_quantile(p);
}

/* JCGM 101, 6.4.3.4: the lower limit is drawn first, the upper one mirrors it. */
static double take_blurred(struct random *random, const struct budget_input *input, double p)
{
    const double half =
        sqrt(fmax(3.0 * (input->u * input->u - input->blur * input->blur / 9.0), 0.0));
    const double limit = half + input->blur * (2.0 * random_get_uniform(random) - 1.0);
    return limit * (2.0 * p - 1.0);
}

static double take_one(
    const struct budget_input *input, struct random *random, bool is_correlated, double z)
{
    if (input->distribution == BUDGET_NORMAL || input->distribution == BUDGET_T) {
        const double normal = is_correlated ? z : random_get_normal(random);
        return input->u * (input->distribution == BUDGET_T
                                  ? spread_by_t(random, normal, input->freedom)
                                  : normal);
    }
    const double p = is_correlated ? normal_compute_share(z) : random_get_uniform(random);
    return input->distribution == BUDGET_BLURRED ? take_blurred(random, input, p)
                                                 : input->u * get_quantile(input->distribution, p);
}

void draw_take(const struct draw *draw, struct random *random, double *normal, double *values)
{
    const size_t n = draw->inputs->count;
    for (size_t i = 0; draw->root != NULL && i < n; i++) {
        normal[i] = draw->is_correlated[i] ? random_get_normal(random) : 0.0;
    }
    for (size_t i = 0; i < n; i++) {
        const struct budget_input *input = &draw->inputs->list[i];
        double z = 0.0;
        for (size_t k = 0; draw->is_correlated[i] && k <= i; k++) {
            z += draw->root[i * n + k] * normal[k];
        }
        values[i] = input->value +
                    (input->u > 0.0 ? take_one(input, random, draw->is_correlated[i], z) : 0.0);
    }
}
