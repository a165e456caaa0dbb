// SPDX-License-Identifier: GPL-3.0-or-later
/* The numbers below are those of the publication. */
#include "num/normality.h"

#include <gsl/gsl_sort.h>
#include <math.h>

#include "base/memory.h"
#include "num/distribution.h"
#include "num/statistics.h"
#include "num/student.h"

#define COUNT_MOST 2000
#define SMALL 11 /* up to here log(1 - w) has a lower bound that depends on the count */

static double get_polynomial(const double *c, size_t count, double x)
{
    double sum = 0;
    while (count > 0) {
        sum = sum * x + c[--count];
    }
    return sum;
}

double normality_compute_score(size_t index, size_t count)
{
    return normal_compute_quantile(((double)index + 1 - 0.375) / ((double)count + 0.25));
}

/* The weights of the ordered values, half of them: the rest mirrors them. */
static void set_weights(double *weights, size_t count)
{
    static const double last[] = {0, 0.221157, -0.147981, -2.071190, 4.434685, -2.706056};
    static const double before[] = {0, 0.042981, -0.293762, -1.752461, 5.682633, -3.582633};
    const double x = 1 / sqrt((double)count);
    double squares = 0;
    for (size_t i = 0; i < count; i++) {
        const double score = normality_compute_score(i, count);
        squares += score * score;
    }
    const double length = sqrt(squares);
    const double m1 = -normality_compute_score(0, count), m2 = -normality_compute_score(1, count);
    const double a1 = get_polynomial(last, 6, x) + m1 / length;
    if (count == 3) {
        weights[0] = sqrt(0.5);
        return;
    }
    double scale;
    size_t next = 1;
    weights[0] = a1;
    if (count > 5) {
        const double a2 = get_polynomial(before, 6, x) + m2 / length;
        weights[1] = a2;
        next = 2;
        scale = sqrt((squares - 2 * m1 * m1 - 2 * m2 * m2) / (1 - 2 * a1 * a1 - 2 * a2 * a2));
    } else {
        scale = sqrt((squares - 2 * m1 * m1) / (1 - 2 * a1 * a1));
    }
    for (size_t i = next; i < count / 2; i++) {
        weights[i] = -normality_compute_score(i, count) / scale;
    }
}

static double compute_significance(double w, size_t count)
{
    static const double bound[] = {-2.273, 0.459};
    static const double mean_small[] = {0.5440, -0.39978, 0.025054, -0.0006714};
    static const double width_small[] = {1.3822, -0.77857, 0.062767, -0.0020322};
    static const double mean_large[] = {-1.5861, -0.31082, -0.083751, 0.0038915};
    static const double width_large[] = {-0.4803, -0.082676, 0.0030302};
    const double n = (double)count;
    double y = log(1 - w);
    if (count == 3) {
        const double turn = 6 / acos(-1);
        return fmax(0, turn * (asin(sqrt(w)) - asin(sqrt(0.75))));
    }
    double mean, width;
    if (count <= SMALL) {
        const double most = get_polynomial(bound, 2, n);
        y = -log(most - y); /* w of four values is above 0.6, which keeps y below */
        mean = get_polynomial(mean_small, 4, n);
        width = exp(get_polynomial(width_small, 4, n));
    } else {
        mean = get_polynomial(mean_large, 4, log(n));
        width = exp(get_polynomial(width_large, 3, log(n)));
    }
    return normal_compute_share((mean - y) / width);
}

static double compute_w(const double *sorted, const double *weights, size_t count)
{
    const struct summary summary = summary_compute(sorted, count);
    double spread = 0;
    for (size_t i = 0; i < count / 2; i++) {
        spread += weights[i] * (sorted[count - 1 - i] - sorted[i]);
    }
    const double squares = summary.deviation * summary.deviation * (double)(count - 1);
    return fmin(spread * spread / squares, 1);
}

enum status normality_compute(
    const double *values, size_t count, struct normality *normality, struct error *err)
{
    if (count < 3 || count > COUNT_MOST) {
        return fail(err, STATUS_INPUT, "it takes 3 to 2000 values",
            "no test of normality on %zu values", count);
    }
    double *sorted = memory_create(count + count / 2, sizeof *sorted);
    if (sorted == NULL) {
        return fail_memory(err);
    }
    for (size_t i = 0; i < count; i++) {
        sorted[i] = values[i];
    }
    gsl_sort(sorted, 1, count);
    if (!(sorted[count - 1] > sorted[0])) {
        memory_destroy(sorted);
        return fail(err, STATUS_INPUT, "all values are the same",
            "no test of normality on values without scatter");
    }
    set_weights(sorted + count, count);
    const double w = compute_w(sorted, sorted + count, count);
    *normality = (struct normality){w, compute_significance(w, count)};
    memory_destroy(sorted);
    return STATUS_OK;
}
