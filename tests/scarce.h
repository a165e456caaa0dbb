// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_SCARCE_H
#define LODECARD_TESTS_SCARCE_H

#include <stddef.h>

#include "base/error.h"

/* Memory that runs out when a test wants it to. The linker puts the functions of scarce.c in the
 * place of those of base/memory.h, and of the allocating ones of GSL and FFTW, wherever the modules
 * call them (SCARCE in the Makefile); the program itself knows nothing of it. Allocations that the
 * libraries make within are not among them. */

/* The allocation after the next `after` ones gives nothing; those behind it work again. From here
 * to memory_count_kept() is noted what the modules take and give back. */
void memory_fail_after(size_t after);

/* Ends that, and returns how many blocks are still held that were taken since. */
size_t memory_count_kept(void);

/* Whether the allocation that was to fail has been asked for. */
int memory_was_refused(void);

/* What a test does with memory: OK only if it got all that it asked for. It gives back what it took
 * also when it fails. */
typedef enum status scenario(void *data, struct error *err);

/* Runs the scenario with each of its allocations failing in turn, until none is left to fail: each
 * time it must say that memory is out, and must have given all memory back. Returns how many
 * allocations there were. */
size_t check_every_allocation(scenario *run, void *data);

/* The same for scenarios with thousands: of the allocations that the same functions ask for, in the
 * same places (6 calls deep), only the first fails. */
size_t check_every_place(scenario *run, void *data);

#endif
