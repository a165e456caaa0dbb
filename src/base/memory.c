// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/memory.h"

#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define PAGE_SIZE 4096
#define CACHE_LINE 64

static atomic_bool has_failed;

bool memory_has_failed(void)
{
    return atomic_load_explicit(&has_failed, memory_order_relaxed);
}

void memory_set_failed(void)
{
    atomic_store_explicit(&has_failed, true, memory_order_relaxed);
}

static void *note(void *memory)
{
    if (memory == NULL) {
        memory_set_failed();
    }
    return memory;
}

#ifdef __SANITIZE_ADDRESS__
/* The sanitizer has an allocator of its own, ahead of which no library can be loaded: in its builds
 * LODECARD_REFUSE=N lets the N-th allocation fail, for tests/test_faults.py. */
static bool is_refused(void)
{
    static atomic_long count;
    const char *number = getenv("LODECARD_REFUSE");
    return number != NULL && atomic_fetch_add(&count, 1) + 1 == strtol(number, NULL, 10);
}
#else
static bool is_refused(void)
{
    return false;
}
#endif

/* The size in bytes of an array, never 0; false when it overflows. The limit leaves room for
 * rounding up, and no object may be larger than PTRDIFF_MAX anyway. */
static int get_size(size_t count, size_t size, size_t *bytes)
{
    if (__builtin_mul_overflow(count, size, bytes) || *bytes > PTRDIFF_MAX - CACHE_LINE) {
        return 0;
    }
    if (*bytes == 0) {
        *bytes = 1;
    }
    return 1;
}

void *memory_create(size_t count, size_t size)
{
    size_t bytes;
    if (!get_size(count, size, &bytes)) {
        return NULL;
    }
    if (is_refused()) {
        return note(NULL);
    }
    if (bytes <= PAGE_SIZE) {
        return note(calloc(1, bytes));
    }
    bytes = (bytes + CACHE_LINE - 1) / CACHE_LINE * CACHE_LINE;
    void *memory = note(aligned_alloc(CACHE_LINE, bytes));
    if (memory != NULL) {
        memset(memory, 0, bytes);
    }
    return memory;
}

void *memory_resize(void *old, size_t count, size_t size)
{
    size_t bytes;
    if (!get_size(count, size, &bytes)) {
        return NULL;
    }
    return note(is_refused() ? NULL : realloc(old, bytes));
}

void *memory_reserve(void *old, size_t *capacity, size_t wanted, size_t size)
{
    if (old != NULL && wanted <= *capacity) {
        return old;
    }
    size_t larger = *capacity < 8 ? 8 : *capacity;
    while (larger < wanted) {
        if (larger > SIZE_MAX / 2) {
            return NULL;
        }
        larger *= 2;
    }
    void *memory = memory_resize(old, larger, size);
    if (memory != NULL) {
        *capacity = larger;
    }
    return memory;
}

char *memory_copy_text(const char *text)
{
    if (text == NULL) {
        return NULL;
    }
    size_t size = strlen(text) + 1;
    char *copy = note(is_refused() ? NULL : malloc(size));
    if (copy != NULL) {
        memcpy(copy, text, size);
    }
    return copy;
}

void memory_destroy(void *memory)
{
    free(memory);
}
