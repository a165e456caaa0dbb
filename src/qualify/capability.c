// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/capability.h"

#include <math.h>

#include "num/distribution.h"

static void set_cp(struct capability *made, const struct limit *limit, double deviation,
    double freedom, double rest)
{
    made->cp = (limit->upper - limit->lower) / (6 * deviation);
    made->cp_lower = made->cp * sqrt(chi_square_compute_quantile(0.5 * rest, freedom) / freedom);
    made->cp_upper =
        made->cp * sqrt(chi_square_compute_quantile(1 - 0.5 * rest, freedom) / freedom);
}

static double get_spread(double cpk, double count)
{
    return sqrt(1 / (9 * count) + cpk * cpk / (2 * (count - 1)));
}

static void set_cpk(struct capability *made, double cpk, double count, double rest)
{
    const double spread = get_spread(cpk, count);
    const double two_sided = normal_compute_quantile(1 - 0.5 * rest);
    made->cpk = cpk;
    made->cpk_lower = cpk - two_sided * spread;
    made->cpk_upper = cpk + two_sided * spread;
    made->cpk_least = cpk - normal_compute_quantile(1 - rest) * spread;
}

enum status capability_compute(size_t count, double mean, double deviation,
    const struct limit *limit, double confidence, struct capability *capability, struct error *err)
{
    if (count < 2 || !(deviation > 0)) {
        return fail(err, STATUS_INPUT, "it takes two specimens that differ",
            "no capability without scatter");
    }
    if (!limit_is_present(limit) || !(confidence > 0 && confidence < 1)) {
        return fail(err, STATUS_INPUT, "give a limit, and a confidence such as 0.95",
            "no capability without a limit and a confidence");
    }
    struct capability made = {.cp = NAN, .cp_lower = NAN, .cp_upper = NAN};
    double reach = INFINITY;
    if (limit->has_lower) {
        reach = fmin(reach, mean - limit->lower);
    }
    if (limit->has_upper) {
        reach = fmin(reach, limit->upper - mean);
    }
    if (limit->has_lower && limit->has_upper) {
        set_cp(&made, limit, deviation, (double)count - 1, 1 - confidence);
    }
    set_cpk(&made, reach / (3 * deviation), (double)count, 1 - confidence);
    *capability = made;
    return STATUS_OK;
}
