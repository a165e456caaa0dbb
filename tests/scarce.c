// SPDX-License-Identifier: GPL-3.0-or-later
#include "scarce.h"

#include <execinfo.h>
#include <fftw3.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_interp.h>
#include <gsl/gsl_matrix.h>
#include <gsl/gsl_multifit.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <gsl/gsl_roots.h>
#include <gsl/gsl_vector.h>
#include <pthread.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "num/fft.h"
#include "places.h"
#include "suites.h"

#define PLACES 65536 /* blocks held at once, at most half of it */
#define DEPTH 8      /* of them two here and in base/memory.c */

/* The blocks taken since memory_fail_after(), in a hash table with linear probing. */
static struct {
    pthread_mutex_t lock;
    int is_on;
    int has_failed;
    size_t left; /* allocations until the one that fails */
    size_t held;
    int by_place;        /* what fails is the first one of a new place, not one by its number */
    struct places asked; /* those that asked for memory */
    void *frames[DEPTH]; /* who asked for what was refused, to look up with addr2line */
    int depth;
    const void *places[PLACES];
} watch = {.lock = PTHREAD_MUTEX_INITIALIZER};

static size_t find_place(const void *block)
{
    size_t at = (size_t)((uintptr_t)block / 16 * 0x9E3779B97F4A7C15u >> 32) % PLACES;
    while (watch.places[at] != NULL && watch.places[at] != block) {
        at = (at + 1) % PLACES;
    }
    return at;
}

/* In a job whose memory is not watched. */
static _Thread_local int is_apart;

/* Whether the allocation asked for now is the one that fails. */
static int is_refused(void)
{
    if (!watch.is_on || is_apart) {
        return 0;
    }
    pthread_mutex_lock(&watch.lock);
    int is_it = 0;
    if (!watch.has_failed) {
        is_it = watch.by_place ? places_add(&watch.asked, DEPTH) : watch.left == 0;
        watch.left -= watch.left > 0;
    }
    watch.has_failed |= is_it;
    if (is_it) {
        watch.depth = backtrace(watch.frames, DEPTH);
    }
    pthread_mutex_unlock(&watch.lock);
    return is_it;
}

static void *note_taken(void *block)
{
    if (watch.is_on && !is_apart && block != NULL) {
        pthread_mutex_lock(&watch.lock);
        if (watch.held == PLACES / 2) {
            abort();
        }
        watch.places[find_place(block)] = block;
        watch.held++;
        pthread_mutex_unlock(&watch.lock);
    }
    return block;
}

/* Takes a block out of the table; those behind it that it displaced move up. */
static void note_given_back(const void *block)
{
    if (!watch.is_on || is_apart || block == NULL) {
        return;
    }
    pthread_mutex_lock(&watch.lock);
    size_t at = find_place(block);
    if (watch.places[at] != NULL) {
        watch.places[at] = NULL;
        watch.held--;
        for (at = (at + 1) % PLACES; watch.places[at] != NULL; at = (at + 1) % PLACES) {
            const void *moved = watch.places[at];
            watch.places[at] = NULL;
            watch.places[find_place(moved)] = moved;
        }
    }
    pthread_mutex_unlock(&watch.lock);
}

void memory_fail_after(size_t after)
{
    memset(watch.places, 0, sizeof watch.places);
    watch.held = 0;
    watch.left = after;
    watch.has_failed = 0;
    watch.is_on = 1;
}

size_t memory_count_kept(void)
{
    watch.is_on = 0;
    return watch.held;
}

int memory_was_refused(void)
{
    return watch.has_failed;
}

static size_t check(scenario *run, void *data, int by_place)
{
    watch.by_place = by_place;
    watch.asked.count = 0;
    for (size_t after = 0;; after++) {
        struct error err = {.status = STATUS_OK};
        memory_fail_after(after);
        const enum status status = run(data, &err);
        const size_t kept = memory_count_kept();
        ck_assert_msg(kept == 0, "allocation %zu: %zu blocks are not given back", after, kept);
        if (!memory_was_refused()) {
            ck_assert_msg(status == STATUS_OK, "with all memory: %s", err.message);
            watch.by_place = 0;
            return after;
        }
        if (status != STATUS_FAULT) {
            backtrace_symbols_fd(watch.frames, watch.depth, STDERR_FILENO);
        }
        ck_assert_msg(status == STATUS_FAULT, "allocation %zu: status %d, '%s'", after, (int)status,
            err.message);
        ck_assert_str_eq(err.message, "out of memory");
    }
}

