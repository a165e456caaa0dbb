// SPDX-License-Identifier: GPL-3.0-or-later
/* Taylor series on short intervals: their coefficients are exact rationals, so that nothing here
 * had to be fitted, and a few terms more than a minimax polynomial cost nothing that matters.
 * The compiler must not fuse multiplications with additions (-ffp-contract=off). */
#include "num/portable.h"

#include <math.h>
#include <stddef.h>

#define LENGTH(array) (sizeof(array) / sizeof((array)[0]))

static double compute_polynomial(const double *coefficient, size_t count, double x)
{
    double sum = coefficient[count - 1];
    for (size_t i = count - 1; i-- > 0;)
        sum = sum * x + coefficient[i];
    return sum;
}

/* sin(x)/x and cos(x) as polynomials of x squared, |x| <= pi/4: the first term left out is below
 * 1e-19. */
static const double sine_series[] = {1.0, -1.0 / 6, 1.0 / 120, -1.0 / 5040, 1.0 / 362880,
    -1.0 / 39916800, 1.0 / 6227020800.0, -1.0 / 1307674368000.0, 1.0 / 355687428096000.0};
static const double cosine_series[] = {1.0, -1.0 / 2, 1.0 / 24, -1.0 / 720, 1.0 / 40320,
    -1.0 / 3628800, 1.0 / 479001600, -1.0 / 87178291200.0, 1.0 / 20922789888000.0,
    -1.0 / 6402373705728000.0};

void portable_sin_cos_turns(double turns, double *sine, double *cosine)
{
    double fraction = turns - floor(turns); /* exact but for -1e-17, which becomes 1 */
    int eighths = (int)floor(fraction * 8.0);
    int quarter = (eighths + 1) / 2;
    double x = (fraction - 0.25 * quarter) * 6.283185307179586477;
    double square = x * x;
    double s = x * compute_polynomial(sine_series, LENGTH(sine_series), square);
    double c = compute_polynomial(cosine_series, LENGTH(cosine_series), square);
    switch (quarter % 4) {
    case 0:
        *sine = s;
        *cosine = c;
        break;
    case 1:
        *sine = c;
        *cosine = -s;
        break;
    case 2:
        *sine = -s;
        *cosine = -c;
        break;
    default:
        *sine = -c;
        *cosine = s;
        break;
    }
}

/* (exp(x) - 1) / x, |x| <= 0.35: the first term left out is below 1e-17. */
static const double growth_series[] = {1.0, 1.0 / 2, 1.0 / 6, 1.0 / 24, 1.0 / 120, 1.0 / 720,
    1.0 / 5040, 1.0 / 40320, 1.0 / 362880, 1.0 / 3628800, 1.0 / 39916800, 1.0 / 479001600,
    1.0 / 6227020800.0, 1.0 / 87178291200.0};

/* ln 2 in two parts; the first has 32 bits, so that its product with an exponent is exact. */
static const double ln2_high = 0x1.62e42feep-1;
static const double ln2_low = 0x1.a39ef35793c76p-33;

static double compute_growth(double x)
{
    return x * compute_polynomial(growth_series, LENGTH(growth_series), x);
}

double portable_exp(double x)
{
    if (x > 709.0)
        return HUGE_VAL;
    if (x < -740.0)
        return 0.0;
    double n = floor(x * 1.4426950408889634 + 0.5);
    double r = (x - n * ln2_high) - n * ln2_low;
    return ldexp(1.0 + compute_growth(r), (int)n);
}

double portable_tanh(double x)
{
    double size = fabs(x);
    double value = 1.0;
    if (size < 20.0) {
        double doubled = 2.0 * size;
        double growth = doubled < 0.35 ? compute_growth(doubled) : portable_exp(doubled) - 1.0;
        value = growth / (growth + 2.0);
    }
    return x < 0.0 ? -value : value;
}

/* log((1 + s)/(1 - s)) / 2s as a polynomial of s squared, |s| <= 0.172. */
static const double log_series[] = {1.0, 1.0 / 3, 1.0 / 5, 1.0 / 7, 1.0 / 9, 1.0 / 11, 1.0 / 13,
    1.0 / 15, 1.0 / 17, 1.0 / 19, 1.0 / 21};

double portable_log(double x)
{
    int exponent;
    double mantissa = frexp(x, &exponent);
    if (mantissa < 0.70710678118654752) {
        mantissa *= 2.0;
        exponent--;
    }
    double s = (mantissa - 1.0) / (mantissa + 1.0);
    double rest = 2.0 * s * compute_polynomial(log_series, LENGTH(log_series), s * s);
    return exponent * ln2_high + (exponent * ln2_low + rest);
}
