// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/leftover.h"

#include <stdatomic.h>
#include <stddef.h>
#include <unistd.h>

#define PLACES 64

static _Atomic(const char *) list[PLACES];
static atomic_bool is_ending;

void leftover_add(const char *name)
{
    for (size_t i = 0; i < PLACES; i++) {
        const char *none = NULL;
        if (atomic_compare_exchange_strong(&list[i], &none, name)) {
            return;
        }
    }
}

bool leftover_remove(const char *name)
{
    for (size_t i = 0; i < PLACES; i++) {
        const char *found = name;
        if (atomic_compare_exchange_strong(&list[i], &found, NULL)) {
            return true;
        }
    }
    return !atomic_load(&is_ending);
}

void leftover_unlink_all(void)
{
    atomic_store(&is_ending, true);
    for (size_t i = 0; i < PLACES; i++) {
        const char *name = atomic_exchange(&list[i], NULL);
        if (name != NULL) {
            unlink(name);
        }
    }
}
