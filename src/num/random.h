// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_NUM_RANDOM_H
#define LODECARD_NUM_RANDOM_H

#include <stddef.h>
#include <stdint.h>

/* Random numbers that are the same on every machine: Philox 4x32-10, a counter-based generator
 * (J. K. Salmon, M. A. Moraes, R. O. Dror, D. E. Shaw, "Parallel random numbers: as easy as 1, 2,
 * 3", SC'11, doi 10.1145/2063384.2063405). The seed is its key; a stream is the upper half of its
 * counter: 2^64 independent streams of 2^65 numbers each, so that work shared among any number of
 * threads draws the same numbers when each piece has a stream of its own. */
struct random {
    uint32_t key[2];
    uint32_t counter[4];
    uint32_t block[4];
    unsigned used; /* words of the block that are spent */
};

/* The bijection itself: ten rounds. */
void random_compute_block(const uint32_t counter[4], const uint32_t key[2], uint32_t block[4]);

void random_init(struct random *random, uint64_t seed, uint64_t stream);

/* Goes to a place in the stream: the next number is the one that `index` numbers (of 64 bits)
 * would have come before. */
void random_set_index(struct random *random, uint64_t index);

uint64_t random_get_bits(struct random *random);
double random_get_uniform(struct random *random); /* in (0, 1): odd multiples of 2^-53 */
double random_get_normal(struct random *random);  /* mean 0, standard deviation 1 */

/* Many at once, the same numbers in the same order. */
void random_fill_uniform(struct random *random, double *values, size_t count);
void random_fill_normal(struct random *random, double *values, size_t count);

/* A whole number in 0 ... limit - 1, each equally probable; limit >= 1. */
uint64_t random_get_below(struct random *random, uint64_t limit);

/* The normal quantile of a probability in (0, 1): M. J. Wichura, algorithm AS 241 (PPND16),
 * Applied Statistics 37 (1988) 477; relative error below 1e-15. It takes correctly rounded
 * operations only (portable_log in the tails), so that normals are the same everywhere. */
double random_compute_quantile(double probability);

#endif
