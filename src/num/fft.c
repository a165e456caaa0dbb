// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/fft.h"

#include <fftw3.h>
#include <pthread.h>
#include <stdbool.h>
#include <string.h>

#include "base/memory.h"

struct fft {
    size_t size;
    enum fft_sign sign;
    fftw_plan plan;
    double complex *buffer;
};

/* FFTW's planner is the one part of it that threads may not share. Planning takes longer than a
 * small transform, so plans that are given back wait in a pool for the next caller of their kind.
 */
static pthread_mutex_t planner = PTHREAD_MUTEX_INITIALIZER;

enum {
    POOL_LIMIT = 32,
    POOL_SIZE = 1 << 14, /* larger ones are not worth the memory */
};
static struct fft *pool[POOL_LIMIT];
static size_t pool_count;

static struct fft *take_from_pool(size_t size, enum fft_sign sign)
{
    struct fft *found = NULL;
    pthread_mutex_lock(&planner);
    for (size_t i = pool_count; i-- > 0;) {
        if (pool[i]->size == size && pool[i]->sign == sign) {
            found = pool[i];
            memmove(pool + i, pool + i + 1, (--pool_count - i) * sizeof *pool);
            break;
        }
    }
    pthread_mutex_unlock(&planner);
    return found;
}

static void destroy_now(struct fft *fft)
{
    if (fft->plan != NULL) {
        fftw_destroy_plan(fft->plan);
    }
    fftw_free(fft->buffer);
    memory_destroy(fft);
}

/* So that a leak check sees only what was forgotten. */
__attribute__((destructor)) static void empty_pool(void)
{
    while (pool_count > 0) {
        destroy_now(pool[--pool_count]);
    }
}

struct fft *fft_create(size_t size, enum fft_sign sign)
{
    struct fft *fft = take_from_pool(size, sign);
    if (fft != NULL) {
        memset(fft->buffer, 0, size * sizeof *fft->buffer);
        return fft;
    }
    fft = memory_create(1, sizeof *fft);
    if (fft == NULL) {
        return NULL;
    }
    fft->size = size;
    fft->sign = sign;
    fft->buffer = fftw_alloc_complex(size);
    if (fft->buffer != NULL) {
        /* no vector code: its last bits differ from processor to processor, and results must not */
        pthread_mutex_lock(&planner);
        fft->plan = fftw_plan_dft_1d(
            (int)size, fft->buffer, fft->buffer, (int)sign, FFTW_ESTIMATE | FFTW_NO_SIMD);
        pthread_mutex_unlock(&planner);
    }
    if (fft->plan == NULL) {
        fft_destroy(fft);
        return NULL;
    }
    memset(fft->buffer, 0, size * sizeof *fft->buffer);
    return fft;
}

double complex *fft_get_buffer(struct fft *fft)
{
    return fft->buffer;
}

void fft_compute(struct fft *fft)
{
    fftw_execute(fft->plan);
}

void fft_destroy(struct fft *fft)
{
    if (fft == NULL) {
        return;
    }
    pthread_mutex_lock(&planner);
    const bool is_kept = fft->plan != NULL && fft->size <= POOL_SIZE && pool_count < POOL_LIMIT;
    if (is_kept) {
        pool[pool_count++] = fft;
    } else {
        destroy_now(fft);
    }
    pthread_mutex_unlock(&planner);
}

static size_t divide_out(size_t value, size_t factor)
{
    while (value % factor == 0) {
        value /= factor;
    }
    return value;
}

size_t fft_find_size(size_t minimum)
{
    size_t size = minimum < 1 ? 1 : minimum;
    while (divide_out(divide_out(divide_out(size, 2), 3), 5) != 1) {
        size++;
    }
    return size;
}
