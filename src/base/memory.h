// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_MEMORY_H
#define LODECARD_BASE_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

/* Zeroed memory for `count` elements of `size` bytes, aligned to 64 bytes when larger than a page;
 * NULL when there is none or count * size overflows. */
void *memory_create(size_t count, size_t size);

/* Grows (or shrinks) an array made by memory_create; new elements are not zeroed. NULL on failure,
 * and then `old` is still valid. `old` may be NULL. */
void *memory_resize(void *old, size_t count, size_t size);

/* Makes room for at least `wanted` elements, doubling the capacity. Returns the array (moved or
 * not) or NULL on failure, and then `*capacity` and `old` are untouched. */
void *memory_reserve(void *old, size_t *capacity, size_t wanted, size_t size);

/* Whether the system ever refused memory to one of these functions. Then something may have been
 * left out, and who did so cannot be known: no file and no change of a ledger is completed any
 * more, and the program ends with STATUS_FAULT. (A size that overflows is an error of its caller's,
 * and does not count.) */
bool memory_has_failed(void);
void memory_set_failed(void); /* a library was refused memory */

/* A copy of a text, or NULL. memory_copy_text(NULL) is NULL. */
char *memory_copy_text(const char *text);

/* Frees what the functions above gave, and what the C library does (getline, realpath); NULL is
 * allowed. */
void memory_destroy(void *memory);

#endif
