// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_FFT_H
#define LODECARD_NUM_FFT_H

#include <complex.h>
#include <stddef.h>

/* Complex FFT of a fixed size, in buffers of its own. Plans are estimated, never measured: a
 * measured plan gives other bits from run to run. No vector code either, whose last bits differ
 * from processor to processor, but in a quick one: twice as fast, for looking where something is.
 * Creating and destroying is safe from several threads. */
struct fft;

enum fft_sign {
    FFT_FORWARD = -1, /* y[k] = sum_n x[n] e^{-2 pi i k n / size} */
    FFT_BACKWARD = 1, /* y[k] = sum_n x[n] e^{+2 pi i k n / size}, not divided by size */
};

struct fft *fft_create(size_t size, enum fft_sign sign); /* NULL: out of memory */
double complex *fft_get_buffer(struct fft *fft);         /* size elements, zeroed at first */
void fft_compute(struct fft *fft);                       /* in place */

/* Forward, from the buffer, which holds anything at first and in the end, to a result of its own:
 * plans in place take several times longer to make. */
struct fft *fft_create_quick(size_t size); /* NULL: out of memory */
const double complex *fft_get_result(const struct fft *fft);

void fft_destroy(struct fft *fft);

/* The smallest 2^a 3^b 5^c that is at least `minimum`. */
size_t fft_find_size(size_t minimum);

#endif
