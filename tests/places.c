// SPDX-License-Identifier: GPL-3.0-or-later
#include "places.h"

#include <execinfo.h>
#include <stdlib.h>

bool places_add(struct places *places, int depth)
{
    void *frames[PLACES_DEPTH_MOST];
    uint64_t hash = 14695981039346656037u; /* FNV-1a, of addresses */
    const int count = backtrace(frames, depth < PLACES_DEPTH_MOST ? depth : PLACES_DEPTH_MOST);
    for (int i = 0; i < count; i++) {
        hash = (hash ^ (uintptr_t)frames[i]) * 1099511628211u;
    }
    for (size_t i = 0; i < places->count; i++) {
        if (places->seen[i] == hash) {
            return false;
        }
    }
    if (places->count == PLACES_MOST) {
        abort();
    }
    places->seen[places->count++] = hash;
    return true;
}
