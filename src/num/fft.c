// SPDX-License-Identifier: GPL-3.0-or-later
#include "num/fft.h"

#include <fftw3.h>
#include <pthread.h>
#include <string.h>

#include "base/memory.h"

struct fft {
    size_t size;
    fftw_plan plan;
    double complex *buffer;
};

/* FFTW's planner is the one part of it that threads may not share. */
static pthread_mutex_t planner = PTHREAD_MUTEX_INITIALIZER;

struct fft *fft_create(size_t size, enum fft_sign sign)
{
    struct fft *fft = memory_create(1, sizeof *fft);
    if (fft == NULL) {
        return NULL;
    }
    fft->size = size;
    fft->buffer = fftw_alloc_complex(size);
    if (fft->buffer != NULL) {
        pthread_mutex_lock(&planner);
        fft->plan = fftw_plan_dft_1d((int)size, fft->buffer, fft->buffer, (int)sign, FFTW_ESTIMATE);
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
    if (fft->plan != NULL) {
        pthread_mutex_lock(&planner);
        fftw_destroy_plan(fft->plan);
        pthread_mutex_unlock(&planner);
    }
    fftw_free(fft->buffer);
    memory_destroy(fft);
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
