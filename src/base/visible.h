// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_VISIBLE_H
#define LODECARD_BASE_VISIBLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

/* Text of others (file names, names in files) on its way to a terminal. What would steer it, or
 * show something else than what is there, becomes visible: control characters (C0 and C1: the
 * escape sequences begin with them), marks that turn the direction of writing, separators of lines
 * and bytes that are no UTF-8. As in C: "\n", "\t", "\x1b", "\u202e", "\xff". */

/* Whether a character steers: control characters, marks of direction, separators of lines. */
bool visible_is_steering(uint32_t code);

/* The first character of `bytes` (length > 0) as it may be shown, into `piece`: the number of bytes
 * it takes there. `*taken`: of `bytes`. Characters of `kept` stay as they are. */
#define VISIBLE_SIZE 8
size_t visible_write(
    char piece[VISIBLE_SIZE], const char *bytes, size_t length, const char *kept, size_t *taken);

/* Adds all of `bytes`; `kept` is "" for what stands on one line, "\n\t" for a page. */
void visible_add(struct text *out, const char *bytes, size_t length, const char *kept);

#endif
