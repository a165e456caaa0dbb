// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_TESTS_PLACES_H
#define LODECARD_TESTS_PLACES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define PLACES_MOST 4096
#define PLACES_DEPTH_MOST 16

/* Places in the program, each known by the functions that call one another there. */
struct places {
    size_t count;
    uint64_t seen[PLACES_MOST];
};

/* Whether the functions that call now, `depth` of them (this one counts), were not among the
 * places; from now on they are. More than PLACES_MOST end the program. */
bool places_add(struct places *places, int depth);

#endif
