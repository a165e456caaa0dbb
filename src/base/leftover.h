// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_LEFTOVER_H
#define LODECARD_BASE_LEFTOVER_H

#include <stdbool.h>

/* The names of files and folders that must not outlive this process, for the handler of a signal
 * that ends it. Any thread may call these. When the list is full a name is left out: such a file
 * stays if a signal comes just then. */

/* A file is made and listed between these two. A signal that comes in between waits for
 * leftover_release, which then ends the program; once one has come leftover_hold does not return.
 */
void leftover_hold(void);
void leftover_release(void);

/* The text must stay as it is until leftover_remove, which does not return once the handler has the
 * name in its hands. */
void leftover_add(const char *name);
void leftover_remove(const char *name);

/* Removes the files, and then the folders, which are empty by then. Async-signal-safe. false: a
 * thread holds; it removes them, and raises the signal again. */
bool leftover_unlink_all(int sign);

#endif
