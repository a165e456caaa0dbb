// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/rounding.h"

#include <math.h>

static const double TURN = 6.283185307179586476925286766559;

enum { LOOK_FRAMES = 8192, REPEAT_LIMIT = 64, STEP_BITS = 36 };

/* Residuals above this multiple of the rounding's own variance hold noise that dithers it; but a
 * variance that is the small difference of two energies is itself known to a share of them only. */
static const double QUIET = 1.5, ENERGY_SHARE = 3e-13;

/* The lowest binary digit that is set in a number, as a power of two; 0 for 0. */
static double find_lowest_digit(double value)
{
    int exponent;
    const double mantissa = frexp(fabs(value), &exponent);
    if (!(mantissa > 0.0) || !isfinite(mantissa)) {
        return 0.0;
    }
    const long long whole = (long long)ldexp(mantissa, 53);
    return ldexp(1.0, exponent - 53 + __builtin_ctzll((unsigned long long)whole));
}

void rounding_find_steps(struct rounding *rounding, const double complex *value, size_t count)
{
    for (int m = 0; m < 2; m++) {
        double step = INFINITY, largest = 0.0;
        for (size_t n = 0; n < count && n < LOOK_FRAMES; n++) {
            const double x = m == 0 ? creal(value[n]) : cimag(value[n]);
            const double digit = find_lowest_digit(x);
            step = digit > 0.0 && digit < step ? digit : step;
            largest = isfinite(x) ? fmax(largest, fabs(x)) : largest;
        }
        rounding->step[m] = step > ldexp(largest, -STEP_BITS) && isfinite(step) ? step : 0.0;
    }
}

/* Half the sum of |k^power c[k]|^2. */
static double compute_energy(const double complex *value, size_t harmonics, int power)
{
    double squares = 0.0;
    for (size_t k = 1; k <= harmonics; k++) {
        const double size = cabs(value[k]) * (power == 1 ? (double)k : 1.0);
        squares += size * size;
    }
    return 0.5 * squares;
}

/* How many different samples the record shows of a waveform with these coefficients: all, or those
 * of the few cycles after which it repeats within a step or so. */
static double count_distinct(const struct rounding *rounding, double nu,
    const double complex *value, size_t harmonics, double step)
{
    const double slope = TURN * nu * sqrt(compute_energy(value, harmonics, 1));
    const double cycles = nu * rounding->count;
    for (int whole = 1; whole <= REPEAT_LIMIT && 2.0 * whole <= cycles; whole++) {
        const double turns = whole;
        const double samples = turns / nu;
        const double slip = fabs(samples - round(samples)) * cycles / turns;
        if (slip * slope < step) {
            return round(samples);
        }
    }
    return rounding->count;
}

void rounding_raise_variance(const struct rounding *rounding, double nu,
    double complex *const value[2], size_t harmonics, double frames, double variance[2])
{
    for (int m = 0; m < 2; m++) {
        const double step = rounding->step[m], own = step * step / 12.0;
        const double loose = ENERGY_SHARE * compute_energy(value[m], harmonics, 0);
        if (!(step > 0.0) || variance[m] * rounding->thinning > QUIET * own + loose) {
            continue;
        }
        const double distinct =
            count_distinct(rounding, nu / rounding->thinning, value[m], harmonics, step);
        variance[m] = fmax(variance[m], own * frames / distinct);
    }
}
