// SPDX-License-Identifier: GPL-3.0-or-later
#include "model/langevin.h"

#include <math.h>
#include <stddef.h>

#include "num/portable.h"

/* L(x)/x as a series of x squared: 2^2n B_2n / (2n)!, B the Bernoulli numbers. */
static const double series[] = {1.0 / 3, -1.0 / 45, 2.0 / 945, -1.0 / 4725, 2.0 / 93555,
    -1382.0 / 638512875, 4.0 / 18243225, -3617.0 / 162820783125, 2.2507846516808994e-09,
    -2.2805151204592183e-10, 2.3106432599002624e-11, -2.3411706819824882e-12,
    2.3721017400233653e-13, -2.4034415333307705e-14, 2.4351954029183367e-15};

enum { TERMS = sizeof series / sizeof series[0] };

double langevin_get(double x, double *slope)
{
    if (fabs(x) < 0.9) { /* beyond the last term: (x / pi)^30, 5e-17 */
        double square = x * x;
        double sum = 0.0;
        double derivative = 0.0;
        for (size_t i = TERMS; i-- > 0;) {
            sum = sum * square + series[i];
            derivative = derivative * square + (double)(2 * i + 1) * series[i];
        }
        if (slope != NULL)
            *slope = derivative;
        return x * sum;
    }
    double growth = portable_exp(-2.0 * fabs(x));
    double rest = 1.0 - growth;
    double coth = (1.0 + growth) / rest;
    if (slope != NULL)
        *slope = 1.0 / (x * x) - 4.0 * growth / (rest * rest); /* 1/x^2 - 1/sinh^2 x */
    return (x < 0.0 ? -coth : coth) - 1.0 / x;
}

double langevin_get_inverse(double y)
{
    double x = y * (3.0 - y * y) / (1.0 - y * y); /* within 5 % */
    for (int i = 0; i < 20; i++) {
        double slope;
        double step = (langevin_get(x, &slope) - y) / slope;
        x -= step;
        if (fabs(step) <= 1e-15 * fabs(x))
            break;
    }
    return x;
}