size_t check_every_allocation(scenario *run, void *data)
{
    return check(run, data, 0);
}

size_t check_every_place(scenario *run, void *data)
{
    return check(run, data, 1);
}

/* --- what the linker puts in the place of the functions without __wrap_
 * --------------------------- */

// clang-format off
#define WRAP(type, name, parameters, arguments)                                                    \
    type __real_##name parameters;                                                                 \
    type __wrap_##name parameters;                                                                 \
    type __wrap_##name parameters                                                                  \
    {                                                                                              \
        return is_refused() ? NULL : __real_##name arguments;                                      \
    }
// clang-format on

void *__real_memory_create(size_t count, size_t size);
void *__wrap_memory_create(size_t count, size_t size);
void *__wrap_memory_create(size_t count, size_t size)
{
    return is_refused() ? NULL : note_taken(__real_memory_create(count, size));
}

char *__real_memory_copy_text(const char *text);
char *__wrap_memory_copy_text(const char *text);
char *__wrap_memory_copy_text(const char *text)
{
    return text == NULL || is_refused() ? NULL : note_taken(__real_memory_copy_text(text));
}

/* A block that moves, or not. */
static void *note_moved(void *old, void *block)
{
    if (block != NULL) {
        note_given_back(old);
    }
    return block != NULL ? note_taken(block) : NULL;
}

void *__real_memory_resize(void *old, size_t count, size_t size);
void *__wrap_memory_resize(void *old, size_t count, size_t size);
void *__wrap_memory_resize(void *old, size_t count, size_t size)
{
    return is_refused() ? NULL : note_moved(old, __real_memory_resize(old, count, size));
}

void *__real_memory_reserve(void *old, size_t *capacity, size_t wanted, size_t size);
void *__wrap_memory_reserve(void *old, size_t *capacity, size_t wanted, size_t size);
void *__wrap_memory_reserve(void *old, size_t *capacity, size_t wanted, size_t size)
{
    const int is_enough = old != NULL && wanted <= *capacity;
    if (!is_enough && is_refused()) {
        return NULL;
    }
    return note_moved(old, __real_memory_reserve(old, capacity, wanted, size));
}

void __real_memory_destroy(void *block);
void __wrap_memory_destroy(void *block);
void __wrap_memory_destroy(void *block)
{
    note_given_back(block);
    __real_memory_destroy(block);
}

/* Transforms are kept in a pool when they are given back: one counts as one block. */
struct fft *__real_fft_create(size_t size, enum fft_sign sign);
struct fft *__wrap_fft_create(size_t size, enum fft_sign sign);
struct fft *__wrap_fft_create(size_t size, enum fft_sign sign)
{
    if (is_refused()) {
        return NULL;
    }
    is_apart++;
    struct fft *made = __real_fft_create(size, sign);
    is_apart--;
    return note_taken(made);
}

void __real_fft_destroy(struct fft *fft);
void __wrap_fft_destroy(struct fft *fft);
void __wrap_fft_destroy(struct fft *fft)
{
    note_given_back(fft);
    is_apart++;
    __real_fft_destroy(fft);
    is_apart--;
}

WRAP(fftw_complex *, fftw_alloc_complex, (size_t n), (n))
WRAP(gsl_matrix *, gsl_matrix_alloc, (const size_t rows, const size_t columns), (rows, columns))
WRAP(gsl_vector *, gsl_vector_alloc, (const size_t n), (n))
WRAP(gsl_interp *, gsl_interp_alloc, (const gsl_interp_type *type, size_t n), (type, n))
WRAP(gsl_multifit_linear_workspace *, gsl_multifit_linear_alloc, (const size_t n, const size_t p),
    (n, p))
WRAP(gsl_multifit_nlinear_workspace *, gsl_multifit_nlinear_alloc,
    (const gsl_multifit_nlinear_type *type, const gsl_multifit_nlinear_parameters *parameters,
        const size_t n, const size_t p),
    (type, parameters, n, p))
WRAP(gsl_root_fsolver *, gsl_root_fsolver_alloc, (const gsl_root_fsolver_type *type), (type))
WRAP(gsl_integration_glfixed_table *, gsl_integration_glfixed_table_alloc, (size_t n), (n))
WRAP(gsl_integration_workspace *, gsl_integration_workspace_alloc, (const size_t n), (n))
