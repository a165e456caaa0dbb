// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/padded.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"
#include "num/fft.h"
#include "num/pair.h"

static const double TURN = 6.283185307179586476925286766559;

struct padded {
    size_t size;
    struct fft *fft; /* of half the size; holds the even places */
    double complex *odd;
};

size_t padded_find_size(size_t count)
{
    return 2 * fft_find_size(count);
}

struct padded *padded_create(size_t size)
{
    struct padded *padded = memory_create(1, sizeof *padded);
    if (padded == NULL) {
        return NULL;
    }
    padded->size = size;
    padded->fft = fft_create_quick(size / 2);
    padded->odd = memory_resize(NULL, size / 2, sizeof *padded->odd);
    if (padded->fft == NULL || padded->odd == NULL) {
        padded_destroy(padded);
        return NULL;
    }
    return padded;
}

void padded_destroy(struct padded *padded)
{
    if (padded != NULL) {
        fft_destroy(padded->fft);
        memory_destroy(padded->odd);
        memory_destroy(padded);
    }
}

/* to[n] = from[n] e^{-2 pi i n / size}, by runs that share a table. */
static void turn(double *restrict to, const double *restrict from, size_t count, size_t size)
{
    enum { RUN = 256 };
    double re[RUN], im[RUN];
    for (size_t i = 0; i < RUN; i++) {
        sincos(-TURN * (double)i / (double)size, &im[i], &re[i]);
    }
    for (size_t begin = 0; begin < count; begin += RUN) {
        const size_t left = count - begin, run = left < RUN ? left : RUN;
        double s, c;
        sincos(-TURN * (double)begin / (double)size, &s, &c);
        for (size_t i = 0; i < run; i++) {
            const double a = c * re[i] - s * im[i], b = c * im[i] + s * re[i];
            const double x = from[2 * (begin + i)], y = from[2 * (begin + i) + 1];
            to[2 * (begin + i)] = a * x - b * y;
            to[2 * (begin + i) + 1] = a * y + b * x;
        }
    }
}

void padded_compute(struct padded *padded, const double complex *values, size_t count)
{
    const size_t half = padded->size / 2;
    double complex *buffer = fft_get_buffer(padded->fft);
    turn((double *)buffer, (const double *)values, count, padded->size);
    memset(buffer + count, 0, (half - count) * sizeof *buffer);
    fft_compute(padded->fft);
    memcpy(padded->odd, fft_get_result(padded->fft), half * sizeof *padded->odd);
    memcpy(buffer, values, count * sizeof *buffer);
    memset(buffer + count, 0, (half - count) * sizeof *buffer);
    fft_compute(padded->fft);
}

double complex padded_get(const struct padded *padded, size_t k)
{
    return k % 2 == 0 ? fft_get_result(padded->fft)[k / 2] : padded->odd[k / 2];
}
