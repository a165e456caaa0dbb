// SPDX-License-Identifier: GPL-3.0-or-later
/* Normals come from the quantile function: one uniform each, no rejection, so that the n-th number
 * of a stream is found without drawing those before. Box-Muller needs the C library's log and
 * cosine, whose last bits differ; a ziggurat rejects. */
#include "num/random.h"

#include <math.h>

#include "num/portable.h"

static void multiply(uint32_t a, uint32_t b, uint32_t *high, uint32_t *low)
{
    uint64_t product = (uint64_t)a * b;
    *high = (uint32_t)(product >> 32);
    *low = (uint32_t)product;
}

void random_compute_block(const uint32_t counter[4], const uint32_t key[2], uint32_t block[4])
{
    uint32_t c[4] = {counter[0], counter[1], counter[2], counter[3]};
    uint32_t k[2] = {key[0], key[1]};
    for (int round = 0; round < 10; round++) {
        uint32_t high0, low0, high1, low1;
        multiply(0xD2511F53u, c[0], &high0, &low0);
        multiply(0xCD9E8D57u, c[2], &high1, &low1);
        c[0] = high1 ^ c[1] ^ k[0];
        c[1] = low1;
        c[2] = high0 ^ c[3] ^ k[1];
        c[3] = low0;
        k[0] += 0x9E3779B9u;
        k[1] += 0xBB67AE85u;
    }
    for (int i = 0; i < 4; i++)
        block[i] = c[i];
}

void random_init(struct random *random, uint64_t seed, uint64_t stream)
{
    *random = (struct random){
        .key = {(uint32_t)seed, (uint32_t)(seed >> 32)},
        .counter = {0, 0, (uint32_t)stream, (uint32_t)(stream >> 32)},
        .used = 4,
    };
}

uint64_t random_get_bits(struct random *random)
{
    if (random->used == 4) {
        random_compute_block(random->counter, random->key, random->block);
        random->used = 0;
        if (++random->counter[0] == 0)
            random->counter[1]++;
    }
    uint64_t low = random->block[random->used];
    uint64_t high = random->block[random->used + 1];
    random->used += 2;
    return high << 32 | low;
}

void random_set_index(struct random *random, uint64_t index)
{
    random->counter[0] = (uint32_t)(index / 2);
    random->counter[1] = (uint32_t)(index / 2 >> 32);
    random->used = 4;
    if (index % 2)
        (void)random_get_bits(random);
}

double random_get_uniform(struct random *random)
{
    return ((double)(random_get_bits(random) >> 12) + 0.5) * 0x1p-52;
}

double random_get_normal(struct random *random)
{
    return random_compute_quantile(random_get_uniform(random));
}

uint64_t random_get_below(struct random *random, uint64_t limit)
{
    uint64_t excess = (UINT64_MAX % limit + 1) % limit; /* 2^64 modulo limit */
    uint64_t bits;
    do
        bits = random_get_bits(random);
    while (bits > UINT64_MAX - excess);
    return bits % limit;
}

/* The rational approximations of AS 241: numerator, denominator. */
static const double centre[2][8] = {
    {3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3,
        1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
        3.3430575583588128105e4, 2.5090809287301226727e3},
    {1.0, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
        2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4,
        5.2264952788528545610e3},
};
static const double shoulder[2][8] = {
    {1.42343711074968357734e0, 4.63033784615654529590e0, 5.76949722146069140550e0,
        3.64784832476320460504e0, 1.27045825245236838258e0, 2.41780725177450611770e-1,
        2.27238449892691845833e-2, 7.74545014278341407640e-4},
    {1.0, 2.05319162663775882187e0, 1.67638483018380384940e0, 6.89767334985100004550e-1,
        1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4,
        1.05075007164441684324e-9},
};
static const double tail[2][8] = {
    {6.65790464350110377720e0, 5.46378491116411436990e0, 1.78482653991729133580e0,
        2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
        2.71155556874348757815e-5, 2.01033439929228813265e-7},
    {1.0, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
        7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7,
        2.04426310338993978564e-15},
};

static double compute_rational(const double rational[2][8], double x)
{
    double above = rational[0][7];
    double below = rational[1][7];
    for (size_t i = 7; i-- > 0;) {
        above = above * x + rational[0][i];
        below = below * x + rational[1][i];
    }
    return above / below;
}

double random_compute_quantile(double probability)
{
    double q = probability - 0.5;
    if (fabs(q) <= 0.425)
        return q * compute_rational(centre, 0.180625 - q * q);
    double r = sqrt(-portable_log(q < 0.0 ? probability : 1.0 - probability));
    double size = r <= 5.0 ? compute_rational(shoulder, r - 1.6) : compute_rational(tail, r - 5.0);
    return q < 0.0 ? -size : size;
}

void random_fill_uniform(struct random *random, double *values, size_t count)
{
    for (size_t i = 0; i < count; i++)
        values[i] = random_get_uniform(random);
}

/* The centre's approximation for all, 85 % of them, in vector code that rounds like the plain one;
 * then the others. */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) &&                             \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
__attribute__((target_clones("avx2", "default"), optimize("O3")))
#endif
static void
fill_centre(const double *restrict probability, double *restrict quantile, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const double q = probability[i] - 0.5, x = 0.180625 - q * q;
        double above = centre[0][7], below = centre[1][7];
        for (int k = 6; k >= 0; k--) {
            above = above * x + centre[0][k];
            below = below * x + centre[1][k];
        }
        quantile[i] = q * (above / below);
    }
}

void random_fill_normal(struct random *random, double *values, size_t count)
{
    enum { BATCH = 64 };
    double uniform[BATCH];
    for (size_t first = 0; first < count; first += BATCH) {
        const size_t some = count - first < BATCH ? count - first : BATCH;
        random_fill_uniform(random, uniform, some);
        fill_centre(uniform, values + first, some);
        for (size_t i = 0; i < some; i++) {
            if (!(fabs(uniform[i] - 0.5) <= 0.425))
                values[first + i] = random_compute_quantile(uniform[i]);
        }
    }
}
