// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_SCARCE_BASE_H
#define LODECARD_TESTS_SCARCE_BASE_H

#include <stdbool.h>
#include <stddef.h>

/* A database that fails when a test wants it to, in two ways.
 *
 * The linker puts the functions of scarce_base.c in the place of those of SQLite that the ledger
 * calls (SCARCE in the Makefile): of the calls that the same functions make in the same places (8
 * calls deep), the first fails once, without anything being done. ROLLBACK and the end of a mere
 * reading do not fail: they do not in SQLite either. */

/* From here on commits do not wait for the disk: tests of thousands need not. */
void base_spare_disk(void);

/* Forgets which places failed. */
void base_forget_places(void);

/* From here to base_end(), the first call of a place that did not fail yet returns `code`
 * (SQLITE_FULL ...). */
void base_fail(int code);

/* Whether one failed. */
bool base_end(void);

/* SQLite's own memory, from before its first use in the process: the `after`-th allocation behind
 * the next ones fails, once. */
void base_watch_memory(void);
void base_fail_memory(size_t after);
/* Whether it did; `count` (may be NULL): how many allocations there were. */
bool base_end_memory(size_t *count);

#endif
