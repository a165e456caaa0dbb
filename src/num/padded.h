// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_PADDED_H
#define LODECARD_NUM_PADDED_H

#include <complex.h>
#include <stddef.h>

/* The spectrum of values with at least as many zeros behind them,
 *
 *     y[k] = sum_n x[n] e^{-2 pi i k n / size},    n < size / 2,
 *
 * for looking where something is: with vector code, whose last bits differ from processor to
 * processor. Its even places are the transform of half the size, the odd ones that of
 * x[n] e^{-2 pi i n / size}: the zeros are neither stored nor transformed. */
struct padded;

/* The smallest size for `count` values: even, half of it 2^a 3^b 5^c. */
size_t padded_find_size(size_t count);

struct padded *padded_create(size_t size); /* NULL: out of memory */
void padded_destroy(struct padded *padded);

void padded_compute(struct padded *padded, const double complex *values, size_t count);
double complex padded_get(const struct padded *padded, size_t k); /* k < size */

#endif
