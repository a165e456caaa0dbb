// SPDX-License-Identifier: GPL-3.0-or-later
/* With F the normal distribution, x < y: the mean range is the integral of 1 - F(x)^n - (1 -
 * F(x))^n, its mean square twice the integral over x < y of 1 - F(y)^n - (1 - F(x))^n + (F(y) -
 * F(x))^n. */
#include "num/range.h"

#include <gsl/gsl_integration.h>
#include <math.h>

#include "num/guard.h"
#include "num/student.h"

#define COUNT_MOST 100
#define POINTS 100

static const double LIMIT = 9; /* beyond lies 1e-19 of a normal value */

static double get_tail(double x, double count)
{
    return 1 - pow(normal_compute_share(x), count) - pow(normal_compute_share(-x), count);
}

static double get_corner(double x, double y, double count)
{
    const double between = normal_compute_share(y) - normal_compute_share(x);
    return 1 - pow(normal_compute_share(y), count) - pow(normal_compute_share(-x), count) +
           pow(between, count);
}

double range_compute_mean(size_t count)
{
    guard_gsl();
    gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc(POINTS);
    double sum = 0;
    for (size_t i = 0; table != NULL && i < POINTS; i++) {
        double x, weight;
        gsl_integration_glfixed_point(0, LIMIT, i, &x, &weight, table);
        sum += 2 * weight * get_tail(x, (double)count);
    }
    if (table != NULL) { /* GSL's function does not take NULL */
        gsl_integration_glfixed_table_free(table);
    }
    return table != NULL && count >= 2 && count <= COUNT_MOST ? sum : NAN;
}

double range_compute_deviation(size_t count)
{
    guard_gsl();
    gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc(POINTS);
    const double mean = range_compute_mean(count);
    double sum = 0;
    for (size_t i = 0; table != NULL && i < POINTS; i++) {
        double y, weight_y;
        gsl_integration_glfixed_point(-LIMIT, LIMIT, i, &y, &weight_y, table);
        for (size_t j = 0; j < POINTS; j++) {
            double x, weight_x;
            gsl_integration_glfixed_point(-LIMIT, y, j, &x, &weight_x, table);
            sum += 2 * weight_y * weight_x * get_corner(x, y, (double)count);
        }
    }
    if (table == NULL) {
        return NAN;
    }
    gsl_integration_glfixed_table_free(table);
    return sqrt(sum - mean * mean);
}

double deviation_compute_mean(size_t count)
{
    if (count < 2 || count > COUNT_MOST) {
        return NAN;
    }
    const double n = (double)count;
    return sqrt(2 / (n - 1)) * exp(lgamma(n / 2) - lgamma((n - 1) / 2));
}
