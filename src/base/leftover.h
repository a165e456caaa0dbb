// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_LEFTOVER_H
#define LODECARD_BASE_LEFTOVER_H

#include <stdbool.h>

/* The names of files that must not outlive this process, for the handler of a signal that ends it.
 * Any thread may call these. When the list is full a name is left out: such a file stays if a
 * signal comes just then. */

/* The text must stay as it is until leftover_remove. */
void leftover_add(const char *name);
/* false: the handler has the name in its hands, and the text must not be freed. */
bool leftover_remove(const char *name);
/* Removes the files. Async-signal-safe. */
void leftover_unlink_all(void);

#endif
