// SPDX-License-Identifier: GPL-3.0-or-later
#include "tone.h"

#include <math.h>

#include "num/random.h"

static const double TURN = 6.283185307179586476925286766559;

void tone_init(struct tone *tone, size_t harmonics, double nu)
{
    *tone = (struct tone){.harmonics = harmonics, .nu = nu, .start = 0.137, .seed = 1};
    for (size_t k = 1; k <= harmonics; k++) {
        const double x = (double)k;
        tone->c[0][k] = cexp(I * (0.4 + 2.1 * x * x)) / (x * x * x);
        tone->c[1][k] = 0.7 * cexp(-I * (1.1 + 0.3 * x)) * pow(0.75, x - 1.0);
    }
    tone->c[0][0] = 0.043;
    tone->c[1][0] = -0.021;
}

/* p(t) less a whole number, free of the rounding of its many turns. */
static double get_phase(const struct tone *tone, double t)
{
    if (tone->drift != 0.0) {
        const long double stretch = 0.5L * tone->drift * ((long double)t / tone->length - 1.0L);
        const long double turns = tone->start + (long double)tone->nu * t * (1.0L + stretch);
        return (double)(turns - floorl(turns));
    }
    const double turns = tone->nu * t, rest = fma(tone->nu, t, -turns);
    return turns - floor(turns) + rest + tone->start;
}

static void set_values(const struct tone *tone, double t, double values[2])
{
    const double x = TURN * get_phase(tone, t);
    const double zr = cos(x), zi = sin(x);
    double re = 1.0, im = 0.0;
    values[0] = values[1] = 0.0;
    for (size_t k = 0; k <= tone->harmonics; k++) {
        for (int m = 0; m < 2; m++) {
            values[m] += creal(tone->c[m][k]) * re - cimag(tone->c[m][k]) * im;
        }
        const double next = re * zr - im * zi;
        im = re * zi + im * zr;
        re = next;
    }
}

static void add_noise(const struct tone *tone, struct random *random, double values[2])
{
    for (int m = 0; m < 2; m++) {
        values[m] += tone->noise[m] * random_get_normal(random);
    }
}

void tone_fill(const struct tone *tone, size_t first, size_t count, double *values)
{
    struct random random;
    const int is_noisy = tone->noise[0] > 0.0 || tone->noise[1] > 0.0;
    random_init(&random, tone->seed, 0);
    random_set_index(&random, 2 * first);
    for (size_t n = 0; n < count; n++) {
        set_values(tone, (double)(first + n), values + 2 * n);
        if (is_noisy) {
            add_noise(tone, &random, values + 2 * n);
        }
    }
}

void tone_fill_at(const struct tone *tone, const double *times, size_t count, double *values)
{
    struct random random;
    random_init(&random, tone->seed, 1);
    for (size_t n = 0; n < count; n++) {
        set_values(tone, times[n], values + 2 * n);
        add_noise(tone, &random, values + 2 * n);
    }
}

double complex tone_get(const struct tone *tone, size_t m, size_t k)
{
    return tone->c[m][k] * cexp(I * TURN * fmod((double)k * tone->start, 1.0));
}
