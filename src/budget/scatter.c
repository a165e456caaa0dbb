// SPDX-License-Identifier: GPL-3.0-or-later
#include "budget/scatter.h"

#include <math.h>

#include "base/memory.h"

static const double CHANCE = 1.645;          /* one-sided 95 % of a normal deviate */
static const double CORRELATION_MOST = 0.95; /* beyond it nothing is left to count */

struct table {
    const double *values;
    size_t repeats, quantities;
};

static double get(const struct table *table, size_t repeat, size_t quantity)
{
    return table->values[repeat * table->quantities + quantity];
}

/* How many independent repeats one repeat of this series is worth, inverse: 1 or more. */
static double compute_inflation(const struct table *table, size_t quantity, double mean)
{
    double squares = 0.0, products = 0.0;
    for (size_t i = 0; i < table->repeats; i++) {
        const double d = get(table, i, quantity) - mean;
        squares += d * d;
        if (i > 0) {
            products += d * (get(table, i - 1, quantity) - mean);
        }
    }
    if (!(squares > 0.0)) {
        return 1.0;
    }
    /* the mean of r of independent repeats is -1/n, its standard deviation 1/sqrt n */
    const double n = (double)table->repeats;
    const double r = products / squares + 1.0 / n;
    if (r <= CHANCE / sqrt(n)) {
        return 1.0;
    }
    const double held = fmin(r, CORRELATION_MOST);
    return (1.0 + held) / (1.0 - held);
}

static void set_quantity(
    struct scatter *scatter, const struct table *table, size_t q, bool is_series)
{
    const double n = (double)table->repeats;
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < table->repeats; i++) {
        sum += get(table, i, q) - get(table, 0, q);
    }
    const double mean = get(table, 0, q) + sum / n;
    for (size_t i = 0; i < table->repeats; i++) {
        const double d = get(table, i, q) - mean;
        squares += d * d;
    }
    const double inflation = is_series ? compute_inflation(table, q, mean) : 1.0;
    const double worth = n / inflation;
    scatter->mean[q] = mean;
    scatter->u[q] = sqrt(squares / (n - 1.0) / n * inflation);
    scatter->freedom[q] = fmax(worth - 1.0, 1.0);
}

static void set_correlation(struct scatter *scatter, const struct table *table, size_t a, size_t b)
{
    double ab = 0.0, aa = 0.0, bb = 0.0;
    for (size_t i = 0; i < table->repeats; i++) {
        const double da = get(table, i, a) - scatter->mean[a];
        const double db = get(table, i, b) - scatter->mean[b];
        ab += da * db;
        aa += da * da;
        bb += db * db;
    }
    const double r = a == b ? 1.0 : aa > 0.0 && bb > 0.0 ? ab / sqrt(aa * bb) : 0.0;
    scatter->correlation[a * scatter->quantities + b] = r;
    scatter->correlation[b * scatter->quantities + a] = r;
}

enum status scatter_create(struct scatter *scatter, const double *values, size_t repeats,
    size_t quantities, bool is_series, struct error *err)
{
    const struct table table = {values, repeats, quantities};
    struct scatter fresh = {.quantities = quantities,
        .mean = memory_create(quantities + 1, sizeof *fresh.mean),
        .u = memory_create(quantities + 1, sizeof *fresh.u),
        .freedom = memory_create(quantities + 1, sizeof *fresh.freedom),
        .correlation = memory_create(quantities * quantities + 1, sizeof *fresh.correlation)};
    if (fresh.mean == NULL || fresh.u == NULL || fresh.freedom == NULL ||
        fresh.correlation == NULL) {
        scatter_clear(&fresh);
        return fail_memory(err);
    }
    for (size_t a = 0; a < quantities; a++) {
        set_quantity(&fresh, &table, a, is_series);
        for (size_t b = 0; b <= a; b++) {
            set_correlation(&fresh, &table, a, b);
        }
    }
    *scatter = fresh;
    return STATUS_OK;
}

void scatter_clear(struct scatter *scatter)
{
    memory_destroy(scatter->mean);
    memory_destroy(scatter->u);
    memory_destroy(scatter->freedom);
    memory_destroy(scatter->correlation);
    *scatter = (struct scatter){0};
}
