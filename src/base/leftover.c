// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/leftover.h"

#include <signal.h>
#include <stdatomic.h>
#include <stddef.h>
#include <unistd.h>

#define PLACES 64

static _Atomic(const char *) list[PLACES];
static atomic_int holders;
static atomic_int ending; /* the signal that ends the program; 0: none has come */

static void unlink_all(void)
{
    const char *names[PLACES];
    for (size_t i = 0; i < PLACES; i++) {
        names[i] = atomic_exchange(&list[i], NULL);
        if (names[i] != NULL && unlink(names[i]) == 0) {
            names[i] = NULL;
        }
    }
    for (size_t i = 0; i < PLACES; i++) {
        if (names[i] != NULL) {
            rmdir(names[i]);
        }
    }
}

_Noreturn static void wait_for_end(void)
{
    for (;;) {
        pause();
    }
}

void leftover_hold(void)
{
    atomic_fetch_add(&holders, 1);
    if (atomic_load(&ending) != 0) {
        leftover_release();
        wait_for_end();
    }
}

/* The handler sets `ending` and then looks for holders, a holder counts itself and then looks for
 * `ending`: one of the two sees the other. */
void leftover_release(void)
{
    const bool is_last = atomic_fetch_sub(&holders, 1) == 1;
    const int sign = atomic_load(&ending);
    if (is_last && sign != 0) {
        unlink_all();
        raise(sign);
    }
}

void leftover_add(const char *name)
{
    for (size_t i = 0; i < PLACES; i++) {
        const char *none = NULL;
        if (atomic_compare_exchange_strong(&list[i], &none, name)) {
            return;
        }
    }
}

void leftover_remove(const char *name)
{
    for (size_t i = 0; i < PLACES; i++) {
        const char *found = name;
        if (atomic_compare_exchange_strong(&list[i], &found, NULL)) {
            return;
        }
    }
    if (atomic_load(&ending) != 0) {
        wait_for_end();
    }
}

bool leftover_unlink_all(int sign)
{
    atomic_store(&ending, sign);
    if (atomic_load(&holders) > 0) {
        return false;
    }
    unlink_all();
    return true;
}
