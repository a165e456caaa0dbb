// SPDX-License-Identifier: GPL-3.0-or-later
/* Two passes over differences from the first value. T. F. Chan, G. H. Golub, R. J. LeVeque,
 * "Algorithms for computing the sample variance", The American Statistician 37 (1983) 242: the
 * second pass with its correction term keeps all digits that the values carry. */
#include "num/statistics.h"

#include <math.h>

/* A running sum and what rounding took from it. */
struct sum {
    double total;
    double lost;
};

static void sum_add(struct sum *sum, double value)
{
    const double next = sum->total + value;
    if (fabs(sum->total) >= fabs(value)) {
        sum->lost += (sum->total - next) + value;
    } else {
        sum->lost += (value - next) + sum->total;
    }
    sum->total = next;
}

static double sum_get(const struct sum *sum)
{
    return sum->total + sum->lost;
}

double compensated_sum(const double *values, size_t count)
{
    struct sum sum = {0};
    for (size_t i = 0; i < count; i++) {
        sum_add(&sum, values[i]);
    }
    return sum_get(&sum);
}

static void set_scatter(struct summary *summary, const double *values, double middle)
{
    struct sum squares = {0}, products = {0}, rest = {0};
    const double first = values[0];
    for (size_t i = 0; i < summary->count; i++) {
        const double off = (values[i] - first) - middle;
        sum_add(&squares, off * off);
        sum_add(&rest, off);
        if (i > 0) {
            sum_add(&products, off * ((values[i - 1] - first) - middle));
        }
    }
    const double count = (double)summary->count;
    const double square = sum_get(&squares) - sum_get(&rest) * sum_get(&rest) / count;
    if (summary->count > 1) {
        summary->deviation = sqrt(fmax(square, 0) / (count - 1));
    }
    if (square > 0) {
        summary->autocorrelation = sum_get(&products) / square;
    }
}

struct summary summary_compute(const double *values, size_t count)
{
    struct summary summary = {.count = count,
        .mean = NAN,
        .deviation = NAN,
        .autocorrelation = NAN,
        .least = NAN,
        .most = NAN};
    if (count == 0) {
        return summary;
    }
    struct sum offs = {0};
    summary.least = summary.most = values[0];
    for (size_t i = 0; i < count; i++) {
        sum_add(&offs, values[i] - values[0]);
        summary.least = fmin(summary.least, values[i]);
        summary.most = fmax(summary.most, values[i]);
    }
    const double middle = sum_get(&offs) / (double)count;
    summary.mean = values[0] + middle;
    set_scatter(&summary, values, middle);
    return summary;
}
