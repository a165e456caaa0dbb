// SPDX-License-Identifier: GPL-3.0-or-later
/* Pool adjacent violators: M. Ayer, H. D. Brunk, G. M. Ewing, W. T. Reid, E. Silverman, An
 * empirical distribution function for sampling with incomplete information, Ann. Math. Statist. 26
 * (1955) 641. Neighbours in the wrong order become a pool with their mean; linear in time. */
#include "num/isotonic.h"

#include "base/memory.h"

struct pool {
    double mean;
    size_t count;
};

static size_t collect(const double *values, size_t count, struct pool *pools)
{
    size_t used = 0;
    for (size_t i = 0; i < count; i++) {
        struct pool last = {.mean = values[i], .count = 1};
        while (used > 0 && pools[used - 1].mean >= last.mean) {
            struct pool before = pools[--used];
            const double total = (double)(before.count + last.count);
            last.mean = before.mean + (last.mean - before.mean) * (double)last.count / total;
            last.count += before.count;
        }
        pools[used++] = last;
    }
    return used;
}

enum status isotonic_compute(const double *values, size_t count, double *fit, struct error *err)
{
    struct pool *pools = memory_create(count, sizeof *pools);
    if (pools == NULL) {
        return fail_memory(err);
    }
    size_t used = collect(values, count, pools);
    size_t at = 0;
    for (size_t i = 0; i < used; i++) {
        for (size_t j = 0; j < pools[i].count; j++) {
            fit[at++] = pools[i].mean;
        }
    }
    memory_destroy(pools);
    return STATUS_OK;
}
