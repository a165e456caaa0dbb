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
    bool is_quick;
    fftw_plan plan;
    double complex *buffer, *result; /* one and the same but of a quick one */
};

/* FFTW's planner is the one part of it that threads may not share. Planning takes longer than a
 * small transform, so plans that are given back wait in a pool for the next caller of their kind.
 */
static pthread_mutex_t planner = PTHREAD_MUTEX_INITIALIZER;

enum {
    POOL_LIMIT = 32,
    POOL_POINTS = 1 << 20, /* of all together: 16 MiB, and about as much for their tables */
};
static struct fft *pool[POOL_LIMIT]; /* the oldest first */
static size_t pool_count, pool_points;

static size_t count_points(const struct fft *fft)
{
    return fft->is_quick ? 2 * fft->size : fft->size;
}

/* The one at a place of the pool, which closes up. */
static struct fft *take_out(size_t i)
{
    struct fft *fft = pool[i];
    pool_points -= count_points(fft);
    memmove(pool + i, pool + i + 1, (--pool_count - i) * sizeof *pool);
    return fft;
}

static struct fft *take_from_pool(size_t size, enum fft_sign sign, bool is_quick)
{
    struct fft *found = NULL;
    pthread_mutex_lock(&planner);
    for (size_t i = pool_count; i-- > 0;) {
        if (pool[i]->size == size && pool[i]->sign == sign && pool[i]->is_quick == is_quick) {
            found = take_out(i);
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
    if (fft->result != fft->buffer) {
        fftw_free(fft->result);
    }
    fftw_free(fft->buffer);
    memory_destroy(fft);
}

/* So that a leak check sees only what was forgotten. */
__attribute__((destructor)) static void empty_pool(void)
{
    while (pool_count > 0) {
        destroy_now(take_out(pool_count - 1));
    }
}

static struct fft *create(size_t size, enum fft_sign sign, bool is_quick)
{
    struct fft *fft = take_from_pool(size, sign, is_quick);
    if (fft != NULL) {
        return fft;
    }
    fft = memory_create(1, sizeof *fft);
    if (fft == NULL) {
        return NULL;
    }
    fft->size = size;
    fft->sign = sign;
    fft->is_quick = is_quick;
    fft->buffer = fftw_alloc_complex(size);
    fft->result = is_quick ? fftw_alloc_complex(size) : fft->buffer;
    if (fft->buffer != NULL && fft->result != NULL) {
        pthread_mutex_lock(&planner);
        fft->plan = fftw_plan_dft_1d((int)size, fft->buffer, fft->result, (int)sign,
            FFTW_ESTIMATE | (is_quick ? FFTW_DESTROY_INPUT : FFTW_NO_SIMD));
        pthread_mutex_unlock(&planner);
    }
    if (fft->plan == NULL) {
        memory_set_failed();
        fft_destroy(fft);
        return NULL;
    }
    return fft;
}

struct fft *fft_create(size_t size, enum fft_sign sign)
{
    struct fft *fft = create(size, sign, false);
    if (fft != NULL) {
        memset(fft->buffer, 0, size * sizeof *fft->buffer);
    }
    return fft;
}

struct fft *fft_create_quick(size_t size)
{
    return create(size, FFT_FORWARD, true);
}

double complex *fft_get_buffer(struct fft *fft)
{
    return fft->buffer;
}

const double complex *fft_get_result(const struct fft *fft)
{
    return fft->result;
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
    const bool is_kept = fft->plan != NULL && count_points(fft) <= POOL_POINTS;
    while (is_kept && (pool_count == POOL_LIMIT || pool_points + count_points(fft) > POOL_POINTS)) {
        destroy_now(take_out(0));
    }
    if (is_kept) {
        pool[pool_count++] = fft;
        pool_points += count_points(fft);
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
